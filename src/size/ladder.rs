//! Why this cable: every choice of one run, re-solved with the rest of the site as it stands.

use crate::site::{End, Site, Thing};
use crate::size::options::{CostUnit, Open, Options};
use crate::size::reasons::{full_words, words};
use crate::size::search::severity;
use crate::size::trial::{Bench, Fault, Trial};
use crate::units::{ElectricPotential, Measure, Power};

/// One choice of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Rung {
    /// The cable, as the file names it.
    pub cable: String,
    /// The run has it.
    pub chosen: bool,
    /// What the run costs in it.
    pub cost: f64,
    /// Least volts at the run's far end over all cases and corners; `None` where nothing is
    /// there, or a case has no operating point.
    pub far_end: Option<ElectricPotential>,
    /// Least volts between any device of the site and an end of its window.
    pub margin: Option<ElectricPotential>,
    /// Most heat in the run over all cases and corners.
    pub loss: Power,
    /// What fails in it; `None` where the whole site passes.
    pub fails: Option<String>,
}

/// The choices of a run, as the file lists them.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    /// Index of the run.
    pub run: usize,
    /// In what costs are counted.
    pub unit: CostUnit,
    /// One for each choice that fits.
    pub rungs: Vec<Rung>,
    /// What keeps the run from the next cheaper cable.
    pub binds: Option<String>,
}

/// Tries every choice of a run; `None` where it has none.
pub fn ladder(site: &Site, run: usize) -> Option<Ladder> {
    let mut options = Options::of(site);
    let open = options.open.iter().position(|o| o.run == run)?;
    let open = options.open.swap_remove(open);
    options.open = vec![open.clone()];
    let unit = options.unit;
    let mut bench = Bench::of(site, options);
    let mut rungs = Vec::with_capacity(open.choices.len());
    for (k, choice) in open.choices.iter().enumerate() {
        let trial = bench.trial(&[k]);
        rungs.push(Rung {
            cable: site.cables[choice.cable.0].name.clone(),
            chosen: site.runs[run].jacket == Some(choice.cable),
            cost: choice.cost,
            far_end: far_end(site, &bench, &open, &trial),
            margin: Some(trial.margin_v)
                .filter(|v| v.is_finite())
                .map(ElectricPotential::from_base),
            loss: Power::from_base(most_heat(&bench, &trial, k)),
            fails: gravest(site, &bench, &trial),
        });
    }
    let own = rungs.iter().find(|r| r.chosen);
    let cheaper = own.and_then(|own| {
        let cheaper = rungs.iter().filter(|r| r.cost < own.cost);
        cheaper.max_by(|a, b| a.cost.total_cmp(&b.cost))
    });
    let binds = cheaper.and_then(|r| r.fails.as_ref().map(|why| format!("in {}: {why}", r.cable)));
    Some(Ladder {
        run,
        unit,
        rungs,
        binds,
    })
}

/// The gravest fault of a trial in words.
pub(crate) fn gravest(site: &Site, bench: &Bench, trial: &Trial) -> Option<String> {
    if let Some(full) = trial.full.first() {
        return Some(full_words(site, *full));
    }
    let grave = |a: &&(usize, Fault), b: &&(usize, Fault)| severity(a.1).total_cmp(&severity(b.1));
    let (row, fault) = trial.faults.iter().max_by(grave)?;
    let row = &bench.rows[*row];
    let case = &bench.cases[row.case].name;
    Some(format!(
        "{} [{case}, {}]",
        words(site, *fault),
        row.corner.as_str()
    ))
}

/// Least volts at the far end of a run, where its devices live.
fn far_end(site: &Site, bench: &Bench, open: &Open, trial: &Trial) -> Option<ElectricPotential> {
    let end = site.runs[open.run].to;
    let pair = match end.thing() {
        Thing::Device(_) | Thing::Junction(_) | Thing::Supply(_)
            if !matches!(end, End::Terminal(..)) =>
        {
            bench.template.terminals.pair(end)
        }
        _ => return None,
    };
    let mut least = f64::INFINITY;
    for (row, solution) in bench.rows.iter().zip(&trial.solutions) {
        let solution = solution.as_ref()?;
        let reached = match end {
            End::Device(d) => row.live.devices[d],
            End::Junction(j) => row.live.junctions[j],
            _ => true,
        };
        if reached {
            least = least.min(solution.across(pair[0], pair[1]));
        }
    }
    least
        .is_finite()
        .then(|| ElectricPotential::from_base(least))
}

/// Most watts lost in the only open run over all rows.
fn most_heat(bench: &Bench, trial: &Trial, k: usize) -> f64 {
    let rows = bench.rows.iter().zip(&trial.solutions);
    let heat = rows.filter_map(|(row, solution)| {
        let solution = solution.as_ref()?;
        let legs = bench.branches[0].iter().zip(&row.ohms[0][k]);
        let each = legs.filter_map(|(branch, ohm)| {
            let amps = solution.branch_a[(*branch)?];
            (amps != 0.0).then(|| amps * amps * ohm)
        });
        Some(each.sum::<f64>())
    });
    heat.fold(0.0, f64::max)
}
