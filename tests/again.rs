//! A study that starts from the one before an edit is the same as one from nothing.

use farend::demo::ALL;
use farend::report;
use farend::site::{Edit, Project, Site, Thing, fields_of};
use farend::solve::Solver;
use farend::study::Study;
use serde_json::Value;

use crate::oracle::make;
use crate::oracle::random::Random;

/// One change of a value, as a person would type it; not every one is right for the site.
fn edit(random: &mut Random, site: &Site) -> Edit {
    let ohms = |random: &mut Random| format!("{} ohm", random.number(0.05, 3.0));
    match random.below(6) {
        0 | 1 if !site.runs.is_empty() => {
            let run = &site.runs[random.below(site.runs.len())];
            if run.resistance.is_some() {
                return Edit::set("run", &run.name, "resistance", &ohms(random));
            }
            let feet = format!("{} ft", random.number(2.0, 900.0));
            Edit::set("run", &run.name, "length", &feet)
        }
        2 => {
            let supply = &site.supplies[random.below(site.supplies.len())];
            let volts = format!("{} V", random.number(11.0, 26.0));
            Edit::set("supply", &supply.name, "voltage", &volts)
        }
        3 => {
            let supply = &site.supplies[random.below(site.supplies.len())];
            let ohms = if random.chance(0.3) {
                "0 ohm".into()
            } else {
                ohms(random)
            };
            Edit::set("supply", &supply.name, "resistance", &ohms)
        }
        _ => {
            let device = &site.devices[random.below(site.devices.len())];
            let draw = match random.below(4) {
                0 => "off".to_owned(),
                1 => format!("{} mA", random.number(1.0, 900.0)),
                2 => format!("{} W", random.number(0.1, 12.0)),
                _ => format!("{} A at 24 V", random.number(0.01, 0.8)),
            };
            let key = random.pick(&["draw.idle", "draw.active"]);
            Edit::set("device", &device.name, key, &draw)
        }
    }
}

/// Whether two texts are the same but for the last digits of their numbers.
fn same_but_rounding(a: &str, b: &str) -> bool {
    let number = |word: &str| word.parse::<f64>().ok();
    let (a, b) = (a.split(' '), b.split(' '));
    a.clone().count() == b.clone().count()
        && a.zip(b).all(|(a, b)| match (number(a), number(b)) {
            (Some(x), Some(y)) => (x - y).abs() <= 2e-3 * (1.0 + x.abs()),
            _ => a == b,
        })
}

/// Where two texts of JSON differ by more than rounding.
fn difference(path: &str, a: &Value, b: &Value) -> Option<String> {
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64()?, y.as_f64()?);
            // What is left at a node is rounding itself.
            let rounding = path.ends_with("residual_amps");
            let width = match path.rsplit('.').next()? {
                // What stands behind a rectifier is averaged over pulses found by steps.
                _ if path.contains(".dc.") => 1e-6,
                // The cliff is found to 2e-8 of itself, and headroom to 1e-4.
                "value" | "served" => 2e-4,
                // Rounding of the volts is so much in a leg of a micro-ohm.
                "amps" | "return_amps" | "common_amps" | "watts" | "loss_watts" => 1e-7,
                _ => 1e-9,
            };
            let same = rounding || (x - y).abs() <= width * (1.0 + x.abs());
            (!same).then(|| format!("{path}: {x} and {y}"))
        }
        (Value::Array(x), Value::Array(y)) if x.len() == y.len() => {
            let mut pairs = x.iter().zip(y).enumerate();
            pairs.find_map(|(k, (x, y))| difference(&format!("{path}.{k}"), x, y))
        }
        (Value::Array(x), Value::Array(y)) => {
            let lacks = |all: &[Value], one: &Value| !all.contains(one);
            let only = |a: &[Value], b: &[Value]| -> Vec<String> {
                let lone = a.iter().filter(|one| lacks(b, one));
                lone.map(Value::to_string).collect()
            };
            Some(format!("{path}: {:#?} and {:#?}", only(x, y), only(y, x)))
        }
        (Value::Object(x), Value::Object(y)) if x.len() == y.len() => x
            .iter()
            .find_map(|(key, x)| difference(&format!("{path}.{key}"), x, y.get(key)?)),
        (Value::String(x), Value::String(y)) if same_but_rounding(x, y) => None,
        _ => (a != b).then(|| format!("{path}: {a} and {b}")),
    }
}

