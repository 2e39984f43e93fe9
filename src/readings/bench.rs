//! The readings of every moment, by where they were taken.

use std::collections::HashMap;

use crate::circuit::{Corner, Pair};
use crate::readings::error::Error;
use crate::readings::model;
use crate::readings::moment::{Moment, moments};
use crate::results::{Results, Row};
use crate::site::{End, Found, Leg, Run, Site, Spot, Thing, WhichEnd};
use crate::units::Measure;

/// A clamp tells its current no better than by the whole of its floor: under so many floors nothing
/// follows from it (common practice, no source).
pub const FLOORS: f64 = 5.0;

/// Legs whose currents differ by less than this part carry the same.
const SAME_CURRENT: f64 = 0.01;

/// All readings, with what the site and its solution know.
pub(super) struct Bench<'a> {
    pub(super) site: &'a Site,
    pub(super) results: &'a Results,
    pub(super) moments: Vec<Moment>,
    spots: Vec<Spots>,
    /// Ohms, by run and conductor; where they were read twice, the first.
    ohms: HashMap<(usize, Option<Leg>), usize>,
    /// Ohms there and back, by run and the end that was noted; where they were read twice, the first.
    ohms_from: HashMap<(usize, WhichEnd), usize>,
    /// By run: the moments in which its amps were read.
    clamped: Vec<Vec<usize>>,
    /// By supply: the power runs that end at it.
    leaving: Vec<Vec<usize>>,
}

/// The readings of one moment, each by its spot; where one was read twice, the first.
#[derive(Default)]
struct Spots {
    volts: HashMap<Pair, usize>,
    /// Volts from terminal to terminal, by each of the two things.
    between: HashMap<Thing, Vec<usize>>,
    /// By run; no leg where the reading names none.
    amps: HashMap<(usize, Option<Leg>), usize>,
    supplies: HashMap<usize, usize>,
}

/// One value that was read, and its error.
#[derive(Clone, Copy)]
pub(super) struct Read {
    pub(super) value: f64,
    pub(super) error: Error,
}

impl Read {
    /// How far off it may be, all together.
    pub(super) fn u(self) -> f64 {
        self.error.whole(self.value)
    }
}

impl<'a> Bench<'a> {
    pub(super) fn of(site: &'a Site, results: &'a Results) -> Self {
        let moments = moments(site, results);
        let spots = moments.iter().map(|m| Spots::of(site, results, m));
        let mut bench = Self {
            spots: spots.collect(),
            moments,
            site,
            results,
            ohms: HashMap::new(),
            ohms_from: HashMap::new(),
            clamped: vec![Vec::new(); site.runs.len()],
            leaving: vec![Vec::new(); site.supplies.len()],
        };
        for (i, reading) in site.readings.iter().enumerate() {
            let spot = match reading.at {
                Spot::Run(run) => (run, None),
                Spot::Conductor(run, leg) => (run, Some(leg)),
                Spot::Across(_) | Spot::Between(..) => continue,
            };
            if matches!(reading.found, Found::Ohms(_)) {
                bench.ohms.entry(spot).or_insert(i);
                if let Some(end) = reading.end {
                    bench.ohms_from.entry((spot.0, end)).or_insert(i);
                }
            }
        }
        for moment in 0..bench.moments.len() {
            for run in bench.runs_in(moment) {
                bench.clamped[run].push(moment);
            }
        }
        let power = |run: &&Run| run.carries.power;
        for (i, run) in site.runs.iter().enumerate().filter(|(_, run)| power(run)) {
            for end in [run.from, run.to] {
                if let Thing::Supply(s) = end.thing() {
                    bench.leaving[s].push(i);
                }
            }
        }
        bench
    }

    pub(super) fn read(&self, reading: usize) -> Read {
        let reading = &self.site.readings[reading];
        Read {
            value: reading.value(),
            error: Error::of(self.site, reading),
        }
    }

