//! Random sites.

use super::network::{CORNERS, Net, cases, has_power};
use super::plan::{
    Cable, Case, Degrees, Device, Draw, Junction, Plan, Run, Size, Supply, Tie, awg,
};
use super::random::Random;
use super::solve::solve;

/// Somewhere a run can start: its name and the supply that it hangs from.
#[derive(Clone)]
struct Spot {
    name: String,
    domain: String,
    volts: f64,
}

struct Maker {
    random: Random,
    plan: Plan,
    spots: Vec<Spot>,
}

/// The random site of a seed: its draws are scaled to a random distance from the cliff.
pub(crate) fn make(seed: u64) -> Plan {
    let mut maker = Maker {
        random: Random::new(seed),
        plan: Plan::default(),
        spots: Vec::new(),
    };
    maker.design();
    for _ in 0..maker.random.within(1, 3) {
        maker.cable();
    }
    if maker.random.chance(0.08) {
        maker.series();
    } else {
        maker.supplies();
    }
    for i in 0..maker.random.within(1, 14) {
        if maker.random.chance(0.2) {
            maker.junction(i);
        }
        maker.device(i);
    }
    for _ in 0..maker.random.below(3) {
        maker.extra();
    }
    for _ in 0..maker.random.below(4) {
        maker.data();
    }
    if maker.random.chance(0.5) {
        maker.earths();
    }
    if maker.random.chance(0.6) {
        for i in 0..maker.random.within(1, 3) {
            maker.case(i);
        }
    }
    maker.scale();
    maker.plan
}

/// A random site of two to six devices without cases, with relays that switch over and states
/// that exclude one another.
pub(crate) fn make_small(seed: u64) -> Plan {
    let mut maker = Maker {
        random: Random::new(seed ^ 0x5eed_0000_0000),
        plan: Plan::default(),
        spots: Vec::new(),
    };
    maker.design();
    maker.cable();
    if maker.random.chance(0.08) {
        maker.series();
    } else {
        maker.supplies();
    }
    for i in 0..maker.random.within(2, 6 - maker.plan.devices.len()) {
        if maker.random.chance(0.2) {
            maker.junction(i);
        }
        maker.device(i);
    }
    for _ in 0..maker.random.below(2) {
        maker.change_over();
    }
    for _ in 0..maker.random.below(2) {
        maker.extra();
    }
    for _ in 0..maker.random.below(3) {
        maker.data();
    }
    if maker.random.chance(0.3) {
        maker.earths();
    }
    for _ in 0..maker.random.below(3) {
        maker.exclusive();
    }
    maker.scale();
    maker.plan
}

impl Maker {
    /// A relay that switches power over: two runs pass its two contacts.
    fn change_over(&mut self) {
        let device = self.random.below(self.plan.devices.len());
        let ohms = self.random.maybe(0.6, 0.0, 0.2);
        let relays = &mut self.plan.devices[device].relays;
        let relay = format!("k{}", relays.len());
        relays.push((relay.clone(), ohms));
        let name = self.plan.devices[device].name.clone();
        let mut power: Vec<usize> = (0..self.plan.runs.len())
            .filter(|r| has_power(&self.plan.runs[*r]) && self.plan.runs[*r].through.is_empty())
            .collect();
        for throw in ["no", "nc"] {
            if power.is_empty() {
                return;
            }
            let run = power.remove(self.random.below(power.len()));
            self.plan.runs[run]
                .through
                .push(format!("{name}.{relay}.{throw}"));
        }
    }

    /// Two or three states that never stand together.
    fn exclusive(&mut self) {
        let all: Vec<(String, String)> = (self.plan.devices.iter())
            .flat_map(|d| {
                d.draw
                    .iter()
                    .map(|(state, _)| (d.name.clone(), state.clone()))
            })
            .collect();
        let mut states: Vec<(String, String)> = Vec::new();
        for _ in 0..self.random.within(2, 3) {
            if !all.is_empty() {
                let one = self.random.pick(&all);
                if !states.contains(&one) {
                    states.push(one);
                }
            }
        }
        if states.len() > 1 {
            self.plan.exclusive.push(states);
        }
    }

