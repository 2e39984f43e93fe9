//! Wiegand lines: what both ends state, what is taken where they are silent, and whether what is
//! silent decides.

mod levels;
mod rules;
mod times;

pub(crate) use levels::{BELOW, HIGH, LOW, ZERO};
pub(crate) use rules::{DRIVE, LENGTH, TWIST};
pub(crate) use times::{EDGE, PULSE};

use crate::checks::asks::Asks;
use crate::checks::signal::wiegand::levels::{low_at, zeros};
use crate::checks::signal::wiegand::rules::{Numbers, Problem, problems};
use crate::checks::signal::{Line, lines};
use crate::checks::{Finding, Look, greatest};
use crate::circuit::NodeId;
use crate::diagnostic::Severity;
use crate::results::{Results, Row};
use crate::site::{DeviceRef, Site, Thing, Wiegand};
use crate::units::Measure;

/// Kinds of device that send.
const SENDERS: [&str; 2] = ["reader", "keypad"];

/// An input of a Wiegand line that the file may leave out.
struct Input {
    key: &'static str,
    /// What it is taken for.
    taken: &'static str,
    /// The hard end of what it may well be.
    hard: &'static str,
    put_hard: fn(&mut Numbers),
    /// How a person comes by it.
    how: &'static str,
}

/// # Source
/// SIA AC-01-1996.10 for pulses; levels of TTL (from memory); typical values of cables and
/// pull-ups: common practice, no source.
const INPUTS: [Input; 10] = [
    Input {
        key: "voltage",
        taken: "5 V",
        hard: "5 V",
        put_hard: |_| {},
        how: "measure a data conductor against the receiver's minus while nothing is sent",
    },
    Input {
        key: "pull_up",
        taken: "1 kohm",
        hard: "10 kohm",
        put_hard: |n| n.pull_up_ohm = 10e3,
        how: "measure ohms from a data terminal to plus at the receiver, power off",
    },
    Input {
        key: "low_out",
        taken: "0.4 V",
        hard: "0.5 V",
        put_hard: |n| n.low_out_v = 0.5,
        how: "the sender's data sheet",
    },
    Input {
        key: "low_in",
        taken: "0.8 V",
        hard: "0.8 V",
        put_hard: |_| {},
        how: "the receiver's data sheet",
    },
    Input {
        key: "high_in",
        taken: "2 V",
        hard: "70 % of the volts",
        put_hard: |n| n.high_in_v = 0.7 * n.voltage_v,
        how: "the receiver's data sheet",
    },
    Input {
        key: "drive",
        taken: "5 mA",
        hard: "5 mA",
        put_hard: |_| {},
        how: "the sender's data sheet",
    },
    Input {
        key: "pulse",
        taken: "50 us",
        hard: "20 us",
        put_hard: |n| n.pulse_s = 20e-6,
        how: "the sender's data sheet",
    },
    Input {
        key: "gap",
        taken: "2 ms",
        hard: "1 ms",
        put_hard: |n| n.gap_s = 1e-3,
        how: "the sender's data sheet",
    },
    Input {
        key: "capacitance of its cable",
        taken: "100 pF/m",
        hard: "200 pF/m",
        put_hard: |n| n.farad_per_m = 200e-12,
        how: "the cable's data sheet",
    },
    // Asked for all lines at once, so nothing is tried here.
    Input {
        key: "twisted_together",
        taken: "false",
        hard: "false",
        put_hard: |_| {},
        how: "look which conductor each data conductor is twisted with",
    },
];

/// The silent inputs of a run that carries Wiegand data and what they are taken for, in one line.
pub(crate) fn taken(site: &Site, run: usize) -> Option<String> {
    let run = &site.runs[run];
    let words: Vec<String> = silent(&run.wiegand.unwrap_or_default(), || {
        run.cable(site).is_some_and(|c| c.capacitance.is_some())
    })
    .map(|input| format!("{} {}", input.key, input.taken))
    .collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// The inputs that are silent.
fn silent(
    stated: &Wiegand,
    has_capacitance: impl Fn() -> bool,
) -> impl Iterator<Item = &'static Input> {
    let there = [
        stated.voltage.is_some(),
        stated.pull_up.is_some(),
        stated.low_out.is_some(),
        stated.low_in.is_some(),
        stated.high_in.is_some(),
        stated.drive.is_some(),
        stated.pulse.is_some(),
        stated.gap.is_some(),
        has_capacitance(),
        stated.twisted_together.is_some(),
    ];
    INPUTS
        .iter()
        .zip(there)
        .filter(|(_, there)| !there)
        .map(|(input, _)| input)
}