    /// The row that a moment is compared with: its case as written.
    pub(super) fn row(&self, moment: usize) -> Option<&'a Row> {
        let case = self.moments[moment].case?;
        self.results.row(case, Corner::Nominal)
    }

    /// That row, else that of the first case: for what is alike in all, as which way current runs.
    pub(super) fn some_row(&self, moment: usize) -> Option<&'a Row> {
        self.row(moment)
            .or_else(|| self.results.row(0, Corner::Nominal))
    }

    /// Volts between two nodes.
    pub(super) fn volts(&self, moment: usize, pair: Pair) -> Option<Read> {
        self.spots[moment].volts.get(&pair).map(|i| self.read(*i))
    }

    /// Readings from terminal to terminal that touch a thing.
    pub(super) fn between(&self, moment: usize, thing: Thing) -> &[usize] {
        (self.spots[moment].between.get(&thing)).map_or(&[], Vec::as_slice)
    }

    /// Amps as they were read in one conductor itself, however few.
    pub(super) fn amps_read(&self, moment: usize, run: usize, leg: Leg) -> Option<Read> {
        let amps = &self.spots[moment].amps;
        let carries = self.site.runs[run].carries;
        let first = if carries.power || carries.bond {
            Leg::Plus
        } else {
            Leg::Common
        };
        let named = amps.get(&(run, Some(leg)));
        named
            .or_else(|| amps.get(&(run, None)).filter(|_| leg == first))
            .map(|i| self.read(*i))
    }

    /// Amps in one conductor, as far as a clamp tells them; where it is a leg of two that carry the
    /// same, those of the other serve.
    pub(super) fn amps(&self, moment: usize, run: usize, leg: Leg) -> Option<Read> {
        let other = match leg {
            Leg::Plus => Some(Leg::Minus),
            Leg::Minus => Some(Leg::Plus),
            Leg::Common | Leg::Shield => None,
        };
        let read = self.amps_read(moment, run, leg).or_else(|| {
            let other = other.filter(|_| self.legs_alike(moment, run))?;
            self.amps_read(moment, run, other)
        })?;
        (!self.is_weak(read)).then_some(read)
    }

    /// Whether amps are too few for the clamp that told them.
    pub(super) fn is_weak(&self, read: Read) -> bool {
        let meter = read.error.meter.map(|i| &self.site.meters[i]);
        let floor = meter.and_then(|m| m.floor).map_or(0.0, Measure::base);
        read.value.abs() < FLOORS * floor
    }

    /// Whether both legs of a run carry the same current as solved.
    pub(super) fn legs_alike(&self, moment: usize, run: usize) -> bool {
        let legs = self
            .some_row(moment)
            .and_then(|row| self.results.legs(row, run));
        let Some([Some(plus), Some(minus), _]) = legs else {
            return false;
        };
        (plus - minus).base().abs() <= SAME_CURRENT * plus.base().abs().max(1e-6)
    }

    /// Amps that a supply gives: read there, or in the only run that leaves it.
    pub(super) fn given(&self, moment: usize, supply: usize) -> Option<Read> {
        let read = match self.spots[moment].supplies.get(&supply) {
            Some(i) => self.read(*i),
            None => {
                let row = self.some_row(moment)?;
                let open = &self.results.live[row.case].open;
                let closed = |run: &&usize| {
                    let plus = self.results.template.runs[**run].plus;
                    plus.is_some_and(|branch| !open[branch])
                };
                let mut runs = self.leaving[supply].iter().filter(closed);
                let (run, None) = (runs.next()?, runs.next()) else {
                    return None;
                };
                self.amps_read(moment, *run, Leg::Plus)?
            }
        };
        (!self.is_weak(read)).then_some(read)
    }

    /// The moments in which amps of a run were read.
    pub(super) fn moments_of(&self, run: usize) -> &[usize] {
        &self.clamped[run]
    }

    /// The reading of ohms of a run, or of one conductor of it.
    pub(super) fn ohms(&self, run: usize, leg: Option<Leg>) -> Option<usize> {
        self.ohms.get(&(run, leg)).copied()
    }

    /// The reading of ohms there and back that was taken at one end of a run.
    pub(super) fn ohms_from(&self, run: usize, end: WhichEnd) -> Option<usize> {
        self.ohms_from.get(&(run, end)).copied()
    }

    /// The runs with amps in a moment, each once, in file order.
    pub(super) fn runs_in(&self, moment: usize) -> Vec<usize> {
        let amps = self.spots[moment].amps.keys();
        let mut runs: Vec<usize> = amps.map(|(run, _)| *run).collect();
        runs.sort_unstable();
        runs.dedup();
        runs
    }
}

impl Spots {
    fn of(site: &Site, results: &Results, moment: &Moment) -> Self {
        let mut spots = Self::default();
        for i in &moment.readings {
            let reading = &site.readings[*i];
            match (reading.found, reading.at) {
                (Found::Volts(_), at) => {
                    if let Some(pair) = model::nodes(results, at) {
                        spots.volts.entry(pair).or_insert(*i);
                    }
                    if let Spot::Between(..) = at {
                        for thing in at.things() {
                            spots.between.entry(thing).or_default().push(*i);
                        }
                    }
                }
                (Found::Amps(_), Spot::Run(run)) => {
                    spots.amps.entry((run, None)).or_insert(*i);
                }
                (Found::Amps(_), Spot::Conductor(run, leg)) => {
                    spots.amps.entry((run, Some(leg))).or_insert(*i);
                }
                (Found::Amps(_), Spot::Across(End::Supply(s))) => {
                    spots.supplies.entry(s).or_insert(*i);
                }
                _ => {}
            }
        }
        spots
    }
}
