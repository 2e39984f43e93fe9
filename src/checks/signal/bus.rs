//! Balanced two-wire buses: rate, ends, idle level, loads, common mode, shape, swing.

use crate::checks::signal::bus_shape::Shape;
use crate::checks::signal::{Asks, sent_from};
use crate::checks::{Check, Finding, Look, exceeds, greatest};
use crate::circuit::{Corner, run_ohms};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Bus, Site, Thing};
use crate::tables::{self, BusLimits};
use crate::units::{BitRate, Measure, System, show};

const PRACTICE: &str = "common practice, no source";
const TIA: &str = "TIA-485-A (secondary copy seen)";

pub(crate) const RATE: Check = Check {
    code: "bus-rate",
    question: "Is the bus short enough for its bit rate?",
    formula: "length x rate <= 100,000,000 m bit/s, and length <= 1200 m",
    source: PRACTICE,
};
pub(crate) const TERMINATORS: Check = Check {
    code: "bus-terminators",
    question: "Are there two terminators, one at each end of the line?",
    formula: "two terminators, at the two ends; 1 / (Nt / Rt + n / 12000 ohm) >= 54 ohm",
    source: TIA,
};
pub(crate) const IDLE: Check = Check {
    code: "bus-idle",
    question: "Is the line held at a clear level while nobody sends?",
    formula: "V Req / (2 Rb + Req) >= 0.2 V, with 0.05 V to spare; Req = 1 / (Nt / Rt + n / 12000 ohm)",
    source: "Ohm's law; 0.2 V from TIA-485-A (secondary copy seen); the spare is common practice, no source",
};
pub(crate) const UNITS: Check = Check {
    code: "bus-units",
    question: "Do the receivers together stay within what a driver can drive?",
    formula: "unit loads <= 32",
    source: TIA,
};
pub(crate) const COMMON_MODE: Check = Check {
    code: "bus-common-mode",
    question: "Do the zero volts of all devices on the bus stay near one another?",
    formula: "difference of zero volts <= 3 V; receivers are made for -7 V to +12 V, the signal's own 5 V counted",
    source: "TIA-485-A (secondary copy seen); 3 V: common practice, no source; differences by Kirchhoff's laws on the whole network",
};
pub(crate) const REFERENCE: Check = Check {
    code: "bus-reference",
    question: "Has the bus a conductor that joins the zero volts of its devices?",
    formula: "every run of the bus has a data common, or the power negative beside it",
    source: "TIA-485-A (from memory); common practice, no source",
};
pub(crate) const STUBS: Check = Check {
    code: "bus-stubs",
    question: "Is the bus one line with short stubs, and no star?",
    formula: "stub <= 10 m up to 115.2 kbit/s, in proportion less above",
    source: PRACTICE,
};
pub(crate) const SWING: Check = Check {
    code: "bus-swing",
    question: "Is enough of the signal left at the far end of the copper?",
    formula: "driver V x Rt / (Rt + loop ohm) >= 0.3 V; under 0.2 V no receiver must sense it",
    source: "Ohm's law; 0.2 V from TIA-485-A (secondary copy seen); 0.3 V: common practice, no source",
};

/// Longest bus, in metres.
const LONGEST_M: f64 = 1200.0;
/// Most metres x bits in a second.
const METRE_BITS: f64 = 1e8;
/// Longest stub, in metres, up to [`STUB_RATE`].
const STUB_M: f64 = 10.0;
/// Up to this rate the longest stub holds, in bits a second.
const STUB_RATE: f64 = 115_200.0;
/// Volts between zero volts that leave the signal its room.
const APART_V: f64 = 3.0;
/// Volts to spare over what receivers sense.
const SPARE_V: f64 = 0.05;
/// Least volts at the far end.
const SWING_V: f64 = 0.3;
/// Resistance of a terminator.
const TERMINATOR_OHM: f64 = 120.0;
/// Volts across bias resistors and line.
const BIAS_V: f64 = 5.0;

