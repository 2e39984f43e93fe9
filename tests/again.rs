//! A study that starts from the one before an edit is the same as one from nothing.

use farend::report;
use farend::site::{Edit, Project, Site};
use farend::solve::Solver;
use farend::study::Study;
use serde_json::Value;

use crate::oracle::make;
use crate::oracle::random::Random;

/// One change of a value, as a person would type it; not every one is right for the site.
fn edit(random: &mut Random, site: &Site) -> Edit {
    let ohms = |random: &mut Random| format!("{} ohm", random.number(0.05, 3.0));
    match random.below(6) {
        0 | 1 if !site.runs.is_empty() => {
            let run = &site.runs[random.below(site.runs.len())];
            if run.resistance.is_some() {
                return Edit::set("run", &run.name, "resistance", &ohms(random));
            }
            let feet = format!("{} ft", random.number(2.0, 900.0));
            Edit::set("run", &run.name, "length", &feet)
        }
        2 => {
            let supply = &site.supplies[random.below(site.supplies.len())];
            let volts = format!("{} V", random.number(11.0, 26.0));
            Edit::set("supply", &supply.name, "voltage", &volts)
        }
        3 => {
            let supply = &site.supplies[random.below(site.supplies.len())];
            let ohms = if random.chance(0.3) {
                "0 ohm".into()
            } else {
                ohms(random)
            };
            Edit::set("supply", &supply.name, "resistance", &ohms)
        }
        _ => {
            let device = &site.devices[random.below(site.devices.len())];
            let draw = match random.below(4) {
                0 => "off".to_owned(),
                1 => format!("{} mA", random.number(1.0, 900.0)),
                2 => format!("{} W", random.number(0.1, 12.0)),
                _ => format!("{} A at 24 V", random.number(0.01, 0.8)),
            };
            let key = random.pick(&["draw.idle", "draw.active"]);
            Edit::set("device", &device.name, key, &draw)
        }
    }
}

/// Where two texts of JSON differ by more than rounding.
fn difference(path: &str, a: &Value, b: &Value) -> Option<String> {
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64()?, y.as_f64()?);
            // What is left at a node is rounding itself.
            let rounding = path.ends_with("residual_amps");
            let width = match path.rsplit('.').next()? {
                // The cliff is found to 2e-8 of itself, and headroom to 1e-4.
                "value" | "served" => 2e-4,
                // Rounding of the volts is so much in a leg of a micro-ohm.
                "amps" | "return_amps" | "common_amps" | "watts" | "loss_watts" => 1e-7,
                _ => 1e-9,
            };
            let same = rounding || (x - y).abs() <= width * (1.0 + x.abs());
            (!same).then(|| format!("{path}: {x} and {y}"))
        }
        (Value::Array(x), Value::Array(y)) if x.len() == y.len() => {
            let mut pairs = x.iter().zip(y).enumerate();
            pairs.find_map(|(k, (x, y))| difference(&format!("{path}.{k}"), x, y))
        }
        (Value::Object(x), Value::Object(y)) if x.len() == y.len() => x
            .iter()
            .find_map(|(key, x)| difference(&format!("{path}.{key}"), x, y.get(key)?)),
        _ => (a != b).then(|| format!("{path}: {a} and {b}")),
    }
}

#[test]
fn a_study_from_the_one_before_is_the_same_as_one_from_nothing() {
    let (mut edits, mut unserved) = (0, 0);
    for seed in 5000..5060 {
        let mut random = Random::new(seed);
        let mut project = Project::open(&make::make(seed).text()).unwrap();
        let mut solver = Solver::new();
        let mut warm = Study::of(project.site(), &mut solver);
        for _ in 0..12 {
            let edit = edit(&mut random, project.site());
            if project.apply(&edit).is_err() {
                continue;
            }
            let site = project.site();
            warm = warm.again(site, &mut solver);
            let cold = Study::of(site, &mut Solver::new());
            let [warm, cold] = [&warm, &cold].map(|study| {
                serde_json::from_str(&report::json("", site, study, &[]).unwrap()).unwrap()
            });
            if let Some(what) = difference("", &warm, &cold) {
                panic!(
                    "seed {seed}, {}: {what}\n{}",
                    edit.describe(),
                    project.text()
                );
            }
            edits += 1;
            unserved += usize::from(cold.to_string().contains("\"operating_point\":false"));
        }
    }
    assert!(
        edits > 300 && unserved > 20,
        "{edits} edits, {unserved} without operating point"
    );
}
