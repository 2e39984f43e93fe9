//! The network of a plan in one case and corner: every conductor, part and source by name.

use std::collections::BTreeMap;

use super::plan::{Case, Draw, Plan, Run, Supply, Tie};
use super::wire::ohm_per_km;

/// Name, volts (-1 lowest, 1 highest), which temperature, sign of the draw tolerance.
#[derive(Clone, Copy)]
pub(crate) struct Corner(pub(crate) &'static str, i8, usize, f64);

pub(crate) const CORNERS: [Corner; 4] = [
    Corner("nominal", 0, 0, 0.0),
    Corner("low", -1, 1, 1.0),
    Corner("high", 1, 2, -1.0),
    Corner("heavy", 1, 2, 1.0),
];

pub(crate) struct Wire {
    pub(crate) a: usize,
    pub(crate) b: usize,
    pub(crate) ohms: f64,
}

pub(crate) struct Source {
    pub(crate) plus: usize,
    pub(crate) minus: usize,
    pub(crate) volts: f64,
    pub(crate) ohms: f64,
    pub(crate) live: bool,
}

#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Law {
    Amps(f64),
    Watts(f64),
    Ohms(f64),
    /// What a fed supply (by index) takes, at this efficiency.
    Feed(usize, f64),
}

pub(crate) struct Load {
    pub(crate) device: usize,
    pub(crate) plus: usize,
    pub(crate) minus: usize,
    pub(crate) law: Law,
}

/// What is joined to what; wires that are open are left out.
#[derive(Default)]
pub(crate) struct Net {
    nodes: BTreeMap<String, usize>,
    pub(crate) wires: BTreeMap<String, Wire>,
    pub(crate) sources: Vec<Source>,
    pub(crate) loads: Vec<Load>,
    pub(crate) device_live: Vec<bool>,
}

/// The cases of a plan: its own, or those that stand for none.
pub(crate) fn cases(plan: &Plan) -> Vec<Case> {
    if !plan.cases.is_empty() {
        return plan.cases.clone();
    }
    let active = |name: &str, but: Option<&str>| Case {
        name: name.to_owned(),
        states: plan
            .devices
            .iter()
            .map(|d| {
                let state = if Some(d.name.as_str()) == but {
                    "inrush"
                } else {
                    "active"
                };
                (d.name.clone(), state.to_owned())
            })
            .collect(),
        ..Case::default()
    };
    let idle = Case {
        name: "all idle".to_owned(),
        ..Case::default()
    };
    let mut all = vec![idle, active("all active", None)];
    for device in &plan.devices {
        if device.draw.iter().any(|(state, _)| state == "inrush") {
            all.push(active(
                &format!("{} inrush", device.name),
                Some(&device.name),
            ));
        }
    }
    all
}

/// The state of a device and what it draws in it.
pub(crate) fn state_of<'p>(plan: &'p Plan, case: &'p Case, device: usize) -> (&'p str, Draw) {
    let device = &plan.devices[device];
    let state = case
        .states
        .iter()
        .find(|(thing, _)| *thing == device.name)
        .map_or("idle", |(_, state)| state);
    let mut asked = state;
    loop {
        if asked == "off" {
            return (state, Draw::Off);
        }
        if let Some((_, draw)) = device.draw.iter().find(|(s, _)| s == asked) {
            return (state, *draw);
        }
        asked = match asked {
            "idle" => return (state, Draw::Off),
            "active" => "idle",
            _ => "active",
        };
    }
}

/// Whether a fuse or contact lets current through.
fn is_closed(case: &Case, part: &str) -> bool {
    let (relay, throw) = match part.rsplit_once('.') {
        Some((relay, throw @ ("no" | "nc"))) => (relay, throw),
        _ => (part, "no"),
    };
    let set = case.states.iter().find(|(thing, _)| thing == relay);
    set.is_none_or(|(_, state)| (state == "pulled") == (throw == "no"))
}

/// Whether a run carries power.
pub(crate) fn has_power(run: &Run) -> bool {
    run.carries.contains(&"power")
}

/// Whether a run is a bond.
pub(crate) fn is_bond(run: &Run) -> bool {
    run.carries.contains(&"bond")
}

/// Whether a run has a data common of its own.
pub(crate) fn has_common(run: &Run) -> bool {
    !has_power(run) && !is_bond(run) && run.common.unwrap_or(run.carries.contains(&"wiegand"))
}