/// The silent inputs of a bus and what they are taken for, in one line.
pub(crate) fn taken(bus: &Bus) -> Option<String> {
    let limits = tables::bus_limits();
    let each = [
        (
            bus.terminator.is_none(),
            format!("terminator {TERMINATOR_OHM} ohm"),
        ),
        (
            bus.bias.is_some() && bus.bias_voltage.is_none(),
            format!("bias_voltage {BIAS_V} V"),
        ),
        (
            bus.driver.is_none(),
            format!("driver {} V", limits.driver.base()),
        ),
        (bus.units.is_none(), "units one for each device".to_owned()),
    ];
    let words: Vec<String> = each.into_iter().filter(|e| e.0).map(|e| e.1).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

pub(super) fn check(look: &Look<'_>, asks: &mut Asks, found: &mut Vec<Finding>) {
    for (b, bus) in look.site.buses.iter().enumerate() {
        let runs: Vec<usize> = (0..look.site.runs.len())
            .filter(|i| look.site.runs[*i].bus == Some(b) && look.is_fitted(*i))
            .collect();
        let Some(shape) = Shape::of(look.site, runs) else {
            continue;
        };
        let one = Judged::new(look, bus, shape);
        one.judge(asks, found);
    }
    for (i, run) in look.site.runs.iter().enumerate() {
        if run.carries.rs485 && run.bus.is_none() && look.is_fitted(i) {
            let words = "bus (the two-wire bus that it is part of, with its rate and terminators)";
            asks.add(&run.name, Some(Thing::Run(i)), words);
        }
    }
}

/// A bus with its shape and the numbers that several rules need.
struct Judged<'a> {
    look: &'a Look<'a>,
    site: &'a Site,
    bus: &'a Bus,
    shape: Shape,
    limits: BusLimits,
    terminator_ohm: f64,
    units: f64,
    devices: Vec<usize>,
}

impl<'a> Judged<'a> {
    fn new(look: &'a Look<'a>, bus: &'a Bus, shape: Shape) -> Self {
        let devices: Vec<usize> = shape
            .things
            .iter()
            .filter_map(|thing| match thing {
                Thing::Device(i) => Some(*i),
                _ => None,
            })
            .collect();
        let each = u32::try_from(devices.len()).map_or(f64::INFINITY, f64::from);
        Self {
            look,
            site: look.site,
            bus,
            shape,
            limits: tables::bus_limits(),
            terminator_ohm: bus.terminator.map_or(TERMINATOR_OHM, Measure::base),
            units: bus.units.unwrap_or(each),
            devices,
        }
    }

    fn judge(&self, asks: &mut Asks, found: &mut Vec<Finding>) {
        found.extend(self.rate());
        found.extend(self.terminators());
        found.extend(self.idle());
        found.extend(self.unit_loads());
        found.extend(self.common_mode());
        found.extend(self.reference());
        found.extend(self.stubs());
        found.extend(self.swing());
        let mut ask = |silent: bool, words: &str| {
            if silent {
                asks.add(&self.bus.name, Some(self.thing()), words);
            }
        };
        ask(
            self.bus.rate.is_none(),
            "rate (read it in the settings of any device)",
        );
        ask(
            self.bus.terminators.is_none(),
            "terminators (power off, measure ohms between the two conductors: 60 is two, 120 one, 40 three)",
        );
        ask(
            self.bus.bias.is_none() && self.bus.holds_idle.is_none(),
            "bias or holds_idle (what holds the idle line: bias resistors, or receivers that take an idle line for a one)",
        );
    }

    fn thing(&self) -> Thing {
        Thing::Run(self.shape.runs[0])
    }

    fn found(&self, check: &Check, severity: Severity, message: &str) -> Finding {
        let message = format!("{}: {message}", self.bus.name);
        check
            .finding(severity, &self.bus.name, message)
            .about(self.thing())
    }

    fn name(&self, thing: Thing) -> &str {
        self.site.name_of(thing)
    }

