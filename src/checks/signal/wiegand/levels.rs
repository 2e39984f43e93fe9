//! The levels of a Wiegand line: lows and highs as they arrive, with what the negatives lose.

use crate::checks::signal::wiegand::rules::{Numbers, Problem};
use crate::checks::signal::{Line, sent_from, taken_at};
use crate::checks::{Check, Look, exceeds, greatest};
use crate::circuit::NodeId;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::units::Measure;

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

/// Least volts of an input before it conducts.
const BELOW_V: f64 = -0.3;

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

/// The levels that do not arrive as what they are.
pub(super) fn judge(look: &Look<'_>, line: &Line, n: &Numbers, found: &mut Vec<Problem>) {
    let shift = |row: &Row| shift(look, line, n, row);
    let lowest =
        greatest(look.whole_rows(), |row| Some(-shift(row)?)).map(|(under, row)| (row, -under));
    let solved = look.whole_rows().any(|row| row.solution().is_some());
    if lowest.is_none() && solved {
        let message =
            "no conductor joins the zero volts of sender and receiver: a low has nothing to be low against"
                .to_owned();
        found.push(Problem::new(&ZERO, Severity::Fail, message));
    }
    let low = |row: &Row| Some(low_at(n, shift(row)?, line.ohms(look, row)).0);
    if let Some((_, row)) = greatest(look.whole_rows(), low)
        && let Some(shift) = shift(row)
    {
        found.extend(too_high(look, line, n, (row, shift)));
    }
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
    found.extend(too_low(n, lowest));
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
        format!("{volts:.3} V < {} V", n.high_in_v)
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
