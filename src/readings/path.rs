//! The ohms of a run, from what was lost along it and the amps that lost it.

use crate::circuit::NodeId;
use crate::readings::bench::{Bench, Read};
use crate::readings::error::{Estimate, is_beyond, of_difference};
use crate::readings::fit::{Line, Point, Slope};
use crate::readings::likely::{self, Candidate};
use crate::readings::lows::Low;
use crate::readings::model::{self, Ohms, Way};
use crate::readings::short::Ends;
use crate::readings::split::Split;
use crate::site::{Leg, Reading, Site, Spot, WhichEnd};
use crate::units::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Measure, Power,
    ThermodynamicTemperature,
};

/// Less than this part of the expected ohms is a finding: a second path, or a run that is shorter or
/// thicker than drawn. Between, the copper may simply be good (common practice, no source).
pub const LEAST_RATIO: f64 = 0.9;

/// Between a reading's leads and the ends of a leg may lie this part of its volts at most, taken
/// from the solved network.
const MOST_REST: f64 = 0.1;

/// No volts are told better than this, whatever a file says of its meters.
pub(super) const LEAST: f64 = 1e-9;

/// Volts lost along a way, and the amps that lost them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lost {
    /// Index of the moment.
    pub moment: usize,
    /// Amps.
    pub amps: ElectricCurrent,
    /// Volts.
    pub volts: ElectricPotential,
}

/// How the ohms found stand to those that a run should have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// As they should be.
    Agrees,
    /// More than they should be.
    Over,
    /// Less than they should be.
    Under,
    /// Other ohms from one end than from the other: the conductors touch on the way.
    Shorted,
}

/// What the readings say of the ohms of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct PathOhms {
    /// The run.
    pub run: usize,
    /// Both legs of it, or one conductor.
    pub way: Way,
    /// What they follow from; none where they were read with an ohmmeter alone.
    pub lost: Vec<Lost>,
    /// The ohms found.
    pub found: Estimate<ElectricalResistance>,
    /// What they may be off by how the readings scatter.
    pub scatter: Option<ElectricalResistance>,
    /// Volts that are lost without amps, from three readings on.
    pub offset: Option<Estimate<ElectricPotential>>,
    /// What an ohmmeter said of the dead run, leads taken off.
    pub dead: Option<Estimate<ElectricalResistance>>,
    /// The end at which it was held, where that was noted.
    pub dead_from: Option<WhichEnd>,
    /// What an ohmmeter said at both ends.
    pub ends: Option<Ends>,
    /// Temperature at which ohms are expected.
    pub at: ThermodynamicTemperature,
    /// The temperature was noted, and is no default of the design.
    pub at_noted: bool,
    /// The ohms that the run should have.
    pub expected: Estimate<ElectricalResistance>,
    /// How the two stand.
    pub verdict: Verdict,
    /// In which leg the ohms are, where both legs were told apart.
    pub split: Option<Split>,
    /// What explains the ohms found, as far as it fits.
    pub likely: Vec<Candidate>,
    /// The most power that the way can carry at all.
    pub most: Option<Power>,
    /// Devices that have too few volts with the ohms found.
    pub lows: Vec<Low>,
}

impl PathOhms {
    /// Where its ohms are read.
    pub const fn spot(&self) -> Spot {
        match self.way {
            Way::Loop => Spot::Run(self.run),
            Way::Leg(leg) => Spot::Conductor(self.run, leg),
        }
    }

    /// How the file calls it.
    pub fn name(&self, site: &Site) -> String {
        site.spot_text(self.spot())
    }

    /// Whether anything is wrong with it, or with how it was read.
    pub fn is_wrong(&self) -> bool {
        self.verdict != Verdict::Agrees || self.has_offset() || self.dead_agrees() == Some(false)
    }

    /// Ohms found over those expected.
    pub fn ratio(&self) -> f64 {
        self.found.value.base() / self.expected.value.base()
    }