/// Follows edits of a site and holds every study against one from nothing; says how many edits
/// there were, and how many of the studies lacked an operating point.
fn follow(
    mut project: Project,
    edits: usize,
    mut next: impl FnMut(&Project) -> Option<Edit>,
) -> (usize, usize) {
    let (mut made, mut unserved) = (0, 0);
    let mut solver = Solver::new();
    let mut warm = Study::of(project.site(), &mut solver);
    for _ in 0..edits {
        let Some(edit) = next(&project) else { continue };
        if project.apply(&edit).is_err() {
            continue;
        }
        let touched = project.take_touched();
        let site = project.site();
        warm.follow(site, &touched, &mut solver);
        let cold = Study::of(site, &mut Solver::new());
        let [warm, cold] = [&warm, &cold].map(|study| {
            serde_json::from_str(&report::json("", site, study, &[]).unwrap()).unwrap()
        });
        if let Some(what) = difference("", &warm, &cold) {
            panic!("{}: {what}\n{}", edit.describe(), project.text());
        }
        made += 1;
        unserved += usize::from(cold.to_string().contains("\"operating_point\":false"));
    }
    (made, unserved)
}

#[test]
fn a_study_from_the_one_before_is_the_same_as_one_from_nothing() {
    let (mut edits, mut unserved) = (0, 0);
    for seed in 5000..5060 {
        let mut random = Random::new(seed);
        let project = Project::open(&make::make(seed).text()).unwrap();
        let (made, short) = follow(project, 12, |project| {
            Some(edit(&mut random, project.site()))
        });
        edits += made;
        unserved += short;
    }
    assert!(
        edits > 300 && unserved > 20,
        "{edits} edits, {unserved} without operating point"
    );
}

/// A site in whose text every name of a table of the file has a 2 at its end, and which keeps no
/// values of the whole site: it can stand beside another.
fn renamed(text: &str) -> String {
    let tables: toml::Table = text.parse().unwrap();
    let whole = ["format", "site", "design", "sizing", "labour", "answers"];
    let named = tables
        .iter()
        .filter(|(kind, _)| !whole.contains(&kind.as_str()));
    let mut names: Vec<&String> = named
        .filter_map(|(_, table)| table.as_table())
        .flat_map(|table| table.keys())
        // A letter alone may be a unit.
        .filter(|name| name.len() > 1)
        .collect();
    names.sort_by_key(|name| std::cmp::Reverse(name.len()));
    let mut kept = String::new();
    let mut keeps = false;
    for line in text.lines() {
        let head = line.trim_start_matches('[');
        if line.starts_with('[') {
            let kind = head.split(['.', ']']).next().unwrap();
            keeps = !whole.contains(&kind) && kind != "alternate";
        }
        if !keeps || line.starts_with('#') {
            continue;
        }
        let words = ["kind", "like", "use", "layout", "carries", "for"];
        let as_is = words
            .iter()
            .any(|key| line.starts_with(&format!("{key} =")));
        kept += &(if as_is {
            line.to_owned()
        } else {
            with_2(line, &names)
        });
        kept.push('\n');
    }
    kept
}

/// A line with a 2 behind every name in it.
fn with_2(line: &str, names: &[&String]) -> String {
    let mut out = String::new();
    let mut rest = line;
    while !rest.is_empty() {
        let before = out.chars().last();
        let starts = before.is_none_or(|c| !c.is_alphanumeric() && !"-_".contains(c));
        let name = names.iter().find(|name| {
            let after = rest.strip_prefix(name.as_str());
            starts
                && after.is_some_and(|after| {
                    !after.starts_with(|c: char| c.is_alphanumeric() || "-_".contains(c))
                })
        });
        if let Some(name) = name {
            out += name;
            out.push('2');
            rest = &rest[name.len()..];
        } else {
            let c = rest.chars().next().unwrap();
            out.push(c);
            rest = &rest[c.len_utf8()..];
        }
    }
    out
}