    fn degrees(&mut self, share: f64) -> Degrees {
        [(10.0, 35.0), (35.0, 75.0), (-40.0, 10.0)].map(|(a, b)| self.random.maybe(share, a, b))
    }

    fn design(&mut self) {
        self.plan.design.degrees = self.degrees(0.3);
        self.plan.design.draw_tolerance = self.random.maybe(0.4, 0.0, 20.0);
        self.plan.design.splice = self.random.maybe(0.4, 0.0, 0.02);
        for route in ["buried", "indoor"] {
            if self.random.chance(0.2) {
                let degrees = self.degrees(0.6);
                self.plan.design.routes.push((route, degrees));
            }
        }
    }

    fn cable(&mut self) {
        let number = self.plan.cables.len();
        let size = if self.random.chance(0.65) {
            let likely = [24, 22, 20, 18, 18, 16, 14, 12, 10];
            let any = i32::try_from(self.random.below(30)).unwrap() - 3;
            let gauge = self.random.pick(&likely);
            Size::Awg(if self.random.chance(0.7) { gauge } else { any })
        } else {
            Size::Mm2(self.random.pick(&[
                0.22, 0.34, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0,
            ]))
        };
        let stranding = self.random.pick(&["solid", "stranded", "fine"]);
        let own = self.random.chance(0.5);
        let mut material = self.random.pick(if own {
            &[
                "copper",
                "tinned copper",
                "copper-clad aluminum",
                "aluminum",
            ][..]
        } else {
            &["copper", "tinned copper"]
        });
        // Of aluminum, only gauges with a row are described.
        let rows = [18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3];
        let has_row = matches!(size, Size::Awg(gauge) if rows.contains(&gauge));
        if material == "aluminum" && (!has_row || stranding == "solid") {
            material = "copper-clad aluminum";
        }
        let (mut name, words) = match size {
            Size::Awg(gauge) => (
                format!("{}/4", awg(gauge)),
                [(stranding, "stranded"), (material, "copper")],
            ),
            Size::Mm2(area) => (
                format!("{area}mm2/4"),
                [(stranding, "stranded"), (material, "copper")],
            ),
        };
        for (word, silent) in words {
            if word != silent {
                name = format!("{name} {}", word.split(' ').next().unwrap());
            }
        }
        let mut resistance = None;
        if own {
            name = format!("own {number}");
            if self.random.chance(0.3) {
                let at = self.random.maybe(0.5, 0.0, 75.0);
                resistance = Some((self.random.number(2.0, 60.0), at));
            }
        }
        self.plan.cables.push(Cable {
            name,
            own,
            size,
            stranding,
            material,
            resistance,
        });
    }

    fn supply(&mut self, name: &str, volts: f64) -> Supply {
        let mut supply = Supply {
            name: name.to_owned(),
            volts,
            negative_earthed: self.random.chance(0.3),
            ..Supply::default()
        };
        if self.random.chance(0.2) {
            supply.window = Some((volts * 0.9, volts * 1.125));
        } else {
            supply.tolerance = self.random.maybe(0.6, 0.0, 10.0);
        }
        if self.random.chance(0.2) {
            supply.loaded = Some((volts - 0.625, self.random.number(0.5, 2.0)));
        } else {
            supply.resistance = self.random.maybe(0.6, 0.05, 1.5);
        }
        supply
    }

    fn spot(&mut self, name: &str, domain: &str, volts: f64) {
        self.spots.push(Spot {
            name: name.to_owned(),
            domain: domain.to_owned(),
            volts,
        });
    }

    fn supplies(&mut self) {
        let volts = self.random.pick(&[12.0, 24.0, 24.0, 48.0]);
        let count = self.random.pick(&[1, 1, 1, 2, 2, 3]);
        for i in 0..count {
            let name = format!("psu {i}");
            let alike = i == 0 || self.random.chance(0.7);
            let volts = if alike {
                volts + self.random.number(-0.3, 0.3)
            } else {
                self.random.pick(&[12.0, 24.0])
            };
            let domain = if alike {
                "main".to_owned()
            } else {
                name.clone()
            };
            let mut supply = self.supply(&name, volts);
            self.spot(&name, &domain, volts);
            if self.random.chance(0.3) {
                for output in ["out1", "out2"] {
                    supply
                        .outputs
                        .push((output.to_owned(), self.random.maybe(0.7, 0.01, 0.5)));
                    self.spot(&format!("{name}.{output}"), &domain, volts);
                }
            }
            self.plan.supplies.push(supply);
        }
    }

