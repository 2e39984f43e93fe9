//! Readings of a meter beside the solved site, and what follows from them.
//!
//! Each reading has the value that the site says it should have. Readings of one moment, a case or a
//! set, together fix the ohms of a run, the sag of a supply and the sum of the currents at a thing.
//! They fix no more: where several faults fit alike, all are told, and the reading that parts them.
//!
//! readings → moments → volts lost and amps → ohms, their error → what fits

mod bench;
mod error;
mod fit;
mod insulation;
mod likely;
mod lows;
mod missing;
mod model;
mod moment;
mod path;
mod short;
mod source;
mod split;
mod sums;
mod whole;
mod words;

pub use bench::FLOORS;
pub use error::{BEYOND, Estimate, is_beyond};
pub use insulation::{DRY_OHM, WET_OHM, wetness};
pub use likely::{Candidate, Likely};
pub use lows::Low;
pub use model::Way;
pub use moment::Moment;
pub use path::{LEAST_RATIO, Lost, PathOhms, Verdict};
pub use short::{Ends, Short};
pub use source::SourceOhms;
pub use split::{Lies, Split};
pub use sums::Sum;
pub use whole::{Cause, Fault, Next, Says, Told, Whole};
pub use words::words;

use bench::{Bench, Read};

use crate::results::Results;
use crate::site::{Found, Reading, Site, Spot, Thing};
use crate::solve::Solver;
use crate::units::{ElectricPotential, Measure, Power};

/// The readings of a site and what follows from them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    /// Each reading beside the solved site, in file order.
    pub taken: Vec<Taken>,
    /// What was read at once.
    pub moments: Vec<Moment>,
    /// Ohms of runs and conductors.
    pub paths: Vec<PathOhms>,
    /// Supplies as their own volts and amps show them.
    pub sources: Vec<SourceOhms>,
    /// Currents that meet.
    pub sums: Vec<Sum>,
    /// Runs with more volts at the far end than at the near one.
    pub climbs: Vec<Climb>,
    /// What all of them say together.
    pub whole: Option<Whole>,
    /// What is left out, in words.
    pub missing: Vec<String>,
}

/// One reading beside the solved site; values in the unit of the reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taken {
    /// Index of its moment.
    pub moment: Option<usize>,
    /// What was found, leads taken off.
    pub found: f64,
    /// What the site says; none where nothing says it.
    pub model: Option<f64>,
    /// How far off the reading may be by its meter.
    pub u: f64,
}

impl Taken {
    /// Found less model, in times of what the reading may be off.
    pub fn z(&self) -> Option<f64> {
        Some((self.found - self.model?) / self.u)
    }

    /// Whether it is off by more than its meter.
    pub fn is_off(&self) -> bool {
        (self.model).is_some_and(|model| is_beyond(self.found - model, self.u))
    }
}

/// More volts at the far end of a run than at the near one, with current in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Climb {
    /// The run.
    pub run: usize,
    /// Index of the moment.
    pub moment: usize,
    /// Volts at the near end and the far end.
    pub volts: [ElectricPotential; 2],
    /// How far off their difference may be.
    pub u: ElectricPotential,
}

impl Readings {
    /// Compares and infers; nothing is done on a site without readings.
    pub fn of(site: &Site, results: &Results, solver: &mut Solver) -> Self {
        if site.readings.is_empty() {
            return Self::default();
        }
        let bench = Bench::of(site, results);
        let mut paths = path::paths(&bench);
        let sources = source::sources(&bench);
        for path in &mut paths {
            path.most = most(site, path, &sources);
        }
        lows::note_lows(site, results, &mut paths, solver);
        Self {
            taken: taken(&bench),
            sums: sums::sums(&bench),
            climbs: climbs(&bench),
            missing: missing::missing(&bench, &paths),
            whole: Whole::of(&bench, &paths),
            sources,
            paths,
            moments: bench.moments,
        }
    }
}

/// Each reading beside what the site says.
fn taken(bench: &Bench<'_>) -> Vec<Taken> {
    let mut moment = vec![None; bench.site.readings.len()];
    for (m, of) in bench.moments.iter().enumerate() {
        for i in &of.readings {
            moment[*i] = Some(m);
        }
    }
    let each = bench.site.readings.iter().enumerate();
    each.map(|(i, reading)| {
        let Read { value, error } = bench.read(i);
        let leads = reading.leads.map_or(0.0, Measure::base);
        let model = match reading.found {
            Found::Volts(_) | Found::Amps(_) => moment[i]
                .and_then(|m| bench.row(m))
                .and_then(|row| model::shown(bench.site, bench.results, row, reading)),
            Found::Ohms(_) => should(bench, reading, moment[i]),
            Found::Insulation(_) => None,
        };
        Taken {
            moment: moment[i],
            found: value,
            model,
            u: error.whole(value + leads).max(path::LEAST),
        }
    })
    .collect()
}

/// The ohms that a run or one of its conductors should have, as warm as noted.
fn should(bench: &Bench<'_>, reading: &Reading, moment: Option<usize>) -> Option<f64> {
    let (run, way) = match reading.at {
        Spot::Run(run) => (run, Way::Loop),
        Spot::Conductor(run, leg) => (run, Way::Leg(leg)),
        Spot::Across(_) | Spot::Between(..) => return None,
    };
    let own = &bench.site.runs[run];
    let case = moment.and_then(|m| bench.moments[m].case);
    let warm = (reading.temperature, case);
    let at = model::temperature(bench.site, bench.results, own, warm);
    let should = model::Ohms::of(bench.site, own, way, at)?;
    Some(should.estimate().value.base())
}

/// The most power that a way from a supply can carry at all: V^2 / (4 R), the source's ohms counted;
/// the supply as its readings show it, else as drawn.
fn most(site: &Site, path: &PathOhms, sources: &[SourceOhms]) -> Option<Power> {
    let run = &site.runs[path.run];
    let supply = [run.from, run.to].iter().find_map(|end| match end.thing() {
        Thing::Supply(i) => Some(i),
        _ => None,
    });
    let supply = supply.filter(|_| path.way == Way::Loop)?;
    let (volts, ohms) = match sources.iter().find(|source| source.supply == supply) {
        Some(source) => (source.volts.value.base(), source.ohms.value.base()),
        None => {
            let own = &site.supplies[supply];
            (
                own.voltage.base(),
                own.resistance.map_or(0.0, Measure::base),
            )
        }
    };
    let all = path.found.value.base() + ohms;
    (all > 0.0).then(|| Power::from_base(volts * volts / (4.0 * all)))
}

/// Runs that gain volts on the way, which none does that carries current.
fn climbs(bench: &Bench<'_>) -> Vec<Climb> {
    let mut found = Vec::new();
    for moment in 0..bench.moments.len() {
        for run in bench.runs_in(moment) {
            let Some(([near, far], Some(amps))) = path::both_ends(bench, moment, run) else {
                continue;
            };
            let (u, share) = error::of_difference((near.value, near.error), (far.value, far.error));
            let u = u + share * (far.value - near.value).abs();
            let rise = far.value - near.value;
            if amps.value != 0.0 && rise > 0.0 && is_beyond(rise, u) {
                let volts = [near, far].map(|read| ElectricPotential::from_base(read.value));
                found.push(Climb {
                    run,
                    moment,
                    volts,
                    u: ElectricPotential::from_base(u),
                });
            }
        }
    }
    found
}