/// Whether a run has a negative leg.
pub(crate) fn has_minus(run: &Run) -> bool {
    has_power(run) && run.minus_parallel != Some(0)
}

/// Whether a leg is whole, `through` counted.
pub(crate) fn is_whole(case: &Case, run: &Run, leg: &str) -> bool {
    let fitted = !run.unfitted || case.fitted.contains(&run.name);
    let broken = case.broken.contains(&format!("{}.{leg}", run.name));
    let closed = leg != "plus" || run.through.iter().all(|part| is_closed(case, part));
    fitted && !broken && closed
}

/// Names of the positive and the negative node of a supply, output, device or junction.
pub(crate) fn terminals(plan: &Plan, thing: &str) -> (String, String) {
    if let Some((supply, output)) = thing.split_once('.') {
        return (format!("plus {supply}.{output}"), terminals(plan, supply).1);
    }
    let supply = plan.supplies.iter().find(|s| s.name == thing);
    let on = supply
        .and_then(|s| s.on.as_ref())
        .or_else(|| (plan.devices.iter().find(|d| d.name == thing)).and_then(|d| d.on.as_ref()))
        .or_else(|| (plan.junctions.iter().find(|j| j.name == thing)).and_then(|j| j.on.as_ref()));
    if let Some(host) = on {
        return terminals(plan, host);
    }
    let minus = match supply {
        Some(Supply {
            fed_by: Some(device),
            isolated: false,
            ..
        }) => terminals(plan, device).1,
        _ => format!("minus {thing}"),
    };
    (format!("plus {thing}"), minus)
}

/// The node at an end of a bond.
pub(crate) fn bond_end(plan: &Plan, end: &str) -> String {
    if let Some(thing) = end.strip_suffix(".minus") {
        return terminals(plan, thing).1;
    }
    if let Some(thing) = end.strip_suffix(".plus") {
        return terminals(plan, thing).0;
    }
    let supply = plan.supplies.iter().find(|s| s.name == end);
    let device = plan.devices.iter().find(|d| d.name == end);
    let earthed = supply
        .map(|s| s.negative_earthed)
        .or(device.map(|d| d.negative_earthed));
    match earthed {
        Some(true) => terminals(plan, end).1,
        _ => format!("earth {end}"),
    }
}

/// The node of a device's data common.
fn common_end(plan: &Plan, thing: &str) -> String {
    match plan.devices.iter().find(|d| d.name == thing) {
        Some(device) if device.tie.is_some() => format!("common {thing}"),
        _ => terminals(plan, thing).1,
    }
}

/// Ohms of one conductor of a run, splices apart.
fn conductor(plan: &Plan, case: &Case, corner: Corner, run: &Run) -> f64 {
    let which = corner.2;
    let route = plan
        .design
        .routes
        .iter()
        .find(|(route, _)| Some(*route) == run.route);
    let degrees = case
        .temperature
        .or(run.degrees[which])
        .or(route.and_then(|(_, degrees)| degrees[which]))
        .or(plan.design.degrees[which])
        .unwrap_or([25.0, 50.0, 0.0][which]);
    let (cable, metres) = run.cable.unwrap();
    ohm_per_km(&plan.cables[cable], degrees) * metres / 1000.0
}

impl Net {
    /// The network of a case in a corner.
    pub(crate) fn of(plan: &Plan, case: &Case, corner: Corner) -> Self {
        let mut net = Self::default();
        net.parts(plan);
        for run in &plan.runs {
            net.run(plan, case, corner, run);
        }
        for supply in &plan.supplies {
            net.source(plan, corner, supply);
        }
        net.enliven(plan);
        for device in 0..plan.devices.len() {
            net.device(plan, case, corner, device);
        }
        net
    }

    /// The number of a node, new or not.
    pub(crate) fn node(&mut self, name: &str) -> usize {
        let next = self.nodes.len();
        *self.nodes.entry(name.to_owned()).or_insert(next)
    }

    /// The number of a node that exists.
    pub(crate) fn at(&self, name: &str) -> usize {
        self.nodes[name]
    }

    pub(crate) fn len(&self) -> usize {
        self.nodes.len()
    }

    fn wire(&mut self, key: String, a: &str, b: &str, ohms: f64) {
        let (a, b) = (self.node(a), self.node(b));
        self.wires.entry(key).or_insert(Wire { a, b, ohms });
    }

