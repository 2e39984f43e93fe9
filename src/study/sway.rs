//! How far each silent input could move the verdict: the whole study again, with that input at
//! the hard end of what it may well be.

use crate::checks::{Finding, SILENT};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Results;
use crate::site::{Part, Site, Thing};
use crate::solve::Solver;
use crate::study::sway_supply::supply_end;
use crate::study::{Assumption, Study};
use crate::tables::{Material, Stranding};
use crate::units::{
    Draw, ElectricPotential, ElectricalResistance, Measure, ThermodynamicTemperature, spell,
};

/// What one silent input could do.
#[derive(Clone, Debug, PartialEq)]
pub struct Sway {
    /// Index into the study's assumptions.
    pub assumption: usize,
    /// The hard end of its range; `None` where nothing sensible can be tried.
    pub end: Option<String>,
    /// The verdict there; `None` is a pass.
    pub verdict: Option<Severity>,
    /// The device whose least volts fall most there.
    pub device: Option<usize>,
    /// By how much.
    pub fall: ElectricPotential,
    /// What goes wrong there and does not go wrong as taken.
    pub turns: Option<String>,
}

/// Tries every silent input of a study, as long as inputs x devices stay within `most`; what
/// moves the verdict most comes first, what was not tried comes last.
pub(super) fn sways(site: &Site, study: &Study, solver: &mut Solver, most: usize) -> Vec<Sway> {
    let tries = most / site.devices.len().max(1);
    let mut found: Vec<Sway> = study
        .assumptions
        .iter()
        .enumerate()
        .map(|(i, assumption)| {
            let hard = (i < tries).then(|| hard_end(site, assumption)).flatten();
            let Some((end, other)) = hard else {
                return Sway {
                    assumption: i,
                    end: None,
                    verdict: study.verdict,
                    device: None,
                    fall: ElectricPotential::from_base(0.0),
                    turns: None,
                };
            };
            let after = Study::of(&other, solver);
            let (device, fall) = most_fallen(site, &study.results, &after.results);
            Sway {
                assumption: i,
                end: Some(end),
                verdict: after.verdict,
                device,
                fall: ElectricPotential::from_base(fall),
                turns: turned(study, &after),
            }
        })
        .collect();
    let grave = |sway: &Sway| sway.verdict.unwrap_or(Severity::Note);
    found.sort_by(|a, b| {
        (b.turns.is_some(), b.end.is_some())
            .cmp(&(a.turns.is_some(), a.end.is_some()))
            .then(grave(a).cmp(&grave(b)))
            .then(b.fall.base().total_cmp(&a.fall.base()))
    });
    found
}

/// One ask for each thing of which a silent input decides the verdict.
pub(super) fn asks(site: &Site, study: &Study, sways: &[Sway]) -> Vec<Finding> {
    let mut asks: Vec<Finding> = Vec::new();
    for sway in sways {
        let (Some(end), Some(turns)) = (&sway.end, &sway.turns) else {
            continue;
        };
        let a = &study.assumptions[sway.assumption];
        let words = format!(
            "{} is not stated and was taken for {}; at {end} {turns}; {}",
            a.key,
            a.value,
            how_to_get(a.key)
        );
        let subject = a.subject.split('.').next().unwrap_or(&a.subject);
        match asks.iter_mut().find(|f| f.subject == subject) {
            Some(ask) => ask.reword(|known| format!("{known}. Also: {words}")),
            None => {
                let mut ask = SILENT.finding(Severity::Ask, subject, format!("{subject}: {words}"));
                ask.thing = site.names.get(subject).copied();
                asks.push(ask);
            }
        }
    }
    asks
}

/// How a person comes by a value.
fn how_to_get(key: &str) -> &'static str {
    match key {
        "resistance" => "measure the volts across it with current and without: ohm = lost V / A",
        "tolerance" => "read it off the data sheet",
        "efficiency" => "read it off the data sheet, or measure watts out / watts in",
        "splice" => {
            "measure the volts across one with current: ohm = V / A; 10 mohm for gel, 20 mohm for a screw are usual"
        }
        "material" => "read the jacket, or scrape a strand: copper is copper all through",
        "stranding" => "count the strands",
        "resistance_at" => "read the temperature beside the figure in the data sheet",
        _ => "read it off the label or the data sheet",
    }
}

