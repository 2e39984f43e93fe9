//! What a run is made of and how long it really is: metals, risers, conductors that share a load or
//! carry the returns of others.

use crate::checks::{Check, Finding, Look, exceeds, greatest, limit_of};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Cable, Run, Thing};
use crate::tables::Material;
use crate::units::{Measure, Size};

pub(crate) const METAL: Check = Check {
    code: "cable-metal",
    question: "is the cable that carries power made of copper?",
    formula: "copper-clad aluminum has 1 / 0.63 = 1.59 times the ohms of copper",
    source: "ASTM B566, conductivity of copper-clad aluminum (secondary copy seen); to keep it off power is common practice, no source",
};
pub(crate) const RISERS: Check = Check {
    code: "no-risers",
    question: "are the ups and downs in the length that was measured?",
    formula: "length = measured + risers; 1.5 m up or down at each end are usual",
    source: "common practice, no source",
};
pub(crate) const RETURNS: Check = Check {
    code: "return-over-feed",
    question: "does a negative carry the returns of more than its own positive feeds?",
    formula: "amps in the negative leg <= amps in the positive leg, where some run has no negative of its own",
    source: "Kirchhoff's laws on the whole network; common practice, no source",
};
pub(crate) const ALONE: Check = Check {
    code: "parallel-alone",
    question: "can one of the conductors in parallel carry the whole load alone?",
    formula: "amps in the leg <= limit of one conductor, and the fuse before it no greater",
    source: "NEC {conductors in parallel} (secondary copy seen); read differently for power-limited circuits",
};

/// Up and down at both ends where nobody measured it, in metres.
const USUAL_RISERS_M: f64 = 3.0;
/// What a negative may carry over its positive: meters and leakage.
const NEARLY: f64 = 1.05;
const LEAST_AMPS: f64 = 0.02;
/// Network cable: eight conductors of these gauges.
const NETWORK_AWG: std::ops::RangeInclusive<i32> = 22..=26;

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    metals(look, found);
    let site = look.site;
    let lacks_negative = |run: &Run| run.carries.power && run.minus_parallel == 0;
    let shares = site.runs.iter().any(lacks_negative);
    for (i, run) in look.runs() {
        if !run.carries.power || !look.is_fitted(i) {
            continue;
        }
        found.extend(risers(look, i, run));
        found.extend(alone(look, i, run));
        if shares {
            found.extend(returns(look, i, run));
        }
    }
}

fn is_network(cable: &Cable) -> bool {
    let thin = match cable.size {
        Size::Awg(gauge) => NETWORK_AWG.contains(&gauge),
        Size::Mm2(_) => false,
    };
    thin && cable.conductors == 8
}

/// One finding a cable, with all runs in it that carry power; power on network cable that data
/// need as well is judged there.
fn metals(look: &Look<'_>, found: &mut Vec<Finding>) {
    let site = look.site;
    for (c, cable) in site.cables.iter().enumerate() {
        let clad = cable.material == Material::CopperCladAluminum;
        let unknown = cable.silent.contains(&"material") && is_network(cable);
        if !clad && !unknown {
            continue;
        }
        let in_it = |run: &Run| run.cable.is_some_and(|own| own.0 == c);
        let all = site.runs.iter().enumerate();
        let own = all.filter(|(i, run)| {
            let power = run.carries.power && (unknown || !run.carries.ethernet);
            power && run.resistance.is_none() && in_it(run) && look.is_fitted(*i)
        });
        let runs: Vec<&str> = own.map(|(_, run)| run.name.as_str()).collect();
        if runs.is_empty() {
            continue;
        }
        let (name, runs) = (&cable.name, runs.join(", "));
        let (severity, message) = if clad {
            (
                Severity::Warn,
                format!(
                    "cable {name} is copper-clad aluminum and carries the power of {runs}: 1.59 times the ohms of copper, and it breaks at screws and bends; take copper for power"
                ),
            )
        } else {
            (
                Severity::Ask,
                format!(
                    "cable {name} carries the power of {runs} and states no material: network cable bought loose is often copper-clad aluminum, with 1.59 times the ohms; read its jacket or scrape a strand, and write material"
                ),
            )
        };
        found.push(METAL.finding(severity, name, message));
    }
}

