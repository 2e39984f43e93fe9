//! One case in one corner, ready to be solved with any design, and what is judged there.

use crate::checks::limit_of;
use crate::circuit::{
    BranchId, Circuit, Corner, Lag, Law, Live, Template, is_inrush, run_ohms, run_reactance,
};
use crate::site::{Case, Site};
use crate::size::options::{Open, Options};
use crate::size::shape::Shape;
use crate::units::{Measure, ThermodynamicTemperature};

/// One case in one corner, ready to be solved with any design.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub(crate) case: usize,
    pub(crate) corner: Corner,
    /// What lives in the case.
    pub(crate) live: Live,
    /// The circuit; branches of open runs have the ohms of the last design.
    pub(crate) circuit: Circuit,
    /// By open run: its temperature.
    at: Vec<ThermodynamicTemperature>,
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

impl Row {
    /// Lays out a case in a corner, with the ohms of a row known already where they are the same.
    pub(crate) fn of(
        site: &Site,
        (template, options): (&Template, &Options),
        (c, case): (usize, &Case),
        (corner, live): (Corner, &Live),
        known: &[Row],
    ) -> Row {
        let circuit = template.circuit(site, case, corner, live);
        let inrush = is_inrush(site, case);
        let amps = matches!(corner, Corner::Low | Corner::Heavy);
        let off = |d: usize| case.states.iter().any(|(x, s)| *x == d && s == "off");
        let judged = |d: &usize| live.devices[*d];
        let volts = |d: usize, limit: Option<f64>| limit.filter(|_| judged(&d));
        let lowest = site.devices.iter().enumerate();
        let highest = lowest.clone();
        let runs = options.open.iter().map(|open| &site.runs[open.run]);
        let at: Vec<ThermodynamicTemperature> = runs
            .map(|run| corner.temperature(site, run, case))
            .collect();
        let same = known
            .iter()
            .find(|row| row.at == at && row.live.open == live.open);
        Row {
            case: c,
            corner,
            ohms: same.map_or_else(
                || ohms(site, template, options, (&at, live)),
                |row| row.ohms.clone(),
            ),
            at,
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

    /// Whether some draw follows the volts.
    pub(crate) fn follows(&self) -> bool {
        let mut loads = self.circuit.loads.iter();
        loads.any(|load| matches!(load.law, Law::Power(_) | Law::Resistance(_)))
    }

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
    /// supply in it may block.
    ///
    /// What hangs on one supply alone draws through its diode whatever the design, so the diode
    /// is so many volts less; and a limiter leaves no more volts than there would be without it.
    pub(crate) fn is_beyond_bounds(&self, shape: &Shape) -> bool {
        let restrained = !self.circuit.restraints.is_empty();
        self.may_have_angles() || restrained && !shape.gives_only()
    }

    /// Amperes up to which a supply gives what its volts and ohms let through.
    pub(crate) fn free_a(&self, supply: usize) -> f64 {
        let all = self.circuit.restraints.iter();
        let mut own = all.filter(|restraint| restraint.source == supply);
        let limiter = own.find_map(|restraint| restraint.limiter);
        limiter.map_or(f64::INFINITY, |limiter| limiter.amps_a)
    }

    /// Puts the reactance of a design into the circuit, where a site has ac.
    pub(crate) fn put_reactance(&mut self, branches: &[[Option<BranchId>; 4]], design: &[usize]) {
        if self.reactance_ohm.is_empty() || !self.may_have_angles() {
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

/// By open run, by choice: ohms of plus, minus, common and shield at the runs' temperatures.
fn ohms(
    site: &Site,
    template: &Template,
    options: &Options,
    (at, live): (&[ThermodynamicTemperature], &Live),
) -> Vec<Vec<[f64; 4]>> {
    let of_run = |(open, at): (&Open, &ThermodynamicTemperature)| {
        let own = template.runs[open.run];
        let branches = [own.plus, own.minus, own.common, own.shield];
        let mut tried = site.runs[open.run].clone();
        let each = open.choices.iter().map(|choice| {
            tried.cable = Some(choice.wires);
            let mut ohms = run_ohms(site, &tried, *at);
            for (ohm, branch) in ohms.iter_mut().zip(branches) {
                if branch.is_none_or(|b| live.open[b]) {
                    *ohm = f64::INFINITY;
                }
            }
            ohms
        });
        each.collect()
    };
    options.open.iter().zip(at).map(of_run).collect()
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
    let of_run = |open: &Open| {
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
