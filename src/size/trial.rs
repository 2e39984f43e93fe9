//! The one place that solves: a design is put into the circuits of every case and corner and held
//! against what a passing design must keep.

use crate::checks::limit_of;
use crate::circuit::{
    BranchId, Circuit, Corner, Lag, Live, NodeId, Template, cases, is_inrush, run_ohms,
    run_reactance,
};
use crate::site::{Case, Site};
use crate::size::options::Options;
use crate::solve::{Outcome, Solution, Solver};
use crate::units::Measure;

/// Volts and amperes that rounding may be over a limit, as the checks have it.
pub(crate) const TOLERANCE: f64 = 1e-9;

/// One case in one corner, ready to be solved with any design.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub(crate) case: usize,
    pub(crate) corner: Corner,
    /// What lives in the case.
    pub(crate) live: Live,
    /// The circuit; branches of open runs have the ohms of the last design.
    pub(crate) circuit: Circuit,
    /// By open run, by choice: ohms of plus, minus, common and shield.
    pub(crate) ohms: Vec<Vec<[f64; 4]>>,
    /// Likewise their reactance; empty on a site without ac.
    reactance_ohm: Vec<Vec<[f64; 4]>>,
    /// By device: least volts judged here.
    pub(crate) lowest: Vec<Option<f64>>,
    /// By device: most volts judged here.
    pub(crate) highest: Vec<Option<f64>>,
    /// By supply: amperes judged here.
    pub(crate) supply_a: Vec<Option<f64>>,
    /// Branches of outputs and of fixed conductors: branch, amperes, whose they are.
    pub(crate) branch_a: Vec<(BranchId, f64, Bearer)>,
    /// Whether amperes are judged here.
    pub(crate) amps: bool,
}

/// What carries the amperes of a branch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Bearer {
    /// An output of a supply.
    Output(usize, usize),
    /// A conductor of a run.
    Run(usize),
}

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
    /// Least volts between a device and an end of its window, over all rows.
    pub(crate) margin_v: f64,
    /// By row: the solution, where there is an operating point.
    pub(crate) solutions: Vec<Option<Solution>>,
}

impl Trial {
    pub(crate) fn passes(&self) -> bool {
        self.faults.is_empty()
    }
}

