//! The program against an independent calculation.
//!
//! Written from the description of the site file alone: random sites, as text for the program and
//! as plain structures for a slow, dense solver. Both must agree on every number.

mod compare;
mod dense;
pub(crate) mod make;
mod network;
mod plan;
pub(crate) mod random;
mod solve;
mod states;
mod wire;

use farend::report;
use farend::site;
use farend::solve::Solver;
use farend::study::Study;
use serde_json::Value;

/// Sites tried by each test.
const SITES: u64 = 75;

fn check(seeds: std::ops::Range<u64>) {
    let mut differences = Vec::new();
    let mut rows = compare::Rows::default();
    for seed in seeds {
        let plan = make::make(seed);
        let text = plan.text();
        let site = site::read(&text)
            .unwrap_or_else(|mistakes| panic!("seed {seed}: {mistakes:#?}\n{text}"));
        let study = Study::of(&site, &mut Solver::new());
        let json = report::json("random.toml", &site, &study, &[]).unwrap();
        let json: Value = serde_json::from_str(&json).unwrap();
        let found = compare::compare(&plan, &json, &mut rows);
        if !found.is_empty() {
            let first = &found[..found.len().min(3)];
            differences.push(format!(
                "seed {seed}: {} differences: {first:#?}\n{text}",
                found.len()
            ));
        }
    }
    println!("{rows:?}");
    assert!(
        differences.is_empty(),
        "{} sites differ\n{}",
        differences.len(),
        differences.join("\n")
    );
    // The comparison means little unless both kinds of row occur.
    assert!(rows.solved > 200 && rows.unserved > 10, "{rows:?}");
}

#[test]
fn random_sites_agree_1() {
    check(0..SITES);
}

#[test]
fn random_sites_agree_2() {
    check(SITES..2 * SITES);
}

#[test]
fn random_sites_agree_3() {
    check(2 * SITES..3 * SITES);
}

#[test]
fn random_sites_agree_4() {
    check(3 * SITES..4 * SITES);
}