    fn rate(&self) -> Option<Finding> {
        let metres = self.shape.metres(self.site);
        let rate = self.bus.rate.map(BitRate::base);
        let limit = rate.map_or(LONGEST_M, |rate| (METRE_BITS / rate).min(LONGEST_M));
        if !exceeds(metres, limit) {
            return None;
        }
        let at = self
            .bus
            .rate
            .map_or(String::new(), |r| format!(" at {}", show(r, System::Si)));
        let message = format!("{metres:.0} m from end to end{at}; {limit:.0} m are the most");
        let numbers = rate.map_or(format!("{metres:.1} m > {limit} m"), |rate| {
            format!(
                "{metres:.1} m x {rate} bit/s = {:.3e} m bit/s",
                metres * rate
            )
        });
        Some(
            self.found(&RATE, Severity::Warn, &message)
                .measured(metres, limit, "m")
                .put_in(numbers),
        )
    }

    /// Ohms of terminators and receivers in parallel.
    fn load_ohm(&self, terminators: usize) -> f64 {
        let n = u32::try_from(terminators).map_or(f64::INFINITY, f64::from);
        1.0 / (n / self.terminator_ohm + self.units / self.limits.unit_load.base())
    }

    fn terminators(&self) -> Option<Finding> {
        let all = self.bus.terminators.as_ref()?;
        let n = all.len();
        let load = self.load_ohm(n);
        let numbers = format!(
            "1 / ({n} / {} ohm + {} / {} ohm) = {load:.1} ohm",
            self.terminator_ohm,
            self.units,
            self.limits.unit_load.base()
        );
        let least = self.limits.test_load.base();
        let terminators = u32::try_from(n).map_or(0.0, |n| self.terminator_ohm / f64::from(n));
        if n > 2 || (n > 0 && exceeds(least, terminators)) {
            let message = format!(
                "{n} terminators of {} ohm load the drivers with {load:.1} ohm; they are made for {least:.0} ohm: leave one at each end",
                self.terminator_ohm
            );
            return Some(
                self.found(&TERMINATORS, Severity::Fail, &message)
                    .measured(load, least, "ohm")
                    .put_in(format!("{numbers} < {least} ohm"))
                    .lower_is_worse(),
            );
        }
        if let Some(stray) = all.iter().find(|d| !self.near_an_end(**d)) {
            let ends = [self.shape.trunk.first()?, self.shape.trunk.last()?];
            let message = format!(
                "{} has a terminator and is at no end of the line; its ends are {} and {}",
                self.site.devices[*stray].name,
                self.name(*ends[0]),
                self.name(*ends[1])
            );
            return Some(self.found(&TERMINATORS, Severity::Fail, &message));
        }
        if n < 2 {
            let message =
                format!("{n} of its two ends has a terminator: echoes come back from an open end");
            return Some(
                self.found(&TERMINATORS, Severity::Warn, &message)
                    .put_in(format!("{n} < 2")),
            );
        }
        let same_end = self.ends_with(all) < 2;
        same_end.then(|| {
            let message = "both terminators are at one end of the line".to_owned();
            self.found(&TERMINATORS, Severity::Fail, &message)
        })
    }

    /// Longest stub at the bus's rate.
    fn longest_stub(&self) -> f64 {
        let rate = self.bus.rate.map_or(STUB_RATE, BitRate::base);
        STUB_M * (STUB_RATE / rate).min(1.0)
    }

    /// Whether a device is at an end of the line, or as near to it as a stub is long.
    fn is_near(&self, end: Thing, device: usize) -> bool {
        let device = Thing::Device(device);
        end == device
            || self
                .shape
                .metres_between(self.site, end, device)
                .is_some_and(|m| m > 0.0 && m <= self.longest_stub())
    }

    fn near_an_end(&self, device: usize) -> bool {
        let ends = [self.shape.trunk.first(), self.shape.trunk.last()];
        ends.into_iter()
            .flatten()
            .any(|end| self.is_near(*end, device))
    }

