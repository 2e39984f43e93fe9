//! Room in raceways: which choices of the runs that lie in one go in together.
//!
//! How many cables lie in a raceway does not depend on the design, so what they may fill of it is
//! one number, and what each choice takes of that is another. A cable of which no diameter is
//! known counts as nothing here and is asked for by the checks.

use crate::checks::{Inside, exceeds};
use crate::site::{CableRef, Site};
use crate::size::bounds::Left;
use crate::size::options::Options;

/// A raceway, and what the cables in it fill; shares are per cent of its inside.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Duct {
    /// Index of the raceway.
    raceway: usize,
    /// What may be filled.
    most: f64,
    /// What is filled by the cables that are not chosen.
    kept: f64,
    /// Open runs in it, and what each of their choices fills.
    chosen: Vec<(usize, Vec<f64>)>,
}

/// A raceway that has no room for a design.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Full {
    /// Index of the raceway.
    pub(crate) raceway: usize,
    /// Per cent of its inside that is filled.
    pub(crate) filled: f64,
    /// Per cent that may be.
    pub(crate) most: f64,
}

impl Duct {
    /// Every raceway of which the inside is known.
    pub(crate) fn all(site: &Site, options: &Options) -> Vec<Self> {
        let ducts = 0..site.raceways.len();
        ducts
            .filter_map(|raceway| Self::of(site, options, raceway))
            .collect()
    }

    fn of(site: &Site, options: &Options, raceway: usize) -> Option<Self> {
        let lying = site.bought_in(&site.raceways[raceway]);
        let inside = Inside::of(&site.raceways[raceway], lying.len())?;
        let fills = |cable: CableRef| {
            let diameter = site.cables[cable.0].diameter;
            diameter.map_or(0.0, |d| inside.filled_by(d))
        };
        let mut duct = Self {
            raceway,
            most: inside.most,
            kept: 0.0,
            chosen: Vec::new(),
        };
        for run in lying {
            match options.open.iter().position(|open| open.run == run) {
                Some(e) => {
                    let choices = &options.open[e].choices;
                    let each = choices.iter().map(|c| fills(c.cable));
                    duct.chosen.push((e, each.collect()));
                }
                None => duct.kept += site.runs[run].jacket.map_or(0.0, fills),
            }
        }
        Some(duct)
    }

    /// With the thinnest of the choices left.
    fn thinnest(&self, left: &Left) -> f64 {
        let each = self.chosen.iter().map(|(e, fills)| least(fills, &left[*e]));
        self.kept + each.sum::<f64>()
    }

    fn filled(&self, design: &[usize]) -> f64 {
        let chosen = self.chosen.iter().map(|(e, fills)| fills[design[*e]]);
        self.kept + chosen.sum::<f64>()
    }

    /// The run whose choice fills most beyond the least that it might, of those left to it.
    fn widest(&self, left: &Left, design: &[usize]) -> Option<(usize, &[f64])> {
        let beyond = |e: usize, fills: &[f64]| fills[design[e]] - least(fills, &left[e]);
        let each = self.chosen.iter();
        let widest = each.max_by(|a, b| beyond(a.0, &a.1).total_cmp(&beyond(b.0, &b.1)));
        widest
            .filter(|(e, fills)| beyond(*e, fills) > 0.0)
            .map(|(e, fills)| (*e, fills.as_slice()))
    }
}

fn least(fills: &[f64], choices: &[usize]) -> f64 {
    let each = choices.iter().map(|k| fills[*k]);
    each.fold(f64::INFINITY, f64::min)
}

/// The raceways that have no room for a design.
pub(crate) fn full(ducts: &[Duct], design: &[usize]) -> Vec<Full> {
    overfull(ducts, |duct| duct.filled(design))
}

/// The raceways that have no room even for the thinnest of the choices left.
pub(crate) fn never(ducts: &[Duct], left: &Left) -> Vec<Full> {
    overfull(ducts, |duct| duct.thinnest(left))
}

fn overfull(ducts: &[Duct], filled: impl Fn(&Duct) -> f64) -> Vec<Full> {
    let each = ducts.iter().map(|duct| Full {
        raceway: duct.raceway,
        filled: filled(duct),
        most: duct.most,
    });
    each.filter(|f| exceeds(f.filled, f.most)).collect()
}

/// Takes away the choices that go in beside nothing that is left to the others; whether any went.
pub(crate) fn narrow(ducts: &[Duct], left: &mut Left) -> bool {
    let mut fewer = false;
    for duct in ducts {
        let thinnest = duct.thinnest(left);
        for (e, fills) in &duct.chosen {
            let others = thinnest - least(fills, &left[*e]);
            let before = left[*e].len();
            left[*e].retain(|k| !exceeds(others + fills[*k], duct.most));
            fewer |= left[*e].len() < before;
        }
    }
    fewer
}

/// Parts the choices left at the run that fills most of a raceway that has no room for a design:
/// run, and what fills less than it does there.
pub(crate) fn parted(ducts: &[Duct], left: &Left, design: &[usize]) -> Option<[Left; 2]> {
    let duct = ducts.iter().find(|d| exceeds(d.filled(design), d.most))?;
    let (e, fills) = duct.widest(left, design)?;
    let (thin, thick) = (left[e].iter()).partition(|k| fills[**k] < fills[design[e]]);
    Some([thin, thick].map(|part| {
        let mut left = left.clone();
        left[e] = part;
        left
    }))
}

/// A design with thinner cables until it goes in, each time where the most room is won for the
/// least ohms more; `ohm` has those of a run's choice.
pub(crate) fn squeezed(
    ducts: &[Duct],
    mut design: Vec<usize>,
    ohm: impl Fn(usize, usize) -> f64,
) -> Vec<usize> {
    for duct in ducts {
        while exceeds(duct.filled(&design), duct.most) {
            let mut best: Option<(f64, usize, usize)> = None;
            for (e, fills) in &duct.chosen {
                let own = design[*e];
                for k in (0..fills.len()).filter(|k| fills[*k] < fills[own]) {
                    let more = (ohm(*e, k) - ohm(*e, own)).max(1e-12);
                    let worth = (fills[own] - fills[k]) / more;
                    if best.is_none_or(|b| worth > b.0) {
                        best = Some((worth, *e, k));
                    }
                }
            }
            let Some((_, e, k)) = best else { break };
            design[e] = k;
        }
    }
    design
}
