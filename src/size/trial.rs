//! The one place that solves: a design is put into the circuits of every case and corner and held
//! against what a passing design must keep.

use crate::circuit::{BranchId, Corner, NodeId, Template, cases};
use crate::site::{Case, Site};
use crate::size::duct::{Duct, Full, full, squeezed};
use crate::size::options::Options;
use crate::size::row::{Bearer, Row};
use crate::solve::{Outcome, Solution, Solver};

/// Volts and amperes that rounding may be over a limit, as the checks have it.
pub(crate) const TOLERANCE: f64 = 1e-9;

/// What a design fails at, in one row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Fault {
    /// There is no operating point.
    NoPoint,
    /// A device is under its window: volts and limit.
    Low(usize, f64, f64),
    /// A device is over its window: volts and limit.
    High(usize, f64, f64),
    /// A supply gives too much: amperes and limit.
    Supply(usize, f64, f64),
    /// An output or a conductor carries too much: amperes and limit.
    Carries(Bearer, f64, f64),
}

/// What came of trying a design.
#[derive(Clone, Debug, Default)]
pub(crate) struct Trial {
    /// Row and fault, row by row.
    pub(crate) faults: Vec<(usize, Fault)>,
    /// Raceways that have no room for it.
    pub(crate) full: Vec<Full>,
    /// Least volts between a device and an end of its window, over all rows.
    pub(crate) margin_v: f64,
    /// By row: the solution, where there is an operating point.
    pub(crate) solutions: Vec<Option<Solution>>,
}

impl Trial {
    pub(crate) fn passes(&self) -> bool {
        self.faults.is_empty() && self.full.is_empty()
    }
}

/// A site with every case and corner laid out for trials.
#[derive(Debug)]
pub(crate) struct Bench {
    pub(crate) options: Options,
    pub(crate) template: Template,
    pub(crate) rows: Vec<Row>,
    pub(crate) cases: Vec<Case>,
    /// Raceways that the runs lie in.
    pub(crate) ducts: Vec<Duct>,
    /// By device: plus and minus.
    pub(crate) devices: Vec<[NodeId; 2]>,
    /// By open run: conductors in plus, minus, common and shield; 0 where nothing limits it.
    bundles: Vec<[f64; 4]>,
    /// By open run: its branches.
    pub(crate) branches: Vec<[Option<BranchId>; 4]>,
    solver: Solver,
    /// By row: the last solution, from which the next is not far.
    near: Vec<Option<Solution>>,
}

impl Bench {
    /// Lays out every case and corner of a site.
    pub(crate) fn of(site: &Site, options: Options) -> Self {
        let template = Template::of(site);
        let cases = cases(site);
        let mut rows = Vec::with_capacity(4 * cases.len());
        for (c, case) in cases.iter().enumerate() {
            let live = template.live(site, case);
            for corner in Corner::ALL {
                let place = (corner, &live);
                let row = Row::of(site, (&template, &options), (c, case), place, &rows);
                rows.push(row);
            }
        }
        let bundle = |i: usize| {
            let run = &site.runs[i];
            let plus = if run.carries.bond { 1 } else { run.parallel };
            [
                f64::from(plus),
                f64::from(run.minus_parallel.max(1)),
                1.0,
                0.0,
            ]
        };
        let own = |i: usize| {
            let b = template.runs[i];
            [b.plus, b.minus, b.common, b.shield]
        };
        Self {
            bundles: options.open.iter().map(|o| bundle(o.run)).collect(),
            branches: options.open.iter().map(|o| own(o.run)).collect(),
            devices: template.terminals.devices.clone(),
            ducts: Duct::all(site, &options),
            options,
            template,
            near: vec![None; rows.len()],
            rows,
            cases,
            solver: Solver::new(),
        }
    }

    /// Whether a design goes into every raceway.
    pub(crate) fn has_room(&self, design: &[usize]) -> bool {
        full(&self.ducts, design).is_empty()
    }

    /// Solves a design in every row.
    pub(crate) fn trial(&mut self, design: &[usize]) -> Trial {
        let mut trial = Trial {
            margin_v: f64::INFINITY,
            full: full(&self.ducts, design),
            ..Trial::default()
        };
        for r in 0..self.rows.len() {
            self.put(r, design);
            let solution = self.solve(r);
            self.judge(r, design, solution.as_ref(), &mut trial);
            trial.solutions.push(solution);
        }
        trial
    }

