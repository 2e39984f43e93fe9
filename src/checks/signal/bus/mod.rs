//! Balanced two-wire buses: rate, ends, idle level, loads, common mode, shape, swing.

mod bias;
mod layout;
mod load;
mod shape;

pub(crate) use bias::BIAS;
pub(crate) use layout::{COMMON_MODE, RATE, REFERENCE, STUBS};
pub(crate) use load::{IDLE, SWING, TERMINATORS, UNITS};

use crate::checks::asks::Asks;
use crate::checks::signal::bus::shape::Shape;
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::{Bus, Site, Thing};
use crate::tables::{self, BusLimits};
use crate::units::Measure;

const PRACTICE: &str = "common practice, no source";
const TIA: &str = "TIA-485-A (secondary copy seen)";

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
    for (i, run) in look.runs() {
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
        found.extend(self.bias());
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
}