    /// Two supplies one above the other, and a device across both.
    fn series(&mut self) {
        for name in ["lower", "upper"] {
            let supply = self.supply(name, 12.0);
            self.plan.supplies.push(supply);
            self.spot(name, name, 12.0);
        }
        self.plan.devices.push(Device {
            name: "across".to_owned(),
            draw: vec![("idle".to_owned(), Draw::Watts(6.0))],
            ..Device::default()
        });
        self.bond("lower.plus", "upper.minus");
        self.bond("across.minus", "lower.minus");
        let mut run = self.run("upper", "across");
        run.minus_parallel = Some(0);
        self.plan.runs.push(run);
    }

    fn bond(&mut self, from: &str, to: &str) {
        let mut run = self.run(from, to);
        run.carries = vec!["bond"];
        run.through.clear();
        run.minus_parallel = None;
        self.plan.runs.push(run);
    }

    /// A run of random length, not yet in the plan.
    fn run(&mut self, from: &str, to: &str) -> Run {
        let cable = self.random.below(self.plan.cables.len());
        let cable = self
            .random
            .chance(0.92)
            .then(|| (cable, self.random.number(2.0, 90.0)));
        let parallel = [None, None, None, Some(1), Some(2), Some(4)];
        let degrees = if self.random.chance(0.15) {
            self.degrees(0.6)
        } else {
            [None; 3]
        };
        Run {
            name: format!("W{}", self.plan.runs.len()),
            from: from.to_owned(),
            to: to.to_owned(),
            cable,
            feet: self.random.chance(0.5),
            ohms: self.random.pick(&[0.0, 0.1, 0.375, 1.25]),
            carries: vec!["power"],
            parallel: self.random.pick(&parallel),
            minus_parallel: self
                .random
                .chance(0.1)
                .then(|| self.random.pick(&[1, 2, 3])),
            splices: u32::try_from(self.random.below(4)).unwrap(),
            splice: self.random.maybe(0.2, 0.0, 0.05),
            degrees,
            route: self
                .random
                .pick(&[None, Some("buried"), Some("indoor"), Some("overhead")]),
            unfitted: false,
            ..Run::default()
        }
    }

    /// A power run with fuses and contacts, some of them those of a sister run.
    fn power(&mut self, from: &Spot, to: &str) {
        let mut run = self.run(&from.name, to);
        let sister = (self.plan.runs.iter())
            .find(|r| r.from == from.name && !r.through.is_empty() && has_power(r))
            .map(|r| r.through.clone());
        match sister {
            Some(through) if self.random.chance(0.4) => {
                let shared = self.random.within(1, through.len());
                run.through = through[..shared].to_vec();
            }
            _ if self.random.chance(0.25) => run.through = self.parts(),
            _ => {
                if self.random.chance(0.2) {
                    std::mem::swap(&mut run.from, &mut run.to);
                }
            }
        }
        if self.random.chance(0.15) {
            run.carries = vec![
                "power",
                self.random
                    .pick(&["wiegand", "ethernet", "data", "rs485", "contact"]),
            ];
        }
        run.unfitted = self.random.chance(0.05);
        self.plan.runs.push(run);
    }

    /// A fuse, a contact of some device, or both.
    fn parts(&mut self) -> Vec<String> {
        let mut parts = Vec::new();
        if self.random.chance(0.6) {
            let fuse = format!("F{}", self.plan.fuses.len());
            let ohms = self.random.maybe(0.6, 0.0, 0.2);
            self.plan.fuses.push((fuse.clone(), ohms));
            parts.push(fuse);
        }
        if (parts.is_empty() || self.random.chance(0.3)) && !self.plan.devices.is_empty() {
            let device = self.random.below(self.plan.devices.len());
            let ohms = self.random.maybe(0.6, 0.0, 0.2);
            let throw = self.random.pick(&["", ".no", ".nc"]);
            let device = &mut self.plan.devices[device];
            let relay = format!("k{}", device.relays.len());
            device.relays.push((relay.clone(), ohms));
            parts.push(format!("{}.{relay}{throw}", device.name));
        }
        parts
    }

