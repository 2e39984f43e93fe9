//! Time to the proven cheapest cables.

#![allow(clippy::unwrap_used, reason = "a benchmark may fail loudly")]

mod instances;

use std::time::{Duration, Instant};

use farend::site::read;
use farend::size::{self, Watch};
use instances::{Mix, Shape, site};

fn time(text: &str, seconds: f64) -> (Duration, Option<f64>, f64, u64) {
    let site = read(text).unwrap_or_else(|e| panic!("{e:?}"));
    let start = Instant::now();
    let goes_on = || start.elapsed().as_secs_f64() < seconds;
    let watch = Watch {
        goes_on: &goes_on,
        tell: &|_| {},
    };
    let sizing = size::size(&site, &watch);
    (
        start.elapsed(),
        sizing.cost,
        sizing.bound.unwrap_or(f64::NAN),
        u64::from(sizing.optimal),
    )
}

fn main() {
    if std::env::args().any(|a| a == "--test") {
        return;
    }
    let only: Option<String> = std::env::args().skip(1).find(|a| !a.starts_with('-'));
    for shape in Shape::ALL {
        for runs in [10, 30, 100, 300, 1000] {
            for (name, mix) in [
                ("one case", Mix::default()),
                (
                    "cases",
                    Mix {
                        cases: 3,
                        ..Mix::default()
                    },
                ),
                (
                    "laws",
                    Mix {
                        laws: true,
                        ..Mix::default()
                    },
                ),
                (
                    "laws, cases",
                    Mix {
                        laws: true,
                        cases: 3,
                        ..Mix::default()
                    },
                ),
                (
                    "loops",
                    Mix {
                        loops: 2,
                        ..Mix::default()
                    },
                ),
            ] {
                if name != "one case" && runs > 100 {
                    continue;
                }
                if only.as_ref().is_some_and(|o| *o != name) {
                    continue;
                }
                if std::env::var("SHAPE").is_ok_and(|s| !s.split(',').any(|w| w == shape.as_str()))
                {
                    continue;
                }
                if std::env::var("RUNS").is_ok_and(|s| s != runs.to_string()) {
                    continue;
                }
                let text = site(shape, runs, 1, mix);
                let (took, cost, bound, tried) = time(&text, 5.0);
                println!(
                    "{:6} {runs:5} {name:12} {:9.3} ms  cost {:?} bound {bound:.2} tried {tried}",
                    shape.as_str(),
                    took.as_secs_f64() * 1e3,
                    cost.map(|c| (c * 100.0).round() / 100.0)
                );
            }
        }
    }
}
