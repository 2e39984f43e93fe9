//! Limiters that hold, diodes that block.

use crate::checks::{Check, Finding, Look, greatest};
use crate::circuit::{SHORT_SHARE, is_inrush};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Limiting, Supply, SupplyKind, Thing};
use crate::solve::{Outcome, Regime};
use crate::units::Measure;

pub(crate) const LIMITING: Check = Check {
    code: "limiting",
    question: "does a limiter hold the supply back?",
    formula: "volts at its terminals >= volts without load - ohms x limit_current; under them a hard limiter holds limit_current, a folding one lets it fall with the volts to a third of it",
    source: "the supply's own data; the third is common practice, no source; solved on the whole network",
};
pub(crate) const HICCUP: Check = Check {
    code: "hiccup",
    question: "does the supply stop and start again for ever?",
    formula: "amps without the limiter <= limit_current",
    source: "the supply's own data; there is no steady state above; solved on the whole network",
};
pub(crate) const UNKNOWN: Check = Check {
    code: "limiter-unknown",
    question: "how, and at how many amps, does the supply limit its current?",
    formula: "limit and one of limit_current, peak, current",
    source: "the supply's own data; unknown never passes",
};
pub(crate) const AC: Check = Check {
    code: "restrained-ac",
    question: "what does a diode do to an alternating supply?",
    formula: "one_way on dc alone",
    source: "a diode passes half waves: no sine, and not solved here",
};
pub(crate) const STANDBY: Check = Check {
    code: "stands-by",
    question: "does a supply behind a diode give nothing?",
    formula: "volts at its terminals < volts without load - one_way",
    source: "a diode lets nothing back; solved on the whole network",
};

pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, supply) in look.supplies() {
        let r = supply.restrained;
        if supply.is_restrained() {
            found.extend(overdrawn(look, i, supply).or_else(|| limiting(look, i, supply)));
            found.extend(stands_by(look, i, supply));
        }
        found.extend(unknown(supply).map(|f| f.about(Thing::Supply(i))));
        if r.one_way.is_some() && supply.kind == SupplyKind::Ac {
            let message = format!(
                "{} is ac and states one_way: a diode would pass half waves; the numbers are without it",
                supply.name
            );
            let finding = AC.finding(Severity::Ask, &supply.name, message);
            found.push(finding.about(Thing::Supply(i)));
        }
    }
}

/// Rows in which a supply is in a regime.
fn rows_in<'a>(look: &'a Look<'_>, i: usize, regime: Regime) -> impl Iterator<Item = &'a Row> {
    let is = move |row: &&Row| row.solution().and_then(|s| s.regime(i)) == Some(regime);
    look.results.rows.iter().filter(is)
}

fn limiting(look: &Look<'_>, i: usize, supply: &Supply) -> Option<Finding> {
    let rushes = |row: &Row| is_inrush(look.site, &look.results.cases[row.case]);
    let volts = |row: &Row| Some(-look.results.supply(row, i)?.volts.base());
    // A case that lasts counts before an inrush.
    let lasting = greatest(
        rows_in(look, i, Regime::Limited).filter(|r| !rushes(r)),
        volts,
    );
    let (severity, (volts, row)) = match lasting {
        Some(found) => (Severity::Fail, found),
        None => (
            Severity::Warn,
            greatest(rows_in(look, i, Regime::Limited), volts)?,
        ),
    };
    let (volts, limit) = (-volts, supply.limits_at()?.base());
    let amps = look.results.supply(row, i)?.signed_amps();
    let diode = supply.restrained.one_way.map_or(0.0, Measure::base);
    let open = row.corner.volts(supply).base() - diode;
    let ohms = supply.resistance.map_or(0.0, Measure::base);
    let knee = open - ohms * limit;
    let how = if supply.restrained.limit == Some(Limiting::Foldback) {
        "folds back"
    } else {
        "holds"
    };
    let message = format!(
        "{} {how} at its limit of {limit} A: it gives {amps:.3} A, and its terminals fall to {volts:.2} V",
        supply.name
    );
    let numbers = format!(
        "{volts:.3} V < {open:.3} V - {ohms} ohm x {limit} A = {knee:.3} V; {amps:.3} A{}",
        if supply.restrained.limit == Some(Limiting::Foldback) {
            format!(
                " = {:.3} A + {:.3} A x {volts:.3} V / {knee:.3} V",
                limit * SHORT_SHARE,
                limit * (1.0 - SHORT_SHARE)
            )
        } else {
            String::new()
        }
    );
    Some(
        LIMITING
            .finding(severity, &supply.name, message)
            .about(Thing::Supply(i))
            .at(row)
            .measured(volts, knee, "V")
            .put_in(numbers)
            .lower_is_worse(),
    )
}

/// A supply whose limiter leaves some case no operating point.
fn overdrawn(look: &Look<'_>, i: usize, supply: &Supply) -> Option<Finding> {
    let amps = |row: &Row| match &row.outcome {
        Outcome::Unserved(unserved) => {
            let mut all = unserved.overdrawn.iter();
            all.find(|over| over.source == i).map(|over| over.amps_a)
        }
        Outcome::Solved(_) => None,
    };
    let (amps, row) = greatest(look.results.rows.iter(), amps)?;
    let limit = supply.limits_at()?.base();
    let (check, what) = match (supply.restrained.limit?, supply.kind) {
        (Limiting::Hiccup, _) => (
            &HICCUP,
            "it stops and starts again, and there is no steady state",
        ),
        (_, SupplyKind::Ac) => (
            &HICCUP,
            "what an ac supply gives at its limit is no sine and is not solved",
        ),
        _ => (
            &LIMITING,
            "held there its volts collapse, because what is drawn does not fall with them",
        ),
    };
    let message = format!(
        "{} would have to give {amps:.3} A, and its limit is {limit} A: {what}",
        supply.name
    );
    Some(
        check
            .finding(Severity::Fail, &supply.name, message)
            .about(Thing::Supply(i))
            .at(row)
            .measured(amps, limit, "A")
            .put_in(format!("{amps:.3} A > {limit} A")),
    )
}

fn stands_by(look: &Look<'_>, i: usize, supply: &Supply) -> Option<Finding> {
    let diode = supply.restrained.one_way?.base();
    let over = |row: &Row| Some(look.results.supply(row, i)?.volts.base());
    let (volts, row) = greatest(rows_in(look, i, Regime::Blocked), over)?;
    let open = row.corner.volts(supply).base();
    let message = format!(
        "{} gives nothing: {volts:.2} V stand at its terminals, {:.2} V are its own behind its diode",
        supply.name,
        open - diode
    );
    Some(
        STANDBY
            .finding(Severity::Note, &supply.name, message)
            .about(Thing::Supply(i))
            .at(row)
            .measured(volts, open - diode, "V")
            .put_in(format!("{volts:.3} V >= {open:.3} V - {diode} V")),
    )
}

fn unknown(supply: &Supply) -> Option<Finding> {
    let r = supply.restrained;
    let name = &supply.name;
    let message = match (r.limit, supply.limits_at()) {
        (None, Some(amps)) if r.limit_current.is_some() => format!(
            "{name} states a limit_current of {} A and not how it limits: it is solved without; say limit = hard, foldback, hiccup or none",
            amps.base()
        ),
        (Some(Limiting::Hard | Limiting::Foldback | Limiting::Hiccup), None) => format!(
            "{name} has a limiter and states no limit_current, peak or current: it is solved without; read the amps off its label"
        ),
        _ => return None,
    };
    Some(UNKNOWN.finding(Severity::Ask, name, message))
}
