//! Conductors that lie together: NEC Table 310.15(C)(1) by analogy (secondary copies seen).

use farend::tables::bundled_share;
use farend::units::Measure as _;
use rstest::rstest;

use super::{finding, grade};

/// So many runs of 18 AWG, 6 A by its table, each with a load of so many amps, in one raceway.
fn yard(runs: usize, amps: &str, raceway: &str) -> String {
    let mut text = format!(
        "format = 1\n[supply.psu]\nvoltage = \"24 V\"\ntolerance = \"0 %\"\nresistance = \"0 ohm\"\n[raceway.T1]\n{raceway}\n"
    );
    for i in 0..runs {
        text += &format!(
            "[device.d{i}]\ndraw = {{ idle = \"{amps}\" }}\n[run.W{i}]\nfrom = \"psu\"\nto = \"d{i}\"\ncable = \"18/2\"\nlength = \"5 m\"\nraceway = \"T1\"\n"
        );
    }
    text
}

#[rstest]
#[case(3, None)]
#[case(4, Some(0.8))]
#[case(6, Some(0.8))]
#[case(7, Some(0.7))]
#[case(9, Some(0.7))]
#[case(10, Some(0.5))]
#[case(20, Some(0.5))]
#[case(21, Some(0.45))]
#[case(31, Some(0.4))]
#[case(41, Some(0.35))]
fn the_shares_are_those_of_the_table(#[case] conductors: u32, #[case] share: Option<f64>) {
    let found = bundled_share(conductors).map(|share| share.base());
    assert_eq!(
        found.map(|f| (f * 100.0).round()),
        share.map(|f| (f * 100.0).round())
    );
}

/// One run has two conductors; three of them six: 80 % of 6 A are 4.8 A; five ten: 3 A. In the
/// corner heavy nothing is added to a draw without a tolerance.
#[rstest]
#[case(1, "5 A", None)]
#[case(2, "4.79 A", Some("note"))]
#[case(2, "4.81 A", Some("warn"))]
#[case(3, "4.81 A", Some("warn"))]
#[case(4, "4.19 A", Some("note"))]
#[case(4, "4.21 A", Some("warn"))]
#[case(5, "2.99 A", Some("note"))]
#[case(5, "3.01 A", Some("warn"))]
// A tenth of 6 A and less does not count.
#[case(5, "0.60 A", None)]
#[case(5, "0.61 A", Some("note"))]
fn a_run_carries_less_beside_others(
    #[case] runs: usize,
    #[case] amps: &str,
    #[case] word: Option<&str>,
) {
    let text = yard(runs, amps, "length = \"5 m\"");
    assert_eq!(grade(&text, "bundled-amps", "T1").as_deref(), word);
}

/// 24 in are 0.6096 m.
#[rstest]
#[case("24 in", None)]
#[case("25 in", Some("warn"))]
fn a_short_nipple_is_let_pass(#[case] length: &str, #[case] word: Option<&str>) {
    let text = yard(3, "5 A", &format!("length = \"{length}\""));
    assert_eq!(grade(&text, "bundled-amps", "T1").as_deref(), word);
}

/// Two pairs in parallel are four conductors in one jacket: 80 % of 6 A in each.
#[rstest]
#[case("9.5 A", Some("note"))]
#[case("9.7 A", Some("warn"))]
fn a_jacket_counts_without_a_raceway(#[case] amps: &str, #[case] word: Option<&str>) {
    let text = yard(1, amps, "length = \"5 m\"")
        .replace("cable = \"18/2\"", "cable = \"18/4\"\nparallel = 2")
        .replace("raceway = \"T1\"\n", "");
    assert_eq!(
        grade(&text, "bundled-amps", "jacket of W0").as_deref(),
        word
    );
    let told = finding(&text, "bundled-amps", "jacket of W0").unwrap();
    assert!(told["message"].as_str().unwrap().contains("4 conductors"));
}
