//! Costs against those that `HiGHS` finds for the same sites: `benches/highs.py` made the record.

use farend::site::read;
use farend::size::{self, Watch};
use rstest::rstest;
use serde_json::Value;

use super::instances::{Mix, Shape, site};

/// Sites of more runs are left to the benchmark: a test build takes long for them.
const MOST_RUNS: u32 = 100;

#[rstest]
#[case(Shape::Home)]
#[case(Shape::Tree)]
#[case(Shape::Chain)]
fn costs_agree_to_the_cent(#[case] shape: Shape) {
    let record = include_str!("../../benches/sizing-highs.json");
    let record: Value = serde_json::from_str(record).unwrap();
    let mut held = 0;
    for solved in record["solved"].as_array().unwrap() {
        let runs = u32::try_from(solved["runs"].as_u64().unwrap()).unwrap();
        let (seed, cost) = (solved["seed"].as_u64().unwrap(), solved["cost"].as_f64());
        if solved["shape"] != shape.as_str() || runs > MOST_RUNS {
            continue;
        }
        let site = read(&site(shape, runs, seed, Mix::default())).unwrap();
        let sizing = size::size(&site, &Watch::NOBODY);
        let cents = |cost: f64| (100.0 * cost).round();
        assert_eq!(
            sizing.cost.map(cents),
            cost.map(cents),
            "{} {runs} {seed}",
            shape.as_str()
        );
        assert!(sizing.optimal && sizing.cost == sizing.bound);
        held += 1;
    }
    assert_eq!(held, 9);
}
