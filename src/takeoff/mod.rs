//! What it takes to build a site: cable as cut and as bought, every conductor, and the bill.
//!
//! The bill counts what the wire schedule lists, so the two agree by construction. Prices and
//! hours are only those that the file gives; a line without one says so and never counts as zero.

mod bill;
mod fitted;
mod spools;
mod wires;

pub use bill::{Line, Total};
pub use spools::{Packing, Spool, pack};
pub use wires::WireRow;

use crate::site::{CableRef, Site};
use crate::units::{Length, Measure, System};

/// Everything that a bid counts.
#[derive(Clone, Debug, PartialEq)]
pub struct TakeOff {
    /// One for each jacket, in file order of the runs.
    pub cuts: Vec<Cut>,
    /// Cable by type, in order of first use.
    pub cables: Vec<CableLine>,
    /// Every conductor.
    pub wires: Vec<WireRow>,
    /// The bill: cable, what the schedule counts, and the items as entered.
    pub lines: Vec<Line>,
    /// What the priced lines come to.
    pub total: Total,
}

/// One piece of cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// The run that it is for.
    pub run: usize,
    /// The cable.
    pub cable: CableRef,
    /// Electrical length, the one that is solved.
    pub electrical: Length,
    /// Length to cut: with slack at both ends and waste, rounded up to a whole foot or metre.
    pub cut: Length,
}

/// All of one type of cable.
#[derive(Clone, Debug, PartialEq)]
pub struct CableLine {
    /// The cable.
    pub cable: CableRef,
    /// Its cuts, as indices into [`TakeOff::cuts`].
    pub cuts: Vec<usize>,
    /// Length of all cuts together.
    pub needed: Length,
    /// The spools that hold them, where it is sold on spools; indices are into `cuts` of the line.
    pub packing: Option<Packing>,
    /// Length to buy.
    pub bought: Length,
}

impl TakeOff {
    /// Counts everything.
    pub fn of(site: &Site) -> Self {
        let cuts: Vec<Cut> = (0..site.runs.len())
            .filter_map(|run| cut(site, run))
            .collect();
        let cables = cables(site, &cuts);
        let wires = wires::schedule(site);
        let lines = bill::lines(site, &cables, &wires);
        Self {
            total: Total::of(site, &lines),
            cuts,
            cables,
            wires,
            lines,
        }
    }
}

/// The piece of cable of a run that has one of its own.
///
/// # Source
/// Slack at both ends, then waste, then rounding up: common practice, no source.
fn cut(site: &Site, run: usize) -> Option<Cut> {
    let own = &site.runs[run];
    if own.shares.is_some() || own.resistance.is_some() {
        return None;
    }
    let cable = own.jacket?;
    let slack = 2.0 * site.design.slack.base();
    let wanted = (own.length.base() + slack) * (1.0 + site.design.waste.value);
    let whole = match site.units {
        System::Us => 0.3048,
        System::Si => 1.0,
    };
    // A millionth of a unit over the whole is rounding, not length.
    let cut = (wanted / whole - 1e-6).ceil().max(0.0) * whole;
    Some(Cut {
        run,
        cable,
        electrical: own.length,
        cut: Length::from_base(cut),
    })
}

fn cables(site: &Site, cuts: &[Cut]) -> Vec<CableLine> {
    let mut lines: Vec<CableLine> = Vec::new();
    for (i, cut) in cuts.iter().enumerate() {
        match lines.iter_mut().find(|line| line.cable == cut.cable) {
            Some(line) => line.cuts.push(i),
            None => lines.push(CableLine {
                cable: cut.cable,
                cuts: vec![i],
                needed: Length::from_base(0.0),
                packing: None,
                bought: Length::from_base(0.0),
            }),
        }
    }
    for line in &mut lines {
        let lengths: Vec<Length> = line.cuts.iter().map(|i| cuts[*i].cut).collect();
        line.needed = Length::from_base(lengths.iter().map(|l| l.base()).sum());
        line.bought = line.needed;
        let sold = &site.cables[line.cable.0].spools;
        if !sold.is_empty() {
            let packing = pack(&lengths, sold);
            let too_long: f64 = packing.too_long.iter().map(|i| lengths[*i].base()).sum();
            line.bought = packing.bought() + Length::from_base(too_long);
            line.packing = Some(packing);
        }
    }
    lines
}
