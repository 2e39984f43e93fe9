//! What every thing of a site has, in every case and corner: the solved circuits read back by
//! name.

mod angle;
mod dc;
mod near;

pub use dc::Rectified;
pub use near::Ways;

use num_complex::Complex64;

use angle::{across, amps, into, out_of, through, volts, watts, working};

use crate::circuit::{
    BranchId, Corner, Filling, Law, Live, NodeId, Pair, Template, Terminals, cases, states,
};
use crate::site::{Case, Site, Thing};
use crate::solve::{Outcome, Solution, Solver};
use crate::threads::{MANY, both};
use crate::units::{ApparentPower, ElectricCurrent, ElectricPotential, Measure, Power};

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
    /// By case: each device's nearest supply over fitted runs. Empty where all runs are fitted.
    near: Vec<Vec<Option<usize>>>,
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
    /// What stands behind each device's rectifier; empty on a site without any.
    pub rectified: Vec<Option<Rectified>>,
}

/// Volts, amps and watts of a supply or device; on ac rms magnitudes without sign.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Working {
    /// Volts between its terminals.
    pub volts: ElectricPotential,
    /// Amps out of a supply's positive, or into a device.
    pub amps: ElectricCurrent,
    /// Real power.
    pub watts: Power,
    /// Apparent power, on ac.
    pub va: Option<ApparentPower>,
}

