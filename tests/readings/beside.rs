//! Each reading beside the solved site, and what readings leave out.

use farend::alternates::{Watch, alternates};
use farend::demo;
use farend::diagnostic::Severity;
use farend::readings::Readings;
use farend::site::Project;
use farend::solve::Solver;
use rstest::rstest;

use super::{changed, finding, severity, study, text, yard};

/// 24 V as solved; the meter may be off by 2 digits of 10 mV, and twice that is told.
#[rstest]
#[case("psu", "24.04 V", None)]
#[case("psu", "24.05 V", Some("warn"))]
#[case("psu", "23.96 V", None)]
#[case("psu", "23.95 V", Some("warn"))]
// 1 A as solved, 1 digit of 10 mA; which way a clamp lay nobody notes.
#[case("W1", "1.02 A", None)]
#[case("W1", "1.03 A", Some("warn"))]
#[case("W1.minus", "1.02 A", None)]
#[case("W1.minus", "-1.00 A", Some("warn"))]
#[case("hub", "1.03 A", Some("warn"))]
#[case("psu", "1.02 A", None)]
// 0.5 V along each leg; a meter shows which lead is higher.
#[case("psu.plus to hub.plus", "0.50 V", None)]
#[case("hub.minus to psu.minus", "0.55 V", Some("warn"))]
#[case("psu.minus to hub.minus", "0.50 V", Some("warn"))]
fn a_reading_is_off_by_more_than_its_meter(
    #[case] at: &str,
    #[case] value: &str,
    #[case] word: Option<&str>,
) {
    let study = study(&yard("", &[(at, value)]));
    assert_eq!(severity(&study, "reading-off", at), word);
    if word.is_some() {
        let told = finding(&study, "reading-off", at).unwrap();
        assert_eq!(told.case, Some(0));
        assert!(told.value > told.limit);
    }
}

/// The worst of several readings at one place is told, once.
#[test]
fn one_finding_a_place() {
    let study = study(&yard(
        "",
        &[("psu", "24.10 V"), ("psu", "24.50 V"), ("psu", "24.20 V")],
    ));
    let told = finding(&study, "reading-off", "psu").unwrap();
    assert!(told.message().contains("24.500 V"), "{}", told.message());
}

/// What stands in one set has the case of the set.
#[test]
fn a_reading_takes_its_case_from_its_set() {
    let text = yard("", &[("psu", "24.00 V"), ("hub", "22.00 V")]);
    let text = text.replacen("case = \"all idle\"\n", "case = \"all idle\"\nset = 7\n", 1);
    let (head, last) = text.rsplit_once("case = \"all idle\"\n").unwrap();
    let study = study(&format!("{head}set = 7\n{last}"));
    assert_eq!(study.readings.moments.len(), 1);
    assert_eq!(severity(&study, "reading-off", "hub"), Some("warn"));
}

/// One ask for the site, however much is left out; none where nothing is.
#[rstest]
#[case("meter = \"M1\"\n", "", "name no meter")]
#[case("case = \"all idle\"\n", "", "name no case")]
#[case("case = \"all idle\"\n", "case = \"hub inrush\"\n", "name no case")]
#[case("amps = \"1 digit\"\n", "", "states no error for such a value")]
#[case("time = \"Monday\"\n", "", "when they were taken")]
#[case("temperature = \"20 C\"\n", "", "how warm")]
#[case(
    "at = \"W1\"\nvalue = \"1.00 A\"",
    "at = \"hub\"\nvalue = \"23.00 V\"",
    "without amps"
)]
fn what_is_left_out_is_asked_once(#[case] from: &str, #[case] to: &str, #[case] words: &str) {
    let readings = [("psu", "24.00 V"), ("hub", "23.00 V"), ("W1", "1.00 A")];
    let whole = yard("", &readings).replace(
        "case = \"all idle\"\n",
        "case = \"all idle\"\ntime = \"Monday\"\ntemperature = \"20 C\"\n",
    );
    assert_eq!(severity(&study(&whole), "reading-missing", "site"), None);
    let study = study(&changed(&whole, from, to));
    let asks = study
        .findings
        .iter()
        .filter(|j| j.finding.code == "reading-missing");
    assert_eq!(asks.count(), 1);
    let message = finding(&study, "reading-missing", "site")
        .unwrap()
        .message();
    assert!(message.contains(words), "{message}");
}

/// Nothing is compared or said on a site without readings.
#[test]
fn a_site_without_readings_has_none() {
    for demo in demo::ALL.iter().filter(|d| !d.text.contains("[[reading]]")) {
        assert_eq!(
            study(demo.text).readings,
            Readings::default(),
            "{}",
            demo.name
        );
    }
}

/// Readings on ac, of a case without an operating point, of what is off or not connected, of one
/// and the same thing twice: nothing to infer, and nothing breaks.
#[test]
fn readings_of_any_network_do_no_harm() {
    let ac = format!(
        "{}\n[[reading]]\nat = \"shed\"\nvalue = \"26.1 V\"\ncase = \"all idle\"\n[[reading]]\nat = \"hub\"\nvalue = \"25.1 V\"\nset = 1\n[[reading]]\nat = \"shed\"\nvalue = \"26.1 V\"\nset = 1\n",
        text("marina-gate")
    );
    study(&ac);
    let dead = changed(
        &yard(
            "",
            &[
                ("psu", "24.00 V"),
                ("hub", "3 V"),
                ("W1", "1.00 A"),
                ("W1", "9 ohm"),
            ],
        ),
        "1 A\"",
        "200 W\"",
    );
    study(&dead);
    let apart = changed(
        &yard(
            "",
            &[
                ("psu.plus to hub.plus", "0.1 V"),
                ("hub", "0.00 V"),
                ("W1", "0.00 A"),
                ("W1.shield", "0.1 A"),
                ("W1.common", "1 ohm"),
            ],
        ),
        "to = \"hub\"\n",
        "to = \"hub\"\nfitted = false\n",
    );
    study(&apart);
    let insulation = changed(
        &yard("", &[("W1", "20 Mohm")]),
        "20 Mohm\"\n",
        "20 Mohm\"\nkind = \"insulation\"\n",
    );
    let study = study(&insulation);
    assert_eq!(study.readings.taken[0].model, None);
    assert!(study.readings.paths.is_empty());
}

/// Other designs are judged without the readings, which are of what lies in the ground.
#[test]
fn another_design_has_no_readings() {
    let alternate = "\n[alternate.thick]\nset = { \"W1.resistance\" = \"0.4 ohm\" }\n";
    let readings = [("psu", "24.00 V"), ("hub", "8.00 V"), ("W1", "1.00 A")];
    let text = format!("{}{alternate}", yard("", &readings));
    let project = Project::open(&text).unwrap();
    let designs = alternates(&project, &mut Solver::new(), &Watch::NOBODY);
    let grave = |name: &str| {
        let design = designs.iter().find(|d| d.name == name).unwrap();
        design.outcome.as_ref().unwrap().grave
    };
    assert!(severity(&study(&text), "found-low", "hub").is_some());
    assert!(grave("thick") < study(&text).count(Severity::Fail));
}
