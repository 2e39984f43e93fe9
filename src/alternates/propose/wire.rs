//! Designs that lay the wire otherwise.

use super::{Proposal, Way, length};
use crate::circuit::Corner;
use crate::results::Results;
use crate::site::{Cable, CableRef, Edit, End, Site};
use crate::size::choices_of;
use crate::units::{Measure, Size};

const PARALLEL: &str = "conductors in parallel: NEC 310.10(G) allows small ones for control power only, in one cable, each able to carry the whole load; local code decides";

/// The device's own pair back to the supply: its current no longer drops anybody else's volts.
pub(super) fn home_run(site: &Site, way: &Way, device: usize) -> Option<Proposal> {
    let supply = way.supply?;
    let (last, _) = *way.runs.last()?;
    if way.runs.len() < 2 {
        return None;
    }
    let metres: f64 = way
        .runs
        .iter()
        .map(|(r, _)| site.runs[*r].length.base())
        .sum();
    let (run, name) = (&site.runs[last], &site.devices[device].name);
    let key = if matches!(run.to, End::Device(i) if i == device) {
        "from"
    } else {
        "to"
    };
    let start = site.runs[way.runs[0].0].from;
    let start = match start {
        End::Output(s, _) if s == supply => site.end_text(start),
        _ => site.supplies[supply].name.clone(),
    };
    Some(Proposal {
        name: format!("own pair for {name}"),
        why: format!(
            "{} runs from {start}, {}, on a pair of its own",
            run.name,
            length(site, metres)
        ),
        caution: None,
        extra: Vec::new(),
        edits: vec![
            Edit::set("run", &run.name, key, &start),
            Edit::set("run", &run.name, "length", &length(site, metres)),
        ],
    })
}

/// One cable for every run that may choose, by each cable that all of them may have: the thinnest
/// first. One kind to buy, in fewer spools.
pub(crate) fn throughout(site: &Site) -> Vec<Proposal> {
    let open = || site.runs.iter().map(|run| (run, choices_of(site, run)));
    let open = || open().filter(|(_, choices)| !choices.is_empty());
    let Some((_, first)) = open().next() else {
        return Vec::new();
    };
    let shared = |cable: &&CableRef| open().all(|(_, choices)| choices.contains(cable));
    let mut cables: Vec<&Cable> = (first.iter().filter(shared))
        .map(|cable| &site.cables[cable.0])
        .collect();
    cables.sort_by(|a, b| a.size.area().base().total_cmp(&b.size.area().base()));
    let all_in = |cable: &Cable| Proposal {
        name: format!("{} throughout", cable.name),
        why: "one cable for every run that may choose: one kind to buy, fewer spools".to_owned(),
        caution: None,
        extra: Vec::new(),
        edits: (open())
            .map(|(run, _)| Edit::set("run", &run.name, "cable", &cable.name))
            .collect(),
    };
    cables.into_iter().map(all_in).collect()
}

/// Twice the conductors in the run that loses most.
pub(super) fn pairs(site: &Site, results: &Results, way: &Way) -> Option<Proposal> {
    let lost = |run: usize| {
        let rows = results.rows.iter().filter(|r| r.corner == Corner::Low);
        let drops = rows.filter_map(|r| results.run(site, r, run)?.drop.map(|d| d.base().abs()));
        drops.fold(0.0, f64::max)
    };
    let (run, _) = way
        .runs
        .iter()
        .max_by(|a, b| lost(a.0).total_cmp(&lost(b.0)))?;
    let run = &site.runs[*run];
    let cable = run.cable(site)?;
    let count = cable.conductors.max(Cable::conductors_for(run)) * 2;
    let gauge = gauge_of(cable);
    let parallel = run.parallel * 2;
    let mut edits = vec![
        Edit::set("run", &run.name, "cable", &format!("{gauge}/{count}")),
        Edit::set("run", &run.name, "parallel", &parallel.to_string()),
    ];
    // To choose from, each with twice the conductors, as far as their names say what they are.
    let doubled = choices_of(site, run).iter().map(|choice| {
        let cable = &site.cables[choice.0];
        let gauge = gauge_of(cable);
        let is_plain = cable.name == format!("{gauge}/{}", cable.conductors);
        is_plain.then(|| format!("{gauge}/{}", 2 * cable.conductors))
    });
    if let Some(doubled) = doubled.collect::<Option<Vec<String>>>()
        && !doubled.is_empty()
    {
        edits.push(Edit::set("run", &run.name, "choices", &doubled.join(", ")));
    }
    Some(Proposal {
        name: format!("pairs in parallel in {}", run.name),
        why: format!(
            "{} in {gauge}/{count} with {parallel} conductors a leg",
            run.name
        ),
        caution: Some(PARALLEL),
        extra: Vec::new(),
        edits,
    })
}

/// The gauge of a cable as names of cables spell it.
fn gauge_of(cable: &Cable) -> String {
    match cable.size {
        Size::Awg(_) => cable.size.to_string().trim_end_matches(" AWG").to_owned(),
        Size::Mm2(area) => format!("{area}mm2"),
    }
}

/// The box where things get distributed, half-way to the supply.
pub(super) fn nearer(site: &Site, way: &Way) -> Option<Proposal> {
    let (hub, name, into) = way.hub(site)?;
    let half = into.length.base() / 2.0;
    if half < 1.0 {
        return None;
    }
    let mut edits = vec![Edit::set("run", &into.name, "length", &length(site, half))];
    for run in &site.runs {
        let touches = [run.from, run.to].contains(&End::Device(hub));
        let movable = run.resistance.is_none() && run.shares.is_none() && run.measured.is_none();
        if touches && run.name != into.name && movable {
            let longer = length(site, run.length.base() + half);
            edits.push(Edit::set("run", &run.name, "length", &longer));
        }
    }
    if into.measured.is_some() || into.shares.is_some() {
        return None;
    }
    Some(Proposal {
        name: format!("{name} half-way"),
        why: format!(
            "{name} stands {} nearer to the supply; its other runs get longer by that",
            length(site, half)
        ),
        caution: None,
        extra: Vec::new(),
        edits,
    })
}
