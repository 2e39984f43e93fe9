//! The network with one supply on its battery.

use crate::battery::course::Point;
use crate::circuit::{Circuit, Corner, Live, NodeId, Pair};
use crate::results::Results;
use crate::site::{AVERAGE, Case, Site};
use crate::solve::{Outcome, Solution, Solver};
use crate::units::{ElectricPotential, Measure};

/// A circuit in which one supply's volts and resistance can be set.
///
/// What feeds that supply otherwise does not: on battery it is a source of its own.
#[derive(Clone, Debug)]
pub struct OnBattery {
    supply: usize,
    circuit: Circuit,
    live: Live,
    /// Where the search for the next point starts.
    last: Option<Solution>,
}

impl OnBattery {
    /// Everything at its average draw, else idle; contacts closed, conductors at their temperature
    /// in the corner nominal.
    pub fn average(site: &Site, results: &Results, supply: usize) -> Self {
        let stated = |i: &usize| {
            site.devices[*i]
                .draw
                .iter()
                .any(|(state, _)| state == AVERAGE)
        };
        let case = Case {
            name: AVERAGE.to_owned(),
            states: (0..site.devices.len())
                .filter(stated)
                .map(|i| (i, AVERAGE.to_owned()))
                .collect(),
            relays: Vec::new(),
            broken: Vec::new(),
            fitted: Vec::new(),
            temperature: None,
        };
        let live = results.template.live(site, &case);
        Self::new(site, results, supply, (&case, Corner::Nominal), live)
    }

    /// A case of the site in a corner.
    pub fn in_case(
        site: &Site,
        results: &Results,
        supply: usize,
        (case, corner): (usize, Corner),
    ) -> Self {
        let live = results.live[case].clone();
        let at = (&results.cases[case], corner);
        Self::new(site, results, supply, at, live)
    }

    fn new(
        site: &Site,
        results: &Results,
        supply: usize,
        (case, corner): (&Case, Corner),
        live: Live,
    ) -> Self {
        let mut circuit = results.template.circuit(site, case, corner, &live);
        circuit.drop_feed_of(supply);
        circuit.sources[supply].live = true;
        Self {
            supply,
            circuit,
            live,
            last: None,
        }
    }

    /// The operating point at some volts behind some ohms.
    pub(super) fn solution(
        &mut self,
        volts_v: f64,
        resistance_ohm: f64,
        solver: &mut Solver,
    ) -> Result<&Solution, f64> {
        let source = &mut self.circuit.sources[self.supply];
        (source.volts_v, source.resistance_ohm) = (volts_v, resistance_ohm);
        match solver.solve_from(&self.circuit, self.last.as_ref()) {
            Outcome::Solved(solution) => Ok(self.last.insert(solution)),
            Outcome::Unserved(unserved) => Err(unserved.served),
        }
    }

    /// What the supply gives at some volts behind some ohms; none without an operating point.
    pub(super) fn point(
        &mut self,
        volts_v: f64,
        resistance_ohm: f64,
        solver: &mut Solver,
    ) -> Option<Point> {
        let supply = self.supply;
        let (plus, minus) = {
            let source = &self.circuit.sources[supply];
            (source.plus, source.minus)
        };
        let solution = self.solution(volts_v, resistance_ohm, solver).ok()?;
        let at = |node: NodeId| solution.node_v[node as usize];
        Some(Point {
            amps_a: solution.source_a[supply],
            volts_v: at(plus) - at(minus),
        })
    }

    /// Volts of each device that the supply reaches, its terminals being held at some volts.
    ///
    /// # Errors
    /// How much could be served, where there is no operating point.
    pub(super) fn devices(
        &mut self,
        results: &Results,
        volts_v: f64,
        solver: &mut Solver,
    ) -> Result<Vec<Option<ElectricPotential>>, f64> {
        // The volts are those of the terminals: what lies before them is passed already.
        let supply = self.supply;
        self.circuit.restraints.retain(|r| r.source != supply);
        let pairs = &results.template.terminals.devices;
        let reached: Vec<bool> = (0..pairs.len()).map(|i| self.reaches(results, i)).collect();
        let solution = self.solution(volts_v, 0.0, solver)?;
        let at = |node: NodeId| solution.node_v[node as usize];
        let volts =
            |[plus, minus]: &Pair| ElectricPotential::from_base(at(*plus) - at(*minus) + 0.0);
        Ok(pairs
            .iter()
            .zip(reached)
            .map(|(pair, reached)| reached.then(|| volts(pair)))
            .collect())
    }

    /// Whether a device lives on this supply: their positives are joined by conductors, or it is
    /// the device's nearest supply.
    fn reaches(&self, results: &Results, device: usize) -> bool {
        let positive = |node: NodeId| self.live.conductor[node as usize];
        let [own, _] = results.template.terminals.devices[device];
        let [plus, _] = results.template.terminals.supplies[self.supply];
        self.live.devices[device]
            && (positive(own) == positive(plus)
                || results.ways.supply_of(device) == Some(self.supply))
    }
}