    fn junction(&mut self, number: usize) {
        let name = format!("jb{number}");
        let from = self.random.pick(&self.spots);
        let on = self.random.chance(0.2) && !from.name.contains('.');
        self.plan.junctions.push(Junction {
            name: name.clone(),
            on: on.then(|| from.name.clone()),
        });
        if !on {
            self.power(&from, &name);
        }
        self.spot(&name, &from.domain, from.volts);
    }

    fn draw(&mut self, volts: f64) -> Draw {
        let amps = self.random.number(0.02, 0.4);
        match self.random.below(7) {
            0 => Draw::Amps(amps),
            1 => Draw::Ohms(volts / amps),
            2 => Draw::AmpsAt(amps, volts),
            3 => Draw::WattsAt(amps * volts, volts),
            _ => Draw::Watts(amps * volts),
        }
    }

    fn device(&mut self, number: usize) {
        let name = self.random.pick(&["hub", "far lock", "rex-b", "Cam_"]);
        let name = format!("{name}{number}");
        let from = self.random.pick(&self.spots);
        let on = self.random.chance(0.12) && !from.name.contains('.');
        let mut device = Device {
            name: name.clone(),
            lowest: self.random.maybe(0.5, 5.0, 20.0),
            negative_earthed: self.random.chance(0.1),
            on: on.then(|| from.name.clone()),
            ..Device::default()
        };
        for state in ["idle", "active", "inrush", "heating"] {
            if self.random.chance(0.6) {
                let draw = if self.random.chance(0.08) {
                    Draw::Off
                } else {
                    self.draw(from.volts)
                };
                device.draw.push((state.to_owned(), draw));
            }
        }
        if self.random.chance(0.2) {
            let ohms = self.random.number(0.0, 0.5);
            device.tie = Some(
                self.random
                    .pick(&[Tie::Ohms(ohms), Tie::Ohms(0.0), Tie::Isolated]),
            );
        }
        self.plan.devices.push(device);
        if !on {
            self.power(&from, &name);
        }
        if self.random.chance(0.15) {
            self.fed(&name);
        }
        self.spot(&name, &from.domain, from.volts);
    }

    /// A supply that a device feeds.
    fn fed(&mut self, device: &str) {
        let name = format!("rail {}", self.plan.supplies.len());
        let volts = self.random.pick(&[5.0, 12.0, 24.0]);
        let mut supply = self.supply(&name, volts);
        supply.fed_by = Some(device.to_owned());
        supply.efficiency = self.random.maybe(0.7, 60.0, 98.0);
        supply.isolated = self.random.chance(0.4);
        self.plan.supplies.push(supply);
        self.spot(&name, &name, volts);
    }

    /// One more power run between things that hang from the same supplies.
    fn extra(&mut self) {
        let from = self.random.pick(&self.spots);
        let others: Vec<Spot> = (self.spots.iter())
            .filter(|s| s.domain == from.domain && s.name != from.name)
            .filter(|s| s.name.split('.').next() != from.name.split('.').next())
            .cloned()
            .collect();
        if others.is_empty() {
            return;
        }
        let to = self.random.pick(&others);
        let mut run = self.run(&from.name, &to.name);
        if self.random.chance(0.2) {
            run.minus_parallel = Some(0);
        }
        run.unfitted = self.random.chance(0.2);
        self.plan.runs.push(run);
    }

