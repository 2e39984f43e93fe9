//! The rules of a Wiegand line, as a function of its numbers: levels, edges, times, drive, length.
//!
//! Numbers are raw SI: this is a kernel that is tried with other values, too.

use std::f64::consts::PI;

use crate::checks::signal::{Line, sent_from, taken_at};
use crate::checks::{Check, Look, exceeds};
use crate::circuit::{Corner, NodeId};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::tables;
use crate::units::Measure;

const SIA: &str = "SIA AC-01-1996.10 (secondary copy seen)";

pub(crate) const LENGTH: Check = Check {
    code: "wiegand-length",
    question: "Is the Wiegand line no longer than is recommended for its gauge?",
    formula: "length <= 200 ft of 22 AWG, 300 ft of 20 AWG, 500 ft of 18 AWG",
    source: SIA,
};
pub(crate) const LOW: Check = Check {
    code: "wiegand-low",
    question: "Does a low still arrive as a low, with all the current in the shared negative?",
    formula: "low_out + shift + pull-up A x ohm of the data conductor <= low_in, shift = zero volts of the sender less those of the receiver",
    source: "Kirchhoff's laws on the whole network; levels from the data sheets, 0.8 V is TTL (from memory)",
};
pub(crate) const BELOW: Check = Check {
    code: "wiegand-below",
    question: "Does a low stay above the receiver's zero volts?",
    formula: "low_out + shift >= -0.3 V",
    source: "common practice, no source: inputs conduct below that",
};
pub(crate) const HIGH: Check = Check {
    code: "wiegand-high",
    question: "Does a high still arrive as a high?",
    formula: "voltage >= high_in; pulled up at the sender: voltage + shift >= high_in",
    source: "Kirchhoff's laws on the whole network; levels from the data sheets, 2.0 V is TTL (from memory)",
};
pub(crate) const ZERO: Check = Check {
    code: "wiegand-common",
    question: "Are the zero volts of sender and receiver joined at all?",
    formula: "conductors lead from one to the other",
    source: "the network as drawn",
};
pub(crate) const EDGE: Check = Check {
    code: "wiegand-edge",
    question: "Do the data conductors rise fast enough when the sender lets go?",
    formula: "t = R C ln(V / (V - high_in)) <= pulse / 2 and <= gap / 4, R the pull-up, C = capacitance per length x length",
    source: "charging of a capacitor; the limits are common practice, no source",
};
pub(crate) const PULSE: Check = Check {
    code: "wiegand-pulse",
    question: "Are pulse and gap still within their limits when they arrive?",
    formula: "pulse >= 20 us, pulse + t <= 100 us, gap - t >= 200 us, gap <= 20 ms, t the time of the edge",
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

/// Least volts of an input before it conducts.
const BELOW_V: f64 = -0.3;
/// Rounding of times, in seconds.
const SAME_S: f64 = 1e-12;

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
    fn new(check: &'static Check, severity: Severity, message: String) -> Self {
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

    fn put_in(mut self, numbers: String) -> Self {
        self.numbers = numbers;
        self
    }

    fn measured(mut self, value: f64, limit: f64, unit: &'static str) -> Self {
        self.measured = Some((value, limit, unit));
        self
    }

    fn at(mut self, row: &Row) -> Self {
        self.at = Some((row.case, row.corner));
        self
    }

    fn lower(mut self) -> Self {
        self.lower_is_worse = true;
        self
    }
}

/// Every rule that a line breaks with these numbers.
pub(super) fn problems(look: &Look<'_>, line: &Line, n: &Numbers) -> Vec<Problem> {
    let mut found = Vec::new();
    found.extend(length(look, line));
    levels(look, line, n, &mut found);
    times(look, line, n, &mut found);
    let sunk = n.voltage_v / n.pull_up_ohm;
    if exceeds(sunk, n.drive_a) {
        let message = format!(
            "the sender sinks {:.2} mA of the pull-up, it can {:.2} mA",
            sunk * 1e3,
            n.drive_a * 1e3
        );
        let numbers = format!(
            "{} V / {} ohm = {sunk:.5} A > {} A",
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

/// The nodes of the zero volts of the sender and of the receiver.
pub(super) fn zeros(look: &Look<'_>, line: &Line, n: &Numbers) -> Option<[NodeId; 2]> {
    let from = sent_from(look, line.ends[n.sender])?;
    let to = taken_at(look, line.ends[1 - n.sender])?;
    Some([from, to])
}

/// Zero volts of the sender less those of the receiver in a row.
fn shift(look: &Look<'_>, line: &Line, n: &Numbers, row: &Row) -> Option<f64> {
    let [from, to] = zeros(look, line, n)?;
    let volts = look.results.between(row, [from, to]);
    volts
        .filter(|_| look.joined(row, from, to))
        .map(Measure::base)
}

/// Volts at the receiver while the sender pulls low.
///
/// Pulled up at the receiver, the current of the pull-up comes through the data conductor.
pub(super) fn low_at(n: &Numbers, shift_v: f64, data_ohm: f64) -> (f64, f64) {
    let low = n.low_out_v + shift_v;
    if n.pull_up_at == n.sender {
        return (low, 0.0);
    }
    let amps = (n.voltage_v - low) / (n.pull_up_ohm + data_ohm);
    (low + amps * data_ohm, amps)
}

fn levels(look: &Look<'_>, line: &Line, n: &Numbers, found: &mut Vec<Problem>) {
    let rows: Vec<(&Row, f64)> = look
        .whole_rows()
        .filter_map(|row| Some((row, shift(look, line, n, row)?)))
        .collect();
    let solved = look.whole_rows().any(|row| row.solution().is_some());
    if rows.is_empty() && solved {
        let message =
            "no conductor joins the zero volts of sender and receiver: a low has nothing to be low against"
                .to_owned();
        found.push(Problem::new(&ZERO, Severity::Fail, message));
    }
    let low = |(row, shift): &(&Row, f64)| low_at(n, *shift, line.ohms(look, row)).0;
    let by_low = |a: &&(&Row, f64), b: &&(&Row, f64)| low(a).total_cmp(&low(b));
    if let Some(worst) = rows.iter().rev().max_by(by_low) {
        found.extend(too_high(look, line, n, *worst));
    }
    let by_shift = |a: &&(&Row, f64), b: &&(&Row, f64)| a.1.total_cmp(&b.1);
    let lowest = rows.iter().min_by(by_shift);
    if let Some((row, shift)) = lowest
        && exceeds(BELOW_V, n.low_out_v + shift)
    {
        let volts = n.low_out_v + shift;
        let message = format!(
            "a low arrives at {volts:.2} V, under the receiver's own zero volts: its input conducts"
        );
        let numbers = format!("{} + {shift:.3} = {volts:.3} V < {BELOW_V} V", n.low_out_v);
        found.push(
            Problem::new(&BELOW, Severity::Warn, message)
                .measured(volts, BELOW_V, "V")
                .put_in(numbers)
                .at(row)
                .lower(),
        );
    }
    found.extend(too_low(n, lowest.copied()));
}

/// A low that arrives as no low.
fn too_high(
    look: &Look<'_>,
    line: &Line,
    n: &Numbers,
    (row, shift): (&Row, f64),
) -> Option<Problem> {
    let data_ohm = line.ohms(look, row);
    let (volts, amps) = low_at(n, shift, data_ohm);
    if !exceeds(volts, n.low_in_v) {
        return None;
    }
    let message = format!(
        "a low arrives at {volts:.2} V, only up to {} V counts as low: the zero volts of the sender stand {shift:.3} V above those of the receiver, and reads turn into garbage",
        n.low_in_v
    );
    let numbers = format!(
        "{} + {shift:.3} + {amps:.5} A x {data_ohm:.3} ohm = {volts:.3} V > {} V",
        n.low_out_v, n.low_in_v
    );
    Some(
        Problem::new(&LOW, Severity::Fail, message)
            .measured(volts, n.low_in_v, "V")
            .put_in(numbers)
            .at(row),
    )
}

/// A high that arrives as no high.
fn too_low(n: &Numbers, lowest: Option<(&Row, f64)>) -> Option<Problem> {
    let at_sender = n.pull_up_at == n.sender;
    let shift = lowest.filter(|_| at_sender).map_or(0.0, |l| l.1);
    let volts = n.voltage_v + shift;
    if !exceeds(n.high_in_v, volts) {
        return None;
    }
    let message = format!(
        "a high arrives at {volts:.2} V, the receiver wants {} V: the levels of the two ends do not match",
        n.high_in_v
    );
    let numbers = if at_sender {
        format!(
            "{} + {shift:.3} = {volts:.3} V < {} V",
            n.voltage_v, n.high_in_v
        )
    } else {
        format!("{volts} V < {} V", n.high_in_v)
    };
    let problem = Problem::new(&HIGH, Severity::Fail, message)
        .measured(volts, n.high_in_v, "V")
        .put_in(numbers)
        .lower();
    Some(match lowest.filter(|_| at_sender) {
        Some((row, _)) => problem.at(row),
        None => problem,
    })
}

/// Seconds from letting go to a high, from 0 V: `R C ln(V / (V - high_in))`.
fn edge(n: &Numbers, metres: f64) -> Option<f64> {
    let left = n.voltage_v - n.high_in_v;
    (left > 0.0).then(|| n.pull_up_ohm * n.farad_per_m * metres * (n.voltage_v / left).ln())
}

fn times(look: &Look<'_>, line: &Line, n: &Numbers, found: &mut Vec<Problem>) {
    let metres = line.metres(look);
    let Some(t) = edge(n, metres) else { return };
    let us = |s: f64| s * 1e6;
    let most = (n.pulse_s / 2.0).min(n.gap_s / 4.0);
    if t > most + SAME_S {
        let message = format!(
            "the data conductors take {:.1} us to rise, {:.1} us are allowed: take a lower pull-up or a cable of less capacitance",
            us(t),
            us(most)
        );
        let numbers = format!(
            "{} ohm x {:.2} nF x ln({} / ({} - {})) = {:.2} us > {:.2} us",
            n.pull_up_ohm,
            n.farad_per_m * metres * 1e9,
            n.voltage_v,
            n.voltage_v,
            n.high_in_v,
            us(t),
            us(most)
        );
        found.push(
            Problem::new(&EDGE, Severity::Fail, message)
                .measured(t, most, "s")
                .put_in(numbers),
        );
    }
    let limits = tables::wiegand_timing();
    let (pulse, gap) = (n.pulse_s + t, n.gap_s - t);
    let rules = [
        ("a pulse is sent", n.pulse_s, limits.least_pulse, false),
        ("a pulse arrives", pulse, limits.most_pulse, true),
        ("a gap arrives", gap, limits.least_gap, false),
        ("a gap is sent", n.gap_s, limits.most_gap, true),
    ];
    for (what, value, limit, over) in rules {
        let limit = limit.base();
        let broken = if over {
            value > limit + SAME_S
        } else {
            value < limit - SAME_S
        };
        if broken {
            let (word, sign) = if over { ("most", ">") } else { ("least", "<") };
            let message = format!(
                "{what} with {:.1} us, {:.0} us are the {word}",
                us(value),
                us(limit)
            );
            let numbers = format!(
                "t = {:.2} us; {:.2} us {sign} {:.0} us",
                us(t),
                us(value),
                us(limit)
            );
            let problem = Problem::new(&PULSE, Severity::Warn, message)
                .measured(value, limit, "s")
                .put_in(numbers);
            found.push(if over { problem } else { problem.lower() });
            // One finding for a check and a subject: the first limit that is broken.
            break;
        }
    }
}