    /// How many ends of the line have one of some devices.
    fn ends_with(&self, devices: &[usize]) -> usize {
        let ends = [self.shape.trunk.first(), self.shape.trunk.last()];
        ends.into_iter()
            .flatten()
            .filter(|end| devices.iter().any(|d| self.is_near(**end, *d)))
            .count()
    }

    fn idle(&self) -> Option<Finding> {
        let sensed = self.limits.sensed.base();
        let Some(bias) = self.bus.bias.map(Measure::base) else {
            if self.bus.holds_idle != Some(false) {
                return None;
            }
            let message = "nothing holds the idle line, and its receivers do not take an idle line for a one: they read noise".to_owned();
            return Some(
                self.found(&IDLE, Severity::Fail, &message)
                    .measured(0.0, sensed, "V")
                    .put_in(format!("0 V < {sensed} V"))
                    .lower_is_worse(),
            );
        };
        let n = self.bus.terminators.as_ref().map_or(2, Vec::len);
        let load = self.load_ohm(n);
        let across = self.bus.bias_voltage.map_or(BIAS_V, Measure::base);
        let volts = across * load / (2.0 * bias + load);
        // To 0.01 V: half a millivolt of spare decides nothing.
        let spare = (volts * 100.0).round() / 100.0 + 1e-9 >= sensed + SPARE_V;
        let holds = self.bus.holds_idle == Some(true);
        let (severity, limit) = match (exceeds(sensed, volts), holds) {
            (true, false) => (Severity::Fail, sensed),
            (true, true) => (Severity::Warn, sensed),
            (false, false) if !spare => (Severity::Warn, sensed + SPARE_V),
            _ => return None,
        };
        let message = format!(
            "the idle line is held at {volts:.3} V, receivers sense {sensed} V: lower bias resistors, at one place, or fewer terminators"
        );
        let numbers =
            format!("{across} V x {load:.1} / (2 x {bias} + {load:.1}) = {volts:.4} V < {limit} V");
        Some(
            self.found(&IDLE, severity, &message)
                .measured(volts, limit, "V")
                .put_in(numbers)
                .lower_is_worse(),
        )
    }

    fn unit_loads(&self) -> Option<Finding> {
        let most = self.limits.most_units;
        exceeds(self.units, most).then(|| {
            let message = format!(
                "its receivers are {} unit loads, a driver drives {most}: put in a repeater",
                self.units
            );
            self.found(&UNITS, Severity::Warn, &message)
                .measured(self.units, most, "unit loads")
                .put_in(format!("{} > {most}", self.units))
        })
    }

    /// The two devices whose zero volts are farthest apart in a row, and by how much.
    fn apart(&self, row: &Row) -> Option<(f64, [usize; 2])> {
        let look = self.look;
        let first = sent_from(look, Thing::Device(*self.devices.first()?))?;
        let zeros = self.devices.iter().filter_map(|d| {
            let own = sent_from(look, Thing::Device(*d))?;
            let joined = look.joined(row, own, first);
            let volts = look.results.between(row, [own, first]).filter(|_| joined)?;
            Some((volts.base(), *d))
        });
        let zeros: Vec<(f64, usize)> = zeros.collect();
        let high = zeros.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
        let low = zeros.iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
        Some((high.0 - low.0, [high.1, low.1]))
    }

    fn common_mode(&self) -> Option<Finding> {
        let rows = self.look.whole_rows();
        let (volts, row) = greatest(rows, |row| self.apart(row).map(|a| a.0))?;
        let made_for = -self.limits.common_mode_low.base();
        if !exceeds(volts, APART_V) {
            return None;
        }
        let (severity, limit) = if exceeds(volts, made_for) {
            (Severity::Fail, made_for)
        } else {
            (Severity::Warn, APART_V)
        };
        let [high, low] = self.apart(row)?.1.map(|d| &self.site.devices[d].name);
        let message = format!(
            "the zero volts of {high} stand {volts:.2} V over those of {low}: thicker negatives, own pairs for what draws much, or an isolator"
        );
        Some(
            self.found(&COMMON_MODE, severity, &message)
                .at(row)
                .measured(volts, limit, "V")
                .put_in(format!("{volts:.3} V > {limit} V")),
        )
    }