    /// Terminals, outputs, ties and earths.
    fn parts(&mut self, plan: &Plan) {
        let supplies = plan.supplies.iter().map(|s| &s.name);
        let devices = plan.devices.iter().map(|d| &d.name);
        let junctions = plan.junctions.iter().map(|j| &j.name);
        for thing in supplies.chain(devices).chain(junctions) {
            let (plus, minus) = terminals(plan, thing);
            self.node(&plus);
            self.node(&minus);
        }
        for supply in &plan.supplies {
            for (output, ohms) in &supply.outputs {
                let name = format!("{}.{output}", supply.name);
                let near = terminals(plan, &supply.name).0;
                let far = terminals(plan, &name).0;
                self.wire(format!("output {name}"), &near, &far, ohms.unwrap_or(0.0));
            }
        }
        for device in &plan.devices {
            if let Some(Tie::Ohms(ohms)) = device.tie {
                let (common, minus) = (
                    common_end(plan, &device.name),
                    terminals(plan, &device.name).1,
                );
                self.wire(format!("tie {}", device.name), &common, &minus, ohms);
            }
        }
        for (earth, ohms) in &plan.earths {
            self.node(&format!("earth {earth}"));
            if let Some(ohms) = ohms {
                let near = format!("earth {earth}");
                self.wire(format!("soil {earth}"), &near, "remote earth", *ohms);
            }
        }
    }

    fn run(&mut self, plan: &Plan, case: &Case, corner: Corner, run: &Run) {
        let splices = f64::from(run.splices) * run.splice.or(plan.design.splice).unwrap_or(0.0);
        let leg = |conductors: u32| {
            let ohms = match run.cable {
                None => run.ohms,
                Some(_) => conductor(plan, case, corner, run) / f64::from(conductors) + splices,
            };
            ohms.max(1e-6)
        };
        let name = &run.name;
        if is_bond(run) {
            let (a, b) = (bond_end(plan, &run.from), bond_end(plan, &run.to));
            self.node(&a);
            self.node(&b);
            if is_whole(case, run, "bond") {
                self.wire(format!("{name}.bond"), &a, &b, leg(1));
            }
            return;
        }
        if let Some(((_, metres), per_km)) = run.cable.zip(run.shield) {
            let (a, b) = (common_end(plan, &run.from), common_end(plan, &run.to));
            self.node(&a);
            self.node(&b);
            if is_whole(case, run, "shield") {
                let ohms = (per_km * metres / 1000.0).max(1e-6);
                self.wire(format!("{name}.shield"), &a, &b, ohms);
            }
        }
        let (from, to) = (terminals(plan, &run.from), terminals(plan, &run.to));
        if has_power(run) {
            let parallel = run.parallel.unwrap_or(1);
            let mut near = from.0;
            for part in &run.through {
                let far = format!("after {part}");
                self.node(&far);
                if is_closed(case, part) && (!run.unfitted || case.fitted.contains(name)) {
                    self.wire(format!("part {part}"), &near, &far, part_ohms(plan, part));
                }
                near = far;
            }
            let unbroken = !case.broken.contains(&format!("{name}.plus"));
            if unbroken && (!run.unfitted || case.fitted.contains(name)) {
                self.wire(format!("{name}.plus"), &near, &to.0, leg(parallel));
            }
            let minus = run.minus_parallel.unwrap_or(parallel);
            if has_minus(run) && is_whole(case, run, "minus") {
                self.wire(format!("{name}.minus"), &from.1, &to.1, leg(minus));
            }
        } else if has_common(run) {
            let (a, b) = (common_end(plan, &run.from), common_end(plan, &run.to));
            self.node(&a);
            self.node(&b);
            if is_whole(case, run, "common") {
                self.wire(format!("{name}.common"), &a, &b, leg(1));
            }
        }
    }

    fn source(&mut self, plan: &Plan, corner: Corner, supply: &Supply) {
        let (plus, minus) = terminals(plan, &supply.name);
        let (plus, minus) = (self.node(&plus), self.node(&minus));
        let share = supply.tolerance.unwrap_or(0.0) / 100.0;
        let (least, most) = supply
            .window
            .unwrap_or((supply.volts * (1.0 - share), supply.volts * (1.0 + share)));
        let volts = match corner.1 {
            0 => supply.volts,
            1 => most,
            _ => least,
        };
        let ohms = supply
            .resistance
            .or(supply.loaded.map(|(v, a)| (supply.volts - v) / a))
            .unwrap_or(0.0);
        self.sources.push(Source {
            plus,
            minus,
            volts,
            ohms,
            live: supply.fed_by.is_none(),
        });
    }

