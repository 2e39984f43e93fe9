//! The electrical side of a bus: terminators, idle level, unit loads, what is left at the far end.

use super::{BIAS_V, Judged, TIA};
use crate::checks::{Check, Finding, exceeds, greatest};
use crate::circuit::{Corner, run_ohms};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::Thing;
use crate::units::Measure;

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
pub(crate) const SWING: Check = Check {
    code: "bus-swing",
    question: "Is enough of the signal left at the far end of the copper?",
    formula: "driver V x Rt / (Rt + loop ohm) >= 0.3 V; under 0.2 V no receiver must sense it",
    source: "Ohm's law; 0.2 V from TIA-485-A (secondary copy seen); 0.3 V: common practice, no source",
};

/// Volts to spare over what receivers sense.
const SPARE_V: f64 = 0.05;
/// Least volts at the far end.
const SWING_V: f64 = 0.3;

impl Judged<'_> {
    /// Ohms of terminators and receivers in parallel.
    pub(super) fn load_ohm(&self, terminators: usize) -> f64 {
        let n = u32::try_from(terminators).map_or(f64::INFINITY, f64::from);
        1.0 / (n / self.terminator_ohm + self.units / self.limits.unit_load.base())
    }

    pub(super) fn terminators(&self) -> Option<Finding> {
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
            let on_it = self.devices.contains(stray);
            let message = format!(
                "{} has a terminator and is {}; the ends of the line are {} and {}",
                self.site.devices[*stray].name,
                if on_it { "at neither end" } else { "not on it" },
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

    pub(super) fn idle(&self) -> Option<Finding> {
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
        // Pairs at several places lie side by side; one that is not on the bus holds nothing.
        let bias = match self.bias_on_it().count() {
            0 if !self.bus.bias_at.is_empty() => return None,
            pairs => bias / u32::try_from(pairs.max(1)).map_or(f64::INFINITY, f64::from),
        };
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
            format!("{across} V x {load:.1} / (2 x {bias} + {load:.1}) = {volts:.3} V < {limit} V");
        Some(
            self.found(&IDLE, severity, &message)
                .measured(volts, limit, "V")
                .put_in(numbers)
                .lower_is_worse(),
        )
    }

    pub(super) fn unit_loads(&self) -> Option<Finding> {
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

    pub(super) fn swing(&self) -> Option<Finding> {
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