/// What fails after and did not fail before.
fn turned(before: &Study, after: &Study) -> Option<String> {
    let fails = |s: Severity| matches!(s, Severity::Stop | Severity::Fail);
    let was = |finding: &Finding| {
        before.findings.iter().any(|j| {
            j.finding.code == finding.code
                && j.finding.subject == finding.subject
                && fails(j.finding.severity)
        })
    };
    after
        .findings
        .iter()
        .filter(|j| j.counts() && fails(j.finding.severity))
        .find(|j| !was(&j.finding))
        .map(|j| j.finding.message().into_owned())
}

/// Least volts of each device that lives, in the corner low.
fn least(site: &Site, results: &Results) -> Vec<Option<f64>> {
    let mut least: Vec<Option<f64>> = vec![None; site.devices.len()];
    for row in results.rows.iter().filter(|r| r.corner == Corner::Low) {
        for (i, least) in least.iter_mut().enumerate() {
            if results.live[row.case].devices[i]
                && let Some(working) = results.device(row, i)
            {
                let volts = working.volts.base();
                *least = Some(least.map_or(volts, |l| l.min(volts)));
            }
        }
    }
    least
}

fn most_fallen(site: &Site, before: &Results, after: &Results) -> (Option<usize>, f64) {
    let falls = least(site, before)
        .into_iter()
        .zip(least(site, after))
        .enumerate()
        .filter_map(|(i, (before, after))| Some((i, before? - after?)))
        .filter(|(_, fall)| *fall > 1e-9);
    let most = falls.max_by(|a, b| a.1.total_cmp(&b.1));
    most.map_or((None, 0.0), |(i, fall)| (Some(i), fall))
}

/// The site with one silent input at the hard end of its range, and that end in words.
///
/// # Source
/// Common practice, no source: a worn contact or fuse holder has 0.1 ohm, typical draws are off by
/// a quarter and typical windows by 5 %, an old splice has 50 mohm. Copper-clad aluminum is the metal that passes for copper.
fn hard_end(site: &Site, assumption: &Assumption) -> Option<(String, Site)> {
    let ohms = ElectricalResistance::from_base;
    let mut other = site.clone();
    let head = assumption.subject.split('.').next().unwrap_or_default();
    let end = match (site.names.get(head).copied(), assumption.key) {
        (Some(Thing::Supply(i)), _) => {
            let cold = site.design.temperatures.cold;
            supply_end(&mut other.supplies[i], assumption, cold)?
        }
        (Some(Thing::Device(i)), "draw") => {
            let draws = &mut other.devices[i].draw;
            if draws.is_empty() {
                return None;
            }
            draws.iter_mut().for_each(|(_, d)| *d = more(*d, 1.25));
            "a quarter more".to_owned()
        }
        (Some(Thing::Device(i)), "lowest") => {
            let lowest = other.devices[i].lowest? * 1.05;
            other.devices[i].lowest = Some(lowest);
            spell(lowest, "V")
        }
        (Some(Thing::Device(i)), "highest") => {
            let highest = other.devices[i].highest? * 0.95;
            other.devices[i].highest = Some(highest);
            spell(highest, "V")
        }
        (Some(Thing::Run(i)), "splice") => {
            other.runs[i].splice = Some(ohms(0.05));
            "50 mohm".to_owned()
        }
        (_, "resistance") => {
            let parts = site.runs.iter().flat_map(|r| &r.through);
            let part = parts
                .copied()
                .find(|p| site.part_text(*p) == assumption.subject)?;
            match part {
                Part::Fuse(i) => other.fuses[i].resistance = Some(ohms(0.1)),
                Part::Contact(d, r, _) => {
                    other.devices[d].relays[r].resistance = Some(ohms(0.1));
                }
            }
            "0.1 ohm".to_owned()
        }
        (_, key) => {
            let own = site.own_cables.min(site.cables.len());
            let cables = &mut other.cables[..own];
            let cable = cables.iter_mut().find(|c| c.name == assumption.subject)?;
            match key {
                "material" if cable.resistance.is_none() => {
                    cable.material = Material::CopperCladAluminum;
                    "copper-clad aluminum".to_owned()
                }
                "stranding" => {
                    cable.stranding = Stranding::Fine;
                    "fine".to_owned()
                }
                "resistance_at" => {
                    cable.resistance_at = ThermodynamicTemperature::from_base(288.15);
                    "15 C".to_owned()
                }
                _ => return None,
            }
        }
    };
    Some((end, other))
}

