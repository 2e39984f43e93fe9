//! What no number answers: questions and their answers, cautions, the edition of the code, accepted
//! findings, and the explanation of every check.

mod accepted;
mod explain;

use farend::practice::{asked, cautions};
use farend::report;
use farend::site::{self, Edit, Project};
use farend::solve::Solver;
use farend::study::Study;
use farend::tables::questions;
use rstest::rstest;
use serde_json::Value;

/// The invented site of which every question is asked.
const EVERY: &str = include_str!("every.toml");

/// A site with a gate operator and nothing else.
const GATE: &str = "format = 1
[site]
code = \"NEC 2023\"
[supply.psu]
voltage = \"24 V\"
tolerance = \"0 %\"
resistance = \"0.1 ohm\"
current = \"5 A\"
class = \"class 2\"
[device.gate]
kind = \"operator\"
lowest = \"20 V\"
highest = \"30 V\"
on = \"psu\"
draw = { idle = \"0.1 A\" }
";

fn judged(text: &str) -> Value {
    let site = site::read(text).unwrap_or_else(|errors| panic!("{errors:?}\n{text}"));
    let study = Study::of(&site, &mut Solver::new());
    let json = report::json("test", &site, &study, &[]).unwrap();
    serde_json::from_str(&json).unwrap()
}

fn found<'v>(value: &'v Value, code: &str) -> Vec<&'v Value> {
    let all = value["findings"].as_array().unwrap();
    all.iter().filter(|f| f["code"] == code).collect()
}

#[test]
fn every_question_of_the_table_is_asked_where_it_applies() {
    let site = site::read(EVERY).unwrap();
    let all = asked(&site);
    for question in questions() {
        assert!(
            all.iter().any(|one| one.question.code == question.code),
            "{} is asked nowhere",
            question.code
        );
    }
}

#[test]
fn nothing_is_asked_of_what_says_nothing_of_itself() {
    let text = GATE.replace("kind = \"operator\"\n", "");
    assert!(asked(&site::read(&text).unwrap()).is_empty());
    assert_eq!(judged(&text)["verdict"], "pass");
}

#[test]
fn all_that_is_open_at_a_thing_is_one_ask() {
    let value = judged(GATE);
    assert_eq!(value["verdict"], "ask");
    let open = found(&value, "open-questions");
    let of_gate: Vec<_> = open.iter().filter(|f| f["subject"] == "gate").collect();
    assert_eq!(of_gate.len(), 1);
    let (ask, gate) = (of_gate[0], asked(&site::read(GATE).unwrap()));
    assert_eq!(ask["severity"], "ask");
    let mut count = 0;
    for question in questions() {
        let applies = gate
            .iter()
            .any(|one| one.question.code == question.code && question.of.as_str() == "device");
        let told = ask["message"]
            .as_str()
            .unwrap()
            .contains(&question.question);
        assert_eq!(told, applies, "{}", question.code);
        count += u32::from(applies);
    }
    assert_eq!(ask["value"], f64::from(count));
    assert!(count >= 5);
}

/// A yes takes a question out, a no is a finding of its own, as grave as the table says.
#[test]
fn answers_close_questions_and_a_no_is_a_finding() {
    let yes = |code: &str| format!("{code} = true");
    let gate = site::read(GATE).unwrap();
    let of_gate = asked(&gate)
        .into_iter()
        .filter(|one| one.subject.name(&gate) == "gate");
    let codes: Vec<&str> = of_gate.map(|one| one.question.code.as_str()).collect();
    assert_eq!(codes.len(), 7);
    let all = |but: &str, answer: &str| {
        let answers: Vec<String> = codes
            .iter()
            .filter(|c| **c != but)
            .map(|c| yes(c))
            .chain((!answer.is_empty()).then(|| format!("{but} = {answer}")))
            .collect();
        let site = "[answers]\nroute-walked = true\nlabelled = true\n";
        format!("{GATE}answers = {{ {} }}\n{site}", answers.join(", "))
    };
    let value = judged(&all("two-means", "true"));
    assert_eq!(value["verdict"], "pass", "{:?}", value["findings"]);
    assert_eq!(value["findings"].as_array().unwrap().len(), 0);

    let value = judged(&all("two-means", ""));
    let open = found(&value, "open-questions");
    assert_eq!((open.len(), &open[0]["value"]), (1, &1.0.into()));
    assert_eq!(value["verdict"], "ask");

    for code in codes.iter().copied() {
        let value = judged(&all(code, "false"));
        let no = found(&value, code);
        assert_eq!(no.len(), 1, "{code}");
        let question = questions().iter().find(|q| q.code == code).unwrap();
        assert_eq!(no[0]["severity"], question.no.as_str(), "{code}");
        assert_eq!(no[0]["subject"], "gate");
        assert!(no[0]["source"].as_str().unwrap().len() > 3);
    }
}