    /// Ohms found less those expected, and how far off that may be.
    pub fn excess(&self) -> Estimate<ElectricalResistance> {
        let u = self.found.u.base().hypot(self.expected.u.base());
        Estimate::of((self.found.value - self.expected.value).base(), u)
    }

    /// The most amps that were read.
    pub fn most_amps(&self) -> ElectricCurrent {
        let amps = self.lost.iter().map(|lost| lost.amps.base().abs());
        ElectricCurrent::from_base(amps.fold(0.0, f64::max))
    }

    /// Watts that the ohms over those expected turn to heat at the most amps, were they in one place.
    pub fn heat(&self) -> Power {
        let (amps, ohms) = (self.most_amps().base(), self.excess().value.base());
        Power::from_base(amps * amps * ohms)
    }

    /// Whether volts are lost even without amps.
    pub fn has_offset(&self) -> bool {
        self.offset
            .is_some_and(|c| is_beyond(c.value.base(), c.u.base()))
    }

    /// Whether an ohmmeter said the same as volts and amps.
    pub fn dead_agrees(&self) -> Option<bool> {
        let dead = self.dead.filter(|_| !self.lost.is_empty())?;
        let off = (dead.value - self.found.value).base();
        Some(!is_beyond(off, dead.u.base().hypot(self.found.u.base())))
    }
}

/// Volts lost along a way in one moment, and the errors of both readings.
#[derive(Clone, Copy)]
pub(super) struct Taken {
    moment: usize,
    volts_v: f64,
    u_v: f64,
    volts_share: f64,
    amps: Read,
}

/// All paths that the readings tell of, by run.
pub(super) fn paths(bench: &Bench<'_>) -> Vec<PathOhms> {
    let runs = 0..bench.site.runs.len();
    runs.flat_map(|run| of_run(bench, run)).collect()
}

fn of_run(bench: &Bench<'_>, run: usize) -> Vec<PathOhms> {
    let moments = || bench.moments_of(run).iter();
    let taken: Vec<Taken> = moments().filter_map(|m| around(bench, *m, run)).collect();
    let leg = |leg| {
        let taken: Vec<Taken> = moments()
            .filter_map(|m| along(bench, *m, run, leg))
            .collect();
        path(bench, run, Way::Leg(leg), &taken)
    };
    let legs = Leg::ALL.map(leg);
    let Some(mut whole) = path(bench, run, Way::Loop, &taken) else {
        return legs.into_iter().flatten().collect();
    };
    let [plus, minus, ..] = &legs;
    whole.split = Split::of(bench.site, &whole, [plus.as_ref(), minus.as_ref()]);
    whole.likely = likely::candidates(bench.site, &whole);
    vec![whole]
}

/// Volts lost in both legs: those at one end less those at the other. Nothing follows from them
/// where current comes back by another way as well.
fn around(bench: &Bench<'_>, moment: usize, run: usize) -> Option<Taken> {
    let (volts, amps) = both_ends(bench, moment, run)?;
    if !bench.legs_alike(moment, run) {
        return None;
    }
    let [near, far] = volts;
    let (u_v, volts_share) = of_difference((near.value, near.error), (far.value, far.error));
    let volts_v = near.value - far.value;
    // More volts at the far end than at the near one are a contradiction, and no ohms.
    let possible = volts_v >= 0.0 || !is_beyond(volts_v, u_v + volts_share * volts_v.abs());
    possible.then_some(Taken {
        moment,
        volts_v,
        u_v,
        volts_share,
        amps: amps?,
    })
}

/// Volts at the near end and the far end of a run as current flows, and the amps in it.
pub(super) fn both_ends(
    bench: &Bench<'_>,
    moment: usize,
    run: usize,
) -> Option<([Read; 2], Option<Read>)> {
    let row = bench.some_row(moment)?;
    if row.has_angles() || !bench.site.runs[run].carries.power {
        return None;
    }
    let own = &bench.site.runs[run];
    let pair = |end| bench.results.template.terminals.pair(end);
    let (from, to) = (pair(own.from), pair(own.to));
    let [from, to] = [bench.volts(moment, from)?, bench.volts(moment, to)?];
    let flow = bench.results.legs(row, run)?[0]?.base();
    let volts = if flow < 0.0 { [to, from] } else { [from, to] };
    Some((volts, bench.amps(moment, run, Leg::Plus)))
}