/// Volts of a low at the receiver of a run's line and the shift in it, with the volts between two
/// nodes as they are told.
pub(crate) fn low_with(
    look: &Look<'_>,
    run: usize,
    row: &Row,
    volts: impl Fn([NodeId; 2]) -> Option<f64>,
) -> Option<(f64, f64)> {
    let all = lines(look, |run| run.carries.wiegand);
    let line = all.iter().find(|line| line.runs.contains(&run))?;
    let main = line.main(look, |run| run.wiegand.is_some());
    let stated = look.site.runs[main].wiegand.unwrap_or_default();
    let (sender, _) = sender_of(look, line, &stated);
    let numbers = numbers(look, line, &stated, sender);
    let shift = volts(zeros(look, line, &numbers)?)?;
    Some((low_at(&numbers, shift, line.ohms(look, row)).0, shift))
}

/// Most volts of a low at the receiver of a run's line.
pub(crate) fn worst_low(site: &Site, results: &Results, run: usize) -> Option<f64> {
    let look = Look::new(site, results);
    let low = |row: &Row| {
        let volts = |pair| Some(results.between(row, pair)?.base());
        Some(low_with(&look, run, row, volts)?.0)
    };
    Some(greatest(look.whole_rows(), low)?.0)
}

pub(super) fn check(look: &Look<'_>, asks: &mut Asks, found: &mut Vec<Finding>) {
    let mut untold: Vec<usize> = Vec::new();
    for line in lines(look, |run| run.carries.wiegand) {
        untold.extend(one(look, &line, asks, found));
    }
    // Whoever looks at one line looks at all: asked once.
    if let Some((first, others)) = untold.split_first() {
        let name = |run: &usize| look.site.runs[*run].name.as_str();
        let mut words = "twisted_together (taken for false: look whether each data conductor is twisted with the common, and not with the other".to_owned();
        if !others.is_empty() {
            let others: Vec<&str> = others.iter().map(name).collect();
            words += &format!("; likewise {}", others.join(", "));
        }
        words.push(')');
        asks.add(name(first), Some(Thing::Run(*first)), &words);
    }
}

/// Judges one line; its run where nobody says how its conductors are twisted.
fn one(look: &Look<'_>, line: &Line, asks: &mut Asks, found: &mut Vec<Finding>) -> Option<usize> {
    let run = line.main(look, |run| run.wiegand.is_some());
    let stated = look.site.runs[run].wiegand.unwrap_or_default();
    let (sender, certain) = sender_of(look, line, &stated);
    let numbers = numbers(look, line, &stated, sender);
    let mut own = problems(look, line, &numbers);
    let mut missing: Vec<String> = Vec::new();
    if !certain {
        let turned = Numbers {
            sender: 1 - sender,
            pull_up_at: stated
                .pull_up_at
                .map_or(sender, |DeviceRef(d)| end_of(line, Thing::Device(d))),
            ..numbers
        };
        let other = problems(look, line, &turned);
        // The kinder way is taken for granted, the other one asked for.
        let (kinder, harder) = if rank(&other) < rank(&own) {
            (other, own)
        } else {
            (own, other)
        };
        if let Some(problem) = graver(&kinder, &harder) {
            missing.push(format!(
                "sender (which end sends; one way round: {})",
                problem.message
            ));
        }
        own = kinder;
    }
    let has_capacitance = || capacitance(look, line).is_some();
    for input in silent(&stated, has_capacitance) {
        let mut hard = numbers;
        (input.put_hard)(&mut hard);
        if let Some(problem) = graver(&own, &problems(look, line, &hard)) {
            missing.push(format!(
                "{} (taken for {}; at {}: {}; {})",
                input.key, input.taken, input.hard, problem.message, input.how
            ));
        }
    }
    let name = &look.site.runs[run].name;
    for words in missing {
        asks.add(name, Some(Thing::Run(run)), &words);
    }
    found.extend(own.into_iter().map(|problem| problem.finding(look, run)));
    stated.twisted_together.is_none().then_some(run)
}

