//! How full a raceway is, and whether cable goes through it at all.

use super::Filled;
use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look, exceeds};
use crate::diagnostic::Severity;
use crate::site::{Cable, Raceway, Site};
use crate::tables;
use crate::units::{Length, Measure};

pub(crate) const FILL: Check = Check {
    code: "raceway-fill",
    question: "is there room in the raceway for its cables?",
    formula: "sum of pi d^2 / 4 of the cables <= share x pi D^2 / 4 of the inside; share 53 % for one cable, 31 % for two, 40 % for more, 60 % in 24 in or less",
    source: "NEC Chapter 9 Table 1 (secondary copy seen) and Table 4 (from memory); for power-limited circuits a rule of design",
};
pub(crate) const JAM: Check = Check {
    code: "raceway-jam",
    question: "can three cables wedge side by side in a bend?",
    formula: "with three cables of one size, inside diameter / cable diameter is not 2.8 to 3.2",
    source: "NEC Chapter 9 Table 1, note on jamming (secondary copy seen)",
};
pub(crate) const BENDS: Check = Check {
    code: "raceway-bends",
    question: "can cable be pulled through its bends?",
    formula: "all bends between two pull points <= 360 degrees",
    source: "NEC 358.26, 352.26 and the like (from memory)",
};

const MOST_BENDS: u32 = 360;
/// Ratios at which three cables wedge.
const JAMS: std::ops::RangeInclusive<f64> = 2.8..=3.2;

pub(super) fn check(
    look: &Look<'_>,
    filled: &Filled<'_>,
    asks: &mut Asks,
    found: &mut Vec<Finding>,
) {
    found.extend(bends(filled.raceway));
    let bought = look.site.bought_in(filled.raceway);
    let jackets: Vec<&Cable> = (bought.iter())
        .filter_map(|i| look.site.runs[*i].jacket(look.site))
        .collect();
    if jackets.is_empty() {
        return;
    }
    let inside = inside_of(filled.raceway);
    if inside.is_none() {
        let words = "kind and size (or inside, its inside diameter)";
        asks.add(&filled.raceway.name, None, words);
    }
    for cable in jackets.iter().filter(|c| c.diameter.is_none()) {
        let words = "diameter (outside: measure it, or its data sheet)";
        asks.add(&cable.name, None, words);
    }
    let known: Vec<Length> = jackets.iter().filter_map(|c| c.diameter).collect();
    if let Some(inside) = Inside::of(filled.raceway, jackets.len()) {
        // What is known may be too much whatever the rest is.
        found.extend(fill(filled.raceway, &inside, &known, jackets.len()));
    }
    if let Some(inside) = inside.filter(|_| known.len() == jackets.len()) {
        found.extend(jam(filled.raceway, inside, &known));
    }
}

/// Inside diameter of a raceway: as stated, else of its trade size.
pub(crate) fn inside_of(raceway: &Raceway) -> Option<Length> {
    let by_size = || tables::raceway_inside(raceway.kind?, raceway.size.as_deref()?);
    raceway.inside.or_else(by_size)
}

/// What a raceway has room for, with a number of cables in it.
pub(crate) struct Inside {
    whole_in2: f64,
    /// Per cent of the inside that its cables may fill.
    pub(crate) most: f64,
}

impl Inside {
    /// `None` where the inside diameter is not known.
    pub(crate) fn of(raceway: &Raceway, cables: usize) -> Option<Self> {
        Some(Self {
            whole_in2: square_inches(inside_of(raceway)?),
            most: 100.0 * tables::fill_share(cables, raceway.length),
        })
    }

    /// Per cent of the inside that a cable fills.
    pub(crate) fn filled_by(&self, diameter: Length) -> f64 {
        100.0 * square_inches(diameter) / self.whole_in2
    }
}

fn square_inches(diameter: Length) -> f64 {
    tables::round_area(diameter).base() / (0.0254 * 0.0254)
}

/// How full a raceway is and may be, in per cent; nothing where a diameter is not known.
pub fn raceway_fill(site: &Site, raceway: &Raceway) -> Option<(f64, f64)> {
    let bought = site.bought_in(raceway);
    let jackets = bought
        .iter()
        .filter_map(|i| site.runs[*i].jacket(site))
        .map(|cable| cable.diameter);
    let diameters: Option<Vec<Length>> = jackets.collect();
    let diameters = diameters.filter(|all| !all.is_empty())?;
    let inside = Inside::of(raceway, diameters.len())?;
    let percent = diameters.iter().map(|d| inside.filled_by(*d)).sum();
    Some((percent, inside.most))
}

fn fill(
    raceway: &Raceway,
    inside: &Inside,
    diameters: &[Length],
    cables: usize,
) -> Option<Finding> {
    let used: f64 = diameters.iter().map(|d| square_inches(*d)).sum();
    let percent = diameters.iter().map(|d| inside.filled_by(*d)).sum();
    let (whole, limit, share) = (inside.whole_in2, inside.most, inside.most / 100.0);
    let name = &raceway.name;
    let cables = match (cables, diameters.len()) {
        (1, _) => "1 cable".to_owned(),
        (n, known) if known < n => format!("{known} of {n} cables alone"),
        (n, _) => format!("{n} cables"),
    };
    exceeds(percent, limit).then(|| {
        let message = format!(
            "{cables} fill {percent:.0} % of {name}, and {limit:.0} % are the most: a wider raceway, or a second one"
        );
        FILL.finding(Severity::Fail, name, message)
            .measured(percent, limit, "%")
            .put_in(format!(
                "{used:.4} in2 > {share} x {whole:.4} in2 = {:.4} in2",
                share * whole
            ))
    })
}

fn jam(raceway: &Raceway, inside: Length, diameters: &[Length]) -> Option<Finding> {
    let [first, others @ ..] = diameters else {
        return None;
    };
    let alike = |d: &Length| (d.base() - first.base()).abs() < 1e-6;
    if others.len() != 2 || !others.iter().all(alike) || first.base() <= 0.0 {
        return None;
    }
    let ratio = inside.base() / first.base();
    JAMS.contains(&ratio).then(|| {
        let message = format!(
            "three cables in {} can wedge side by side in a bend: pull them together and slowly, or take another size",
            raceway.name
        );
        JAM.finding(Severity::Note, &raceway.name, message)
            .put_in(format!("{ratio:.2} lies in 2.8 to 3.2"))
    })
}

fn bends(raceway: &Raceway) -> Option<Finding> {
    let bends = raceway.bends.filter(|b| *b > MOST_BENDS)?;
    let message = format!(
        "{} turns {bends} degrees between two pull points, and {MOST_BENDS} are the most: set a pull box",
        raceway.name
    );
    Some(
        BENDS
            .finding(Severity::Warn, &raceway.name, message)
            .measured(f64::from(bends), f64::from(MOST_BENDS), "degrees")
            .put_in(format!("{bends} > {MOST_BENDS}")),
    )
}
