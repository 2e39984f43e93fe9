//! Amps of supplies, outputs, fuses and contacts, held against their ratings.

use crate::checks::{Check, Finding, Look, greatest};
use crate::circuit::is_inrush;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Part, Thing};
use crate::units::{ElectricCurrent, Measure};

pub(crate) const OVER: Check = Check {
    code: "over-rating",
    question: "does anything give or carry more amps than it is rated for?",
    formula: "amps <= rated amps",
    source: "the rating as stated; amps by Kirchhoff's laws on the whole network, on ac with the harmonics of rectified draws",
};
pub(crate) const SPARE: Check = Check {
    code: "little-spare",
    question: "is there a reserve below the rated amps?",
    formula: "amps <= rated amps x (1 - spare)",
    source: "common practice, no source",
};
pub(crate) const INRUSH: Check = Check {
    code: "inrush",
    question: "can the supply give the inrush?",
    formula: "amps in an inrush case <= peak amps (silent: rated amps)",
    source: "the supply's own data",
};
pub(crate) const RATING: Check = Check {
    code: "no-rating",
    question: "how many amps may this give or carry?",
    formula: "amps <= rated amps",
    source: "the supply's or part's own data; unknown never passes",
};
pub(crate) const BACKFEED: Check = Check {
    code: "back-feed",
    question: "is a supply fed backwards by another?",
    formula: "amps out of the positive terminal >= 0 A",
    source: "Kirchhoff's laws on the whole network; common practice, no source",
};

/// Amps in a row, where it has an operating point.
type Amps<'a> = Box<dyn Fn(&Row) -> Option<f64> + 'a>;

/// Something with a rating: its name, the thing, its amps by row and what it is rated for.
struct Rated<'a> {
    subject: String,
    thing: Thing,
    amps: Amps<'a>,
    rated: Option<ElectricCurrent>,
    /// A bridge over inrushes: a supply's peak, or anything that rides through.
    peak: Option<ElectricCurrent>,
    is_supply: bool,
}

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let inrush: Vec<bool> = look
        .results
        .cases
        .iter()
        .map(|case| is_inrush(look.site, case))
        .collect();
    for rated in everything(look) {
        judge(look, &rated, &inrush, found);
    }
    for (i, _) in look.supplies() {
        found.extend(back_feed(look, i));
    }
}

fn everything<'a>(look: &'a Look<'a>) -> Vec<Rated<'a>> {
    let (site, results) = (look.site, look.results);
    let mut all = Vec::new();
    for (i, supply) in look.supplies() {
        all.push(Rated {
            subject: supply.name.clone(),
            thing: Thing::Supply(i),
            amps: Box::new(move |row| results.supply_rms(row, i)),
            rated: supply.current,
            peak: supply.peak.or(supply.current),
            is_supply: true,
        });
        for (o, output) in supply.outputs.iter().enumerate() {
            all.push(Rated {
                subject: format!("{}.{}", supply.name, output.name),
                thing: Thing::Supply(i),
                amps: Box::new(move |row| results.output_rms(site, row, (i, o))),
                rated: output.current,
                peak: None,
                is_supply: false,
            });
        }
    }
    for (part, branch) in &results.template.parts {
        let (thing, rated) = match *part {
            Part::Fuse(i) => (Thing::Fuse(i), site.fuses[i].current),
            Part::Contact(d, r, _) => (Thing::Device(d), site.devices[d].relays[r].current),
        };
        if !look.scope.has(thing) {
            continue;
        }
        all.push(Rated {
            subject: site.part_text(*part),
            thing,
            amps: Box::new(move |row| results.part_rms(site, row, (*part, *branch))),
            rated,
            peak: None,
            is_supply: false,
        });
    }
    all
}

fn judge(look: &Look<'_>, rated: &Rated<'_>, inrush: &[bool], found: &mut Vec<Finding>) {
    let Some(limit) = rated.rated.map(Measure::base) else {
        let message = format!(
            "{} has no current: nothing judges its amps; read the rating off its label",
            rated.subject
        );
        found.push(
            RATING
                .finding(Severity::Ask, &rated.subject, message)
                .about(rated.thing),
        );
        return;
    };
    let steady = |row: &&Row| !(rated.is_supply && inrush[row.case]);
    if let Some((amps, row)) = greatest(look.amp_rows().filter(steady), &rated.amps) {
        let spare = look.site.design.spare.value;
        let (check, severity, held) = if amps > limit + 1e-9 {
            (OVER, Severity::Fail, limit)
        } else if amps > limit * (1.0 - spare) + 1e-9 {
            (SPARE, Severity::Warn, limit * (1.0 - spare))
        } else {
            (OVER, Severity::Note, limit)
        };
        if severity != Severity::Note {
            let verb = if rated.is_supply { "gives" } else { "carries" };
            let message = format!("{} {verb} {amps:.3} A of its {limit} A", rated.subject);
            let finding = check
                .finding(severity, &rated.subject, message)
                .about(rated.thing)
                .at(row);
            found.push(
                finding
                    .measured(amps, held, "A")
                    .put_in(format!("{amps:.3} A > {held:.3} A")),
            );
        }
    }
    if let Some(peak) = rated.peak.filter(|_| rated.is_supply).map(Measure::base) {
        let rushing = look.amp_rows().filter(|row| inrush[row.case]);
        if let Some((amps, row)) =
            greatest(rushing, &rated.amps).filter(|(amps, _)| *amps > peak + 1e-9)
        {
            let message = format!(
                "{} gives {amps:.3} A at inrush, its peak is {peak} A",
                rated.subject
            );
            let finding = INRUSH
                .finding(Severity::Fail, &rated.subject, message)
                .about(rated.thing)
                .at(row);
            found.push(
                finding
                    .measured(amps, peak, "A")
                    .put_in(format!("{amps:.3} A > {peak} A")),
            );
        }
    }
}

fn back_feed(look: &Look<'_>, i: usize) -> Option<Finding> {
    let least = |row: &Row| look.results.supply(row, i).map(|w| -w.signed_amps());
    let (taken, row) = greatest(look.results.rows.iter(), least)?;
    // Rounding of the solver is far below a microampere.
    if taken <= 1e-6 {
        return None;
    }
    let name = &look.site.supplies[i].name;
    let message = format!("{name} takes in {taken:.3} A from another supply");
    let finding = BACKFEED
        .finding(Severity::Fail, name, message)
        .about(Thing::Supply(i))
        .at(row);
    Some(
        finding
            .measured(-taken, 0.0, "A")
            .put_in(format!("{:.3} A < 0 A", -taken))
            .lower_is_worse(),
    )
}
