//! What every thing of a site has, in every case and corner: the solved circuits read back by
//! name.

mod near;

pub use near::Ways;

use crate::circuit::{BranchId, Corner, Filling, Law, Live, NodeId, Pair, Template, cases, states};
use crate::site::{Case, Site};
use crate::solve::{Outcome, Solution, Solver};
use crate::units::{ElectricCurrent, ElectricPotential, Measure, Power};

/// The solved site: one row for each case and corner.
#[derive(Clone, Debug)]
pub struct Results {
    /// Cases in order.
    pub cases: Vec<Case>,
    /// Whose branch is whose.
    pub template: Template,
    /// What lives, by case.
    pub live: Vec<Live>,
    /// Case by case, corner by corner.
    pub rows: Vec<Row>,
    /// The ways from supplies to everything else.
    pub ways: Ways,
}

/// One case in one corner.
#[derive(Clone, Debug)]
pub struct Row {
    /// Index into [`Results::cases`].
    pub case: usize,
    /// The corner.
    pub corner: Corner,
    /// What the solver found.
    pub outcome: Outcome,
    /// What each device's own draw is, in the corner.
    pub laws: Vec<Law>,
}

/// Volts, amps and watts of a supply or device.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Working {
    /// Volts between its terminals.
    pub volts: ElectricPotential,
    /// Amps out of a supply's positive, or into a device.
    pub amps: ElectricCurrent,
    /// Their product.
    pub watts: Power,
}

/// Currents and drops of a run; what does not apply is `None`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Flow {
    /// In the positive leg or the bond, from `from` to `to`.
    pub amps: Option<ElectricCurrent>,
    /// In the negative leg, from `to` back to `from`.
    pub return_amps: Option<ElectricCurrent>,
    /// In the data common, from `to` back to `from`.
    pub common_amps: Option<ElectricCurrent>,
    /// Volts at `from` less volts at `to`.
    pub drop: Option<ElectricPotential>,
    /// Share of the positive leg.
    pub plus_drop: Option<ElectricPotential>,
    /// Share of the negative leg.
    pub minus_drop: Option<ElectricPotential>,
    /// Heat in all its conductors.
    pub loss: Power,
}

/// No operating point: what could be served, and which load is worst off there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shortfall {
    /// The device with the least volts for its `lowest`.
    pub device: Option<usize>,
    /// Largest factor on all A and W draws that still has an operating point.
    pub served: f64,
}

impl Results {
    /// Solves a site in every case and corner.
    ///
    /// `before` may be the results of a site that differs little: its solutions are then where the
    /// search starts, and the same ones are found sooner.
    pub fn of(site: &Site, solver: &mut Solver, before: Option<&Self>) -> Self {
        let cases = cases(site);
        let template = Template::of(site);
        let live: Vec<Live> = cases.iter().map(|case| template.live(site, case)).collect();
        let mut filling = Filling::new(&template, site);
        let mut rows: Vec<Row> = Vec::with_capacity(cases.len() * Corner::ALL.len());
        for (i, case) in cases.iter().enumerate() {
            filling.case(case, &live[i]);
            for corner in Corner::ALL {
                let circuit = filling.corner(corner);
                let twin = before.and_then(|before| before.rows.get(rows.len())?.solution());
                let near = twin.or_else(|| rows.last()?.solution());
                rows.push(Row {
                    case: i,
                    corner,
                    outcome: solver.solve_from(circuit, near),
                    laws: circuit.loads.iter().map(|load| load.law).collect(),
                });
            }
        }
        Self {
            ways: Ways::of(site),
            cases,
            template,
            live,
            rows,
        }
    }

    /// The row of a case and corner.
    pub fn row(&self, case: usize, corner: Corner) -> Option<&Row> {
        self.rows
            .iter()
            .find(|r| r.case == case && r.corner == corner)
    }