    fn reference(&self) -> Option<Finding> {
        let without: Vec<&str> = self
            .shape
            .runs
            .iter()
            .map(|i| &self.site.runs[*i])
            .filter(|run| !run.common && !run.carries.power)
            .map(|run| run.name.as_str())
            .collect();
        if without.is_empty() {
            return None;
        }
        let joined = self.look.whole_rows().next().is_some_and(|row| {
            let zeros = self
                .devices
                .iter()
                .filter_map(|d| sent_from(self.look, Thing::Device(*d)));
            let zeros: Vec<_> = zeros.collect();
            zeros.iter().all(|z| self.look.joined(row, *z, zeros[0]))
        });
        let so = if joined {
            "their zero volts are joined by other ways alone"
        } else {
            "nothing else joins the zero volts of its devices, and nobody knows how far they stand apart"
        };
        let message = format!(
            "{} of it has no third conductor for zero volts: {so}",
            without.join(", ")
        );
        Some(self.found(&REFERENCE, Severity::Warn, &message))
    }

    fn stubs(&self) -> Option<Finding> {
        let limit = self.longest_stub();
        if self.shape.apart || self.shape.ring {
            let what = if self.shape.apart {
                "its runs do not hang together"
            } else {
                "its runs make a ring"
            };
            let message = format!("{what}: a bus is one line from end to end");
            return Some(self.found(&STUBS, Severity::Warn, &message));
        }
        let long = self.shape.stubs.iter().filter(|s| exceeds(s.1, limit));
        let long: Vec<&(Thing, f64)> = long.collect();
        let worst = long.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let message = format!(
            "it branches off by {:.0} m at {}, {limit:.1} m are the most of a stub{}: go on from device to device",
            worst.1,
            self.name(worst.0),
            if long.len() > 1 {
                format!(" ({} branches are longer)", long.len())
            } else {
                String::new()
            }
        );
        Some(
            self.found(&STUBS, Severity::Warn, &message)
                .measured(worst.1, limit, "m")
                .put_in(format!("{:.1} m > {limit:.1} m", worst.1)),
        )
    }

    fn swing(&self) -> Option<Finding> {
        let look = self.look;
        let driver = self
            .bus
            .driver
            .map_or(self.limits.driver.base(), Measure::base);
        let loop_ohm = |row: &Row| {
            let case = &look.results.cases[row.case];
            let ohms = self.shape.trunk_runs.iter().map(|i| {
                let run = &self.site.runs[*i];
                2.0 * run_ohms(self.site, run, row.corner.temperature(self.site, run, case))[2]
            });
            Some(ohms.sum::<f64>())
        };
        let rows = look.results.rows.iter();
        let (ohms, row) = greatest(rows.filter(|r| r.corner == Corner::Low), loop_ohm)?;
        let rt = self.terminator_ohm;
        let volts = driver * rt / (rt + ohms);
        let sensed = self.limits.sensed.base();
        let (severity, limit) = if exceeds(sensed, volts) {
            (Severity::Fail, sensed)
        } else if exceeds(SWING_V, volts) {
            (Severity::Warn, SWING_V)
        } else {
            return None;
        };
        let message = format!(
            "{volts:.2} V of {driver} V are left at the far end of {ohms:.0} ohm of copper; {limit} V are the least"
        );
        Some(
            self.found(&SWING, severity, &message)
                .at(row)
                .measured(volts, limit, "V")
                .put_in(format!(
                    "{driver} V x {rt} / ({rt} + {ohms:.1}) = {volts:.3} V < {limit} V"
                ))
                .lower_is_worse(),
        )
    }
}
