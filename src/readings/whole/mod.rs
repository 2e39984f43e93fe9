//! All readings at once: which single cause explains them, and the reading that parts causes that
//! explain them alike.
//!
//! On meshes and shared returns the ohms of a run do not follow from its own volts. So everything
//! that was read is held against the solved network together. Ohms of each conductor may differ from
//! the drawing by 5 %, and in each moment draws and supplies by some more; that is weighed as chance.
//! One thing at a time is then set free: what that makes better beyond chance, and nothing else, is
//! told.

mod causes;
mod gauss;
mod next;
mod scene;
mod sheet;

pub use causes::{Cause, Fault};
pub use next::Next;

use crate::readings::bench::Bench;
use crate::readings::error::{BEYOND, Estimate};
use crate::readings::path::{PathOhms, Verdict};
use crate::readings::whole::gauss::{least_gain, most_squares};
use crate::readings::whole::sheet::Sheet;
use crate::site::{Leg, Site, Spot};
use crate::units::{ElectricalResistance, Measure, Ratio};

/// How often a cause may be named where there is none.
const DOUBT: f64 = 0.01;
/// A conductor's ohms follow from the readings where they tell them better than this.
const TOLD: f64 = 0.08;
/// So many causes are followed on the network itself, those that promise most.
const MOST_CAUSES: usize = 16;
/// Of those so many, the best, are weighed anew where they stand.
const MOST_WEIGHED: usize = 8;
/// Causes whose squares are so many over the least are left at once.
const NEAR: f64 = 25.0;

/// What all readings say together.
#[derive(Clone, Debug, PartialEq)]
pub struct Whole {
    /// How many readings were weighed.
    pub count: usize,
    /// Squares of what they are off as drawn, each in times of what it may be.
    pub squares: f64,
    /// What those squares come to at most by chance, but once in a hundred.
    pub room: f64,
    /// The chance that a cause is named where there is none, at most.
    pub doubt: Ratio,
    /// Ohms of conductors that follow from the readings, as far as nothing is wrong.
    pub told: Vec<Told>,
    /// What they say.
    pub says: Says,
    /// Besides those named, causes that were not followed may do as well.
    pub others: bool,
}

/// What all readings say together.
#[derive(Clone, Debug, PartialEq)]
pub enum Says {
    /// The site is as drawn, as far as they tell.
    Agrees,
    /// One of these explains them, and nothing read so far parts them; the likeliest first.
    One(Vec<Fault>, Option<Next>),
    /// No single cause explains them.
    Several,
}

/// Ohms of one conductor by all readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// The run.
    pub run: usize,
    /// Which conductor of it.
    pub leg: Leg,
    /// Its ohms.
    pub ohms: Estimate<ElectricalResistance>,
    /// Its ohms as drawn.
    pub drawn: ElectricalResistance,
}

impl Told {
    /// How the file calls it.
    pub fn name(&self, site: &Site) -> String {
        site.spot_text(Spot::Conductor(self.run, self.leg))
    }
}

impl Whole {
    /// The causes that are named.
    pub fn faults(&self) -> &[Fault] {
        match &self.says {
            Says::One(faults, _) => faults,
            Says::Agrees | Says::Several => &[],
        }
    }

    /// From all readings of volts and amps; nothing from fewer than two.
    pub(super) fn of(bench: &Bench<'_>, paths: &[PathOhms]) -> Option<Self> {
        let mut sheet = Sheet::of(bench)?;
        let squares = sheet.weights.squares(&sheet.off);
        let mut whole = Self {
            count: sheet.off.len(),
            squares,
            room: most_squares(sheet.off.len()),
            doubt: Ratio::from_base(DOUBT),
            told: Vec::new(),
            says: Says::Agrees,
            others: false,
        };
        let causes = candidates(bench, &sheet, paths);
        let least = least_gain(causes.len(), DOUBT);
        // No cause can make more better than all.
        let Fitted { faults, others } = if squares < least {
            Fitted::NONE
        } else {
            Fitted::of(bench, &mut sheet, causes)
        };
        let best = faults.first().map_or(squares, |fault| fault.squares);
        whole.says = if squares - best >= least && best <= whole.room {
            whole.others = others;
            let next = next::next(bench, &mut sheet, &faults);
            Says::One(faults, next)
        } else if squares > whole.room {
            Says::Several
        } else {
            whole.told = causes::told(bench, &sheet);
            Says::Agrees
        };
        Some(whole)
    }
}

/// Every cause, but those of runs of which an ohmmeter said that nothing is wrong with them.
fn candidates(bench: &Bench<'_>, sheet: &Sheet, paths: &[PathOhms]) -> Vec<Cause> {
    let sound = |run: usize| {
        let mut own = paths.iter().filter(|path| path.run == run);
        own.any(|path| path.dead.is_some() && path.verdict == Verdict::Agrees)
    };
    let mut causes = causes::causes(bench, sheet);
    causes.retain(|cause| cause.run().is_none_or(|run| !sound(run)));
    causes
}

/// The best fits, best first, and whether causes that were left may do as well.
struct Fitted {
    faults: Vec<Fault>,
    others: bool,
}

impl Fitted {
    const NONE: Self = Self {
        faults: Vec::new(),
        others: false,
    };

    /// Follows the causes that promise most. Those near the best are weighed with the slopes that
    /// hold where they stand; those that do as well as the best are kept.
    fn of(bench: &Bench<'_>, sheet: &mut Sheet, causes: Vec<Cause>) -> Self {
        let alike = BEYOND * BEYOND;
        let mut likely = causes::screened(bench, sheet, causes);
        let cut = likely.split_off(likely.len().min(MOST_CAUSES));
        let followed = likely.into_iter();
        let followed =
            followed.filter_map(|(cause, first)| causes::followed(bench, sheet, cause, first));
        let mut faults: Vec<Fault> = followed.collect();
        faults.sort_by(|a, b| a.squares.total_cmp(&b.squares));
        let near = faults.first().map_or(0.0, |best| best.squares) + NEAR;
        faults.retain(|fault| fault.squares <= near);
        let left = faults.split_off(faults.len().min(MOST_WEIGHED));
        faults.retain_mut(|fault| fault.weigh(bench, sheet).is_some());
        faults.sort_by(|a, b| a.squares.total_cmp(&b.squares));
        let best = faults.first().map_or(0.0, |best| best.squares);
        faults.retain(|fault| fault.squares - best <= alike);
        let least = faults
            .iter()
            .map(|f| f.promise)
            .fold(f64::INFINITY, f64::min);
        let others = cut
            .first()
            .is_some_and(|(_, first)| first.gain + alike >= least)
            || left
                .first()
                .is_some_and(|fault| fault.squares - best <= 2.0 * alike);
        Self { faults, others }
    }
}