/// 60 V dc and 30 V ac, at the highest of the supply.
#[rstest]
#[case("voltage = \"56 V\"\ntolerance = \"7 %\"", false)]
#[case("voltage = \"56 V\"\ntolerance = \"8 %\"", true)]
#[case("voltage = \"48 V\"\nhighest = \"60 V\"", false)]
#[case("voltage = \"48 V\"\nhighest = \"60.1 V\"", true)]
#[case("kind = \"ac\"\nvoltage = \"28 V\"\ntolerance = \"10 %\"", true)]
#[case("kind = \"ac\"\nvoltage = \"27 V\"\ntolerance = \"10 %\"", false)]
fn what_is_over_the_limits_is_for_an_electrician(#[case] keys: &str, #[case] asked: bool) {
    let value = judged(&format!("format = 1\n[supply.psu]\n{keys}\n"));
    let open = found(&value, "open-questions");
    let licensed = |f: &&Value| f["message"].as_str().unwrap().contains("licensed");
    assert_eq!(open.into_iter().any(|f| licensed(&f)), asked);
}

#[test]
fn an_unknown_that_could_stop_is_never_less_than_an_ask() {
    use farend::diagnostic::Severity;
    for question in questions() {
        if question.no == Severity::Stop || question.no == Severity::Fail {
            assert_eq!(question.unknown, Severity::Ask, "{}", question.code);
        }
        let known = [Severity::Ask, Severity::Note];
        assert!(known.contains(&question.unknown), "{}", question.code);
    }
}

/// One answer, one edit, one step back; the file stays as it was around it.
#[rstest]
#[case("device", "hub", "answers.radio-free")]
#[case("run", "W1", "answers.splice-wet")]
#[case("bus", "readers", "answers.bus-signs")]
#[case("supply", "operator", "answers.mains-apart")]
#[case("fuse", "F1", "answers.fuse-for-dc")]
#[case("earth", "rod", "answers.bond-straight")]
#[case("junction", "pit", "answers.box-reached")]
fn an_answer_is_an_edit(#[case] kind: &str, #[case] name: &str, #[case] key: &str) {
    let mut project = Project::open(EVERY).unwrap();
    project.apply(&Edit::set(kind, name, key, "true")).unwrap();
    let code = key.strip_prefix("answers.").unwrap();
    let answer = |project: &Project| {
        let all = asked(project.site());
        let one = all
            .iter()
            .find(|a| a.question.code == code && a.subject.name(project.site()) == name);
        one.unwrap().answer
    };
    assert_eq!(answer(&project), Some(true));
    assert_eq!(
        site::read(&project.text()).unwrap(),
        *project.site(),
        "the document and the site differ"
    );
    project.undo();
    assert_eq!((project.text().as_str(), answer(&project)), (EVERY, None));
}

#[test]
fn an_answer_for_the_whole_site_stands_in_a_table_of_its_own() {
    let mut project = Project::open(GATE).unwrap();
    let edit = Edit::Set {
        table: vec!["answers".into()],
        key: "labelled".into(),
        text: "false".into(),
    };
    project.apply(&edit).unwrap();
    assert!(project.text().contains("[answers]\nlabelled = false\n"));
    let value = judged(&project.text());
    let no = found(&value, "labelled");
    assert_eq!((no.len(), &no[0]["subject"]), (1, &"site".into()));
}

fn codes(text: &str) -> Vec<&'static str> {
    let site = site::read(text).unwrap();
    cautions(&site).iter().map(|c| c.code).collect()
}

#[test]
fn a_site_earns_cautions_by_what_stands_in_it() {
    let plain = codes(&GATE.replace("kind = \"operator\"\n", ""));
    assert_eq!(plain, ["scope", "prove-dead", "mains", "blanks"]);
    assert!(codes(GATE).contains(&"gate"));
    let every = codes(EVERY);
    for code in [
        "gate",
        "way-out",
        "lightning",
        "water",
        "earth",
        "battery",
        "joint",
    ] {
        assert!(every.contains(&code), "{code}");
    }
    for code in ["wet-hands", "network-power", "ladder"] {
        assert!(!every.contains(&code), "{code}");
    }
    let ac = GATE.replace("voltage = \"24 V\"", "kind = \"ac\"\nvoltage = \"24 V\"");
    assert!(codes(&ac).contains(&"wet-hands"));
}

