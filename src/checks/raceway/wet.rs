//! What cable bears: water, ground, salt.

use std::collections::BTreeMap;

use super::Filled;
use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::{Cable, Route, Run, Thing};
use crate::tables::Material;

pub(crate) const RATING: Check = Check {
    code: "wet-rating",
    question: "is the cable made for where it lies?",
    formula: "in the wet, and inside any raceway outdoors or in the ground, rated for wet; in the ground without a raceway, for burial",
    source: "NEC 300.5(B) and 300.9 (secondary copy seen)",
};
pub(crate) const CORROSION: Check = Check {
    code: "corrosion",
    question: "do conductors and box last in this air?",
    formula: "where it is corrosive, tinned copper at the terminals and no bare metal box",
    source: "common practice, no source",
};

/// What a place asks of a cable.
const BURIAL: &str = "burial";
const WET: &str = "wet";

pub(super) fn check(
    look: &Look<'_>,
    raceways: &[Filled<'_>],
    asks: &mut Asks,
    found: &mut Vec<Finding>,
) {
    let wet_inside: Vec<&str> = (raceways.iter())
        .filter(|filled| filled.is_wet(look))
        .map(|filled| filled.raceway.name.as_str())
        .collect();
    // By cable and what it must bear: the runs that ask for it.
    let mut wanted: BTreeMap<(usize, &str), Vec<usize>> = BTreeMap::new();
    for (i, run) in look.site.runs.iter().enumerate() {
        let Some(jacket) = run.jacket.filter(|_| run.shares.is_none()) else {
            continue;
        };
        if let Some(needs) = needs(run, &wet_inside) {
            wanted.entry((jacket.0, needs)).or_default().push(i);
        }
    }
    for ((cable, needs), runs) in wanted {
        let cable = &look.site.cables[cable];
        found.extend(rating(look, cable, needs, &runs, asks));
    }
    corrosion(look, found);
}

fn needs(run: &Run, wet_inside: &[&str]) -> Option<&'static str> {
    if run.carries.bond {
        return None;
    }
    match (&run.raceway, run.route) {
        (Some(name), route) => {
            let outside = matches!(route, Some(Route::Outdoor | Route::Buried));
            (wet_inside.contains(&name.as_str()) || outside).then_some(WET)
        }
        (None, Some(Route::Buried)) => Some(BURIAL),
        (None, Some(Route::Outdoor | Route::Overhead)) => Some(WET),
        (None, _) => None,
    }
}

fn rating(
    look: &Look<'_>,
    cable: &Cable,
    needs: &str,
    runs: &[usize],
    asks: &mut Asks,
) -> Option<Finding> {
    let names: Vec<&str> = runs
        .iter()
        .map(|i| look.site.runs[*i].name.as_str())
        .collect();
    let names = names.join(", ");
    let Some(rated) = &cable.rated else {
        let words = format!("rated (wet, burial or []: {names} needs {needs})");
        asks.add(&cable.name, None, &words);
        return None;
    };
    // What may lie in the ground may lie in the wet.
    let bears = |word: &str| rated.iter().any(|r| r == word);
    if bears(needs) || (needs == WET && bears(BURIAL)) {
        return None;
    }
    let place = if needs == BURIAL {
        "in the ground"
    } else {
        "in the wet"
    };
    let message = format!(
        "{names} {} {place} in cable {}, which is not rated for {needs}: pipe outdoors fills with water sooner or later",
        if runs.len() > 1 { "lie" } else { "lies" },
        cable.name
    );
    let rated = if rated.is_empty() {
        "nothing".to_owned()
    } else {
        rated.join(", ")
    };
    let thing = (runs.len() == 1).then(|| Thing::Run(runs[0]));
    let mut finding = RATING
        .finding(Severity::Fail, &cable.name, message)
        .put_in(format!("needs {needs}; rated for {rated}"));
    finding.thing = thing;
    Some(finding)
}

/// One finding a corrosive place.
fn corrosion(look: &Look<'_>, found: &mut Vec<Finding>) {
    let site = look.site;
    for place in site.places.iter().filter(|p| p.corrosive == Some(true)) {
        let here = |thing: Thing| {
            let of = match thing {
                Thing::Supply(i) => &site.supplies[i].place,
                Thing::Device(i) => &site.devices[i].place,
                Thing::Junction(i) => &site.junctions[i].place,
                _ => return false,
            };
            of.as_deref() == Some(place.name.as_str())
        };
        let bare = |run: &&Run| {
            let cable = run.cable(site);
            cable.is_some_and(|c| c.material != Material::TinnedCopper)
        };
        let ends_here = |run: &&Run| here(run.from.thing()) || here(run.to.thing());
        let runs: Vec<&str> = (site.runs.iter())
            .filter(|run| bare(run) && ends_here(run))
            .map(|run| run.name.as_str())
            .collect();
        let mut words = Vec::new();
        if !runs.is_empty() {
            words.push(format!(
                "the conductors of {} are not tinned",
                runs.join(", ")
            ));
        }
        if place.made_of.as_deref() == Some("metal") {
            words.push("the box is of metal".to_owned());
        }
        if words.is_empty() {
            continue;
        }
        let message = format!(
            "the air at {} corrodes, and {}: salt, ammonia and chlorine creep into strands and screws",
            place.name,
            words.join(", and ")
        );
        found.push(CORROSION.finding(Severity::Warn, &place.name, message));
    }
}
