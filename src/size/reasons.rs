//! Why no design passes: what fails even with the least ohms in every run.

use crate::results::Ways;
use crate::site::{End, Site};
use crate::size::duct::{Full, never};
use crate::size::options::Options;
use crate::size::row::Bearer;
use crate::size::search::severity;
use crate::size::trial::{Bench, Fault};

/// Something that no choice can save.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unsized {
    /// Name of the run; of what fails, where no run with choices leads there.
    pub id: String,
    /// Why not, in words.
    pub reason: String,
}

/// The runs that no choice can save, and why: what fails with the least ohms everywhere, and what
/// has no room even when thinnest.
pub(crate) fn reasons(site: &Site, bench: &mut Bench) -> Vec<Unsized> {
    let trial = bench.trial(&bench.least_ohms());
    let bench = &*bench;
    let ways = Ways::of(site);
    let mut all = crowded(site, bench);
    // Of each thing that fails, where it fails most.
    let mut worst: Vec<(usize, Fault)> = Vec::new();
    for (row, fault) in &trial.faults {
        match worst.iter_mut().find(|w| subject(w.1) == subject(*fault)) {
            Some(known) if severity(*fault) > severity(known.1) => *known = (*row, *fault),
            Some(_) => {}
            None => worst.push((*row, *fault)),
        }
    }
    for (row, fault) in &worst {
        let place = &bench.rows[*row];
        let case = &bench.cases[place.case].name;
        let at = format!(" [{case}, {}]", place.corner.as_str());
        let reason = format!(
            "even with the least ohms in every run {}{at}",
            words(site, *fault)
        );
        let mut ids = runs_of(site, &bench.options, &ways, *fault);
        if ids.is_empty() {
            ids.push(name(site, *fault));
        }
        for id in ids {
            let known = all.iter().any(|u| u.id == id && u.reason == reason);
            if !known {
                let reason = reason.clone();
                all.push(Unsized { id, reason });
            }
        }
    }
    if all.is_empty() {
        // Each limit can be met, but not all at once.
        let full = trial.full.iter().map(|full| full_words(site, *full));
        let full: Vec<String> = full.collect();
        let mut reason = String::from("no choice of cables for all runs together passes");
        if !full.is_empty() {
            reason += &format!(": with the least ohms in every run {}", full.join(", "));
        }
        all.extend(bench.options.open.iter().map(|open| Unsized {
            id: site.runs[open.run].name.clone(),
            reason: reason.clone(),
        }));
    }
    all
}

/// The runs of raceways that have no room even for the thinnest cables.
fn crowded(site: &Site, bench: &Bench) -> Vec<Unsized> {
    let open = &bench.options.open;
    let thinnest = open.iter().map(|o| (0..o.choices.len()).collect());
    let mut all = Vec::new();
    for full in never(&bench.ducts, &thinnest.collect()) {
        let lying = site.bought_in(&site.raceways[full.raceway]);
        let chosen = |run: &usize| open.iter().any(|o| o.run == *run);
        let mut runs: Vec<usize> = lying.iter().copied().filter(chosen).collect();
        if runs.is_empty() {
            runs.extend(lying.first());
        }
        let reason = format!("even in the thinnest cables {}", full_words(site, full));
        all.extend(runs.into_iter().map(|run| Unsized {
            id: site.runs[run].name.clone(),
            reason: reason.clone(),
        }));
    }
    all
}

/// A raceway without room in words.
pub(crate) fn full_words(site: &Site, full: Full) -> String {
    format!(
        "{} is {:.0} % full, and {:.0} % are the most",
        site.raceways[full.raceway].name, full.filled, full.most
    )
}

/// Runs none of whose choices fits.
pub(crate) fn unfit(site: &Site, options: &Options) -> Vec<Unsized> {
    let each = options.unfit.iter().map(|(run, why)| Unsized {
        id: site.runs[*run].name.clone(),
        reason: format!("none of its choices fits: {why}"),
    });
    each.collect()
}

/// What a fault is about: one line for each is enough.
fn subject(fault: Fault) -> (u8, usize, usize) {
    match fault {
        Fault::NoPoint => (0, 0, 0),
        Fault::Low(d, ..) => (1, d, 0),
        Fault::High(d, ..) => (2, d, 0),
        Fault::Supply(s, ..) => (3, s, 0),
        Fault::Carries(Bearer::Output(s, o), ..) => (4, s, o),
        Fault::Carries(Bearer::Run(i), ..) => (5, i, 0),
    }
}

/// A fault in words.
pub(crate) fn words(site: &Site, fault: Fault) -> String {
    match fault {
        Fault::NoPoint => "there is no operating point: some load cannot be served".into(),
        Fault::Low(d, volts, lowest) => format!(
            "{} gets {volts:.2} V, {:.2} V under its lowest {lowest} V",
            site.devices[d].name,
            lowest - volts
        ),
        Fault::High(d, volts, highest) => format!(
            "{} gets {volts:.2} V, {:.2} V over its highest {highest} V: too much, which no copper cures",
            site.devices[d].name,
            volts - highest
        ),
        Fault::Supply(s, amps, limit) => format!(
            "{} gives {amps:.3} A of its {limit} A: no copper cures the budget of a supply",
            site.supplies[s].name
        ),
        Fault::Carries(Bearer::Output(s, o), amps, limit) => format!(
            "{}.{} gives {amps:.3} A of its {limit} A: no copper cures the budget of an output",
            site.supplies[s].name, site.supplies[s].outputs[o].name
        ),
        Fault::Carries(Bearer::Run(i), amps, limit) => format!(
            "a conductor of {} carries {amps:.3} A of its {limit} A",
            site.runs[i].name
        ),
    }
}

fn name(site: &Site, fault: Fault) -> String {
    match fault {
        Fault::NoPoint => site.name.clone(),
        Fault::Low(d, ..) | Fault::High(d, ..) => site.devices[d].name.clone(),
        Fault::Supply(s, ..) => site.supplies[s].name.clone(),
        Fault::Carries(Bearer::Output(s, o), ..) => {
            format!(
                "{}.{}",
                site.supplies[s].name, site.supplies[s].outputs[o].name
            )
        }
        Fault::Carries(Bearer::Run(i), ..) => site.runs[i].name.clone(),
    }
}

/// The runs with choices that have to do with a fault.
fn runs_of(site: &Site, options: &Options, ways: &Ways, fault: Fault) -> Vec<String> {
    let has_choices = |run: usize| options.open.iter().any(|o| o.run == run);
    let fed = |supply: usize| {
        let from = move |run: usize| ways.start_of(site.runs[run].to) == Some(supply);
        options
            .open
            .iter()
            .map(|o| o.run)
            .filter(move |run| from(*run))
    };
    let runs: Vec<usize> = match fault {
        Fault::NoPoint => options.open.iter().map(|o| o.run).collect(),
        Fault::Low(d, ..) | Fault::High(d, ..) => {
            let way = ways.way_to(End::Device(d)).into_iter();
            way.filter_map(|(run, _)| run)
                .filter(|run| has_choices(*run))
                .collect()
        }
        Fault::Supply(s, ..) => fed(s).collect(),
        Fault::Carries(Bearer::Output(s, o), ..) => fed(s)
            .filter(|run| site.runs[*run].from == End::Output(s, o))
            .collect(),
        Fault::Carries(Bearer::Run(i), ..) => vec![i],
    };
    let names = runs.into_iter().map(|run| site.runs[run].name.clone());
    names.collect()
}
