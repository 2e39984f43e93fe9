//! How far a run may go, and how much more a device may draw, before something fails.

use crate::circuit::{Law, Load};
use crate::site::Site;
use crate::size::ladder::gravest;
use crate::size::options::{Options, choices_of, wires_in};
use crate::size::row::Bearer;
use crate::size::trial::{Bench, Fault, Trial};
use crate::units::{ElectricCurrent, Length, Measure};

/// Feet are told to a tenth.
const TENTH_FT: f64 = 0.03048;
/// Longest length of the format, in metres.
const FARTHEST_M: f64 = 100_000.0;
/// Lengths looked at before the last passing one is narrowed down: each a sixth longer than the
/// one before. What passes again beyond a length that fails is found where it is that wide.
const STEP: f64 = 7.0 / 6.0;
/// Extra amperes that are looked at, at most.
const MOST_A: f64 = 1000.0;

/// How far a run may go in a cable.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// The cable, as the file names it.
    pub cable: String,
    /// The longest that passes, to 0.1 ft below; `None` where no length does.
    pub longest: Option<Length>,
    /// Whether it passes at the longest length that the format knows.
    pub endless: bool,
    /// Some length shorter than the longest fails.
    pub gaps: bool,
    /// What fails just beyond.
    pub binds: Option<String>,
}

/// How much more a device may draw.
#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    /// Constant current beside what it draws, in every case, to 1 mA below.
    pub extra: ElectricCurrent,
    /// What fails just beyond.
    pub binds: Option<String>,
}

/// The longest lengths of a run with which the site passes, by cable; for one device, with which
/// that device has its volts and the run bears its amps.
pub fn longest(site: &Site, run: usize, device: Option<usize>) -> Vec<Reach> {
    let mut cables = choices_of(site, &site.runs[run]).to_vec();
    if cables.is_empty() {
        cables.extend(site.runs[run].jacket);
    }
    if site.runs[run].resistance.is_some() {
        cables.clear();
    }
    let mut tried = site.clone();
    let reach = |cable| {
        tried.runs[run].cable = wires_in(site, &site.runs[run], cable);
        tried.runs[run].jacket = Some(cable);
        let mut fault = |length_m: f64| {
            tried.runs[run].length = Length::from_base(length_m);
            let mut bench = Bench::of(&tried, Options::none());
            let trial = counted(&tried, bench.trial(&[]), run, device);
            gravest(&tried, &bench, &trial)
        };
        let mut reach = farthest(&mut fault);
        reach.cable.clone_from(&site.cables[cable.0].name);
        reach
    };
    cables.into_iter().map(reach).collect()
}

/// Leaves those faults that count for a run and a device.
fn counted(site: &Site, mut trial: Trial, run: usize, device: Option<usize>) -> Trial {
    if let Some(device) = device {
        let own = &site.runs[run].raceway;
        trial
            .full
            .retain(|f| own.as_ref() == Some(&site.raceways[f.raceway].name));
        trial.faults.retain(|(_, fault)| match fault {
            Fault::NoPoint => true,
            Fault::Low(d, ..) | Fault::High(d, ..) => *d == device,
            Fault::Carries(bearer, ..) => *bearer == Bearer::Run(run),
            Fault::Supply(..) => false,
        });
    }
    trial
}

/// Looks along all lengths for the last that passes, then narrows it down.
fn farthest(fault: &mut dyn FnMut(f64) -> Option<String>) -> Reach {
    let mut reach = Reach {
        cable: String::new(),
        longest: None,
        endless: false,
        gaps: false,
        binds: None,
    };
    let mut lengths = vec![TENTH_FT];
    while let Some(last) = lengths.last().filter(|l| **l < FARTHEST_M) {
        lengths.push((last * STEP).min(FARTHEST_M));
    }
    let passes: Vec<bool> = lengths.iter().map(|l| fault(*l).is_none()).collect();
    let Some(last) = passes.iter().rposition(|p| *p) else {
        reach.binds = fault(TENTH_FT);
        return reach;
    };
    reach.gaps = passes[..last].contains(&false);
    let Some(beyond) = lengths.get(last + 1) else {
        reach.endless = true;
        reach.longest = Some(Length::from_base(FARTHEST_M));
        return reach;
    };
    let (mut good, mut bad) = (lengths[last], *beyond);
    while bad - good > 0.01 * TENTH_FT {
        let middle = 0.5 * (good + bad);
        *if fault(middle).is_none() {
            &mut good
        } else {
            &mut bad
        } = middle;
    }
    // Told to a tenth of a foot, and that passes.
    let tenths = (good / TENTH_FT + 1e-6).floor() * TENTH_FT;
    let told = if fault(tenths).is_none() {
        tenths
    } else {
        good
    };
    reach.longest = Some(Length::from_base(told));
    reach.binds = fault(bad);
    reach
}

/// The greatest constant current that a device may draw beside its own, with which the site still
/// passes; `None` where it does not pass as it stands.
pub fn room(site: &Site, device: usize) -> Option<Room> {
    let mut bench = Bench::of(site, Options::none());
    let [plus, minus] = bench.devices[device];
    for row in &mut bench.rows {
        row.circuit.loads.push(Load {
            plus,
            minus,
            law: Law::Off,
        });
    }
    let mut fault = |amps: f64| {
        for row in bench.rows.iter_mut().filter(|r| r.live.devices[device]) {
            if let Some(load) = row.circuit.loads.last_mut() {
                load.law = Law::Current(amps);
            }
        }
        let trial = bench.trial(&[]);
        gravest(site, &bench, &trial)
    };
    if fault(0.0).is_some() {
        return None;
    }
    let (mut good, mut bad) = (0.0, 0.001);
    while bad < MOST_A && fault(bad).is_none() {
        (good, bad) = (bad, 2.0 * bad);
    }
    while bad - good > 1e-5 && bad < MOST_A {
        let middle = 0.5 * (good + bad);
        *if fault(middle).is_none() {
            &mut good
        } else {
            &mut bad
        } = middle;
    }
    let told = (good * 1000.0 + 1e-6).floor() / 1000.0;
    Some(Room {
        extra: ElectricCurrent::from_base(told),
        binds: fault(bad),
    })
}