    /// Which nodes are joined by conductors.
    fn conductors(&self) -> Vec<usize> {
        let mut group: Vec<usize> = (0..self.len()).collect();
        for wire in self.wires.values() {
            let (keep, gone) = (group[wire.a], group[wire.b]);
            group
                .iter_mut()
                .filter(|g| **g == gone)
                .for_each(|g| *g = keep);
        }
        group
    }

    /// Whether live supplies reach both nodes, as they must for a device.
    pub(crate) fn is_reached(&self, plus: &str, minus: &str) -> bool {
        let group = self.conductors();
        self.climbs(&group, group[self.at(minus)], group[self.at(plus)])
    }

    /// Finds which devices are reached by a live supply, and so which fed supplies live.
    fn enliven(&mut self, plan: &Plan) {
        let group = self.conductors();
        self.device_live = vec![false; plan.devices.len()];
        loop {
            let mut changed = false;
            for (i, device) in plan.devices.iter().enumerate() {
                let (plus, minus) = terminals(plan, &device.name);
                let (plus, minus) = (group[self.at(&plus)], group[self.at(&minus)]);
                if !self.device_live[i] && self.climbs(&group, minus, plus) {
                    self.device_live[i] = true;
                    changed = true;
                }
            }
            for (i, supply) in plan.supplies.iter().enumerate() {
                let fed = plan
                    .devices
                    .iter()
                    .position(|d| Some(&d.name) == supply.fed_by.as_ref());
                if fed.is_some_and(|device| self.device_live[device]) && !self.sources[i].live {
                    self.sources[i].live = true;
                    changed = true;
                }
            }
            if !changed {
                return;
            }
        }
    }

    /// Whether live supplies, one or several in series, lead from one group of nodes up to another.
    fn climbs(&self, group: &[usize], from: usize, to: usize) -> bool {
        let mut reached = vec![from];
        let mut next = 0;
        while next < reached.len() {
            for source in self.sources.iter().filter(|s| s.live) {
                let up = group[source.plus];
                if group[source.minus] == reached[next] {
                    if up == to {
                        return true;
                    }
                    if !reached.contains(&up) {
                        reached.push(up);
                    }
                }
            }
            next += 1;
        }
        false
    }

    fn device(&mut self, plan: &Plan, case: &Case, corner: Corner, device: usize) {
        if !self.device_live[device] {
            return;
        }
        let (plus, minus) = terminals(plan, &plan.devices[device].name);
        let (plus, minus) = (self.at(&plus), self.at(&minus));
        let times = 1.0 + corner.3 * plan.design.draw_tolerance.unwrap_or(0.0) / 100.0;
        let law = match state_of(plan, case, device).1 {
            Draw::Off => None,
            Draw::Amps(amps) => Some(Law::Amps(amps * times)),
            Draw::Watts(watts) => Some(Law::Watts(watts * times)),
            Draw::Ohms(ohms) => Some(Law::Ohms(ohms / times)),
            Draw::AmpsAt(amps, volts) => Some(Law::Ohms(volts / amps / times)),
            Draw::WattsAt(watts, volts) => Some(Law::Ohms(volts * volts / watts / times)),
        };
        let fed = (plan.supplies.iter().enumerate())
            .filter(|(_, s)| s.fed_by.as_ref() == Some(&plan.devices[device].name))
            .map(|(i, s)| Law::Feed(i, s.efficiency.unwrap_or(100.0) / 100.0));
        self.loads
            .extend(law.into_iter().chain(fed).map(|law| Load {
                device,
                plus,
                minus,
                law,
            }));
    }
}

/// Ohms of a fuse or contact.
fn part_ohms(plan: &Plan, part: &str) -> f64 {
    let fuse = plan.fuses.iter().find(|(name, _)| name == part);
    let contact = part.split_once('.').and_then(|(device, relay)| {
        let device = plan.devices.iter().find(|d| d.name == device)?;
        let relay = relay.split('.').next()?;
        device.relays.iter().find(|(name, _)| name == relay)
    });
    fuse.or(contact).and_then(|(_, ohms)| *ohms).unwrap_or(0.0)
}
