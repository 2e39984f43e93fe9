//! One moment as a circuit on the bench: what its readings would be with other ohms, draws or volts.

use crate::circuit::{BranchId, Circuit, Corner, Filling, Law, NodeId};
use crate::readings::bench::Bench;
use crate::readings::error::Error;
use crate::readings::model;
use crate::site::{End, Found, Leg, Spot};
use crate::solve;

/// What may be other than drawn, as it stands in the circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Element {
    /// Ohms of a conductor.
    Branch(BranchId),
    /// Draw of a device.
    Load(usize),
    /// Volts of a supply without load.
    Source(usize),
}

/// Where a meter reads in the circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Probe {
    /// Volts of one node over another.
    Volts(NodeId, NodeId),
    /// Amps in a conductor, times a sign.
    Branch(BranchId, f64),
    /// Amps out of a supply, likewise.
    Source(usize, f64),
    /// Amps into a device, likewise.
    Load(usize, f64),
}

/// One reading of a moment.
#[derive(Clone, Copy)]
pub(super) struct Seen {
    pub(super) probe: Probe,
    pub(super) value: f64,
    pub(super) error: Error,
    /// Volts, and no amps.
    pub(super) volts: bool,
    /// One step of its last digit.
    pub(super) digit: f64,
}

/// A moment on the bench.
pub(super) struct Scene {
    /// Its index.
    pub(super) moment: usize,
    pub(super) seen: Vec<Seen>,
    bench: solve::Bench,
    /// The circuit as drawn.
    drawn: Circuit,
}

impl Scene {
    /// A moment whose case is known and has an operating point without angles, and its readings of
    /// volts and amps of what lives; conductors are as warm as was noted.
    pub(super) fn of(on: &Bench<'_>, moment: usize) -> Option<Self> {
        let row = on.row(moment)?;
        if row.has_angles() || !row.rectified.is_empty() || row.solution().is_none() {
            return None;
        }
        let (site, results) = (on.site, on.results);
        let readings = &on.moments[moment].readings;
        let mut case = results.cases[row.case].clone();
        let noted = |i: &usize| site.readings[*i].temperature;
        case.temperature = readings.iter().find_map(noted).or(case.temperature);
        let mut filling = Filling::new(&results.template, site);
        filling.case(&case, &results.live[row.case]);
        let drawn = filling.corner(Corner::Nominal).clone();
        let mut scene = Self {
            moment,
            seen: Vec::new(),
            bench: solve::Bench::new(drawn.clone()),
            drawn,
        };
        if !scene.bench.settle() {
            return None;
        }
        for i in readings {
            let reading = &site.readings[*i];
            let read = on.read(*i);
            let volts = matches!(reading.found, Found::Volts(_));
            // A clamp under its floor tells nothing.
            if !volts && on.is_weak(read) {
                continue;
            }
            // On ac a meter shows magnitudes.
            let alternates = volts && model::alternates(results, row, reading.at);
            let value = if alternates {
                read.value.abs()
            } else {
                read.value
            };
            let probe = scene.probe(on, reading.at, (volts, value < 0.0));
            let probe = match probe {
                Some(probe) if alternates => scene.signed(probe, false),
                probe => probe,
            };
            scene.seen.extend(probe.map(|probe| Seen {
                probe,
                value,
                error: read.error,
                volts,
                digit: reading.digit,
            }));
        }
        (!scene.seen.is_empty()).then_some(scene)
    }

    /// Where a meter at a spot reads; amps without a sign are taken the way that current runs.
    pub(super) fn probe(
        &self,
        on: &Bench<'_>,
        at: Spot,
        (volts, signed): (bool, bool),
    ) -> Option<Probe> {
        let (results, case) = (on.results, on.moments[self.moment].case?);
        let live = &results.live[case];
        let lives = match at {
            Spot::Across(End::Device(i)) => live.devices[i],
            Spot::Across(End::Supply(i) | End::Output(i, _)) => live.supplies[i],
            Spot::Across(End::Junction(i)) => live.junctions[i],
            _ => true,
        };
        if !lives {
            return None;
        }
        if volts {
            let [over, under] = model::nodes(results, at)?;
            let joined = live.island[over as usize] == live.island[under as usize];
            return joined.then_some(Probe::Volts(over, under));
        }
        let carries = |run: usize| on.site.runs[run].carries;
        let branch = |run: usize, leg: Leg| {
            let own = results.template.runs[run];
            match leg {
                Leg::Plus => own.plus.map(|b| (b, 1.0)),
                Leg::Minus => own.minus.map(|b| (b, -1.0)),
                Leg::Common => own.common.map(|b| (b, -1.0)),
                Leg::Shield => own.shield.map(|b| (b, 1.0)),
            }
        };
        let probe = match at {
            Spot::Run(run) if carries(run).power || carries(run).bond => branch(run, Leg::Plus),
            Spot::Run(run) => branch(run, Leg::Common),
            Spot::Conductor(run, leg) => branch(run, leg),
            Spot::Across(End::Output(s, o)) => Some((results.template.outputs[s][o], 1.0)),
            Spot::Across(End::Supply(i)) => return self.signed(Probe::Source(i, 1.0), signed),
            Spot::Across(End::Device(i)) if results.fed_by(i).next().is_none() => {
                return self.signed(Probe::Load(i, 1.0), signed);
            }
            Spot::Across(_) | Spot::Between(..) => None,
        };
        let (branch, sign) = probe.filter(|(branch, _)| !live.open[*branch])?;
        self.signed(Probe::Branch(branch, sign), signed)
    }