/// A draw that takes more.
fn more(draw: Draw, factor: f64) -> Draw {
    match draw {
        Draw::Off => Draw::Off,
        Draw::Current(amps) => Draw::Current(amps * factor),
        Draw::Power(watts) => Draw::Power(watts * factor),
        Draw::Apparent(va) => Draw::Apparent(Measure::from_base(va.base() * factor)),
        Draw::Resistance(ohms) => Draw::Resistance(ohms / factor),
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;
    use rstest::rstest;

    use super::*;

    fn studied(lowest: &str) -> Study {
        studied_within(lowest, 100)
    }

    fn studied_within(lowest: &str, most: usize) -> Study {
        let text = format!(
            r#"format = 1
[supply.psu]
voltage = "24 V"
current = "2 A"
peak = "2 A"
class = "class 2"
[device.hub]
lowest = "{lowest}"
highest = "30 V"
draw = {{ idle = "1 A" }}
[run.W1]
from = "psu"
to = "hub"
resistance = "1 ohm"
"#
        );
        let site = crate::site::read(&text).unwrap();
        let mut solver = Solver::new();
        let mut study = Study::of(&site, &mut solver);
        study.try_silent(&site, &mut solver, most);
        study
    }

    /// By hand: 24 V less 2 x 1 ohm x 1 A is 22 V; 10 % of the volts take 2.4 V more; a source
    /// that sags 8 % at its 2 A has 0.96 ohm and takes 0.96 V more at 1 A.
    #[test]
    fn what_moves_the_volts_most_comes_first_and_by_how_much_is_right() {
        let study = studied("10 V");
        let keys: Vec<&str> = study.assumed().map(|(a, _)| a.key).collect();
        assert_eq!(keys, ["tolerance", "resistance", "code"]);
        assert_relative_eq!(study.sways[0].fall.base(), 2.4, max_relative = 1e-9);
        assert_relative_eq!(study.sways[1].fall.base(), 0.96, max_relative = 1e-9);
        assert!(study.sways.iter().all(|s| s.turns.is_none()));
    }

    #[rstest]
    #[case("19.5 V", false, 0)]
    #[case("19.7 V", true, 1)]
    #[case("21.2 V", true, 2)]
    fn an_input_that_decides_is_asked_for(
        #[case] lowest: &str,
        #[case] asked: bool,
        #[case] deciding: usize,
    ) {
        let study = studied(lowest);
        let asks: Vec<&Finding> = study
            .findings
            .iter()
            .map(|j| &j.finding)
            .filter(|f| f.code == SILENT.code)
            .collect();
        assert_eq!(asks.len(), usize::from(asked), "one ask for one thing");
        let named = ["tolerance is not stated", "resistance is not stated"];
        let found = asks
            .iter()
            .flat_map(|a| named.iter().filter(|n| a.message().contains(**n)));
        assert_eq!(found.count(), deciding);
    }

    /// Two splices of 50 mohm in each leg take 0.2 V more at 1 A.
    #[rstest]
    #[case("splices = 2", Some(0.2))]
    #[case("splices = 2\nsplice = \"10 mohm\"", None)]
    #[case("splices = 0", None)]
    fn splices_of_unknown_ohms_are_tried(#[case] keys: &str, #[case] fall: Option<f64>) {
        let text = format!(
            "format = 1\n[supply.psu]\nvoltage = \"24 V\"\n[device.hub]\ndraw = {{ idle = \"1 A\" }}\n[run.W1]\nfrom = \"psu\"\nto = \"hub\"\ncable = \"18/2\"\nlength = \"10 m\"\n{keys}\n"
        );
        let site = crate::site::read(&text).unwrap();
        let mut solver = Solver::new();
        let mut study = Study::of(&site, &mut solver);
        study.try_silent(&site, &mut solver, 100);
        let own = study.assumed().find(|(a, _)| a.key == "splice");
        let found = own.map(|(_, sway)| sway.unwrap().fall.base());
        assert_eq!(found.is_some(), fall.is_some());
        if let (Some(found), Some(fall)) = (found, fall) {
            assert_relative_eq!(found, fall, max_relative = 1e-9);
        }
    }

    #[test]
    fn what_is_not_tried_stays_in_the_list() {
        let untried = studied_within("21.2 V", 1);
        assert_eq!(untried.assumed().count(), 3);
        let ends = untried
            .assumed()
            .map(|(_, s)| s.and_then(|s| s.end.clone()));
        assert_eq!(ends.flatten().count(), 1);
    }
}
