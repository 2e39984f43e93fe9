//! What may be chosen: the runs that have choices, what each choice costs, and what never fits.

use crate::checks::{gauge_misfit, limit_of};
use crate::site::{Cable, CableRef, Run, Site};
use crate::units::Measure;

/// In what a design is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CostUnit {
    /// Price per length times length, in the site's currency.
    Price,
    /// Cubic metres of conductor metal.
    Metal,
}

impl CostUnit {
    /// The word that the JSON uses.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Price => "price",
            Self::Metal => "metal",
        }
    }
}

/// One cable that a run may have.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The cable, as it is bought.
    pub cable: CableRef,
    /// The cable in it that the run uses: the same, but for a jacket of several.
    pub wires: CableRef,
    /// What the run then costs.
    pub cost: f64,
    /// Amperes that one conductor may carry; infinite where nothing says.
    pub limit_a: f64,
}

/// A run that has choices.
#[derive(Clone, Debug, PartialEq)]
pub struct Open {
    /// Index of the run.
    pub run: usize,
    /// The choices that fit it, in file order.
    pub choices: Vec<Choice>,
}

/// Everything that may be chosen on a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// In what costs are counted.
    pub unit: CostUnit,
    /// Runs with choices, in file order.
    pub open: Vec<Open>,
    /// Cost of the runs that keep their cable.
    pub fixed: f64,
    /// Runs that keep a cable of which nothing says what it costs.
    pub unpriced: Vec<usize>,
    /// Runs none of whose choices fits, and why.
    pub unfit: Vec<(usize, String)>,
}

impl Options {
    /// Reads the choices off a site.
    ///
    /// A run's own choices come first; the site's go to every run that carries power and nothing
    /// else. A run of stated ohms has no cable to choose, and runs in one jacket keep it.
    pub fn of(site: &Site) -> Self {
        let choices: Vec<&[CableRef]> = site.runs.iter().map(|r| choices_of(site, r)).collect();
        let priced = |c: &CableRef| site.cables[c.0].price.is_some();
        let all_priced = choices.iter().all(|list| list.iter().all(priced));
        let unit = if all_priced {
            CostUnit::Price
        } else {
            CostUnit::Metal
        };
        let mut options = Self {
            unit,
            ..Self::none()
        };
        for (i, (run, choices)) in site.runs.iter().zip(choices).enumerate() {
            if run.shares.is_some() {
                // Bought once, with the run whose jacket it is.
                continue;
            }
            if choices.is_empty() {
                let known = run
                    .jacket(site)
                    .and_then(|cable| cost(site, unit, run, cable));
                match known {
                    Some(cost) => options.fixed += cost,
                    None => options.unpriced.push(i),
                }
                continue;
            }
            let fitting: Vec<Choice> = choices
                .iter()
                .filter(|c| misfit(site, run, **c).is_none())
                .filter_map(|c| choice(site, unit, run, *c))
                .collect();
            if fitting.is_empty() {
                let reasons = choices.iter().filter_map(|c| misfit(site, run, *c));
                options
                    .unfit
                    .push((i, reasons.collect::<Vec<_>>().join("; ")));
            }
            options.open.push(Open {
                run: i,
                choices: fitting,
            });
        }
        options
    }

    /// Nothing to choose: every run keeps its cable.
    pub fn none() -> Self {
        Self {
            unit: CostUnit::Metal,
            open: Vec::new(),
            fixed: 0.0,
            unpriced: Vec::new(),
            unfit: Vec::new(),
        }
    }

    /// What a design costs, fixed runs included.
    pub fn cost(&self, design: &[usize]) -> f64 {
        let chosen = self.open.iter().zip(design);
        self.fixed + chosen.map(|(o, k)| o.choices[*k].cost).sum::<f64>()
    }
}

/// The cables that a run may choose from; none where it keeps its own.
pub fn choices_of<'s>(site: &'s Site, run: &'s Run) -> &'s [CableRef] {
    let c = run.carries;
    let beside =
        c.wiegand || c.rs485 || c.data || c.supervised || c.contact || c.ethernet || c.bond;
    let shared = run.shares.is_some() || !run.sharers.is_empty();
    match () {
        () if run.resistance.is_some() || shared => &[],
        () if !run.choices.is_empty() => &run.choices,
        () if c.power && !beside => &site.choices,
        () => &[],
    }
}

fn choice(site: &Site, unit: CostUnit, run: &Run, cable: CableRef) -> Option<Choice> {
    let wires = wires_in(site, run, cable)?;
    Some(Choice {
        cable,
        wires,
        cost: cost(site, unit, run, &site.cables[cable.0]).unwrap_or(0.0),
        limit_a: limit_of(&site.cables[wires.0]).map_or(f64::INFINITY, |(amps, _)| amps),
    })
}

/// The cable that a run uses of what is bought for it.
pub(crate) fn wires_in(site: &Site, run: &Run, cable: CableRef) -> Option<CableRef> {
    let elements = &site.cables[cable.0].elements;
    if elements.is_empty() {
        return (run.element == 1).then_some(cable);
    }
    let element = usize::try_from(run.element).ok()?.checked_sub(1)?;
    elements.get(element).copied()
}

/// What a run costs in a cable; `None` where the price is not stated.
pub fn cost(site: &Site, unit: CostUnit, run: &Run, cable: &Cable) -> Option<f64> {
    let length_m = run.length.base();
    let metal = |c: &Cable| f64::from(c.conductors) * c.size.area().base();
    match unit {
        CostUnit::Price => cable.price.map(|price| price.base() * length_m),
        CostUnit::Metal if cable.elements.is_empty() => Some(metal(cable) * length_m),
        CostUnit::Metal => {
            let each = cable.elements.iter().map(|c| metal(&site.cables[c.0]));
            Some(each.sum::<f64>() * length_m)
        }
    }
}

/// Runs that keep a cable which does not fit them, and why.
pub(crate) fn fixed_misfits(site: &Site, options: &Options) -> Vec<(usize, String)> {
    let mut open = vec![false; site.runs.len()];
    for chosen in &options.open {
        open[chosen.run] = true;
    }
    let fixed = site.runs.iter().enumerate();
    fixed
        .filter(|(i, run)| !open[*i] && run.resistance.is_none())
        .filter(|(_, run)| {
            // One line for each cable of a jacket is enough.
            let first = run.shares.map(|owner| site.runs[owner].element);
            first != Some(run.element)
        })
        .filter_map(|(i, run)| {
            let cable = run.cable(site)?;
            let beside = site.runs_beside(i).map(Cable::conductors_for);
            let few = too_few(beside.sum(), cable);
            Some((i, few.or_else(|| gauge_misfit(site, run, cable))?))
        })
        .collect()
}

/// Why a cable does not fit a run whatever flows in it.
fn misfit(site: &Site, run: &Run, cable: CableRef) -> Option<String> {
    match wires_in(site, run, cable) {
        Some(wires) => {
            let cable = &site.cables[wires.0];
            let few = too_few(Cable::conductors_for(run), cable);
            few.or_else(|| gauge_misfit(site, run, cable))
        }
        None => Some(format!(
            "{} has no part {}",
            site.cables[cable.0].name, run.element
        )),
    }
}

fn too_few(needed: u32, cable: &Cable) -> Option<String> {
    (needed > cable.conductors).then(|| {
        format!(
            "it needs {needed} conductors, {} has {}",
            cable.name, cable.conductors
        )
    })
}