/// A site with every case and corner laid out for trials.
#[derive(Debug)]
pub(crate) struct Bench {
    pub(crate) options: Options,
    pub(crate) template: Template,
    pub(crate) rows: Vec<Row>,
    pub(crate) cases: Vec<Case>,
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
                rows.push(row(site, &template, &options, (c, case), corner, &live));
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
            options,
            template,
            near: vec![None; rows.len()],
            rows,
            cases,
            solver: Solver::new(),
        }
    }

    /// Solves a design in every row.
    pub(crate) fn trial(&mut self, design: &[usize]) -> Trial {
        let mut trial = Trial {
            margin_v: f64::INFINITY,
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
        if !row.reactance_ohm.is_empty() {
            row.put_reactance(&self.branches, design);
        }
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

    /// The design of least ohms in every run.
    pub(crate) fn least_ohms(&self) -> Vec<usize> {
        let row = &self.rows[0];
        let ohm = |e: usize, k: usize| {
            let finite = row.ohms[e][k].iter().filter(|r| r.is_finite());
            finite.sum::<f64>()
        };
        let thickest = |e: usize| {
            let better = |a: usize, b: usize| if ohm(e, b) < ohm(e, a) { b } else { a };
            (0..row.ohms[e].len()).reduce(better).unwrap_or(0)
        };
        (0..row.ohms.len()).map(thickest).collect()
    }

    /// Amperes that a choice of an open run allows in each of its branches.
    pub(crate) fn allowed_a(&self, e: usize, k: usize) -> [f64; 4] {
        let limit = self.options.open[e].choices[k].limit_a;
        self.bundles[e].map(|n| if n > 0.0 { limit * n } else { f64::INFINITY })
    }
}

fn row(
    site: &Site,
    template: &Template,
    options: &Options,
    (c, case): (usize, &Case),
    corner: Corner,
    live: &Live,
) -> Row {
    let circuit = template.circuit(site, case, corner, live);
    let inrush = is_inrush(site, case);
    let amps = matches!(corner, Corner::Low | Corner::Heavy);
    let off = |d: usize| case.states.iter().any(|(x, s)| *x == d && s == "off");
    let judged = |d: &usize| live.devices[*d];
    let volts = |d: usize, limit: Option<f64>| limit.filter(|_| judged(&d));
    let lowest = site.devices.iter().enumerate();
    let highest = lowest.clone();
    let ohms = options.open.iter().map(|open| {
        let run = &site.runs[open.run];
        let at = corner.temperature(site, run, case);
        let own = template.runs[open.run];
        let branches = [own.plus, own.minus, own.common, own.shield];
        let mut tried = run.clone();
        let each = open.choices.iter().map(|choice| {
            tried.cable = Some(choice.wires);
            let mut ohms = run_ohms(site, &tried, at);
            for (ohm, branch) in ohms.iter_mut().zip(branches) {
                if branch.is_none_or(|b| live.open[b]) {
                    *ohm = f64::INFINITY;
                }
            }
            ohms
        });
        each.collect()
    });
    Row {
        case: c,
        corner,
        ohms: ohms.collect(),
        reactance_ohm: reactance(site, template, options, live),
        lowest: lowest
            .map(|(d, x)| volts(d, x.lowest.map(Measure::base)).filter(|_| !off(d)))
            .collect(),
        highest: highest
            .map(|(d, x)| volts(d, x.highest.map(Measure::base)))
            .collect(),
        supply_a: site
            .supplies
            .iter()
            .map(|s| {
                let rated = if inrush {
                    s.peak.or(s.current)
                } else {
                    s.current
                };
                rated.filter(|_| amps).map(Measure::base)
            })
            .collect(),
        branch_a: if amps {
            borne(site, template, options)
        } else {
            Vec::new()
        },
        amps,
        live: live.clone(),
        circuit,
    }
}

/// By open run, by choice: reactance of its branches; nothing on a site without ac.
fn reactance(
    site: &Site,
    template: &Template,
    options: &Options,
    live: &Live,
) -> Vec<Vec<[f64; 4]>> {
    let Some(hertz) = &live.hertz else {
        return Vec::new();
    };
    let of_run = |open: &crate::size::options::Open| {
        let mut tried = site.runs[open.run].clone();
        let own = template.runs[open.run];
        let each = open.choices.iter().map(|choice| {
            tried.cable = Some(choice.cable);
            run_reactance(site, &tried, hertz, own)
        });
        each.collect()
    };
    options.open.iter().map(of_run).collect()
}

impl Row {
    /// Whether some design gives the circuit angles.
    fn may_have_angles(&self) -> bool {
        let reactive = |ohm: &f64| *ohm > 0.0;
        self.circuit.ac.is_some() || self.reactance_ohm.iter().flatten().flatten().any(reactive)
    }

    /// Volts of a supply without load, behind its diode if it has one.
    pub(crate) fn open_v(&self, supply: usize) -> f64 {
        let volts_v = self.circuit.sources[supply].volts_v;
        let mut all = self.circuit.restraints.iter();
        let own = all.find(|restraint| restraint.source == supply);
        own.map_or(volts_v, |restraint| restraint.open_v(volts_v))
    }

    /// Whether the bounds of linear networks say nothing of this one: it may have angles, or a
    /// supply in it blocks or limits.
    pub(crate) fn is_beyond_bounds(&self) -> bool {
        self.may_have_angles() || !self.circuit.restraints.is_empty()
    }

    fn put_reactance(&mut self, branches: &[[Option<BranchId>; 4]], design: &[usize]) {
        if !self.may_have_angles() {
            return;
        }
        let ac = self.circuit.ac.get_or_insert_default();
        ac.reactance_ohm.resize(self.circuit.branches.len(), 0.0);
        ac.loads.resize(self.circuit.loads.len(), Lag::default());
        ac.feeds.resize(self.circuit.feeds.len(), Lag::default());
        for ((branches, choices), k) in branches.iter().zip(&self.reactance_ohm).zip(design) {
            for (branch, ohm) in branches.iter().zip(choices[*k]) {
                if let Some(branch) = branch {
                    ac.reactance_ohm[*branch] = ohm;
                }
            }
        }
    }
}

/// Limits of outputs and of the conductors of runs that keep their cable.
fn borne(site: &Site, template: &Template, options: &Options) -> Vec<(BranchId, f64, Bearer)> {
    let mut all = Vec::new();
    for (s, supply) in site.supplies.iter().enumerate() {
        for (o, output) in supply.outputs.iter().enumerate() {
            if let Some(limit) = output.current {
                all.push((template.outputs[s][o], limit.base(), Bearer::Output(s, o)));
            }
        }
    }
    let mut open = options.open.iter().map(|o| o.run).peekable();
    for (i, run) in site.runs.iter().enumerate() {
        if open.next_if_eq(&i).is_some() || run.resistance.is_some() {
            continue;
        }
        let Some((limit, _)) = run.cable(site).and_then(limit_of) else {
            continue;
        };
        let own = template.runs[i];
        let plus = if run.carries.bond { 1 } else { run.parallel };
        let legs = [
            (own.plus, plus),
            (own.minus, run.minus_parallel.max(1)),
            (own.common, 1),
        ];
        for (branch, n) in legs {
            let limit = limit * f64::from(n);
            all.extend(branch.map(|b| (b, limit, Bearer::Run(i))));
        }
    }
    all
}
