//! The decks against a circuit simulator, where one is installed.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::process::Command;

use farend::circuit::Corner;
use farend::report::{deck, identifier};
use farend::results::Results;
use farend::site::{self, Site};
use farend::solve::Solver;
use farend::units::Measure;

use crate::oracle::make::make;

/// Random sites tried, and the first of their seeds.
const RANDOM: std::ops::Range<u64> = 1000..1040;
const SIMULATOR: &str = "ngspice";

/// Whether the simulator can be run; on the build machine it must.
pub(crate) fn is_there() -> bool {
    let found = Command::new(SIMULATOR).arg("--version").output().is_ok();
    assert!(
        found || std::env::var_os("CI").is_none(),
        "{SIMULATOR} is not installed"
    );
    if !found {
        println!("note: {SIMULATOR} is not installed, decks are not tried");
    }
    found
}

/// Volts by name as the simulator prints them for a deck.
pub(crate) fn print(deck: &str) -> HashMap<String, f64> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.cir");
    std::fs::write(&file, deck).unwrap();
    let run = Command::new(SIMULATOR)
        .arg("-b")
        .arg(&file)
        .output()
        .unwrap();
    let printed = String::from_utf8_lossy(&run.stdout);
    let mut volts = HashMap::new();
    for line in printed.lines().filter(|l| l.starts_with("v_")) {
        let (name, value) = line.split_once(" = ").unwrap_or_else(|| panic!("'{line}'"));
        let digits = value.split('e').next().unwrap();
        let digits = digits.chars().filter(char::is_ascii_digit).count();
        assert!(digits >= 7 && value.contains('e'), "'{line}'");
        volts.insert(name.to_owned(), value.trim().parse().unwrap());
    }
    assert!(
        !volts.is_empty(),
        "{deck}\n{printed}\n{}",
        String::from_utf8_lossy(&run.stderr)
    );
    volts
}

/// What differs between the results of a site and the simulator's, and how many rows were tried.
fn differences(title: &str, site: &Site) -> (String, usize) {
    let results = Results::of(site, &mut Solver::new(), None);
    let mut found = String::new();
    let mut tried = 0;
    for row in results.rows.iter().filter(|r| r.solution().is_some()) {
        if site.devices.is_empty() {
            continue;
        }
        tried += 1;
        let simulated = print(&deck(site, &results, row));
        for (i, device) in site.devices.iter().enumerate() {
            let expected = results.device(row, i).map_or(0.0, |w| w.volts.base());
            let key = format!("v_{}", identifier(&device.name));
            let there = simulated.get(&key).copied().unwrap_or(f64::NAN);
            let agree = (there - expected).abs() <= 1e-6 * expected.abs().max(1e-6);
            if !agree {
                let case = &results.cases[row.case].name;
                let corner: Corner = row.corner;
                let _ = writeln!(
                    found,
                    "{title}, {case}, {}: {key} {there}, here {expected}",
                    corner.as_str()
                );
            }
        }
    }
    (found, tried)
}

#[test]
fn demo_sites_agree_with_a_simulator() {
    if !is_there() {
        return;
    }
    for demo in &farend::demo::ALL {
        let site = site::read(demo.text).unwrap();
        let (found, tried) = differences(demo.name, &site);
        assert!(found.is_empty() && tried > 0, "{found}");
    }
}

#[test]
fn random_sites_agree_with_a_simulator() {
    if !is_there() {
        return;
    }
    let mut all = String::new();
    let mut rows = 0;
    for seed in RANDOM {
        let site = site::read(&make(seed).text()).unwrap();
        let (found, tried) = differences(&format!("seed {seed}"), &site);
        all += &found;
        rows += tried;
    }
    assert!(all.is_empty() && rows > 100, "{rows} rows\n{all}");
}

/// The text of a site with its supplies on ac, its cables reactive and its devices lagging.
fn on_ac(text: &str) -> String {
    let mut angled = String::new();
    for (line, number) in text.lines().zip(0_u32..) {
        angled += line;
        angled.push('\n');
        let part = f64::from(number % 7) / 7.0;
        let _ = if line.starts_with("[supply.") && !line.contains(".output") {
            writeln!(angled, "kind = \"ac\"\nfrequency = \"50 Hz\"")
        } else if line.starts_with("[cable.") {
            writeln!(angled, "reactance = \"{} ohm/km\"", 0.1 + 30.0 * part)
        } else if line.starts_with("[device.") && !line.contains(".relay") {
            writeln!(angled, "power_factor = {}", 0.3 + 0.7 * part)
        } else {
            Ok(())
        };
    }
    angled
}

