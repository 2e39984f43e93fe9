//! All readings of all moments under one another, what they are off, and how far off they may be.

use std::collections::BTreeSet;

use crate::readings::bench::Bench;
use crate::readings::whole::gauss::{Weights, add_outer};
use crate::readings::whole::scene::{Element, Scene, Seen};
use crate::site::Leg;
use crate::units::Measure;

/// Ohms of a conductor lie so near those drawn, as a rule.
pub(super) const OHMS_SHARE: f64 = 0.05;
/// Draws lie so near those of their sheets, and may differ from moment to moment (common practice,
/// no source).
pub(super) const DRAW_SHARE: f64 = 0.1;
/// Volts of a supply likewise, where its own tolerance is no greater.
const VOLTS_SHARE: f64 = 0.05;
/// A step to tell a slope by.
const STEP: f64 = 1e-3;
/// Rounding alone makes a value uncertain by this part of its last digit: 1 / sqrt(12).
const ROUNDING: f64 = 0.289;
/// A change of a reading by this part of its last digits counts for nothing.
const COUNTS: f64 = 0.01;
/// So many conductors, those that lose most volts, and so many draws are weighed.
const MOST_BRANCHES: usize = 300;
const MOST_LOADS: usize = 100;
/// So many moments, those with most readings.
const MOST_MOMENTS: usize = 8;

/// One unknown, and what each reading changes by with a step of it.
pub(super) struct Column {
    pub(super) element: Element,
    pub(super) slope: Vec<f64>,
}

/// All readings.
pub(super) struct Sheet {
    pub(super) scenes: Vec<Scene>,
    /// By reading: found less drawn.
    pub(super) off: Vec<f64>,
    /// How they may be off, the drawing's own doubts counted.
    pub(super) weights: Weights,
    /// What may be other than drawn.
    pub(super) columns: Vec<Column>,
}

impl Sheet {
    /// `None` from fewer than two readings, or where the network does not settle.
    pub(super) fn of(bench: &Bench<'_>) -> Option<Self> {
        let moments = 0..bench.moments.len();
        let mut scenes: Vec<Scene> = moments.filter_map(|m| Scene::of(bench, m)).collect();
        scenes.sort_by_key(|scene| std::cmp::Reverse(scene.seen.len()));
        scenes.truncate(MOST_MOMENTS);
        scenes.sort_by_key(|scene| scene.moment);
        let off = off(&mut scenes, &[])?;
        if off.len() < 2 {
            return None;
        }
        let elements = elements(bench, &scenes);
        let columns = columns(&mut scenes, &elements, &[], &off)?;
        let weights = weights(bench, &scenes, &columns)?;
        Some(Self {
            scenes,
            off,
            weights,
            columns,
        })
    }

    /// What the readings are off with some things other than drawn.
    pub(super) fn off_with(&mut self, changes: &[(Element, f64)]) -> Option<Vec<f64>> {
        off(&mut self.scenes, changes)
    }

    /// The weights where some things are other than drawn, which moves all slopes.
    pub(super) fn weights_with(
        &mut self,
        bench: &Bench<'_>,
        changes: &[(Element, f64)],
    ) -> Option<Weights> {
        let moved = |column: &&Column| moves(&self.scenes, column);
        let elements = self.columns.iter().filter(moved).map(|c| c.element);
        let elements: Vec<Element> = elements.collect();
        let off = self.off_with(changes)?;
        let columns = columns(&mut self.scenes, &elements, changes, &off)?;
        weights(bench, &self.scenes, &columns)
    }

    /// What the readings change by, all together, with a step of several unknowns at once.
    pub(super) fn slope_of(&self, elements: &[Element]) -> Vec<f64> {
        let mut sum = vec![0.0; self.off.len()];
        for column in self
            .columns
            .iter()
            .filter(|c| elements.contains(&c.element))
        {
            for (sum, slope) in sum.iter_mut().zip(&column.slope) {
                *sum += slope;
            }
        }
        sum
    }
}

/// Whether what is left open of an element moves any reading by a part of its last digits that
/// counts; on a large site most move none.
fn moves(scenes: &[Scene], column: &Column) -> bool {
    let share = match column.element {
        Element::Branch(_) => OHMS_SHARE,
        Element::Load(_) => DRAW_SHARE,
        Element::Source(_) => return true,
    };
    let seen = scenes.iter().flat_map(|scene| &scene.seen);
    let mut each = seen.zip(&column.slope);
    each.any(|(seen, slope)| share * slope.abs() > COUNTS * digits(seen))
}

/// What the last digits of a reading leave open: its rounding at least.
fn digits(seen: &Seen) -> f64 {
    seen.error.digits.max(ROUNDING * seen.digit)
}