    /// The probe with the sign that makes what it reads positive, unless the reading has one.
    fn signed(&self, probe: Probe, signed: bool) -> Option<Probe> {
        let turn = !signed && self.read(probe)? < 0.0;
        Some(match probe {
            Probe::Volts(over, under) if turn => Probe::Volts(under, over),
            Probe::Branch(i, sign) if turn => Probe::Branch(i, -sign),
            Probe::Source(i, sign) if turn => Probe::Source(i, -sign),
            Probe::Load(i, sign) if turn => Probe::Load(i, -sign),
            other => other,
        })
    }

    /// Whether a part of the circuit does anything here.
    pub(super) fn feels(&self, element: Element) -> bool {
        match element {
            Element::Branch(i) => {
                let ohm = self.drawn.branches[i].resistance_ohm;
                ohm.is_finite() && self.bench.branch_a(i).is_some_and(|a| a.abs() > 1e-9)
            }
            Element::Load(i) => self.drawn.loads[i].law != Law::Off,
            Element::Source(i) => self.drawn.sources[i].live,
        }
    }

    /// Ohms of a conductor as drawn.
    pub(super) fn ohm(&self, branch: BranchId) -> f64 {
        self.drawn.branches[branch].resistance_ohm
    }

    /// Volts that a conductor loses as drawn.
    pub(super) fn lost_v(&self, branch: BranchId) -> f64 {
        let ohm = self.drawn.branches[branch].resistance_ohm;
        let amps = self.bench.branch_a(branch).unwrap_or(0.0);
        if ohm.is_finite() {
            (ohm * amps).abs()
        } else {
            0.0
        }
    }

    /// What all readings would be with some things multiplied; none without an operating point.
    pub(super) fn with(&mut self, changes: &[(Element, f64)]) -> Option<Vec<f64>> {
        let probes: Vec<Probe> = self.seen.iter().map(|seen| seen.probe).collect();
        self.probed(changes, &probes)
    }

    /// The same at any probes.
    pub(super) fn probed(
        &mut self,
        changes: &[(Element, f64)],
        probes: &[Probe],
    ) -> Option<Vec<f64>> {
        for (element, factor) in changes {
            self.put(*element, *factor);
        }
        let settled = self.bench.settle();
        let values = settled.then(|| probes.iter().map(|probe| self.read(*probe)).collect());
        for (element, _) in changes {
            self.put(*element, 1.0);
        }
        values.flatten()
    }

    fn put(&mut self, element: Element, factor: f64) {
        let circuit = &mut self.bench.circuit;
        match element {
            Element::Branch(i) => {
                circuit.branches[i].resistance_ohm = self.drawn.branches[i].resistance_ohm * factor;
            }
            Element::Load(i) => {
                circuit.loads[i].law = match self.drawn.loads[i].law {
                    Law::Off => Law::Off,
                    Law::Current(amps) => Law::Current(amps * factor),
                    Law::Power(watts) => Law::Power(watts * factor),
                    Law::Resistance(ohm) => Law::Resistance(ohm / factor.max(1e-9)),
                };
            }
            Element::Source(i) => {
                circuit.sources[i].volts_v = self.drawn.sources[i].volts_v * factor;
            }
        }
    }

    fn read(&self, probe: Probe) -> Option<f64> {
        match probe {
            Probe::Volts(over, under) => self.bench.across(over, under),
            Probe::Branch(i, sign) => Some(sign * self.bench.branch_a(i)?),
            Probe::Load(i, sign) => Some(sign * self.bench.load_a(i)?),
            Probe::Source(i, sign) => {
                let mut amps = Vec::new();
                let told = self.bench.source_a(&mut amps);
                told.then(|| sign * amps[i])
            }
        }
    }
}
