//! What the site says a meter should show.

use crate::circuit::{Corner, NodeId, Pair, part_resistance, run_ohms};
use crate::readings::error::Estimate;
use crate::results::{Results, Row};
use crate::site::{Case, End, Found, Leg, Reading, Run, Site, Spot};
use crate::units::{ElectricalResistance, Measure, ThermodynamicTemperature};

/// Copper as made differs from its table by so much: common practice, no source.
pub(super) const COPPER_SHARE: f64 = 0.02;
/// Nobody knows the temperature along a run better than this: common practice, no source.
pub(super) const KELVIN: f64 = 5.0;
/// Change of copper's ohms with each kelvin, at 20 C (NBS Handbook 100).
pub(super) const PER_KELVIN: f64 = 0.003_93;

/// Which conductors of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Out by one leg and back by the other.
    Loop,
    /// One conductor.
    Leg(Leg),
}

/// The ohms that the conductors of a run should have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ohms {
    /// Of the conductors alone, which follow gauge, length, metal and temperature.
    pub(super) wire_ohm: f64,
    /// Of splices, surge parts, fuses and contacts.
    pub(super) rest_ohm: f64,
}

impl Ohms {
    /// Of a way at a temperature; none where the run has no such conductor.
    pub(super) fn of(
        site: &Site,
        run: &Run,
        way: Way,
        at: ThermodynamicTemperature,
    ) -> Option<Self> {
        let [plus, minus, single, shield] = run_ohms(site, run, at);
        let splice = run.splice.unwrap_or(site.design.splice).base();
        let joints = match run.resistance {
            Some(_) => 0.0,
            None => f64::from(run.splices) * splice,
        } + run.surge.base();
        let parts: f64 = (run.through.iter())
            .map(|part| part_resistance(site, *part).map_or(0.0, Measure::base))
            .sum();
        let power = run.carries.power;
        let (all, rest) = match way {
            Way::Loop if run.carries.bond || (power && run.minus_parallel == 0) => return None,
            Way::Loop if power => (plus + minus + parts, 2.0 * joints + parts),
            Way::Loop => (2.0 * single, 2.0 * joints),
            Way::Leg(Leg::Plus) if power || run.carries.bond => (plus, joints),
            Way::Leg(Leg::Minus) if power && run.minus_parallel > 0 => (minus, joints),
            Way::Leg(Leg::Common) if run.common && !power => (single, joints),
            Way::Leg(Leg::Shield) if shield.is_finite() => (shield, 0.0),
            Way::Leg(_) => return None,
        };
        Some(Self {
            wire_ohm: all - rest,
            rest_ohm: rest,
        })
    }

    /// All together, and how far off that may be: by the make of the copper and its temperature.
    pub(super) fn estimate(self) -> Estimate<ElectricalResistance> {
        let u = self.wire_ohm * COPPER_SHARE.hypot(KELVIN * PER_KELVIN);
        Estimate::of(self.wire_ohm + self.rest_ohm, u)
    }
}

/// Conductor temperature of a run when it was read: as noted, else that of the case.
pub(super) fn temperature(
    site: &Site,
    results: &Results,
    run: &Run,
    (noted, case): (Option<ThermodynamicTemperature>, Option<usize>),
) -> ThermodynamicTemperature {
    noted.unwrap_or_else(|| match case {
        Some(case) => Corner::Nominal.temperature(site, run, &results.cases[case]),
        None => Corner::Nominal.temperature(site, run, &Case::default()),
    })
}

/// The two nodes between which volts were read: that of the red lead first.
pub(super) fn nodes(results: &Results, spot: Spot) -> Option<Pair> {
    let terminals = &results.template.terminals;
    let node = |end: End| terminals.pair(end)[0];
    match spot {
        Spot::Across(end) => Some(terminals.pair(end)),
        Spot::Between(a, b) => Some([node(a), node(b)]),
        Spot::Run(_) | Spot::Conductor(..) => None,
    }
}

/// Volts of one node over another as solved.
pub(super) fn volts(results: &Results, row: &Row, over: NodeId, under: NodeId) -> Option<f64> {
    results.between(row, [over, under]).map(Measure::base)
}

/// What a meter should show in a solved row, in volts or amps; amps typed without a sign are
/// compared without one, since few people note which way a clamp lay.
pub(super) fn shown(site: &Site, results: &Results, row: &Row, reading: &Reading) -> Option<f64> {
    match reading.found {
        Found::Volts(_) => match reading.at {
            Spot::Across(End::Device(i)) => results.device(row, i).map(|w| w.volts.base()),
            Spot::Across(End::Supply(i)) => results.supply(row, i).map(|w| w.volts.base()),
            Spot::Across(End::Junction(i)) => results.junction(row, i).map(Measure::base),
            spot => {
                let [over, under] = nodes(results, spot)?;
                let volts = volts(results, row, over, under)?;
                Some(if alternates(results, row, spot) {
                    volts.abs()
                } else {
                    volts
                })
            }
        },
        Found::Amps(found) => {
            let amps = amps(site, results, row, reading.at)?;
            Some(if found.base() < 0.0 { amps } else { amps.abs() })
        }
        Found::Ohms(_) | Found::Insulation(_) => None,
    }
}

/// Whether a meter shows rms values at a spot, which have no sign.
pub(super) fn alternates(results: &Results, row: &Row, spot: Spot) -> bool {
    spot.things().any(|thing| results.on_ac(row, thing))
}

/// Amps at a spot as solved, in the direction that the format counts.
fn amps(site: &Site, results: &Results, row: &Row, spot: Spot) -> Option<f64> {
    let flow = |run: usize| results.run(site, row, run);
    let amps = match spot {
        Spot::Run(i) => {
            let flow = flow(i)?;
            flow.amps.or(flow.common_amps)
        }
        Spot::Conductor(i, Leg::Plus) => flow(i)?.amps,
        Spot::Conductor(i, Leg::Minus) => flow(i)?.return_amps,
        Spot::Conductor(i, Leg::Common) => flow(i)?.common_amps,
        Spot::Conductor(i, Leg::Shield) => results.branch(row, results.template.runs[i].shield?),
        Spot::Across(End::Supply(i)) => results.supply(row, i).map(|w| w.amps),
        Spot::Across(End::Device(i)) => results.device(row, i).map(|w| w.amps),
        Spot::Across(End::Output(s, o)) => results.branch(row, results.template.outputs[s][o]),
        Spot::Across(_) | Spot::Between(..) => None,
    };
    amps.map(Measure::base)
}