/// Found less what the network has with some changes.
fn off(scenes: &mut [Scene], changes: &[(Element, f64)]) -> Option<Vec<f64>> {
    let mut all = Vec::new();
    for scene in scenes {
        let values = scene.with(changes)?;
        all.extend(
            scene
                .seen
                .iter()
                .zip(values)
                .map(|(seen, value)| seen.value - value),
        );
    }
    Some(all)
}

/// Everything that may be other than drawn and does anything in some moment.
fn elements(bench: &Bench<'_>, scenes: &[Scene]) -> Vec<Element> {
    let feels = |element: &Element| scenes.iter().any(|scene| scene.feels(*element));
    let template = &bench.results.template;
    let own = template.runs.iter().flat_map(|own| {
        [own.plus, own.minus, own.common, own.shield]
            .into_iter()
            .flatten()
    });
    let own: BTreeSet<usize> = own.collect();
    let branches = own.into_iter().map(Element::Branch).filter(feels);
    let mut branches: Vec<Element> = branches.collect();
    let lost = |element: &Element| match element {
        Element::Branch(b) => scenes.iter().map(|s| s.lost_v(*b)).fold(0.0, f64::max),
        Element::Load(_) | Element::Source(_) => 0.0,
    };
    if branches.len() > MOST_BRANCHES {
        branches.sort_by(|a, b| lost(b).total_cmp(&lost(a)));
        branches.truncate(MOST_BRANCHES);
    }
    let loads = (0..bench.site.devices.len()).map(Element::Load);
    let sources = (0..bench.site.supplies.len()).map(Element::Source);
    branches.extend(loads.filter(feels).take(MOST_LOADS));
    branches.extend(sources.filter(feels));
    branches
}

/// The slope of every reading over every unknown, from the network solved a step away.
fn columns(
    scenes: &mut [Scene],
    elements: &[Element],
    changes: &[(Element, f64)],
    at: &[f64],
) -> Option<Vec<Column>> {
    let mut columns = Vec::with_capacity(elements.len());
    for element in elements {
        let mut stepped: Vec<(Element, f64)> = changes.to_vec();
        match stepped.iter_mut().find(|(own, _)| own == element) {
            Some((_, factor)) => *factor += STEP,
            None => stepped.push((*element, 1.0 + STEP)),
        }
        let beside = off(scenes, &stepped)?;
        let slope = at
            .iter()
            .zip(&beside)
            .map(|(at, beside)| (at - beside) / STEP);
        columns.push(Column {
            element: *element,
            slope: slope.collect(),
        });
    }
    Some(columns)
}

/// S = the meters' own errors, what one meter has in common in all that it read, and what the
/// drawing leaves open: ohms alike in all moments, draws and supplies in each for itself.
fn weights(bench: &Bench<'_>, scenes: &[Scene], columns: &[Column]) -> Option<Weights> {
    let seen: Vec<_> = scenes.iter().flat_map(|scene| &scene.seen).collect();
    let n = seen.len();
    let mut s = vec![0.0; n * n];
    for (i, one) in seen.iter().enumerate() {
        s[i * n + i] += digits(one).powi(2);
        if one.error.meter.is_none() {
            s[i * n + i] += (one.error.share * one.value).powi(2);
        }
    }
    let meters = (0..bench.site.meters.len()).flat_map(|m| [(m, true), (m, false)]);
    for (meter, volts) in meters {
        let shares = seen.iter().map(|one| {
            let own = one.error.meter == Some(meter) && one.volts == volts;
            if own {
                one.error.share * one.value
            } else {
                0.0
            }
        });
        add_outer(&mut s, &shares.collect::<Vec<_>>(), 1.0);
    }
    for column in columns {
        let share = match column.element {
            Element::Branch(_) => {
                add_outer(&mut s, &column.slope, OHMS_SHARE * OHMS_SHARE);
                continue;
            }
            Element::Load(_) => DRAW_SHARE,
            Element::Source(i) => bench.site.supplies[i]
                .tolerance
                .map_or(0.0, Measure::base)
                .max(VOLTS_SHARE),
        };
        let mut start = 0;
        for scene in scenes {
            let end = start + scene.seen.len();
            let mut own = vec![0.0; n];
            own[start..end].copy_from_slice(&column.slope[start..end]);
            add_outer(&mut s, &own, share * share);
            start = end;
        }
    }
    Weights::of(&s, n)
}

/// The conductors of a run that are drawn as branches.
pub(super) fn legs(bench: &Bench<'_>, run: usize) -> Vec<(Leg, usize)> {
    let own = bench.results.template.runs[run];
    let branches = [own.plus, own.minus, own.common, own.shield];
    let legs = Leg::ALL.into_iter().zip(branches);
    legs.filter_map(|(leg, branch)| Some((leg, branch?)))
        .collect()
}