fn risers(look: &Look<'_>, i: usize, run: &Run) -> Option<Finding> {
    let measured = run.measured?.base();
    if run.risers.is_some() || run.shares.is_some() {
        return None;
    }
    let drop = |row: &Row| Some(look.results.run(look.site, row, i)?.drop?.base().abs());
    let (drop, row) = greatest(look.amp_rows(), drop)?;
    let more = drop * USUAL_RISERS_M / measured.max(1e-9);
    let message = format!(
        "{} was measured and states no risers: what goes up and down at its ends is missing from its length; 1.5 m at each end would take {more:.2} V more. Write risers, \"0 m\" if there are none",
        run.name
    );
    Some(
        RISERS
            .finding(Severity::Ask, &run.name, message)
            .about(Thing::Run(i))
            .at(row)
            .put_in(format!(
                "{drop:.3} V x {USUAL_RISERS_M} m / {measured:.2} m = {more:.3} V"
            )),
    )
}

fn alone(look: &Look<'_>, i: usize, run: &Run) -> Option<Finding> {
    let several = run.parallel > 1 || run.minus_parallel > 1;
    if !several || run.carries.ethernet || run.resistance.is_some() {
        return None;
    }
    let (limit, _) = limit_of(run.cable(look.site)?)?;
    // Where each of them is overdrawn already, that says more.
    let leg = |row: &Row| {
        let [amps, return_amps, _] = look.results.legs(row, i)?;
        let legs = [(amps, run.parallel), (return_amps, run.minus_parallel)];
        let shared = legs.into_iter().filter(|(_, n)| *n > 1);
        let amps = shared.filter_map(|(amps, n)| {
            let amps = look.results.leg_rms(row, i, amps?);
            Some((amps, n)).filter(|_| !exceeds(amps / f64::from(n), limit))
        });
        amps.reduce(|most, leg| if exceeds(leg.0, most.0) { leg } else { most })
    };
    let (amps, row) = greatest(look.amp_rows(), |row| Some(leg(row)?.0))?;
    let (_, n) = leg(row)?;
    if !exceeds(amps, limit) {
        return None;
    }
    let message = format!(
        "{n} conductors of {} share {amps:.2} A, and one alone may carry {limit} A: where one breaks or works loose the others are overdrawn unseen; one thicker conductor instead, or a fuse of {limit} A at most",
        run.name
    );
    Some(
        ALONE
            .finding(Severity::Warn, &run.name, message)
            .about(Thing::Run(i))
            .at(row)
            .measured(amps, limit, "A")
            .put_in(format!("{amps:.3} A > {limit} A")),
    )
}

/// Rings of negatives are told as ground loops: here it is a run without a negative that makes
/// others carry more.
fn returns(look: &Look<'_>, i: usize, run: &Run) -> Option<Finding> {
    if run.minus_parallel == 0 {
        return None;
    }
    let legs = |row: &Row| {
        let [amps, return_amps, _] = look.results.legs(row, i)?;
        let amps = [amps?, return_amps?];
        Some(amps.map(|a| look.results.leg_rms(row, i, a)))
    };
    let over = |row: &Row| legs(row).map(|[feed, back]| back - feed);
    let judged = |row: &&Row| matches!(row.corner, Corner::Low | Corner::Heavy);
    let (_, row) = greatest(look.whole_rows().filter(judged), over)?;
    let [feed, back] = legs(row)?;
    if !exceeds(back, feed * NEARLY + LEAST_AMPS) {
        return None;
    }
    let message = format!(
        "the negative of {} carries {back:.2} A and its positive {feed:.2} A: others come back by it; it has to be thick enough for all of them, or locks get a negative of their own",
        run.name
    );
    Some(
        RETURNS
            .finding(Severity::Warn, &run.name, message)
            .about(Thing::Run(i))
            .at(row)
            .measured(back, feed, "A")
            .put_in(format!("{back:.3} A > {feed:.3} A")),
    )
}
