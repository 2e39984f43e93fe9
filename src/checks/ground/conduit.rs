//! A metal raceway that joins two negatives which are both earthed: one more way for the return.

use crate::checks::{Check, Finding, Look, exceeds, first_greatest, greatest};
use crate::circuit::run_ohms;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{End, Raceway, Run, Thing};
use crate::units::Measure;

pub(crate) const CONDUIT: Check = Check {
    code: "conduit-return",
    question: "Does a metal raceway carry return current, because both negatives are earthed?",
    formula: "share of the metal = ohms of the negative / (ohms of the negative + 0.3 ohm) <= 5 %",
    source: "Ohm's law; 0.3 ohm for pipe and joints: common practice, no source; objectionable current: NEC {objectionable current} (secondary copy seen)",
};

/// Ohms of a metal raceway with its joints, and of the boxes at its ends.
const METAL_OHM: f64 = 0.3;
/// Share of the return that may go astray.
const SHARE: f64 = 0.05;

/// One finding a raceway, for the run in it that loses most.
pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for raceway in &look.site.raceways {
        let metal = raceway.kind.is_some_and(|kind| kind.is_metal());
        if !metal || raceway.bonded == Some(false) {
            continue;
        }
        let runs = look.site.runs.iter().enumerate();
        let astray = runs
            .filter(|(i, run)| run.raceway.as_ref() == Some(&raceway.name) && look.is_fitted(*i))
            .filter_map(|(i, run)| astray(look, raceway, i, run));
        let by_amps = astray.map(|finding| (finding.value.unwrap_or(0.0), finding));
        found.extend(first_greatest(by_amps).map(|(_, finding)| finding));
    }
}

/// Whether the negative of an end is its earth terminal.
fn is_earthed(look: &Look<'_>, end: End) -> bool {
    match end {
        End::Supply(i) | End::Output(i, _) => look.site.supplies[i].negative_earthed,
        End::Device(i) => look.site.devices[i].negative_earthed,
        _ => false,
    }
}

fn astray(look: &Look<'_>, raceway: &Raceway, i: usize, run: &Run) -> Option<Finding> {
    let ends = [run.from, run.to];
    let minus = look.results.template.runs[i].minus?;
    // Where the bonds of both ends are drawn, the loop itself is told, with its own ohms.
    let drawn = |end: End| {
        let mut bonds = look.site.runs.iter().filter(|bond| bond.carries.bond);
        bonds.any(|bond| {
            [bond.from, bond.to]
                .iter()
                .any(|e| e.thing() == end.thing())
        })
    };
    if !ends.iter().all(|end| is_earthed(look, *end)) || ends.iter().all(|end| drawn(*end)) {
        return None;
    }
    let ohms = |row: &Row| {
        let case = &look.results.cases[row.case];
        run_ohms(look.site, run, row.corner.temperature(look.site, run, case))[1]
    };
    let share = |row: &Row| ohms(row) / (ohms(row) + METAL_OHM);
    let amps = |row: &Row| Some(look.results.branch(row, minus)?.base().abs());
    let (strayed, row) = greatest(look.whole_rows(), |row| Some(amps(row)? * share(row)))?;
    let (ohm, part, whole) = (ohms(row), share(row), amps(row)?);
    if !exceeds(part, SHARE) || strayed < 1e-3 {
        return None;
    }
    let message = format!(
        "{} is of metal and joins {} and {}, whose negatives are both earthed: about {:.0} % of the return of {} comes back by the pipe; earth the negative at one end alone, and leave the pipe bonded",
        raceway.name,
        look.site.end_text(run.from),
        look.site.end_text(run.to),
        100.0 * part,
        run.name
    );
    Some(
        CONDUIT
            .finding(Severity::Warn, &raceway.name, message)
            .about(Thing::Run(i))
            .at(row)
            .measured(strayed, SHARE * whole, "A")
            .put_in(format!(
                "{ohm:.3} ohm / ({ohm:.3} + {METAL_OHM}) ohm = {:.1} % of {whole:.3} A",
                100.0 * part
            )),
    )
}
