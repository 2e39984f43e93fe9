//! Conductors that lie together: many that carry current warm one another.

use crate::checks::runs::{limit_of, most_in_one};
use crate::checks::{Check, Finding, Look, exceeds};
use crate::diagnostic::Severity;
use crate::site::{Cable, Thing};
use crate::tables::bundled_share;
use crate::units::{Length, Measure, percent};

pub(crate) const BUNDLED: Check = Check {
    code: "bundled-amps",
    question: "does a run carry more than it may beside so many others in its raceway or jacket?",
    formula: "amps in one conductor <= share x its limit; share 80 % with 4 to 6 conductors that carry current together, 70 % with 7 to 9, 50 % with 10 to 20, 45 % to 30, 40 % to 40, 35 % over",
    source: "NEC {conductors together} (secondary copy seen), by analogy: for power-limited circuits a rule of design. Signal conductors, and what carries under a tenth of its limit, are not counted (NEC 725.51(A) of 2017 for Class 1 circuits, from memory)",
};

/// What carries less than this part of its limit warms nobody.
const COUNTS: f64 = 0.1;
/// Bundles up to 24 in long are let pass (NEC 310.15, secondary copy seen).
const SHORT_M: f64 = 24.0 * 0.0254;

/// A run whose conductors carry current beside others.
struct Warm<'a> {
    name: &'a str,
    each_a: f64,
    limit_a: f64,
    source: String,
    conductors: u32,
}

/// Over the whole site: a raceway is no thing of the network.
pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let site = look.site;
    for raceway in &site.raceways {
        let runs = 0..site.runs.len();
        let inside: Vec<usize> = runs
            .filter(|i| site.runs[*i].raceway.as_ref() == Some(&raceway.name))
            .collect();
        let metres = raceway.length.map(Length::base);
        let metres = metres.unwrap_or_else(|| longest(look, &inside));
        found.extend(told(look, (&raceway.name, None), &inside, metres));
    }
    let free = |i: &usize| site.runs[*i].shares.is_none() && site.runs[*i].raceway.is_none();
    for owner in (0..site.runs.len()).filter(free) {
        let run = &site.runs[owner];
        let together = run.sharers.len() + 1;
        if together == 1 && run.parallel + run.minus_parallel < 4 {
            continue;
        }
        let inside: Vec<usize> = std::iter::once(owner)
            .chain(run.sharers.iter().copied())
            .collect();
        let name = format!("jacket of {}", run.name);
        found.extend(told(
            look,
            (&name, Some(Thing::Run(owner))),
            &inside,
            longest(look, &inside),
        ));
    }
}

fn longest(look: &Look<'_>, runs: &[usize]) -> f64 {
    let each = runs.iter().map(|i| look.site.runs[*i].length.base());
    each.fold(0.0, f64::max)
}

fn told(
    look: &Look<'_>,
    (name, thing): (&str, Option<Thing>),
    inside: &[usize],
    metres: f64,
) -> Option<Finding> {
    if !exceeds(metres, SHORT_M) || inside.iter().map(|i| conductors(look, *i)).sum::<u32>() <= 3 {
        return None;
    }
    let warm: Vec<Warm<'_>> = inside.iter().filter_map(|i| warm(look, *i)).collect();
    let count = warm.iter().map(|run| run.conductors).sum();
    let share = bundled_share(count)?;
    let may = |run: &Warm<'_>| share.base() * run.limit_a;
    let each = warm
        .iter()
        .map(|run| format!("{} {:.2} A of {:.2} A", run.name, run.each_a, may(run)));
    let each = each.collect::<Vec<_>>().join(", ");
    let over: Vec<&str> = (warm.iter())
        .filter(|run| exceeds(run.each_a, may(run)))
        .map(|run| run.name)
        .collect();
    let start = format!(
        "{name} holds {count} conductors that carry current, so each may carry {} of its limit: {each}",
        percent(share, 0)
    );
    let (severity, message) = if over.is_empty() {
        (Severity::Note, start)
    } else {
        let over = over.join(", ");
        (
            Severity::Warn,
            format!("{start}; over it: {over}. Take a thicker cable, or a raceway of its own"),
        )
    };
    let nearest =
        |a: &&Warm<'_>, b: &&Warm<'_>| (a.each_a / may(a)).total_cmp(&(b.each_a / may(b)));
    let worst = warm.iter().max_by(nearest)?;
    let sign = if exceeds(worst.each_a, may(worst)) {
        ">"
    } else {
        "<="
    };
    let mut finding = BUNDLED.finding(severity, name, message);
    finding.thing = thing;
    let source = format!("{}; {}", BUNDLED.source, worst.source);
    let numbers = format!(
        "{}: {:.3} A {sign} {} x {} A = {:.3} A",
        worst.name,
        worst.each_a,
        percent(share, 0),
        worst.limit_a,
        may(worst)
    );
    Some(
        finding
            .measured(worst.each_a, may(worst), "A")
            .put_in(numbers)
            .by(source),
    )
}

/// Conductors of a run that may carry its power.
fn conductors(look: &Look<'_>, i: usize) -> u32 {
    let run = &look.site.runs[i];
    if run.carries.power {
        run.parallel + run.minus_parallel
    } else {
        0
    }
}

/// A power run with a limit, of which it carries a tenth or more.
fn warm<'a>(look: &Look<'a>, i: usize) -> Option<Warm<'a>> {
    let run = &look.site.runs[i];
    let conductors = conductors(look, i);
    let cable: Option<&Cable> = run.cable(look.site).filter(|_| run.resistance.is_none());
    let (limit_a, source) = limit_of(cable.filter(|_| conductors > 0)?)?;
    let each_a = most_in_one(look, i)?.each_a;
    exceeds(each_a, COUNTS * limit_a).then_some(Warm {
        name: &run.name,
        each_a,
        limit_a,
        source,
        conductors,
    })
}
