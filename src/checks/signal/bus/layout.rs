//! How a bus lies: its length, its stubs, and the zero volts of what is on it.

use super::{Judged, PRACTICE};
use crate::checks::signal::sent_from;
use crate::checks::{Check, Finding, exceeds, first_greatest, greatest};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::Thing;
use crate::units::{BitRate, Measure, System, show};

pub(crate) const RATE: Check = Check {
    code: "bus-rate",
    question: "Is the bus short enough for its bit rate?",
    formula: "length x rate <= 100,000,000 m bit/s, and length <= 1200 m",
    source: PRACTICE,
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

impl Judged<'_> {
    pub(super) fn rate(&self) -> Option<Finding> {
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

    /// Longest stub at the bus's rate.
    pub(super) fn longest_stub(&self) -> f64 {
        let rate = self.bus.rate.map_or(STUB_RATE, BitRate::base);
        STUB_M * (STUB_RATE / rate).min(1.0)
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
        let high = first_greatest(zeros.iter().copied())?;
        let low = first_greatest(zeros.iter().map(|(volts, d)| (-volts, *d)))?;
        Some((high.0 + low.0, [high.1, low.1]))
    }

    pub(super) fn common_mode(&self) -> Option<Finding> {
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

    pub(super) fn reference(&self) -> Option<Finding> {
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
            "no third conductor for zero volts in {}: {so}",
            without.join(", ")
        );
        Some(self.found(&REFERENCE, Severity::Warn, &message))
    }

    pub(super) fn stubs(&self) -> Option<Finding> {
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
}