    /// A run without power.
    fn data(&mut self) {
        let ends: Vec<String> = (self.spots.iter())
            .filter(|s| !s.name.contains('.'))
            .map(|s| s.name.clone())
            .collect();
        let (from, to) = (self.random.pick(&ends), self.random.pick(&ends));
        if from == to {
            return;
        }
        let mut run = self.run(&from, &to);
        let carries = [
            "wiegand", "wiegand", "wiegand", "rs485", "data", "loop", "contact",
        ];
        run.carries = vec![self.random.pick(&carries)];
        run.minus_parallel = None;
        if !["loop", "contact"].contains(&run.carries[0]) {
            run.common = self.random.pick(&[None, None, Some(true), Some(false)]);
        }
        // The drain wire of a foil shield is one gauge or two thinner than the conductors.
        if run.cable.is_some() {
            run.shield = self.random.maybe(0.2, 10.0, 60.0);
        }
        self.plan.runs.push(run);
    }

    fn earths(&mut self) {
        for i in 0..self.random.within(1, 3) {
            let ohms = self.random.maybe(0.6, 1.0, 80.0);
            self.plan.earths.push((format!("rod{i}"), ohms));
        }
        for _ in 0..self.random.within(1, 4) {
            let earth = self.random.below(self.plan.earths.len());
            let earth = self.plan.earths[earth].0.clone();
            let thing = self.random.pick(&self.spots).name;
            let junction = self.plan.junctions.iter().any(|j| j.name == thing);
            let end = if thing.contains('.') || junction || self.random.chance(0.4) {
                format!("{thing}.minus")
            } else {
                thing
            };
            let other = self.random.pick(&self.spots).name;
            if self.random.chance(0.25) && !end.starts_with(&other) {
                self.bond(&end, &format!("{other}.minus"));
            } else {
                self.bond(&end, &earth);
            }
        }
    }

    fn case(&mut self, number: usize) {
        let mut case = Case {
            name: format!("case {number}"),
            temperature: self.random.maybe(0.15, -20.0, 60.0),
            ..Case::default()
        };
        let relays: Vec<String> = (self.plan.devices.iter())
            .flat_map(|d| {
                d.relays
                    .iter()
                    .map(|(relay, _)| format!("{}.{relay}", d.name))
            })
            .collect();
        for relay in relays {
            if self.random.chance(0.6) {
                let state = self.random.pick(&["rest", "pulled"]);
                case.states.push((relay, state.to_owned()));
            }
        }
        for device in &self.plan.devices {
            if self.random.chance(0.6) {
                let own = device.draw.iter().any(|(state, _)| state == "heating");
                let states = ["idle", "active", "inrush", "off", "heating"];
                let count = if own { 5 } else { 4 };
                let state = self.random.pick(&states[..count]);
                case.states.push((device.name.clone(), state.to_owned()));
            }
        }
        for run in &self.plan.runs {
            if run.unfitted && self.random.chance(0.5) {
                case.fitted.push(run.name.clone());
            }
            let leg = if has_power(run) {
                self.random.pick(&["plus", "minus"])
            } else {
                "common"
            };
            let has_leg = match leg {
                "minus" => run.minus_parallel != Some(0),
                "common" => super::network::has_common(run),
                _ => true,
            };
            if has_leg && self.random.chance(0.06) {
                case.broken.push(format!("{}.{leg}", run.name));
            }
        }
        self.plan.cases.push(case);
    }

    /// Scales the A and W draws to some distance from the cliff of the worst row.
    fn scale(&mut self) {
        let mut reach: f64 = 20.0;
        for case in cases(&self.plan) {
            for corner in CORNERS {
                let net = Net::of(&self.plan, &case, corner);
                if let Err(served) = solve(&net, 20.0) {
                    reach = reach.min(served);
                }
            }
        }
        let target = match self.random.below(10) {
            0 => self.random.number(0.3, 0.95),
            1 => self.random.number(0.98, 0.999),
            2 | 3 => self.random.number(1.002, 1.02),
            _ => self.random.number(1.1, 6.0),
        };
        if !(1e-3..=19.9).contains(&reach) {
            return;
        }
        let times = reach / target;
        let scaled = |x: f64| format!("{:.6e}", x * times).parse::<f64>().unwrap();
        for (_, draw) in self.plan.devices.iter_mut().flat_map(|d| &mut d.draw) {
            match draw {
                Draw::Amps(x) | Draw::Watts(x) => *x = scaled(*x),
                _ => {}
            }
        }
    }
}
