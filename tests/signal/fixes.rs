//! Fixes of signals: each does away with its finding when its edits are made.

use farend::demo;
use farend::site::Project;
use farend::solve::Solver;
use farend::study::{Fix, Study, fixes};

pub(super) fn text(name: &str) -> &'static str {
    demo::ALL.iter().find(|d| d.name == name).unwrap().text
}

/// The fixes of one finding; the edits of each are made and the finding is gone.
#[track_caller]
pub(super) fn proven(text: &str, code: &str, subject: &str) -> Vec<Fix> {
    let project = Project::open(text).unwrap();
    let study = Study::of(project.site(), &mut Solver::new());
    let is_it = |f: &farend::checks::Finding| f.code == code && f.subject == subject;
    let found = study.findings.iter().find(|j| is_it(&j.finding));
    let finding = &found
        .unwrap_or_else(|| panic!("no {code} of {subject}"))
        .finding;
    let all = fixes(project.site(), &study, finding, &mut Solver::new());
    for fix in &all {
        let mut project = Project::open(text).unwrap();
        for edit in &fix.edits {
            project
                .apply(edit)
                .unwrap_or_else(|e| panic!("{}: {e:?}", fix.text));
        }
        let after = Study::of(project.site(), &mut Solver::new());
        let still = after.findings.iter().any(|j| is_it(&j.finding));
        assert!(!still, "{}", fix.text);
    }
    all
}

/// The lane: own pair 0.4 V + 0.226 V, 14 AWG 0.4 V + 0.322 V (NEC's ohms differ by 0.2 %), an
/// isolator 0.4 V; worked by hand.
#[test]
fn the_lane_has_three_ways_out() {
    let all = proven(text("stable-lane"), "wiegand-low", "D1");
    let texts: Vec<&str> = all.iter().map(|f| f.text.as_str()).collect();
    assert_eq!(
        texts,
        [
            "gate lock on a pair of its own from psu, 60 m in power pair: a low then arrives at 0.63 V at most",
            "W1 in 14/2 (was power pair): a low then arrives at 0.73 V at most",
            "an isolator in the data of panel: a low then arrives at 0.40 V at most",
        ]
    );
    // The loop itself ends with the isolator alone.
    let all = proven(text("stable-lane"), "ground-loop", "D1");
    assert!(
        all.iter().all(|f| f.text.starts_with("an isolator")),
        "{all:?}"
    );
    assert_eq!(all.len(), 1);
}

#[test]
fn a_terminator_too_many_goes() {
    let all = proven(text("workshop-block"), "bus-terminators", "gates");
    assert_eq!(all[0].text, "terminators at hub and gate 3 alone");
}

/// With two terminators 560 ohm hold 0.2495 V; 620 ohm would hold 0.226 V, worked by hand.
#[test]
fn stronger_bias_holds_the_line() {
    let two = text("workshop-block")
        .replace("[\"hub\", \"gate 1\", \"gate 2\"]", "[\"hub\", \"gate 3\"]");
    let all = proven(&two, "bus-idle", "gates");
    assert_eq!(all[0].text, "bias resistors of 560 ohm each, at one place");
}

#[test]
fn a_shield_opens_at_one_end() {
    let shielded = text("stable-lane")
        .replace(
            "capacitance = \"100 pF/m\"",
            "capacitance = \"100 pF/m\"\nshielded = true",
        )
        .replace("[run.D1]\n", "[run.D1]\nshield = \"both\"\n");
    let all = proven(&shielded, "shield-bond", "D1");
    assert_eq!(all[0].text, "the shield of D1 bonded at panel alone");
}
