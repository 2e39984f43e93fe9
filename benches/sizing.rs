//! Time to the proven cheapest cables, beside `HiGHS` on the same sites.
//!
//! `cargo bench --bench sizing -- instances` prints the sites of one case and constant currents
//! as linear problems, which `benches/highs.py` solves and records in `sizing-highs.json`;
//! without a word the sites are sized and held against that record. `mixed` times sites of
//! several cases, other laws of draw and loops.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a benchmark may fail loudly"
)]

mod instances;

use std::time::{Duration, Instant};

use farend::site::{End, Site, read};
use farend::size::{self, Sizing, Watch};
use farend::units::{Draw, Measure, ThermodynamicTemperature};
use instances::{Mix, Shape, site};
use serde_json::{Value, json};

/// Seconds that one site may take.
const MOST_S: f64 = 20.0;
/// Times that each site is sized beside `HiGHS`, of which the best counts, as there.
const TIMES: usize = 3;

fn sized(site: &Site) -> (Duration, Sizing) {
    let start = Instant::now();
    let goes_on = || start.elapsed().as_secs_f64() < MOST_S;
    let watch = Watch {
        goes_on: &goes_on,
        tell: &|_| {},
    };
    let sizing = size::size(site, &watch);
    (start.elapsed(), sizing)
}

/// A tree of constant currents as a linear problem in corner low: what each choice of a run costs
/// and loses, the run above, and the volts that may be lost as far as its device.
fn linear(site: &Site) -> Value {
    let hot = ThermodynamicTemperature::from_base(323.15);
    let amps = |d: usize| match site.devices[d].draw_in("idle") {
        Draw::Current(amps) => amps.base(),
        _ => 0.0,
    };
    // Run and device of one number belong together, and a run hangs on one before it.
    let mut through: Vec<f64> = (0..site.runs.len()).map(amps).collect();
    let above = |i: usize| match site.runs[i].from {
        End::Device(d) => Some(d),
        _ => None,
    };
    for i in (0..site.runs.len()).rev() {
        if let Some(above) = above(i) {
            through[above] += through[i];
        }
    }
    let supply = &site.supplies[0];
    let whole: f64 = (0..site.runs.len()).map(amps).sum();
    let volts = supply.voltage.base() * 0.95 - supply.resistance.unwrap().base() * whole;
    let run = |i: usize| {
        let mut run = site.runs[i].clone();
        let choices: Vec<(f64, f64)> = site
            .choices
            .iter()
            .map(|c| {
                run.cable = Some(*c);
                let ohms = farend::circuit::run_ohms(site, &run, hot);
                let price = site.cables[c.0].price.unwrap().base();
                (price * run.length.base(), (ohms[0] + ohms[1]) * through[i])
            })
            .collect();
        json!({ "above": above(i), "choices": choices, "spare": volts - site.devices[i].lowest.unwrap().base() })
    };
    (0..site.runs.len()).map(run).collect()
}

fn plain() -> impl Iterator<Item = (Shape, u32, u64)> {
    let sizes = |shape| match shape {
        Shape::Chain => &[10, 30, 100, 300][..],
        _ => &[10, 30, 100, 300, 1000],
    };
    let of = move |shape| sizes(shape).iter().map(move |runs| (shape, *runs));
    let all = Shape::ALL.into_iter().flat_map(of);
    all.flat_map(|(shape, runs)| {
        (1..=if runs < 300 { 3 } else { 1 }).map(move |s| (shape, runs, s))
    })
}

fn instances() {
    let each = plain().map(|(shape, runs, seed)| {
        let site = read(&site(shape, runs, seed, Mix::default())).unwrap();
        json!({ "shape": shape.as_str(), "runs": runs, "seed": seed, "problem": linear(&site) })
    });
    println!("{}", Value::Array(each.collect()));
}

fn beside_highs() {
    let record: Value = serde_json::from_str(include_str!("sizing-highs.json")).unwrap();
    println!("HiGHS {}, seconds there and ms here", record["version"]);
    for (shape, runs, seed) in plain() {
        let site = read(&site(shape, runs, seed, Mix::default())).unwrap();
        let times = (0..TIMES).map(|_| sized(&site));
        let (took, sizing) = times.min_by_key(|(took, _)| *took).unwrap();
        let theirs = record["solved"]
            .as_array()
            .unwrap()
            .iter()
            .find(|s| s["shape"] == shape.as_str() && s["runs"] == runs && s["seed"] == seed);
        let cost = sizing.cost.unwrap_or(f64::NAN);
        let (seconds, same) = theirs.map_or((f64::NAN, "no record"), |t| {
            let same = (t["cost"].as_f64().unwrap_or(f64::NAN) - cost).abs() < 0.005;
            (
                t["seconds"].as_f64().unwrap(),
                if same { "same cost" } else { "OTHER COST" },
            )
        });
        println!(
            "{:6} {runs:5} {seed}  {seconds:8.3} s {:9.3} ms  ratio {:7.1}  cost {cost:.2} {same}{}",
            shape.as_str(),
            took.as_secs_f64() * 1e3,
            seconds / took.as_secs_f64(),
            if sizing.optimal { "" } else { ", not proven" },
        );
    }
}

fn mixed() {
    let laws = Mix {
        laws: true,
        ..Mix::default()
    };
    let cases = Mix {
        cases: 3,
        ..Mix::default()
    };
    let both = Mix { cases: 3, ..laws };
    let loops = Mix {
        loops: 2,
        ..Mix::default()
    };
    let words: Vec<String> = std::env::args().skip(2).collect();
    let wanted = |word: &str, all: &[&str]| {
        let mut named = words
            .iter()
            .filter(|w| all.contains(&w.as_str()))
            .peekable();
        named.peek().is_none() || named.any(|w| w == word)
    };
    for shape in Shape::ALL {
        if !wanted(shape.as_str(), &["home", "tree", "chain"]) {
            continue;
        }
        for runs in [10, 30, 100] {
            if !wanted(&runs.to_string(), &["10", "30", "100"]) {
                continue;
            }
            for (name, mix) in [
                ("cases", cases),
                ("laws", laws),
                ("both", both),
                ("loops", loops),
            ] {
                if !wanted(name, &["cases", "laws", "both", "loops"]) {
                    continue;
                }
                for seed in 1..=3 {
                    let site = read(&site(shape, runs, seed, mix)).unwrap();
                    let (took, sizing) = sized(&site);
                    println!(
                        "{:6} {runs:5} {name:6} {seed} {:9.3} ms  cost {:.2}, at least {:.2}",
                        shape.as_str(),
                        took.as_secs_f64() * 1e3,
                        sizing.cost.unwrap_or(f64::NAN),
                        sizing.bound.unwrap_or(f64::NAN),
                    );
                }
            }
        }
    }
}

fn main() {
    let word = std::env::args().skip(1).find(|a| !a.starts_with('-'));
    match word.as_deref() {
        // `cargo test --benches` runs this as a test: nothing to test here.
        None if std::env::args().any(|a| a == "--test") => {}
        Some("instances") => instances(),
        Some("mixed") => mixed(),
        _ => beside_highs(),
    }
}