    /// Whether a design passes; stops at the first row that fails, `first` being tried first.
    pub(crate) fn passes(&mut self, design: &[usize], first: &mut usize) -> bool {
        if !self.has_room(design) {
            return false;
        }
        let count = self.rows.len();
        for turn in 0..count {
            let r = (*first + turn) % count;
            let mut trial = Trial::default();
            self.put(r, design);
            let solution = self.solve(r);
            self.judge(r, design, solution.as_ref(), &mut trial);
            if !trial.passes() {
                *first = r;
                return false;
            }
        }
        true
    }

    fn solve(&mut self, r: usize) -> Option<Solution> {
        let near = self.near[r].as_ref();
        match self.solver.solve_from(&self.rows[r].circuit, near) {
            Outcome::Solved(solution) => {
                self.near[r] = Some(solution.clone());
                Some(solution)
            }
            Outcome::Unserved(_) => None,
        }
    }

    /// Puts a design's ohms into a row's circuit.
    fn put(&mut self, r: usize, design: &[usize]) {
        let row = &mut self.rows[r];
        for ((branches, ohms), k) in self.branches.iter().zip(&row.ohms).zip(design) {
            for (branch, ohm) in branches.iter().zip(ohms[*k]) {
                if let Some(branch) = branch {
                    row.circuit.branches[*branch].resistance_ohm = ohm;
                }
            }
        }
        row.put_reactance(&self.branches, design);
    }

    fn judge(&self, r: usize, design: &[usize], solution: Option<&Solution>, trial: &mut Trial) {
        let row = &self.rows[r];
        let Some(solution) = solution else {
            trial.faults.push((r, Fault::NoPoint));
            return;
        };
        for (d, [plus, minus]) in self.devices.iter().enumerate() {
            let volts = solution.across(*plus, *minus);
            if let Some(lowest) = row.lowest[d] {
                trial.margin_v = trial.margin_v.min(volts - lowest);
                if volts < lowest - TOLERANCE {
                    trial.faults.push((r, Fault::Low(d, volts, lowest)));
                }
            }
            if let Some(highest) = row.highest[d] {
                trial.margin_v = trial.margin_v.min(highest - volts);
                if volts > highest + TOLERANCE {
                    trial.faults.push((r, Fault::High(d, volts, highest)));
                }
            }
        }
        for (s, limit) in row.supply_a.iter().enumerate() {
            let amps = solution.source_a[s];
            if let Some(limit) = limit.filter(|limit| amps > limit + TOLERANCE) {
                trial.faults.push((r, Fault::Supply(s, amps, limit)));
            }
        }
        if !row.amps {
            return;
        }
        let over = |branch: BranchId, limit: f64| {
            let amps = solution.branch_a[branch].abs();
            (amps > limit).then_some(amps)
        };
        for (branch, limit, bearer) in &row.branch_a {
            if let Some(amps) = over(*branch, *limit + TOLERANCE) {
                trial
                    .faults
                    .push((r, Fault::Carries(*bearer, amps, *limit)));
            }
        }
        for (e, k) in design.iter().enumerate() {
            let open = &self.options.open[e];
            let limit = open.choices[*k].limit_a;
            for (branch, bundle) in self.branches[e].iter().zip(self.bundles[e]) {
                let whole = (limit + TOLERANCE) * bundle;
                if let Some(amps) = branch.filter(|_| bundle > 0.0).and_then(|b| over(b, whole)) {
                    let fault = Fault::Carries(Bearer::Run(open.run), amps, limit * bundle);
                    trial.faults.push((r, fault));
                }
            }
        }
    }

    /// Ohms of a choice of an open run, all its conductors together.
    fn ohm(&self, e: usize, k: usize) -> f64 {
        let ohms = self.rows[0].ohms[e][k].iter();
        ohms.filter(|r| r.is_finite()).sum()
    }

    /// The design of least ohms in every run.
    pub(crate) fn least_ohms(&self) -> Vec<usize> {
        let thickest = |open: usize| {
            let better = |a: usize, b: usize| {
                if self.ohm(open, b) < self.ohm(open, a) {
                    b
                } else {
                    a
                }
            };
            let choices = 0..self.options.open[open].choices.len();
            choices.reduce(better).unwrap_or(0)
        };
        (0..self.options.open.len()).map(thickest).collect()
    }

    /// A design, thinner where its raceways have no room for it.
    pub(crate) fn squeezed(&self, design: Vec<usize>) -> Vec<usize> {
        squeezed(&self.ducts, design, |e, k| self.ohm(e, k))
    }

    /// Amperes that a choice of an open run allows in each of its branches.
    pub(crate) fn allowed_a(&self, e: usize, k: usize) -> [f64; 4] {
        let limit = self.options.open[e].choices[k].limit_a;
        self.bundles[e].map(|n| if n > 0.0 { limit * n } else { f64::INFINITY })
    }
}