/// Currents and drops of a run; what does not apply is `None`. On ac rms magnitudes without sign,
/// but for `drop`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Flow {
    /// In the positive leg or the bond, from `from` to `to`.
    pub amps: Option<ElectricCurrent>,
    /// In the negative leg, from `to` back to `from`.
    pub return_amps: Option<ElectricCurrent>,
    /// In the data common, from `to` back to `from`.
    pub common_amps: Option<ElectricCurrent>,
    /// Volts at `from` less volts at `to`, on ac rms volts.
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
        Self::in_corners((site, cases(site)), &Corner::ALL, solver, before)
    }

    /// The same where nothing but values of things differs from the site before.
    pub fn with_values(site: &Site, solver: &mut Solver, before: &Self) -> Self {
        let laid = (before.template.terminals.clone(), before.ways.clone());
        Self::laid_out(
            (site, cases(site)),
            laid,
            &Corner::ALL,
            (solver, Some(before)),
        )
    }

    /// Solves a site in some cases and corners.
    pub fn in_corners(
        (site, cases): (&Site, Vec<Case>),
        corners: &[Corner],
        solver: &mut Solver,
        before: Option<&Self>,
    ) -> Self {
        let laid = (Terminals::of(site), Ways::of(site));
        Self::laid_out((site, cases), laid, corners, (solver, before))
    }

    /// Solves a site of which terminals and ways are known.
    fn laid_out(
        (site, cases): (&Site, Vec<Case>),
        (terminals, ways): (Terminals, Ways),
        corners: &[Corner],
        (solver, before): (&mut Solver, Option<&Self>),
    ) -> Self {
        let template = Template::on(terminals, site);
        let live: Vec<Live> = cases.iter().map(|case| template.live(site, case)).collect();
        let mut results = Self {
            ways,
            near: if site.runs.iter().all(|run| run.fitted) {
                Vec::new()
            } else {
                cases.iter().map(|case| Ways::fitted(site, case)).collect()
            },
            cases,
            template,
            live,
            rows: Vec::new(),
        };
        let (early, late) = corners.split_at(corners.len().div_ceil(2));
        results.rows = if site.devices.len() < MANY || late.is_empty() {
            results.solved(site, corners, solver, before)
        } else {
            let (early, late) = solver.with_second(|one, other| {
                both(
                    true,
                    || results.solved(site, early, one, before),
                    || results.solved(site, late, other, before),
                )
            });
            in_turn(early, late)
        };
        results
    }

    /// Solves some corners of every case.
    fn solved(
        &self,
        site: &Site,
        corners: &[Corner],
        solver: &mut Solver,
        before: Option<&Self>,
    ) -> Vec<Row> {
        let template = &self.template;
        let mut filling = Filling::new(template, site);
        let mut rows: Vec<Row> = Vec::with_capacity(self.cases.len() * corners.len());
        for (i, (case, live)) in self.cases.iter().zip(&self.live).enumerate() {
            filling.case(case, live);
            for corner in corners {
                let circuit = filling.corner(*corner);
                let twin = before.and_then(|before| before.row(i, *corner)?.solution());
                let near = twin.or_else(|| rows.last()?.solution());
                let outcome = solver.solve_from(circuit, near);
                rows.push(Row {
                    case: i,
                    corner: *corner,
                    rectified: dc::behind(site, template, (live, circuit), &outcome, solver),
                    outcome,
                    laws: circuit.loads.iter().map(|load| load.law).collect(),
                });
            }
        }
        rows
    }

    /// Whether other results of the same site with other values can differ in a part of it alone:
    /// they have the same cases, and both have an operating point in each.
    pub fn may_differ_in_part(&self, other: &Self) -> bool {
        let solved = |all: &Self| all.rows.iter().all(|row| row.solution().is_some());
        self.cases == other.cases && solved(self) && solved(other)
    }

    /// Whether a run is connected, at least in some case.
    pub fn is_fitted(&self, site: &Site, run: usize) -> bool {
        site.runs[run].fitted || self.cases.iter().any(|case| case.fitted.contains(&run))
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

    /// A supply: volts at its terminals, amps out of its positive; `None` without an operating
    /// point.
    pub fn supply(&self, row: &Row, i: usize) -> Option<Working> {
        let solution = row.solution()?;
        let ac = self.on_ac(row, Thing::Supply(i));
        if !self.live[row.case].supplies[i] {
            return Some(working(Complex64::ZERO, Complex64::ZERO, ac));
        }
        let volts = across(solution, self.template.terminals.supplies[i]);
        Some(working(volts, out_of(solution, i), ac))
    }

    /// A device: volts across it, amps and watts of its own draw and of what its supplies take.
    pub fn device(&self, row: &Row, i: usize) -> Option<Working> {
        let solution = row.solution()?;
        let ac = self.on_ac(row, Thing::Device(i));
        if !self.live[row.case].devices[i] {
            return Some(working(Complex64::ZERO, Complex64::ZERO, ac));
        }
        let volts = across(solution, self.template.terminals.devices[i]);
        Some(working(volts, into(solution, i, self.fed_by(i)), ac))
    }

    /// The feeds that a device supplies.
    pub fn fed_by(&self, device: usize) -> impl Iterator<Item = usize> {
        self.template.fed_by(device)
    }

    /// A device's negative against that of the supply that is nearest over fitted runs.
    pub fn negative(&self, row: &Row, i: usize) -> Option<ElectricPotential> {
        let solution = row.solution()?;
        let own = self.template.terminals.devices[i][1];
        let nearest = match self.near.get(row.case) {
            Some(fitted) => fitted[i],
            None => self.ways.supply_of(i),
        };
        let supply = self.template.terminals.supplies[nearest?][1];
        let island = &self.live[row.case].island;
        (island[own as usize] == island[supply as usize]).then(|| {
            volts(
                across(solution, [own, supply]),
                self.on_ac(row, Thing::Device(i)),
            )
        })
    }

    /// Volts of a junction.
    pub fn junction(&self, row: &Row, i: usize) -> Option<ElectricPotential> {
        let solution = row.solution()?;
        let reached = self.live[row.case].junctions[i];
        let between = if reached {
            across(solution, self.template.terminals.junctions[i])
        } else {
            Complex64::ZERO
        };
        Some(volts(between, self.on_ac(row, Thing::Junction(i))))
    }

    /// Volts of one node over another; `None` where nothing joins the two.
    pub fn between(&self, row: &Row, [over, under]: Pair) -> Option<ElectricPotential> {
        let solution = row.solution()?;
        let island = &self.live[row.case].island;
        let ac = self.live[row.case].hertz.is_some();
        (island[over as usize] == island[under as usize])
            .then(|| volts(across(solution, [over, under]), ac && row.has_angles()))
    }

    /// Current in a branch, counted as its ends stand; on ac its magnitude.
    pub fn branch(&self, row: &Row, branch: BranchId) -> Option<ElectricCurrent> {
        let through = through(row.solution()?, branch);
        Some(amps(through, self.branch_on_ac(row, branch)))
    }

    /// Currents of a run alone: in the positive leg or the bond, the negative leg, the data common.
    pub fn legs(&self, row: &Row, i: usize) -> Option<[Option<ElectricCurrent>; 3]> {
        let solution = row.solution()?;
        let own = self.template.runs[i];
        let ac = self.on_ac(row, Thing::Run(i));
        let current =
            |b: Option<BranchId>, sign: f64| b.map(|b| amps(through(solution, b) * sign, ac));
        Some([
            current(own.plus, 1.0),
            current(own.minus, -1.0),
            current(own.common, -1.0),
        ])
    }

    /// Currents and drops of a run.
    pub fn run(&self, site: &Site, row: &Row, i: usize) -> Option<Flow> {
        let solution = row.solution()?;
        let run = &site.runs[i];
        let own = self.template.runs[i];
        let open = &self.live[row.case].open;
        let ac = self.on_ac(row, Thing::Run(i));
        let fall = |a: NodeId, b: NodeId| across(solution, [a, b]);
        let [amps, return_amps, common_amps] = self.legs(row, i)?;
        let mut flow = Flow {
            amps,
            return_amps,
            common_amps,
            ..Flow::default()
        };
        let heat = |b: BranchId| {
            let (from, to) = self.template.branch_ends(b);
            watts(fall(from, to), through(solution, b))
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
                flow.drop = Some(volts(fall(from, to), ac));
            }
            return Some(flow);
        }
        let whole = closed(own.plus)
            && closed(own.minus)
            && run.through.iter().all(|p| closed(self.template.part(*p)));
        if run.carries.power && whole {
            let terminals = &self.template.terminals;
            let (from, to) = (terminals.pair(run.from), terminals.pair(run.to));
            let (plus, minus) = (fall(from[0], to[0]), fall(to[1], from[1]));
            flow.plus_drop = Some(volts(plus, ac));
            if own.minus.is_some() {
                flow.minus_drop = Some(volts(minus, ac));
                flow.drop = Some(if ac {
                    let [at_from, at_to] = [from, to].map(|pair| across(solution, pair).norm());
                    ElectricPotential::from_base(at_from - at_to)
                } else {
                    volts(plus + minus, ac)
                });
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

/// The rows of all corners, from those of the first corners and those of the others.
fn in_turn(early: Vec<Row>, late: Vec<Row>) -> Vec<Row> {
    let mut rows = early;
    rows.extend(late);
    rows.sort_by_key(|row| row.case);
    rows
}

impl Row {
    /// Whether volts and amps of the solution have angles.
    pub fn has_angles(&self) -> bool {
        self.solution().is_some_and(|s| s.phasors.is_some())
    }

    /// The solution, where there is an operating point.
    pub fn solution(&self) -> Option<&Solution> {
        match &self.outcome {
            Outcome::Solved(solution) => Some(solution),
            Outcome::Unserved(_) => None,
        }
    }
}
