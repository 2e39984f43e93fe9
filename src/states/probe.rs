//! A circuit measured with nothing drawn, and with one ampere or less driven in at each port.

use crate::circuit::{Circuit, NodeId, Source};
use crate::solve::{Solution, Solver};
use crate::states::ports::Row;

/// The answers of a linear circuit.
pub(super) struct Probe {
    open: Solution,
    /// By port: the solution with that port's probe on, and the circuit's own sources at 0 V.
    answers: Vec<Solution>,
    /// How many sources the circuit has of its own.
    own: usize,
}

impl Probe {
    /// Measures a circuit at its ports, its loads and feeds left out; `None` where that does not
    /// solve.
    pub(super) fn of(
        circuit: &Circuit,
        ports: &[(NodeId, NodeId)],
        solver: &mut Solver,
    ) -> Option<Self> {
        let mut probed = circuit.clone();
        probed.feeds.clear();
        let probe = |(plus, minus): &(NodeId, NodeId)| Source {
            plus: *plus,
            minus: *minus,
            volts_v: 1.0,
            resistance_ohm: f64::INFINITY,
            live: true,
            held: None,
        };
        probed.sources.extend(ports.iter().map(probe));
        let own = circuit.sources.len();
        let open = solver.operating_point(&probed)?;
        for source in &mut probed.sources[..own] {
            source.volts_v = 0.0;
        }
        let mut answers = Vec::with_capacity(ports.len());
        for port in 0..ports.len() {
            probed.sources[own + port].resistance_ohm = 1.0;
            answers.push(solver.operating_point(&probed)?);
            probed.sources[own + port].resistance_ohm = f64::INFINITY;
        }
        Some(Self { open, answers, own })
    }

    /// A number of the solution, as a row over the currents drawn at the ports: a probe drives its
    /// current in where a load would draw it out.
    pub(super) fn row(&self, value: impl Fn(&Solution) -> f64) -> Row {
        let answers = self.answers.iter().enumerate();
        Row {
            base: value(&self.open),
            by: answers
                .map(|(port, s)| -value(s) / s.source_a[self.own + port])
                .collect(),
        }
    }

    /// Volts between two nodes, as a row.
    pub(super) fn across(&self, (plus, minus): (NodeId, NodeId)) -> Row {
        self.row(|s| s.node_v[plus as usize] - s.node_v[minus as usize])
    }
}
