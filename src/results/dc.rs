//! The dc side of devices on ac: volts behind the rectifier, and the pulses that it draws.

use std::f64::consts::{PI, SQRT_2};

use num_complex::Complex64;

use crate::circuit::{BranchId, Circuit, Live, Template};
use crate::results::angle::{across, into, watts};
use crate::results::{Results, Row};
use crate::site::{Device, End, Part, Rectifier, Site};
use crate::solve::{Outcome, Pulse, Pulsed, Solver};
use crate::units::{ElectricCurrent, ElectricPotential, Measure, Power};

/// What stands behind a rectifier.
///
/// The wave shape of the device alone, behind the network as it shows itself at the device: the
/// volts without rectified draws, and as impedance the volts that all of them cost there over the
/// device's own amps, as if all their pulses had one shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rectified {
    /// The rectifier and what it stands behind.
    pub pulse: Pulse,
    /// Rms amps of the sine that stands for its draw in the network.
    pub sine: ElectricCurrent,
    /// The periodic state; `None` where the dc watts cannot be drawn.
    pub steady: Option<Pulsed>,
}

impl Rectified {
    /// Rms amps of the ac side over mean amps of the dc side.
    pub fn factor(&self) -> Option<f64> {
        let steady = self.steady.filter(|s| s.dc_a > 0.0)?;
        Some(steady.rms_a / steady.dc_a)
    }

    /// Dc watts drawn.
    pub fn watts(&self) -> Power {
        Power::from_base(self.pulse.watts)
    }

    /// Least dc volts, in the valley of the ripple.
    pub fn least(&self) -> Option<ElectricPotential> {
        self.steady.map(|s| ElectricPotential::from_base(s.least_v))
    }

    /// Rms of the harmonics: what the amps have beyond the sine.
    pub fn harmonics(&self) -> ElectricCurrent {
        let rms = self.steady.map_or(0.0, |s| s.rms_a);
        let sine = self.sine.base();
        ElectricCurrent::from_base((rms * rms - sine * sine).max(0.0).sqrt())
    }
}

/// What stands behind every rectifier of a solved circuit.
pub(super) fn behind(
    site: &Site,
    template: &Template,
    (live, circuit): (&Live, &Circuit),
    outcome: &Outcome,
    solver: &mut Solver,
) -> Vec<Option<Rectified>> {
    let (Outcome::Solved(solution), Some(hertz)) = (outcome, &live.hertz) else {
        return Vec::new();
    };
    let on_ac = |i: &usize| {
        site.devices[*i].dc.is_rectified()
            && live.devices[*i]
            && hertz.devices[*i].is_some_and(|hz| hz > 0.0)
    };
    let found: Vec<usize> = (0..site.devices.len()).filter(on_ac).collect();
    if found.is_empty() {
        return Vec::new();
    }
    let drawn: Vec<(usize, Complex64)> = found
        .iter()
        .map(|i| (*i, into(solution, *i, template.fed_by(*i))))
        .collect();
    let Some(cost) = solver.cost(circuit, &drawn) else {
        return Vec::new();
    };
    let mut all = vec![None; site.devices.len()];
    for (i, amps) in drawn {
        let hertz = hertz.devices[i].unwrap_or_default();
        let sine = (across(solution, template.terminals.devices[i]), amps);
        let pulse = pulse(&site.devices[i], hertz, sine, cost[i]);
        all[i] = Some(Rectified {
            pulse,
            sine: ElectricCurrent::from_base(amps.norm()),
            steady: pulse.steady(),
        });
    }
    all
}

fn pulse(
    device: &Device,
    hertz: f64,
    (volts, amps): (Complex64, Complex64),
    cost: Complex64,
) -> Pulse {
    let lost_v = device.dc.diodes().base();
    let behind = if amps == Complex64::ZERO {
        Complex64::ZERO
    } else {
        cost / amps
    };
    // Of the sine's watts the diodes take their part.
    let useful = (1.0 - lost_v / SQRT_2 / volts.norm()).max(0.0);
    Pulse {
        open_v: (volts + cost).norm(),
        hertz,
        ohm: behind.re.max(0.0),
        henry: behind.im.max(0.0) / (2.0 * PI * hertz),
        lost_v,
        both_halves: device.dc.rectifier != Rectifier::HalfWave,
        farad: device.dc.reservoir.map_or(f64::INFINITY, Measure::base),
        watts: watts(volts, amps) * useful,
    }
}

impl Results {
    /// What stands behind a device's rectifier.
    pub fn rectified<'r>(&self, row: &'r Row, device: usize) -> Option<&'r Rectified> {
        row.rectified.get(device)?.as_ref()
    }

    /// Amps with the harmonics of the rectified draws that lie on some way: their pulses coincide,
    /// so their harmonics add up, and stand across the sine's amps as sides of a right triangle.
    ///
    /// `takes` says which devices' draws pass.
    fn with_harmonics(&self, row: &Row, amps: f64, takes: impl Fn(usize) -> bool) -> f64 {
        let all = row.rectified.iter().enumerate();
        let rectified = all.filter_map(|(i, r)| Some((i, r.as_ref()?)));
        let passing = rectified.filter(|(i, _)| takes(*i));
        let sum: f64 = passing.map(|(_, r)| r.harmonics().base()).sum();
        if sum > 0.0 { amps.hypot(sum) } else { amps }
    }

    /// Rms amps of a supply, harmonics included.
    pub fn supply_rms(&self, row: &Row, i: usize) -> Option<f64> {
        let own = |d| self.ways.supply_of(d) == Some(i);
        Some(self.with_harmonics(row, self.supply(row, i)?.amps.base(), own))
    }

    /// Rms amps of an output, harmonics included.
    pub fn output_rms(&self, site: &Site, row: &Row, (s, o): (usize, usize)) -> Option<f64> {
        let amps = self.branch(row, self.template.outputs[s][o])?.base().abs();
        let from_it = |run: usize| site.runs[run].from == End::Output(s, o);
        Some(self.with_harmonics(row, amps, |d| self.passes(d, from_it)))
    }

    /// Rms amps of a part, harmonics included.
    pub fn part_rms(
        &self,
        site: &Site,
        row: &Row,
        (part, branch): (Part, BranchId),
    ) -> Option<f64> {
        let amps = self.branch(row, branch)?.base().abs();
        let through_it = |run: usize| site.runs[run].through.contains(&part);
        Some(self.with_harmonics(row, amps, |d| self.passes(d, through_it)))
    }

    /// Rms amps of a leg of a run, harmonics included.
    pub fn leg_rms(&self, row: &Row, run: usize, amps: ElectricCurrent) -> f64 {
        let on_way = |d| self.passes(d, |r| r == run);
        self.with_harmonics(row, amps.base().abs(), on_way)
    }

    /// Whether the way from its supply to a device passes a run of which something holds.
    fn passes(&self, device: usize, holds: impl Fn(usize) -> bool) -> bool {
        let way = self.ways.way_to(End::Device(device));
        way.into_iter().filter_map(|(run, _)| run).any(holds)
    }
}