/// Volts lost along one conductor: read from terminal to terminal near its ends, what lies between
/// taken from the solved network.
fn along(bench: &Bench<'_>, moment: usize, run: usize, leg: Leg) -> Option<Taken> {
    let row = bench.some_row(moment)?;
    let branches = bench.results.template.runs[run];
    let branch = match leg {
        Leg::Plus => branches.plus,
        Leg::Minus => branches.minus,
        Leg::Common => branches.common,
        Leg::Shield => branches.shield,
    }?;
    if row.has_angles() || bench.results.live[row.case].open[branch] {
        return None;
    }
    let amps = bench.amps(moment, run, leg)?;
    let (from, to) = bench.results.template.branch_ends(branch);
    let [high, low] = match bench.results.branch(row, branch)?.base() {
        amps if amps < 0.0 => [to, from],
        _ => [from, to],
    };
    // Those at the end where fewer were read: a supply may have one for each of its runs.
    let own = &bench.site.runs[run];
    let ends = [own.from, own.to].map(|end| bench.between(moment, end.thing()));
    let near = ends.iter().filter(|list| !list.is_empty());
    let near = near.min_by_key(|list| list.len())?.iter();
    let fits = near.filter_map(|reading| {
        let [a, b] = model::nodes(bench.results, bench.site.readings[*reading].at)?;
        let mut read = bench.read(*reading);
        let at = bench.site.readings[*reading].at;
        let has_no_sign = model::alternates(bench.results, row, at);
        if has_no_sign {
            read.value = read.value.abs();
        }
        // What lies between each lead and its end of the conductor, the leads either way round.
        let lies = |over: NodeId, under: NodeId| {
            if over == under {
                Some(0.0)
            } else {
                model::volts(bench.results, bench.row(moment)?, over, under)
            }
        };
        let turned = if has_no_sign { read.value } else { -read.value };
        let ways = [(a, b, read.value), (b, a, turned)];
        let ways = ways.into_iter().filter_map(|(a, b, volts_v)| {
            let (before, behind) = (lies(high, a)?, lies(b, low)?);
            let beside = before.abs() + behind.abs();
            let near = beside <= MOST_REST * read.value.abs();
            near.then_some((beside, volts_v + before + behind, read))
        });
        ways.min_by(|x, y| x.0.total_cmp(&y.0))
    });
    let (beside, volts_v, read) = fits.min_by(|x, y| x.0.total_cmp(&y.0))?;
    Some(Taken {
        moment,
        volts_v,
        u_v: read.error.digits.hypot(MOST_REST * beside),
        volts_share: read.error.share,
        amps,
    })
}