/// The end that sends, by what is stated or by the kinds, and whether that is certain.
pub(super) fn sender_of(look: &Look<'_>, line: &Line, stated: &Wiegand) -> (usize, bool) {
    if let Some(DeviceRef(d)) = stated.sender {
        return (end_of(line, Thing::Device(d)), true);
    }
    let sends = line.ends.map(|end| match end {
        Thing::Device(i) => look.site.devices[i]
            .kind
            .as_deref()
            .is_some_and(|kind| SENDERS.contains(&kind)),
        _ => false,
    });
    match sends {
        [true, false] => (0, true),
        [false, true] => (1, true),
        _ => (0, false),
    }
}

fn end_of(line: &Line, thing: Thing) -> usize {
    usize::from(line.ends[1] == thing)
}

/// Farads per metre of a line's cable, where every run of it states them.
fn capacitance(look: &Look<'_>, line: &Line) -> Option<f64> {
    let each = line.runs.iter().map(|i| {
        let run = &look.site.runs[*i];
        let per_metre = run.cable(look.site)?.capacitance?.base();
        Some((per_metre * run.length.base(), run.length.base()))
    });
    let (farad, metres) = each
        .collect::<Option<Vec<_>>>()?
        .into_iter()
        .fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
    Some(if metres > 0.0 { farad / metres } else { 0.0 })
}

fn numbers(look: &Look<'_>, line: &Line, stated: &Wiegand, sender: usize) -> Numbers {
    let voltage_v = stated.voltage.map_or(5.0, Measure::base);
    Numbers {
        sender,
        pull_up_at: stated
            .pull_up_at
            .map_or(1 - sender, |DeviceRef(d)| end_of(line, Thing::Device(d))),
        voltage_v,
        pull_up_ohm: stated.pull_up.map_or(1e3, Measure::base),
        low_out_v: stated.low_out.map_or(0.4, Measure::base),
        low_in_v: stated.low_in.map_or(0.8, Measure::base),
        high_in_v: stated.high_in.map_or(2.0, Measure::base),
        drive_a: stated.drive.map_or(5e-3, Measure::base),
        pulse_s: stated.pulse.map_or(50e-6, Measure::base),
        gap_s: stated.gap.map_or(2e-3, Measure::base),
        farad_per_m: capacitance(look, line).unwrap_or(100e-12),
        twisted_together: stated.twisted_together == Some(true),
    }
}

/// How grave some problems are together: by severity, gravest first, how many.
fn rank(problems: &[Problem]) -> [usize; 2] {
    [Severity::Fail, Severity::Warn]
        .map(|severity| problems.iter().filter(|p| p.severity == severity).count())
}

/// The first problem that is new, or graver than it was.
fn graver<'p>(before: &[Problem], after: &'p [Problem]) -> Option<&'p Problem> {
    after.iter().find(|p| {
        let was = before.iter().find(|b| b.check.code == p.check.code);
        was.is_none_or(|was| p.severity < was.severity)
    })
}

impl Problem {
    fn finding(self, look: &Look<'_>, run: usize) -> Finding {
        let name = &look.site.runs[run].name;
        let message = format!("{name}: {}", self.message);
        let mut finding = self
            .check
            .finding(self.severity, name, message)
            .about(Thing::Run(run))
            .put_in(self.numbers);
        if let Some((case, corner)) = self.at {
            (finding.case, finding.corner) = (Some(case), Some(corner));
        }
        if let Some((value, limit, unit)) = self.measured {
            finding = finding.measured(value, limit, unit);
        }
        if self.lower_is_worse {
            finding = finding.lower_is_worse();
        }
        finding
    }
}