/// A value of any thing, made greater or smaller.
fn scaled(random: &mut Random, project: &Project, may: impl Fn(&str) -> bool) -> Option<Edit> {
    let site = project.site();
    let mut names: Vec<&String> = site.names.keys().filter(|name| may(name)).collect();
    names.sort();
    let name = names[random.below(names.len())].clone();
    let kind = site.names[&name].table();
    let table = [kind.to_owned(), name.clone()];
    let mut keys: Vec<String> = fields_of(kind).iter().map(|f| f.key.to_owned()).collect();
    if let Thing::Device(i) = site.names[&name] {
        keys.extend(
            site.devices[i]
                .draw
                .iter()
                .map(|(state, _)| format!("draw.{state}")),
        );
    }
    let typed: Vec<(String, String)> = keys
        .into_iter()
        .filter_map(|key| {
            let text = project.typed(&table, &key)?;
            text.starts_with(|c: char| c.is_ascii_digit())
                .then_some((key, text))
        })
        .collect();
    let (key, text) = typed.get(random.below(typed.len().max(1)))?;
    let end = text
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .unwrap_or(text.len());
    let number: f64 = text[..end].parse().ok()?;
    let factor = random.number(0.4, 2.5);
    Some(Edit::set(
        kind,
        &name,
        key,
        &format!("{:.3}{}", number * factor, &text[end..]),
    ))
}

/// What does not hang together with what was edited keeps its findings: two of the built-in sites
/// in one file, which know nothing of one another.
#[test]
fn an_edit_of_one_of_two_sites_changes_nothing_of_the_other() {
    let mut edits = 0;
    for (i, demo) in ALL.iter().enumerate() {
        let beside = renamed(ALL[(i + 1) % ALL.len()].text);
        let text = format!("{}\n{beside}", demo.text);
        let project = Project::open(&text).unwrap_or_else(|errors| panic!("{errors:?}\n{text}"));
        let mut random = Random::new(700 + i as u64);
        // What stands behind a rectifier is found in steps: rounding may tell two corners apart.
        let steps = |half: &str| half.contains("rectifier");
        let (one, other) = (!steps(demo.text), !steps(&beside));
        let may = |name: &str| if name.ends_with('2') { other } else { one };
        edits += follow(project, 9, |project| scaled(&mut random, project, may)).0;
    }
    assert!(edits > 30, "{edits} edits");
}

/// A battery runs down on the average draws of the whole site: those of a part that nothing joins to
/// it count where they cannot be served.
#[test]
fn a_part_that_average_draws_bring_down_tells_on_a_battery() {
    let text = "format = 1
[supply.bank]
voltage = \"12 V\"
[supply.bank.battery]
chemistry = \"lead-acid\"
capacity = \"7 Ah\"
hours = \"4 h\"
[device.hub]
draw = { idle = \"2 W\" }
[run.B1]
from = \"bank\"
to = \"hub\"
resistance = \"0.1 ohm\"
[supply.other]
voltage = \"12 V\"
resistance = \"1 ohm\"
[device.far]
draw = { idle = \"1 W\", average = \"20 W\" }
[run.O1]
from = \"other\"
to = \"far\"
resistance = \"0.1 ohm\"
";
    // 144 V^2 / (4 x 10 ohm) are 3.6 W: enough for 1 W, and too little for 20 W.
    let ohms = ["10 ohm", "1 ohm"];
    let edits = ohms.map(|ohms| Edit::set("supply", "other", "resistance", ohms));
    let mut edits = edits.into_iter();
    let (made, _) = follow(Project::open(text).unwrap(), 2, |_| edits.next());
    assert_eq!(made, 2);
}
