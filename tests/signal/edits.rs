//! Edits of buses, lines, loops and surge parts: the site in memory stays what its text says.

use farend::site::{self, Edit, Project};
use farend::units::Measure;

const SITE: &str = r#"format = 1
[site]
name = "edits"
[supply.psu]
voltage = "12 V"
[device.hub]
kind = "hub"
on = "psu"
[device.node]
kind = "node"
[earth.bar]
kind = "bar"
[bus.B]
rate = "9600 bit/s"
terminators = ["hub", "node"]
bias_at = "hub"
[run.D]
from = "hub"
to = "node"
cable = "22/4"
length = "50 m"
carries = ["power", "rs485"]
bus = "B"
[run.W]
from = "hub"
to = "node"
cable = "22/4"
length = "50 m"
carries = ["wiegand", "loop"]
[run.W.wiegand]
sender = "node"
[run.W.loop]
end = "2.2 kohm"
normal = ["1.9 V", "2.8 V"]
[surge.S]
line = "D"
end = "to"
resistance = "1 ohm"
earth = "bar"
"#;

fn set(kind: &str, name: &str, key: &str, text: &str) -> Edit {
    Edit::set(kind, name, key, text)
}

fn delete(kind: &str, name: &str) -> Edit {
    Edit::Delete {
        table: vec![kind.into(), name.into()],
    }
}

fn add(kind: &str, name: &str, keys: &[(&str, &str)]) -> Edit {
    Edit::Add {
        table: vec![kind.into(), name.into()],
        keys: keys
            .iter()
            .map(|(key, text)| ((*key).to_owned(), (*text).to_owned()))
            .collect(),
    }
}

#[track_caller]
fn agrees(project: &Project) {
    let read = site::read(&project.text()).unwrap_or_else(|e| panic!("{e:#?}\n{}", project.text()));
    assert_eq!(project.site(), &read, "{}", project.text());
}

/// Every edit that is taken leaves a site that reads the same from its text, and so does its undo.
#[test]
fn memory_and_text_stay_the_same() {
    let edits = [
        set("bus", "B", "rate", "115.2 kbit/s"),
        set("bus", "B", "terminators", "hub"),
        set("bus", "B", "bias_at", ""),
        set("bus", "B", "holds_idle", "true"),
        set("run", "D", "length", "60 m"),
        set("run", "D", "bus", ""),
        set("run", "D", "bus", "B"),
        set("run", "W", "wiegand.pull_up", "4.7 kohm"),
        set("run", "W", "loop.normal", "1.8 V, 2.7 V"),
        set("run", "W", "loop.layout", "parallel"),
        set("surge", "S", "resistance", "2.5 ohm"),
        set("surge", "S", "line", "W"),
        set("surge", "S", "end", "from"),
        add("bus", "C", &[("rate", "19.2 kbit/s")]),
        set("run", "D", "bus", "C"),
        delete("bus", "B"),
        add("surge", "T", &[("line", "D"), ("resistance", "0.5 ohm")]),
        delete("surge", "S"),
        delete("earth", "bar"),
    ];
    let mut project = Project::open(SITE).unwrap();
    for edit in &edits {
        project
            .apply(edit)
            .unwrap_or_else(|e| panic!("{}: {e:#?}", edit.describe()));
        agrees(&project);
    }
    while project.undo().is_some() {
        agrees(&project);
    }
    assert_eq!(project.text(), SITE);
    while project.redo().is_some() {
        agrees(&project);
    }
}

/// What other tables name does not go, and an edit that would not read is not taken.
#[test]
fn what_is_named_stays() {
    let refused = [
        delete("bus", "B"),
        delete("earth", "bar"),
        delete("run", "D"),
        delete("device", "node"),
        set("bus", "B", "terminators", "hub, nobody"),
        set("surge", "S", "line", "X"),
        set("surge", "S", "earth", "hub"),
        set("run", "D", "bus", "X"),
        set("run", "D", "carries", "power"),
        set("run", "W", "wiegand.sender", "psu"),
        set("run", "W", "loop.normal", "2.8 V, 1.9 V"),
    ];
    for edit in refused {
        let mut project = Project::open(SITE).unwrap();
        assert!(project.apply(&edit).is_err(), "{}", edit.describe());
        assert_eq!(project.text(), SITE);
        agrees(&project);
    }
}

/// A bond has no surge part: the edit of one key is refused where the whole file would be.
#[test]
fn a_run_with_a_surge_part_does_not_become_a_bond() {
    let text = SITE.replace("carries = [\"power\", \"rs485\"]\nbus = \"B\"\n", "");
    let mut project = Project::open(&text).unwrap();
    assert!(project.apply(&set("run", "D", "carries", "bond")).is_err());
    agrees(&project);
}

/// The surge parts of a run are part of its ohms, edit by edit.
#[test]
fn surge_parts_add_up() {
    let mut project = Project::open(SITE).unwrap();
    let ohms = |project: &Project| project.site().runs[0].surge.base();
    assert!((ohms(&project) - 1.0).abs() < 1e-12);
    let keys = [("line", "D"), ("resistance", "0.5 ohm")];
    project.apply(&add("surge", "T", &keys)).unwrap();
    assert!((ohms(&project) - 1.5).abs() < 1e-12);
    project.apply(&set("run", "D", "length", "70 m")).unwrap();
    assert!((ohms(&project) - 1.5).abs() < 1e-12);
    project.apply(&delete("surge", "S")).unwrap();
    assert!((ohms(&project) - 0.5).abs() < 1e-12);
}