    /// The state of each device in a row's case.
    pub fn states<'r>(&'r self, site: &Site, row: &Row) -> Vec<&'r str> {
        states(site, &self.cases[row.case])
    }

    fn across(solution: &Solution, [plus, minus]: Pair) -> f64 {
        solution.node_v[plus as usize] - solution.node_v[minus as usize]
    }

    /// A supply: volts at its terminals, amps out of its positive; `None` without an operating
    /// point.
    pub fn supply(&self, row: &Row, i: usize) -> Option<Working> {
        let solution = row.solution()?;
        if !self.live[row.case].supplies[i] {
            return Some(working(0.0, 0.0));
        }
        Some(working(
            Self::across(solution, self.template.terminals.supplies[i]),
            solution.source_a[i],
        ))
    }

    /// A device: volts across it, amps and watts of its own draw and of what its supplies take.
    pub fn device(&self, row: &Row, i: usize) -> Option<Working> {
        let solution = row.solution()?;
        if !self.live[row.case].devices[i] {
            return Some(working(0.0, 0.0));
        }
        let volts = Self::across(solution, self.template.terminals.devices[i]);
        let fed: f64 = self.fed_by(i).map(|f| solution.feed_a[f]).sum();
        Some(working(volts, solution.load_a[i] + fed))
    }

    /// The feeds that a device supplies.
    pub fn fed_by(&self, device: usize) -> impl Iterator<Item = usize> {
        self.template
            .feeders
            .iter()
            .enumerate()
            .filter(move |(_, d)| **d == device)
            .map(|(f, _)| f)
    }

    /// A device's negative against that of its nearest supply.
    pub fn negative(&self, row: &Row, i: usize) -> Option<ElectricPotential> {
        let solution = row.solution()?;
        let own = self.template.terminals.devices[i][1];
        let supply = self.template.terminals.supplies[self.ways.supply_of(i)?][1];
        let island = &self.live[row.case].island;
        (island[own as usize] == island[supply as usize])
            .then(|| volts(solution.node_v[own as usize] - solution.node_v[supply as usize]))
    }

    /// Volts of a junction.
    pub fn junction(&self, row: &Row, i: usize) -> Option<ElectricPotential> {
        let solution = row.solution()?;
        let reached = self.live[row.case].junctions[i];
        Some(volts(if reached {
            Self::across(solution, self.template.terminals.junctions[i])
        } else {
            0.0
        }))
    }

    /// Volts of one node over another; `None` where nothing joins the two.
    pub fn between(&self, row: &Row, [over, under]: Pair) -> Option<ElectricPotential> {
        let solution = row.solution()?;
        let island = &self.live[row.case].island;
        (island[over as usize] == island[under as usize])
            .then(|| volts(Self::across(solution, [over, under])))
    }

    /// Current in a branch, counted as its ends stand.
    pub fn branch(&self, row: &Row, branch: BranchId) -> Option<ElectricCurrent> {
        Some(amps(row.solution()?.branch_a[branch]))
    }

    /// Currents and drops of a run.
    pub fn run(&self, site: &Site, row: &Row, i: usize) -> Option<Flow> {
        let solution = row.solution()?;
        let run = &site.runs[i];
        let own = self.template.runs[i];
        let open = &self.live[row.case].open;
        let current = |b: Option<BranchId>| b.map(|b| solution.branch_a[b]);
        let fall = |a: NodeId, b: NodeId| solution.node_v[a as usize] - solution.node_v[b as usize];
        let mut flow = Flow {
            amps: current(own.plus).map(amps),
            return_amps: current(own.minus).map(|a| amps(-a)),
            common_amps: current(own.common).map(|a| amps(-a)),
            ..Flow::default()
        };
        let heat = |b: BranchId| {
            let (from, to) = self.template.branch_ends(b);
            solution.branch_a[b] * fall(from, to)
        };
        flow.loss = Power::from_base(
            [own.plus, own.minus, own.common, own.shield]
                .into_iter()
                .flatten()
                .map(heat)
                .sum::<f64>()
                + 0.0,
        );
        let closed = |b: Option<BranchId>| b.is_none_or(|b| !open[b]);
        if run.carries.bond {
            if let Some(b) = own.plus.filter(|b| !open[*b]) {
                let (from, to) = self.template.branch_ends(b);
                flow.drop = Some(volts(fall(from, to)));
            }
            return Some(flow);
        }
        let whole = closed(own.plus)
            && closed(own.minus)
            && run.through.iter().all(|p| closed(self.template.part(*p)));
        if run.carries.power && whole {
            let (from, to) = (
                self.template.terminals.pair(run.from),
                self.template.terminals.pair(run.to),
            );
            flow.plus_drop = Some(volts(fall(from[0], to[0])));
            if own.minus.is_some() {
                flow.minus_drop = Some(volts(fall(to[1], from[1])));
                flow.drop = Some(volts(fall(from[0], to[0]) + fall(to[1], from[1])));
            }
        }
        Some(flow)
    }

    /// What is short where there is no operating point.
    pub fn shortfall(&self, site: &Site, row: &Row) -> Option<Shortfall> {
        let Outcome::Unserved(unserved) = &row.outcome else {
            return None;
        };
        let draws = |i: &usize| {
            !matches!(row.laws[*i], Law::Off)
                || self
                    .fed_by(*i)
                    .any(|f| self.live[row.case].supplies[self.template.fed_supply[f]])
        };
        let candidates: Vec<usize> = (0..site.devices.len()).filter(draws).collect();
        let windowed = candidates.iter().any(|i| site.devices[*i].lowest.is_some());
        let share = |i: usize| {
            let v = unserved.load_v[i];
            match site.devices[i].lowest {
                Some(lowest) if lowest.base() > 0.0 => v / lowest.base(),
                _ if windowed => f64::INFINITY,
                _ => v,
            }
        };
        let device = candidates
            .into_iter()
            .min_by(|a, b| share(*a).total_cmp(&share(*b)));
        Some(Shortfall {
            device,
            served: unserved.served,
        })
    }
}

impl Row {
    /// The solution, where there is an operating point.
    pub fn solution(&self) -> Option<&Solution> {
        match &self.outcome {
            Outcome::Solved(solution) => Some(solution),
            Outcome::Unserved(_) => None,
        }
    }
}

fn volts(v: f64) -> ElectricPotential {
    ElectricPotential::from_base(v + 0.0)
}

fn amps(a: f64) -> ElectricCurrent {
    ElectricCurrent::from_base(a + 0.0)
}

fn working(volts_v: f64, amps_a: f64) -> Working {
    Working {
        volts: volts(volts_v),
        amps: amps(amps_a),
        watts: Power::from_base(volts_v * amps_a + 0.0),
    }
}