/// Section numbers of the editions: 725.121 became 725.60 in 2023.
#[test]
fn a_finding_cites_its_section_by_the_edition_on_file() {
    let overload = |code: &str| {
        let text = GATE.replace("NEC 2023", code).replace("0.1 A", "4.8 A");
        let value = judged(&text);
        found(&value, "class-limit")[0]["source"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    assert!(overload("NEC 2017").starts_with("NEC 2017 725.121 "));
    assert!(overload("NEC 2023").starts_with("NEC 2023 725.60 "));
    assert!(overload("NEC 2026").starts_with("NEC 2026 Article 721,"));
}

#[test]
fn a_silent_edition_is_an_assumption() {
    let silent = judged(&GATE.replace("code = \"NEC 2023\"\n", ""));
    let named = |value: &Value| {
        let all = value["assumptions"].as_array().unwrap();
        all.iter()
            .any(|a| a["subject"] == "site" && a["key"] == "code" && a["value"] == "NEC 2023")
    };
    assert!(named(&silent));
    assert!(!named(&judged(GATE)));
}

const ACCEPTED: &str = "[[accepted]]
finding = \"open-questions\"
subject = \"gate\"
by = \"R. Sample\"
why = \"asked the owner\"
on = \"2026-11-03\"
";

#[test]
fn who_accepts_a_finding_says_who_why_and_when() {
    let signed = judged(&format!("{GATE}{ACCEPTED}"));
    assert!(found(&signed, "acceptance-unsigned").is_empty());
    assert_eq!(signed["verdict"], "pass");
    let ask = found(&signed, "open-questions");
    let accepted = ask.iter().find(|f| f["subject"] == "gate").unwrap();
    assert_eq!(accepted["accepted"]["by"], "R. Sample");

    let unsigned = judged(&format!(
        "{GATE}{}",
        ACCEPTED.replace("by = \"R. Sample\"\n", "")
    ));
    let told = found(&unsigned, "acceptance-unsigned");
    assert_eq!((told.len(), &told[0]["severity"]), (1, &"warn".into()));
    assert!(told[0]["message"].as_str().unwrap().contains("without by:"));
}

#[test]
fn an_acceptance_of_no_check_names_the_nearest() {
    let text = format!(
        "{GATE}{}",
        ACCEPTED.replace("open-questions", "open-question")
    );
    let value = judged(&text);
    let told = found(&value, "acceptance-unknown");
    assert!(
        told[0]["message"]
            .as_str()
            .unwrap()
            .contains("did you mean 'open-questions'?")
    );
    assert_eq!(value["verdict"], "warn");
}

#[test]
fn the_json_ends_with_the_cautions_by_the_code_on_file() {
    let json = judged(GATE);
    let words: Vec<&str> = (json["cautions"].as_array().unwrap().iter())
        .map(|words| words.as_str().unwrap())
        .collect();
    let earned = cautions(&site::read(GATE).unwrap());
    let earned: Vec<&str> = earned.iter().map(|c| c.words.as_str()).collect();
    assert_eq!(words, earned);
    assert!(words[0].contains("NEC 2023"), "{}", words[0]);
    assert!(words.iter().any(|w| w.contains("gate")), "{words:?}");
}

#[test]
fn the_text_names_who_accepted_what_and_the_cautions() {
    let site = site::read(&format!("{GATE}{ACCEPTED}")).unwrap();
    let study = Study::of(&site, &mut Solver::new());
    let pieces = report::text("gate.toml", &site, &study, &[]);
    let text: String = pieces.into_iter().map(|(_, text)| text).collect();
    assert!(text.contains("accepted by R. Sample, on 2026-11-03: asked the owner"));
    for caution in cautions(&site) {
        assert!(text.contains(&caution.words), "{}", caution.code);
    }
    let sheets = report::sheets(&site, &study, &farend::takeoff::TakeOff::of(&site), &[]);
    let plain = report::plain("gate", &sheets);
    assert!(plain.contains("R. Sample") && plain.contains("A moving gate crushes."));
}
