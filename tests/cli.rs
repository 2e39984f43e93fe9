//! The program as it is called: what it prints where, and its exit status.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use farend::demo;
use rstest::rstest;
use serde_json::Value;

fn farend() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_farend"));
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    command
}

fn call(words: &[&str]) -> Output {
    farend().args(words).output().unwrap()
}

fn out(output: &Output) -> &str {
    std::str::from_utf8(&output.stdout).unwrap()
}

fn err(output: &Output) -> &str {
    std::str::from_utf8(&output.stderr).unwrap()
}

fn site(name: &str) -> String {
    format!("demo-sites/{name}.toml")
}

/// A site in a folder of its own.
fn written(text: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.toml");
    std::fs::write(&path, text).unwrap();
    (folder, path)
}

const PASSES: &str = r#"format = 1
[supply.psu]
voltage = "24 V"
tolerance = "0 %"
resistance = "0 ohm"
current = "2 A"
[device.hub]
lowest = "10 V"
highest = "30 V"
draw = { idle = "0.1 A" }
[run.W1]
from = "psu"
to = "hub"
cable = "18/2"
length = "30 ft"
"#;

#[test]
fn check_passes_with_status_0_and_says_nothing_on_stderr() {
    let (_folder, path) = written(PASSES);
    let output = call(&["check", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert!(out(&output).contains("PASS"), "{}", out(&output));
    assert_eq!(err(&output), "");
    assert_eq!(std::fs::read_to_string(path).unwrap(), PASSES);
}

/// A run that became longer, one that came, one that went; the verdict is that of the site itself.
#[test]
fn what_differs_from_the_bid_is_noted() {
    let (_folder, path) = written(PASSES);
    let built = PASSES.replace("length = \"30 ft\"", "length = \"38 ft\"")
        + "[device.lamp]\ndraw = { idle = \"0.1 A\" }\n[run.W2]\nfrom = \"psu\"\nto = \"lamp\"\ncable = \"18/2\"\nlength = \"3 m\"\n";
    let (folder, site) = written(&built);
    let (bid, site) = (path.to_str().unwrap(), site.to_str().unwrap());
    let output = call(&["check", site, "--bid", bid]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    for words in [
        "run W1: length 30 ft in the bid, 38 ft here",
        "run W2 is not in the bid",
        "device lamp is not in the bid",
    ] {
        assert!(out(&output).contains(words), "{}", out(&output));
    }
    let other = call(&["check", bid, "--bid", site]);
    assert!(out(&other).contains("run W2 of the bid is not here"));
    assert!(!out(&call(&["check", bid, "--bid", bid])).contains("bid"));
    let sheet = folder.path().join("findings.csv");
    let sheet = sheet.to_str().unwrap();
    let report = [
        "report", site, "--out", sheet, "--table", "findings", "--bid", bid,
    ];
    assert_eq!(call(&report).status.code(), Some(0));
    assert!(
        std::fs::read_to_string(sheet)
            .unwrap()
            .contains("38 ft here")
    );
    // A bid that is no site, or no file.
    for (bid, status) in [("Cargo.toml", 2), ("nowhere.toml", 3)] {
        let output = call(&["check", site, "--bid", bid]);
        assert_eq!(output.status.code(), Some(status));
        assert!(err(&output).contains(bid), "{}", err(&output));
    }
}

#[rstest]
#[case("orchard-yard", 1)]
#[case("marina-gate", 1)]
#[case("boat-storage", 1)]
#[case("observatory-road", 1)]
#[case("stable-lane", 1)]
#[case("workshop-block", 1)]
fn check_ends_with_1_where_something_fails(#[case] name: &str, #[case] status: i32) {
    for json in [false, true] {
        let file = site(name);
        let mut words = vec!["check", &file];
        words.extend(json.then_some("--json"));
        let output = call(&words);
        assert_eq!(output.status.code(), Some(status), "{}", out(&output));
        assert_eq!(err(&output), "");
    }
}

#[test]
fn the_schema_goes_to_stdout() {
    let output = call(&["schema"]);
    assert_eq!((output.status.code(), err(&output)), (Some(0), ""));
    let schema: Value = serde_json::from_str(out(&output)).unwrap();
    let size = &schema["properties"]["cable"]["additionalProperties"]["properties"]["size"];
    assert!(size["description"].as_str().unwrap().contains("AWG, mm2"));
}

#[test]
fn other_sites_are_still_checked_where_one_is_broken() {
    let broken = "tests/broken/wrong-dimension.toml";
    let (first, last) = (site("marina-gate"), site("orchard-yard"));
    let output = call(&["check", &first, broken, &last, "--json"]);
    assert_eq!(output.status.code(), Some(2));
    let lines: Vec<Value> = out(&output)
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let files: Vec<&Value> = lines.iter().map(|l| &l["file"]).collect();
    assert_eq!(files, [first.as_str(), last.as_str()]);
    assert!(err(&output).contains("wrong-dimension.toml:3:11"));
    let output = call(&["check", &first, broken, &last]);
    assert_eq!(output.status.code(), Some(2));
    assert!(out(&output).contains("Tern Sound") && out(&output).contains("Hollow Creek"));
}

#[test]
fn status_2_is_for_a_call_that_cannot_be_used() {
    let orchard = site("orchard-yard");
    let calls: [&[&str]; 7] = [
        &["check"],
        &["check", "--no-such-option", &orchard],
        &["no-such-verb", "x"],
        &["demo", "no-such-site"],
        &["deck", &orchard, "--case", "gate released"],
        &[
            "deck",
            &orchard,
            "--case",
            "no such case",
            "--corner",
            "low",
        ],
        &[
            "deck",
            &orchard,
            "--case",
            "gate released",
            "--corner",
            "high-up",
        ],
    ];
    for words in calls {
        let output = call(words);
        assert_eq!(output.status.code(), Some(2), "{words:?}: {}", err(&output));
        assert_eq!(out(&output), "", "{words:?}");
        assert_ne!(err(&output), "", "{words:?}");
    }
}

#[test]
fn status_3_is_for_a_file_that_cannot_be_read() {
    for path in ["no-such-folder/site.toml", "demo-sites"] {
        let output = call(&["check", path]);
        assert_eq!(output.status.code(), Some(3), "{path}");
        assert_eq!(out(&output), "");
        assert!(err(&output).contains(path), "{}", err(&output));
    }
}

#[test]
fn help_and_version_go_to_stdout_with_status_0() {
    for word in ["--help", "--version"] {
        let output = call(&[word]);
        assert_eq!(output.status.code(), Some(0));
        assert!(out(&output).contains("farend"));
        assert_eq!(err(&output), "");
    }
}

#[test]
fn demo_lists_every_site_and_prints_each_as_it_is() {
    let list = call(&["demo"]);
    assert_eq!(list.status.code(), Some(0));
    assert_eq!(out(&list).lines().count(), demo::ALL.len());
    for demo in demo::ALL {
        assert!(out(&list).contains(demo.name) && out(&list).contains(demo.shows));
        let printed = call(&["demo", demo.name]);
        assert_eq!(out(&printed), demo.text);
        assert_eq!(printed.status.code(), Some(0));
    }
}

#[test]
fn a_printed_demo_checks_as_the_built_in_one() {
    let (_folder, path) = written(out(&call(&["demo", "stable-lane"])));
    let printed = call(&["check", "--json", path.to_str().unwrap()]);
    let built_in = call(&["check", "--json", &site("stable-lane")]);
    let cases = |output: &Output| serde_json::from_str::<Value>(out(output)).unwrap();
    assert_eq!(cases(&printed)["cases"], cases(&built_in)["cases"]);
}

#[rstest]
#[case("lock on", "nominal")]
#[case("LOCK ON", "NOMINAL")]
#[case("power", "Low")]
#[case("Common CUT", "heavy")]
fn deck_takes_a_unique_start_of_a_case_in_any_letter_case(
    #[case] case: &str,
    #[case] corner: &str,
) {
    let lane = site("stable-lane");
    let output = call(&["deck", &lane, "--case", case, "--corner", corner]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert!(out(&output).contains(".end"), "{}", out(&output));
    assert!(out(&output).contains("v_gate_lock"));
    assert_eq!(err(&output), "");
}

#[test]
fn deck_refuses_a_start_that_two_cases_share_and_names_them() {
    let output = call(&[
        "deck",
        &site("stable-lane"),
        "--case",
        "lock",
        "--corner",
        "low",
    ]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        err(&output).contains("lock off, lock on"),
        "{}",
        err(&output)
    );
}

#[test]
fn what_goes_to_a_pipe_has_no_escapes() {
    let files = [
        site("orchard-yard"),
        "tests/broken/decimal-comma.toml".into(),
    ];
    for no_color in [false, true] {
        let mut command = farend();
        command.args(["check", &files[0], &files[1]]);
        if no_color {
            command.env("NO_COLOR", "1");
        }
        let output = command.output().unwrap();
        assert!(!out(&output).contains('\u{1b}') && !err(&output).contains('\u{1b}'));
    }
}

#[test]
fn control_characters_of_a_file_never_reach_the_output() {
    // As TOML escapes, and as the bytes themselves, which TOML forbids.
    let escaped = PASSES.replace("hub", "h\\u001b[31mub");
    let quoted = escaped.replace("[device.h\\u001b[31mub]", "[device.\"h\\u001b[31mub\"]");
    let raw = PASSES.replace("[supply.psu]", "# \u{1b}[31m\u{7}\n[supply.psu]");
    let name = format!("[site]\nname = \"a\\u009b31m\"\n{PASSES}");
    for text in [quoted, raw, name] {
        let (_folder, path) = written(&text);
        for json in ["--json", "--"] {
            let output = call(&["check", json, path.to_str().unwrap()]);
            assert_eq!(output.status.code(), Some(2), "{}", out(&output));
            let all = [out(&output), err(&output)].concat();
            let escapes = |c: char| c.is_control() && c != '\n';
            assert!(!all.contains(escapes), "{all:?}");
        }
    }
}

#[cfg(unix)]
#[test]
fn control_characters_of_a_file_name_never_reach_the_output() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site\u{1b}[31m.toml");
    for text in [PASSES, "format = 2\n"] {
        std::fs::write(&path, text).unwrap();
        for json in ["--json", "--"] {
            let output = call(&["check", json, path.to_str().unwrap()]);
            assert!(!out(&output).contains('\u{1b}'), "{}", out(&output));
            assert!(!err(&output).contains('\u{1b}'), "{}", err(&output));
        }
    }
}

#[rstest]
#[case(&["check", "--json", "demo-sites/orchard-yard.toml", "demo-sites/stable-lane.toml"])]
#[case(&["demo", "orchard-yard"])]
#[case(&["deck", "demo-sites/stable-lane.toml", "--case", "lock on", "--corner", "low"])]
fn a_closed_pipe_is_no_error(#[case] words: &[&str]) {
    let mut child = farend()
        .args(words)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let status = child.wait().unwrap();
    let mut message = String::new();
    child
        .stderr
        .take()
        .unwrap()
        .read_to_string(&mut message)
        .unwrap();
    assert_eq!(message, "");
    assert!(matches!(status.code(), Some(0 | 1)), "{status}");
}

#[test]
fn what_was_read_is_never_changed() {
    let folder = tempfile::tempdir().unwrap();
    for demo in demo::ALL {
        let path = folder.path().join(demo.name);
        std::fs::write(&path, demo.text).unwrap();
        call(&["check", path.to_str().unwrap()]);
        assert_eq!(std::fs::read_to_string(&path).unwrap(), demo.text);
    }
    assert_eq!(folder.path().read_dir().unwrap().count(), demo::ALL.len());
}

#[test]
fn a_site_may_come_from_standard_input() {
    let file = std::fs::File::open(Path::new(env!("CARGO_MANIFEST_DIR")).join(site("marina-gate")));
    let output = farend()
        .args(["check", "-"])
        .stdin(file.unwrap())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", err(&output));
}

/// The keys of an object where they stand in the text, outermost first.
fn keys_in_order(line: &str, keys: &[&str]) {
    let mut at = 0;
    for key in keys {
        let quoted = format!("\"{key}\":");
        let found = line[at..].find(&quoted);
        at += found.unwrap_or_else(|| panic!("no {key} after byte {at} of {line}")) + quoted.len();
    }
}

fn json(text: &str) -> (String, Value) {
    let (_folder, path) = written(text);
    let output = call(&["check", "--json", path.to_str().unwrap()]);
    let line = out(&output).to_owned();
    let value = serde_json::from_str(&line).unwrap();
    (line, value)
}

#[test]
fn json_has_every_field_in_its_order() {
    let (line, value) = json(demo::find("stable-lane").unwrap().text);
    assert_eq!(line.lines().count(), 1);
    keys_in_order(
        &line,
        &[
            "format",
            "site",
            "file",
            "verdict",
            "cases",
            "assumptions",
            "findings",
        ],
    );
    keys_in_order(
        &line,
        &[
            "cases",
            "name",
            "corner",
            "operating_point",
            "residual_amps",
            "unserved",
            "supplies",
            "id",
            "volts",
            "amps",
            "watts",
            "devices",
            "id",
            "state",
            "volts",
            "amps",
            "watts",
            "negative_volts",
            "junctions",
            "runs",
            "id",
            "amps",
            "return_amps",
            "common_amps",
            "drop_volts",
            "plus_drop",
            "minus_drop",
            "loss_watts",
            "earths",
            "id",
            "amps",
        ],
    );
    keys_in_order(
        &line,
        &[
            "findings", "code", "severity", "subject", "case", "corner", "accepted", "message",
            "value", "limit", "unit", "formula", "source", "fixes",
        ],
    );
    let corners: Vec<&Value> = value["cases"].as_array().unwrap()[..4]
        .iter()
        .map(|c| &c["corner"])
        .collect();
    assert_eq!(corners, ["nominal", "low", "high", "heavy"]);
}

/// Keys that must be there, null or not.
#[track_caller]
fn has(object: &Value, keys: &[&str]) {
    let object = object.as_object().unwrap();
    for key in keys {
        assert!(object.contains_key(*key), "no {key} in {object:?}");
    }
}

#[test]
fn json_says_null_where_nothing_applies() {
    let (_, value) = json(demo::find("stable-lane").unwrap().text);
    let row = &value["cases"][0];
    assert_eq!(row["unserved"], Value::Null);
    let data = row["runs"]
        .as_array()
        .unwrap()
        .iter()
        .find(|r| r["id"] == "D1")
        .unwrap();
    has(data, &["amps", "return_amps", "plus_drop", "minus_drop"]);
    assert_eq!([&data["amps"], &data["return_amps"]], [&Value::Null; 2]);
    for finding in value["findings"].as_array().unwrap() {
        has(
            finding,
            &[
                "case", "corner", "accepted", "value", "limit", "unit", "fixes",
            ],
        );
    }
    // No operating point: the row is there, its numbers are null, and it says how much is served.
    let (_, value) = json(&PASSES.replace("0.1 A", "1000 W"));
    let row = &value["cases"][0];
    assert_eq!(row["operating_point"], false);
    assert_eq!(row["unserved"]["id"], "hub");
    for (list, keys) in [
        ("supplies", &["volts", "amps", "watts"][..]),
        ("devices", &["volts", "amps", "watts", "negative_volts"]),
        (
            "runs",
            &[
                "amps",
                "return_amps",
                "common_amps",
                "drop_volts",
                "loss_watts",
            ],
        ),
    ] {
        for key in keys {
            has(&row[list][0], &[key]);
            assert_eq!(row[list][0][key], Value::Null, "{list} {key}");
        }
    }
    assert_eq!(value["verdict"], "fail");
}

const SIZES: &str = include_str!("screens/sizes.toml");

#[test]
fn size_prints_the_design_and_leaves_the_file_alone() {
    let (_folder, path) = written(SIZES);
    let output = call(&["size", path.to_str().unwrap()]);
    assert_eq!((output.status.code(), err(&output)), (Some(0), ""));
    let text = out(&output);
    assert!(
        text.contains("168.45 USD: nothing cheaper passes"),
        "{text}"
    );
    assert!(text.contains("\n  coil-draw: lock\n"), "{text}");
    assert_eq!(std::fs::read_to_string(path).unwrap(), SIZES);
}

#[test]
fn size_json_has_the_fields_of_the_format_and_no_others() {
    let (_folder, path) = written(SIZES);
    let output = call(&["size", path.to_str().unwrap(), "--json"]);
    let value: Value = serde_json::from_str(out(&output)).unwrap();
    let keys: Vec<&String> = value.as_object().unwrap().keys().collect();
    let mut wanted = [
        "optimal",
        "cost",
        "bound",
        "cost_unit",
        "runs",
        "unsized",
        "unpriced",
        "remaining",
    ];
    wanted.sort_unstable();
    let mut found = keys.clone();
    found.sort();
    assert_eq!(found, wanted);
    assert_eq!(value["optimal"], true);
    assert_eq!(value["cost"], value["bound"]);
    assert_eq!(value["cost_unit"], "price");
    let first = serde_json::json!({ "id": "W1", "cable": "direct 14", "was": "direct 18" });
    assert_eq!(value["runs"][0], first);
    assert_eq!(value["unpriced"], serde_json::json!(["W5", "W7", "W8"]));
}

#[test]
fn size_writes_the_cables_alone_and_what_it_wrote_passes() {
    let (_folder, path) = written(SIZES);
    let file = path.to_str().unwrap();
    let output = call(&["size", file, "--write"]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let text = std::fs::read_to_string(&path).unwrap();
    let changed: Vec<(&str, &str)> = SIZES
        .lines()
        .zip(text.lines())
        .filter(|(a, b)| a != b)
        .collect();
    let was = "cable = \"direct 18\"";
    let wanted = [
        (was, "cable = \"direct 14\""),
        (was, "cable = \"direct 16\""),
    ];
    assert_eq!(changed, wanted);
    assert_eq!(SIZES.lines().count(), text.lines().count());
    assert_eq!(call(&["check", file]).status.code(), Some(0));
}

#[test]
fn size_without_a_passing_design_ends_with_1_and_writes_nothing() {
    let weak = SIZES.replace("current = \"2 A\"", "current = \"500 mA\"");
    let (_folder, path) = written(&weak);
    let file = path.to_str().unwrap();
    let output = call(&["size", file, "--write", "--json"]);
    assert_eq!(output.status.code(), Some(1));
    let value: Value = serde_json::from_str(out(&output)).unwrap();
    assert_eq!(value["optimal"], false);
    assert!(value["cost"].is_null() && value["bound"].is_null());
    assert_eq!(value["runs"], serde_json::json!([]));
    let reason = value["unsized"][0]["reason"].as_str().unwrap();
    assert!(
        reason.contains("no copper cures the budget of a supply"),
        "{reason}"
    );
    assert_eq!(std::fs::read_to_string(path).unwrap(), weak);
}

#[test]
fn size_says_why_and_how_far() {
    let (_folder, path) = written(SIZES);
    let file = path.to_str().unwrap();
    let text = call(&["size", file, "--why"]);
    assert!(
        out(&text).contains("no cheaper, because in direct 16: lock gets"),
        "{}",
        out(&text)
    );
    let text = call(&["size", file, "--longest", "W6"]);
    assert_eq!(text.status.code(), Some(0));
    assert!(
        out(&text).contains("W6: longest that passes, one way"),
        "{}",
        out(&text)
    );
    assert!(
        out(&text).contains(" ft; beyond it old panel gets"),
        "{}",
        out(&text)
    );
}

#[rstest]
#[case(&["--seconds", "-1"])]
#[case(&["--seconds", "NaN"])]
#[case(&["--seconds", "soon"])]
#[case(&["--longest", "no such run"])]
#[case(&["--longest", "W1", "--write"])]
#[case(&["--why", "--json"])]
fn size_refuses_a_call_that_cannot_be_used(#[case] words: &[&str]) {
    let (_folder, path) = written(SIZES);
    let mut all = vec!["size", path.to_str().unwrap()];
    all.extend(words);
    let output = call(&all);
    assert_eq!(output.status.code(), Some(2), "{}", out(&output));
    assert!(!err(&output).is_empty());
    assert_eq!(std::fs::read_to_string(path).unwrap(), SIZES);
}

#[test]
fn size_reads_standard_input_and_does_not_write_there() {
    let output = call(&["size", "-", "--write"]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(call(&["size", "no-such-file.toml"]).status.code(), Some(3));
    assert_eq!(
        call(&["size", "tests/broken/wrong-dimension.toml"])
            .status
            .code(),
        Some(2)
    );
}

#[test]
fn size_ends_in_time_with_what_is_proven() {
    let (_folder, path) = written(SIZES);
    let output = call(&["size", path.to_str().unwrap(), "--seconds", "0", "--json"]);
    assert_eq!(output.status.code(), Some(0));
    let value: Value = serde_json::from_str(out(&output)).unwrap();
    assert_eq!(value["optimal"], false);
    let (cost, bound) = (
        value["cost"].as_f64().unwrap(),
        value["bound"].as_f64().unwrap(),
    );
    assert!(cost > 168.45 && bound < 168.45, "{value}");
}

/// A pipe that nobody writes to would be waited for, for ever.
#[cfg(unix)]
#[test]
fn a_named_pipe_is_refused_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("site.toml");
    let made = Command::new("mkfifo").arg(&pipe).status().unwrap();
    assert!(made.success());
    let output = call(&["check", pipe.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(3));
    assert!(err(&output).contains("is a named pipe"), "{}", err(&output));
}

/// A run that is only drawn leads to no supply: that of the first, as short and in front in the
/// file, counts once it is fitted.
#[test]
fn negatives_are_measured_against_the_nearest_supply_over_fitted_runs() {
    let text = r#"format = 1
[supply.first]
voltage = "12 V"
[supply.second]
voltage = "12 V"
[device.lamp]
draw = { idle = "1 A" }
[run.drawn]
from = "first"
to = "lamp"
resistance = "2 ohm"
fitted = false
[run.power]
from = "second"
to = "lamp"
resistance = "1 ohm"
[run.earth]
from = "first.minus"
to = "lamp.minus"
carries = "bond"
resistance = "3 ohm"
[case.now]
[case.later]
fitted = ["drawn"]
"#;
    let (_folder, path) = written(text);
    let output = call(&["check", "--json", path.to_str().unwrap()]);
    let report: Value = serde_json::from_str(out(&output)).unwrap();
    let negative = |case: &str| {
        let row = (report["cases"].as_array().unwrap().iter())
            .find(|row| row["name"] == case && row["corner"] == "nominal")
            .unwrap();
        row["devices"][0]["negative_volts"].as_f64().unwrap()
    };
    // Nothing flows in the bond alone: all of 1 A returns over 1 ohm.
    assert!((negative("now") - 1.0).abs() < 1e-9, "{}", negative("now"));
    let first = negative("later");
    // Fitted, the return to the first is 2 ohm beside 3 ohm, 1.2 ohm; with its plus 3.2 ohm, so that
    // of 1 A it gives 2/5.2.
    assert!((first - 1.2 * 2.0 / 5.2).abs() < 1e-9, "{first}");
}
