//! The way from a supply to every end, with its ohms: what limits a short or an inrush there.

use crate::checks::Look;
use crate::circuit::{Circuit, Corner};
use crate::site::{Case, End, Part, Thing};
use crate::units::Measure;

/// The way to one device or junction, all contacts closed.
pub(super) struct Path {
    /// What it leads to.
    pub(super) end: End,
    /// The supply that it comes from.
    pub(super) supply: usize,
    /// Runs from the supply on.
    pub(super) runs: Vec<usize>,
    /// The supply's own ohms, those of an output among them.
    pub(super) source_ohm: f64,
    /// Ohms of conductors, fuses and contacts, out and back.
    pub(super) wire_ohm: f64,
}

/// The ways to every device and junction that power runs lead to.
pub(super) struct Paths {
    pub(super) all: Vec<Path>,
    /// By supply: volts without load, behind its diode.
    pub(super) open_v: Vec<f64>,
    /// The circuit that the ohms are of.
    pub(super) circuit: Circuit,
}

impl Path {
    /// Amps into a dead short at its end, the limiter of the supply held.
    pub(super) fn short_a(&self, paths: &Paths) -> f64 {
        let open_v = paths.open_v[self.supply];
        let free = open_v / (self.source_ohm + self.wire_ohm);
        let restraints = &paths.circuit.restraints;
        let own = restraints.iter().find(|r| r.source == self.supply);
        let Some(limiter) = own.and_then(|r| r.limiter).filter(|l| free > l.amps_a) else {
            return free;
        };
        // Held amps a + g v, where v is what the wire takes of them; a hiccup gives its limit in
        // bursts.
        let held = limiter.held(limiter.knee_v(open_v, self.source_ohm));
        held.map_or(limiter.amps_a, |h| {
            h.amps_a / (1.0 - h.siemens * self.wire_ohm)
        })
    }

    /// The name of its end.
    pub(super) fn name<'a>(&self, look: &'a Look<'_>) -> &'a str {
        match self.end {
            End::Device(i) => &look.site.devices[i].name,
            End::Junction(i) => &look.site.junctions[i].name,
            _ => "",
        }
    }

    /// The thing at its end.
    pub(super) fn thing(&self) -> Option<Thing> {
        match self.end {
            End::Device(i) => Some(Thing::Device(i)),
            End::Junction(i) => Some(Thing::Junction(i)),
            _ => None,
        }
    }
}

impl Paths {
    /// Follows all ways in a corner, nothing being set, broken or pulled.
    pub(super) fn of(look: &Look<'_>, corner: Corner) -> Self {
        let (site, template) = (look.site, &look.results.template);
        let case = Case {
            name: String::new(),
            states: Vec::new(),
            relays: Vec::new(),
            broken: Vec::new(),
            fitted: Vec::new(),
            temperature: None,
        };
        let live = template.live(site, &case);
        let circuit = template.circuit(site, &case, corner, &live);
        let devices = (look.devices()).map(|(i, _)| End::Device(i));
        let junctions = look.scope.junctions().iter().copied();
        let ends = devices.chain(junctions.map(End::Junction));
        let all = ends.filter_map(|end| path(look, &circuit, end)).collect();
        let open_v = circuit.sources.iter().enumerate().map(|(i, source)| {
            let own = circuit.restraints.iter().find(|r| r.source == i);
            own.map_or(source.volts_v, |r| r.open_v(source.volts_v))
        });
        Self {
            all,
            open_v: open_v.collect(),
            circuit,
        }
    }
}

fn path(look: &Look<'_>, circuit: &Circuit, end: End) -> Option<Path> {
    let (site, results) = (look.site, look.results);
    let template = &results.template;
    let supply = results.ways.start_of(end)?;
    let way = results.ways.way_to(end);
    let runs: Vec<usize> = way.into_iter().filter_map(|(run, _)| run).collect();
    if runs.is_empty() {
        return None;
    }
    let mut source_ohm = site.supplies[supply].resistance.map_or(0.0, Measure::base);
    let mut branches = Vec::new();
    for i in &runs {
        let (run, own) = (&site.runs[*i], template.runs[*i]);
        for end in [run.from, run.to] {
            if let End::Output(s, o) = end {
                source_ohm += circuit.branches[template.outputs[s][o]].resistance_ohm;
            }
        }
        branches.extend(own.plus);
        branches.extend(own.minus);
        branches.extend(run.through.iter().filter_map(|part| template.part(*part)));
    }
    let ohms = branches.iter().map(|b| circuit.branches[*b].resistance_ohm);
    let wire_ohm: f64 = ohms.sum();
    wire_ohm.is_finite().then_some(Path {
        end,
        supply,
        runs,
        source_ohm,
        wire_ohm,
    })
}

/// The fuses that a run passes.
pub(super) fn fuses(look: &Look<'_>, run: usize) -> impl Iterator<Item = usize> {
    let through = look.site.runs[run].through.iter();
    through.filter_map(|part| match part {
        Part::Fuse(i) => Some(*i),
        Part::Contact(..) => None,
    })
}
