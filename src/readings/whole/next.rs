//! The next reading that parts causes which explain all others alike.

use crate::readings::bench::Bench;
use crate::readings::error::{BEYOND, Error};
use crate::readings::whole::causes::Fault;
use crate::readings::whole::scene::Probe;
use crate::readings::whole::sheet::{Sheet, legs};
use crate::site::{Leg, Spot};
use crate::units::fixed;

/// A difference counts so many times of what the meter may be off, and no more.
const ENOUGH: f64 = 5.0;
/// A meter of which nothing is known, in volts and in amps: share, steps, and the size of a step
/// (typical of handheld meters; common practice, no source).
const TYPICAL: [(f64, f64, f64); 2] = [(0.005, 2.0, 0.01), (0.02, 5.0, 0.01)];

/// A place that was not read yet, and what a meter would show there by each cause.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// Index of the moment.
    pub moment: usize,
    /// What to read, in words.
    pub what: String,
    /// Volts or amps by each cause, in the order of the causes, as a meter would show them.
    pub shown: Vec<String>,
    /// The greatest difference, in times of what the meter may be off.
    pub times: f64,
}

/// One place.
struct Place {
    what: String,
    probe: Probe,
    volts: bool,
}

/// The place and moment where the causes differ most by the meter's own error; none where no place
/// parts any two of them.
pub(super) fn next(bench: &Bench<'_>, sheet: &mut Sheet, faults: &[Fault]) -> Option<Next> {
    if faults.len() < 2 {
        return None;
    }
    let mut best: Option<(f64, Next)> = None;
    for scene in 0..sheet.scenes.len() {
        let places = places(bench, sheet, scene);
        let probes: Vec<Probe> = places.iter().map(|place| place.probe).collect();
        let by_cause = faults.iter().map(|fault| {
            let changes = fault.changes(bench);
            sheet.scenes[scene].probed(&changes, &probes)
        });
        let Some(by_cause) = by_cause.collect::<Option<Vec<_>>>() else {
            continue;
        };
        for (p, place) in places.iter().enumerate() {
            let shown: Vec<f64> = by_cause.iter().map(|values| values[p]).collect();
            let (worth, times) = worth(&shown, |value| off(sheet, scene, place.volts, value));
            if times > BEYOND && best.as_ref().is_none_or(|(most, _)| worth > *most + 1e-6) {
                let unit = if place.volts { "V" } else { "A" };
                let shown = shown
                    .iter()
                    .map(|v| format!("{} {unit}", fixed(v.abs(), 2)));
                let next = Next {
                    moment: sheet.scenes[scene].moment,
                    what: place.what.clone(),
                    shown: shown.collect(),
                    times,
                };
                best = Some((worth, next));
            }
        }
    }
    best.map(|(_, next)| next)
}

/// How well some values are told apart, over all pairs, and the greatest difference of a pair.
fn worth(shown: &[f64], off: impl Fn(f64) -> f64) -> (f64, f64) {
    let (mut worth, mut most) = (0.0, 0.0_f64);
    for (i, a) in shown.iter().enumerate() {
        for b in &shown[i + 1..] {
            let times = (a - b).abs() / off(a.abs().max(b.abs()));
            worth += times.min(ENOUGH);
            most = most.max(times);
        }
    }
    (worth, most)
}

/// What a meter as the one used there may be off.
fn off(sheet: &Sheet, scene: usize, volts: bool, value: f64) -> f64 {
    let mut seen = sheet.scenes[scene].seen.iter();
    let error: Option<Error> = seen.find(|seen| seen.volts == volts).map(|seen| seen.error);
    match error {
        Some(error) => error.whole(value).max(1e-6),
        None => {
            let (share, steps, step) = TYPICAL[usize::from(!volts)];
            share * value + steps * step
        }
    }
}

/// Where a meter can be held in a moment and was not: across things, along legs, around conductors.
fn places(bench: &Bench<'_>, sheet: &Sheet, scene: usize) -> Vec<Place> {
    let (site, scene) = (bench.site, &sheet.scenes[scene]);
    let mut all = Vec::new();
    let mut across: Vec<Spot> = Vec::new();
    for run in site.runs.iter().filter(|run| run.carries.power) {
        for end in [run.from, run.to] {
            let spot = Spot::Across(end);
            if !across.contains(&spot) {
                across.push(spot);
            }
        }
    }
    for spot in across {
        let probe = scene.probe(bench, spot, (true, false));
        all.extend(probe.map(|probe| Place {
            what: format!("volts at {}", site.spot_text(spot)),
            probe,
            volts: true,
        }));
    }
    for (i, run) in site.runs.iter().enumerate() {
        let [from, to] = [run.from, run.to].map(|end| site.end_text(end));
        for (leg, _) in legs(bench, i) {
            let spot = Spot::Conductor(i, leg);
            let Some(probe) = scene.probe(bench, spot, (false, false)) else {
                continue;
            };
            all.push(Place {
                what: format!("amps of {}", site.spot_text(spot)),
                probe,
                volts: false,
            });
            let word = match leg {
                Leg::Plus if run.carries.power => "plus",
                Leg::Minus => "minus",
                Leg::Plus | Leg::Common | Leg::Shield => continue,
            };
            let terminals = &bench.results.template.terminals;
            let side = usize::from(leg == Leg::Minus);
            let [over, under] = [run.from, run.to].map(|end| terminals.pair(end)[side]);
            all.push(Place {
                what: format!("volts from {from}.{word} to {to}.{word}"),
                probe: Probe::Volts(over, under),
                volts: true,
            });
        }
    }
    all.retain(|place| scene.seen.iter().all(|seen| !same(seen.probe, place.probe)));
    all
}

/// Whether two probes read the same but for the sign.
fn same(a: Probe, b: Probe) -> bool {
    match (a, b) {
        (Probe::Volts(a, b), Probe::Volts(c, d)) => (a, b) == (c, d) || (a, b) == (d, c),
        (Probe::Branch(a, _), Probe::Branch(b, _)) => a == b,
        _ => false,
    }
}