/// What all readings of a way say together, with what an ohmmeter said of it.
fn path(bench: &Bench<'_>, run: usize, way: Way, taken: &[Taken]) -> Option<PathOhms> {
    let site = bench.site;
    let own = &site.runs[run];
    let live = fitted(taken);
    let (dead, as_read) = dead(bench, run, way).unzip();
    let noted = taken.iter().find_map(|t| {
        let readings = &bench.moments[t.moment].readings;
        readings.iter().find_map(|i| site.readings[*i].temperature)
    });
    let noted = noted.or_else(|| as_read.and_then(|reading: &Reading| reading.temperature));
    let case = taken.first().and_then(|t| bench.moments[t.moment].case);
    let at = model::temperature(site, bench.results, own, (noted, case));
    let in_case = case.and_then(|case| bench.results.cases[case].temperature);
    let expected = Ohms::of(site, own, way, at)?;
    let ends = Some(expected).filter(|_| way == Way::Loop);
    let ends = ends.and_then(|should| Ends::of(bench, run, should));
    let found = match &live {
        Some(live) => live.found,
        None => dead?,
    };
    let mut path = PathOhms {
        run,
        way,
        lost: taken
            .iter()
            .map(|t| Lost {
                moment: t.moment,
                amps: ElectricCurrent::from_base(t.amps.value.abs()),
                volts: ElectricPotential::from_base(t.volts_v),
            })
            .collect(),
        found,
        scatter: live.as_ref().and_then(|live| live.scatter),
        offset: live.as_ref().and_then(|live| live.offset),
        dead,
        dead_from: as_read.and_then(|reading| reading.end),
        ends,
        at,
        at_noted: noted.or(in_case).or(own.temperatures.nominal).is_some(),
        expected: expected.estimate(),
        verdict: Verdict::Agrees,
        split: None,
        likely: Vec::new(),
        most: None,
        lows: Vec::new(),
    };
    path.verdict = verdict(&path);
    path.likely = likely::candidates(site, &path);
    Some(path)
}

fn verdict(path: &PathOhms) -> Verdict {
    let excess = path.excess();
    let beyond = is_beyond(excess.value.base(), excess.u.base());
    match excess.value.base() {
        _ if path.lost.is_empty() && path.ends.is_some_and(|ends| ends.differ()) => {
            Verdict::Shorted
        }
        _ if !beyond => Verdict::Agrees,
        over if over > 0.0 => Verdict::Over,
        _ if path.ratio() < LEAST_RATIO => Verdict::Under,
        _ => Verdict::Agrees,
    }
}

/// What an ohmmeter said of a way, and the reading that it said it in.
fn dead<'a>(
    bench: &Bench<'a>,
    run: usize,
    way: Way,
) -> Option<(Estimate<ElectricalResistance>, &'a Reading)> {
    let leg = match way {
        Way::Loop => None,
        Way::Leg(leg) => Some(leg),
    };
    let i = bench.ohms(run, leg)?;
    let (read, reading) = (bench.read(i), &bench.site.readings[i]);
    let shown = read.value + reading.leads.map_or(0.0, Measure::base);
    Some((Estimate::of(read.value, read.error.whole(shown)), reading))
}

/// What volts and amps say.
struct Fitted {
    found: Estimate<ElectricalResistance>,
    scatter: Option<ElectricalResistance>,
    offset: Option<Estimate<ElectricPotential>>,
}

/// Least squares through zero. The chance errors of volts and amps make the weights; those are known
/// only with R, so it is fitted three times. What a meter is off by itself is added at the end: it
/// is the same in every reading, and no number of them takes it away.
fn fitted(taken: &[Taken]) -> Option<Fitted> {
    let points = |ohm: f64| -> Vec<Point> {
        let all = taken.iter().map(|t| Point {
            amps_a: t.amps.value.abs(),
            volts_v: t.volts_v,
            u_v: t.u_v.hypot(ohm * t.amps.error.digits).max(LEAST),
        });
        all.collect()
    };
    let mut slope = Slope::through_zero(&points(0.0))?;
    for _ in 0..2 {
        slope = Slope::through_zero(&points(slope.ohm))?;
    }
    let greatest = |share: fn(&Taken) -> f64| taken.iter().map(share).fold(0.0, f64::max);
    let own = greatest(|t| t.volts_share).hypot(greatest(|t| t.amps.error.share));
    let chance = slope.scatter_ohm.unwrap_or(0.0).max(slope.told_ohm);
    let line = (taken.len() > 2)
        .then(|| Line::of(&points(slope.ohm)))
        .flatten();
    Some(Fitted {
        found: Estimate::of(slope.ohm, chance.hypot(slope.ohm * own)),
        scatter: slope.scatter_ohm.map(ElectricalResistance::from_base),
        offset: line.map(|line| Estimate::of(line.volts_v, line.u_v)),
    })
}
