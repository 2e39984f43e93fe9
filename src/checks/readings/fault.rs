//! All readings at once: the single causes that explain them, or what they confirm.

use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::readings::{Fault, Next, Readings, Says, Whole};
use crate::site::Thing;
use crate::units::{fixed, ohms, percent};

pub(crate) const FAULT: Check = Check {
    code: "found-fault",
    question: "which single cause explains all readings at once, on the whole network?",
    formula: "least sum of ((found - solved) / u)^2, one of ohms, draw or volts set free at a time, all other ohms within 5 %, draws within 10 % and supplies within 5 % of the drawing; named where the sum falls by more than chance makes it in one of a hundred sites without a fault",
    source: "Kirchhoff's laws, weighted least squares; Mills' bound on the normal tail times the causes tried; 5 % and 10 %: common practice, no source",
};

pub(super) fn check(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    found.extend(
        readings
            .whole
            .as_ref()
            .map(|whole| told(look, readings, whole)),
    );
}

fn told(look: &Look<'_>, readings: &Readings, whole: &Whole) -> Finding {
    let all = format!("all {} readings at once", whole.count);
    let (severity, message) = match &whole.says {
        Says::Agrees => (
            Severity::Note,
            format!(
                "{all} agree with the site as drawn{}",
                confirmed(look, whole)
            ),
        ),
        Says::One(faults, _) if faults.iter().all(|fault| is_told(readings, fault)) => {
            let runs: Vec<&str> = runs(look, faults);
            (
                Severity::Note,
                format!(
                    "{all} are explained by what found-ohms says of {}",
                    runs.join(", ")
                ),
            )
        }
        Says::One(faults, next) => (
            Severity::Warn,
            named(look, readings, (&all, faults, next.as_ref())),
        ),
        Says::Several => (
            Severity::Note,
            format!(
                "{all} are not as drawn, and no single cause explains them: more than one thing differs, or a case says of draws what was not so; correct draws and volts first, where they were read"
            ),
        ),
    };
    let runs = runs(look, whole.faults());
    let subject = match runs.as_slice() {
        [one]
            if whole
                .faults()
                .iter()
                .all(|fault| fault.cause.run().is_some()) =>
        {
            one
        }
        _ => "site",
    };
    let finding = FAULT.finding(severity, subject, message);
    let finding = match whole.faults().first().and_then(|fault| fault.cause.run()) {
        Some(run) if subject != "site" => finding.about(Thing::Run(run)),
        _ => finding,
    };
    finding
        .measured(whole.squares, whole.room, "")
        .put_in(numbers(look, whole))
}

/// Whether the ohms of its run, from its own ends, say already that something is wrong there.
fn is_told(readings: &Readings, fault: &Fault) -> bool {
    let paths = readings.paths.iter();
    let mut wrong = paths.filter(|path| path.is_wrong());
    fault
        .cause
        .run()
        .is_some_and(|run| wrong.any(|path| path.run == run))
}

/// The runs that the causes are in, each once.
fn runs<'s>(look: &Look<'s>, faults: &[Fault]) -> Vec<&'s str> {
    let mut runs: Vec<usize> = faults
        .iter()
        .filter_map(|fault| fault.cause.run())
        .collect();
    runs.sort_unstable();
    runs.dedup();
    runs.into_iter()
        .map(|run| look.site.runs[run].name.as_str())
        .collect()
}

/// What explains the readings, what cannot be told apart, and what to read next.
fn named(
    look: &Look<'_>,
    readings: &Readings,
    (all, faults, next): (&str, &[Fault], Option<&Next>),
) -> String {
    let mut words: Vec<String> = faults.iter().map(|fault| fault.words(look.site)).collect();
    let others = readings.whole.as_ref().is_some_and(|whole| whole.others);
    words.extend(others.then(|| "or others that promise less and were not followed".to_owned()));
    let start = match words.as_slice() {
        [one] => format!("{all} are explained by one cause alone: {one}"),
        _ => format!(
            "{all} are explained by any one of these, and cannot tell them apart: {}",
            words.join(", ")
        ),
    };
    let next = match (next, faults) {
        (_, [_]) => String::new(),
        (Some(next), _) => {
            let moment = readings.moments[next.moment].name(look.results);
            let each = next.shown.iter().enumerate();
            let each: Vec<String> = each.map(|(i, shown)| format!("{shown} by {}", ordinal(i))).collect();
            format!("; next read {} in {moment}: {}", next.what, each.join(", "))
        }
        (None, _) => "; no reading at a terminal parts them: read volts up to a joint halfway, or look at strands and joints".to_owned(),
    };
    format!("{start}{next}")
}

/// Which cause of those listed.
fn ordinal(i: usize) -> String {
    const WORDS: [&str; 5] = [
        "the first",
        "the second",
        "the third",
        "the fourth",
        "the fifth",
    ];
    WORDS
        .get(i)
        .map_or_else(|| format!("cause {}", i + 1), |word| (*word).to_owned())
}

/// Ohms that follow from the readings and are as drawn.
fn confirmed(look: &Look<'_>, whole: &Whole) -> String {
    if whole.told.is_empty() {
        return String::new();
    }
    let each = whole.told.iter().map(|told| {
        format!(
            "{} has {} within {} ({} drawn)",
            told.name(look.site),
            ohms(told.ohms.value, 2),
            ohms(told.ohms.u, 2),
            ohms(told.drawn, 2)
        )
    });
    format!("; by them {}", each.collect::<Vec<_>>().join(", "))
}

fn numbers(look: &Look<'_>, whole: &Whole) -> String {
    let mut parts = vec![format!(
        "sum of squares as drawn {} over {} readings, up to {} by chance",
        fixed(whole.squares, 1),
        whole.count,
        fixed(whole.room, 1)
    )];
    parts.extend(whole.faults().iter().map(|fault| {
        format!(
            "{} with {}",
            fixed(fault.squares, 1),
            fault.words(look.site)
        )
    }));
    if !whole.faults().is_empty() {
        parts.push(format!(
            "named by chance at most in {}",
            percent(whole.doubt, 0)
        ));
    }
    parts.join("; ")
}
