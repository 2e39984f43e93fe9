//! The rules of a Wiegand line, as a function of its numbers: length, drive, twist, and what the
//! files beside this one judge.
//!
//! Numbers are raw SI: this is a kernel that is tried with other values, too.

use std::f64::consts::PI;

use crate::checks::signal::Line;
use crate::checks::signal::wiegand::{levels, times};
use crate::checks::{Check, Look, exceeds};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::tables;
use crate::units::Measure;

pub(super) const SIA: &str = "SIA AC-01-1996.10 (secondary copy seen)";

pub(crate) const LENGTH: Check = Check {
    code: "wiegand-length",
    question: "Is the Wiegand line no longer than is recommended for its gauge?",
    formula: "length <= 200 ft of 22 AWG, 300 ft of 20 AWG, 500 ft of 18 AWG",
    source: SIA,
};
pub(crate) const DRIVE: Check = Check {
    code: "wiegand-drive",
    question: "Can the sender sink the current of the pull-up?",
    formula: "V / R of the pull-up <= drive",
    source: "the sender's data sheet; common practice, no source",
};
pub(crate) const TWIST: Check = Check {
    code: "wiegand-twist",
    question: "Is each data conductor twisted with the common, and not with the other?",
    formula: "the two data conductors are not one pair",
    source: "common practice, no source",
};

/// What a line is judged by.
#[derive(Clone, Copy, Debug)]
pub(super) struct Numbers {
    /// Which end of the line sends.
    pub(super) sender: usize,
    /// Which end pulls up.
    pub(super) pull_up_at: usize,
    pub(super) voltage_v: f64,
    pub(super) pull_up_ohm: f64,
    pub(super) low_out_v: f64,
    pub(super) low_in_v: f64,
    pub(super) high_in_v: f64,
    pub(super) drive_a: f64,
    pub(super) pulse_s: f64,
    pub(super) gap_s: f64,
    pub(super) farad_per_m: f64,
    pub(super) twisted_together: bool,
}

/// One rule that a line breaks.
pub(super) struct Problem {
    pub(super) check: &'static Check,
    pub(super) severity: Severity,
    pub(super) message: String,
    pub(super) numbers: String,
    pub(super) measured: Option<(f64, f64, &'static str)>,
    pub(super) at: Option<(usize, Corner)>,
    pub(super) lower_is_worse: bool,
}

impl Problem {
    pub(super) fn new(check: &'static Check, severity: Severity, message: String) -> Self {
        Self {
            check,
            severity,
            message,
            numbers: String::new(),
            measured: None,
            at: None,
            lower_is_worse: false,
        }
    }

    pub(super) fn put_in(mut self, numbers: String) -> Self {
        self.numbers = numbers;
        self
    }

    pub(super) fn measured(mut self, value: f64, limit: f64, unit: &'static str) -> Self {
        self.measured = Some((value, limit, unit));
        self
    }

    pub(super) fn at(mut self, row: &Row) -> Self {
        self.at = Some((row.case, row.corner));
        self
    }

    pub(super) fn lower(mut self) -> Self {
        self.lower_is_worse = true;
        self
    }
}

/// Every rule that a line breaks with these numbers.
pub(super) fn problems(look: &Look<'_>, line: &Line, n: &Numbers) -> Vec<Problem> {
    let mut found = Vec::new();
    found.extend(length(look, line));
    levels::judge(look, line, n, &mut found);
    times::judge(look, line, n, &mut found);
    let sunk = n.voltage_v / n.pull_up_ohm;
    if exceeds(sunk, n.drive_a) {
        let message = format!(
            "the sender sinks {:.2} mA of the pull-up, it can {:.2} mA",
            sunk * 1e3,
            n.drive_a * 1e3
        );
        let numbers = format!(
            "{} V / {} ohm = {sunk:.3} A > {} A",
            n.voltage_v, n.pull_up_ohm, n.drive_a
        );
        found.push(
            Problem::new(&DRIVE, Severity::Warn, message)
                .measured(sunk, n.drive_a, "A")
                .put_in(numbers),
        );
    }
    if n.twisted_together {
        let message = "its two data conductors are twisted with each other: each disturbs the other; twist each with the common".to_owned();
        found.push(Problem::new(&TWIST, Severity::Warn, message));
    }
    found
}

/// The length for the gauge of the thinnest run.
fn length(look: &Look<'_>, line: &Line) -> Option<Problem> {
    let metres = line.metres(look);
    let areas = line.runs.iter().filter_map(|i| {
        let run = &look.site.runs[*i];
        let cable = run.cable(look.site).filter(|_| run.resistance.is_none())?;
        Some((cable.size.area().base(), cable.size))
    });
    let (area, size) = areas.min_by(|a, b| a.0.total_cmp(&b.0))?;
    // ASTM B258: the diameter is 0.127 mm x 92^((36 - gauge) / 39).
    let diameter_mm = 2e3 * (area / PI).sqrt();
    let gauge = 36.0 - 39.0 * (diameter_mm / 0.127).ln() / 92.0_f64.ln();
    // A metric size a little under a gauge counts as that gauge.
    let own = tables::wiegand_length(gauge - 0.2).map(Measure::base);
    let most = tables::wiegand_length(0.0)?.base();
    let severity = if exceeds(metres, most) {
        Severity::Fail
    } else if own.is_none_or(|own| exceeds(metres, own)) {
        Severity::Warn
    } else {
        return None;
    };
    let limit = if severity == Severity::Fail {
        most
    } else {
        own.unwrap_or(0.0)
    };
    let feet = |m: f64| m / 0.3048;
    let message = match own {
        None => format!(
            "{size} is thinner than any gauge that is recommended for Wiegand data ({:.0} ft run)",
            feet(metres)
        ),
        Some(own) => format!(
            "{:.0} ft ({metres:.1} m) of {size}; {:.0} ft are recommended, {:.0} ft of any",
            feet(metres),
            feet(own),
            feet(most)
        ),
    };
    Some(
        Problem::new(&LENGTH, severity, message)
            .measured(metres, limit, "m")
            .put_in(format!("{metres:.2} m > {limit:.2} m")),
    )
}