/// The text of a site with its supplies behind diodes and limiters, most with ohms of their own.
fn restrained(text: &str) -> String {
    let mut held = String::new();
    for (line, number) in text.lines().zip(0_u32..) {
        let supply = line.starts_with("[supply.") && !line.contains(".output");
        held += line;
        held.push('\n');
        let _ = match number % 4 {
            _ if !supply => Ok(()),
            0 => writeln!(held, "one_way = \"0.45 V\""),
            1 => writeln!(held, "limit = \"hard\"\nlimit_current = \"0.35 A\""),
            2 => writeln!(
                held,
                "one_way = \"0.3 V\"\nlimit = \"hard\"\nlimit_current = \"0.6 A\""
            ),
            _ => writeln!(held, "limit = \"foldback\"\nlimit_current = \"0.8 A\""),
        };
    }
    held
}

#[test]
fn random_restrained_sites_agree_with_a_simulator() {
    if !is_there() {
        return;
    }
    let mut all = String::new();
    let mut rows = 0;
    for seed in RANDOM.take(8) {
        let site = site::read(&restrained(&make(seed).text())).unwrap();
        let (found, tried) = differences(&format!("seed {seed}"), &site);
        all += &found;
        rows += tried;
    }
    assert!(all.is_empty() && rows > 10, "{rows} rows\n{all}");
}

/// The laws themselves, as a simulator has them: a junction diode that is nearly ideal, and a
/// source whose current is bounded by the lesser of two lines.
#[test]
fn diodes_and_limiters_agree_with_a_simulator() {
    if !is_there() {
        return;
    }
    for (manner, held) in [("hard", "1.5"), ("foldback", "0.5 + 1 * V(a) / 23.25")] {
        let site = site::read(&format!(
            r#"format = 1
[supply.psu]
voltage = "24 V"
resistance = "0.5 ohm"
limit = "{manner}"
limit_current = "1.5 A"
[supply.spare]
voltage = "20 V"
resistance = "0.5 ohm"
one_way = "0 V"
[device.hub]
draw = {{ idle = "12 ohm" }}
[device.light]
draw = {{ idle = "30 ohm" }}
[run.W1]
from = "psu"
to = "hub"
resistance = "1 ohm"
[run.W2]
from = "spare"
to = "light"
resistance = "0.5 ohm"
[run.W3]
from = "hub"
to = "light"
resistance = "2 ohm"
"#
        ))
        .unwrap();
        let results = Results::of(&site, &mut Solver::new(), None);
        let volts = [0, 1].map(|i| results.device(&results.rows[0], i).unwrap().volts.base());
        let simulated = print(&format!(
            "* two supplies\nBP 0 a I = min((24 - V(a)) / 0.5, {held})\nRA a b 2\nRH b c 12\nRB c 0 1e-9\n\
             VS s 0 20\nRS s d 0.5\nDS d e near\nRE e f 1\nRL f 0 30\nRW b f 4\n\
             .model near D(n=0.001 is=1e-9)\n.options reltol=1e-7 gmin=1e-12\n\
             .control\nset numdgt=10\nop\nlet v_hub = v(b)\nprint v_hub\nlet v_light = v(f)\nprint v_light\nquit\n.endc\n.end\n"
        ));
        for (name, volts) in ["v_hub", "v_light"].iter().zip(volts) {
            let gap = (simulated[*name] - volts).abs();
            assert!(
                gap < 2e-3,
                "{manner}: {name} {} for {volts}",
                simulated[*name]
            );
        }
    }
}

#[test]
fn random_sites_on_ac_agree_with_a_simulator() {
    if !is_there() {
        return;
    }
    let mut all = String::new();
    let (mut rows, mut angled) = (0, 0);
    for seed in RANDOM.take(15) {
        let site = site::read(&on_ac(&make(seed).text())).unwrap();
        let results = Results::of(&site, &mut Solver::new(), None);
        let phasors =
            |row: &&farend::results::Row| row.solution().is_some_and(|s| s.phasors.is_some());
        angled += results.rows.iter().filter(phasors).count();
        let (found, tried) = differences(&format!("seed {seed}"), &site);
        all += &found;
        rows += tried;
    }
    assert!(
        all.is_empty() && rows > 40 && angled > 25,
        "{rows} rows, {angled} angled\n{all}"
    );
}
