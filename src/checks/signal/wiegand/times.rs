//! The times of a Wiegand line: how fast an edge rises, and what that makes of pulse and gap.

use crate::checks::signal::Line;
use crate::checks::signal::wiegand::rules::{Numbers, Problem, SIA};
use crate::checks::{Check, Look};
use crate::diagnostic::Severity;
use crate::tables;
use crate::units::Measure;

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

/// Rounding of times, in seconds.
const SAME_S: f64 = 1e-12;

/// Seconds from letting go to a high, from 0 V: `R C ln(V / (V - high_in))`.
fn edge(n: &Numbers, metres: f64) -> Option<f64> {
    let left = n.voltage_v - n.high_in_v;
    (left > 0.0).then(|| n.pull_up_ohm * n.farad_per_m * metres * (n.voltage_v / left).ln())
}

/// The times that are out of their limits.
pub(super) fn judge(look: &Look<'_>, line: &Line, n: &Numbers, found: &mut Vec<Problem>) {
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
