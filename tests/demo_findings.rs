//! What the program must say of each built-in site, and what it must not.
//!
//! The lists were worked out by hand with the figures of the sites, before there was a program.

use farend::demo;
use farend::site;
use farend::solve::Solver;
use farend::study::Study;

/// One built-in site: severity, code and subject that must be there; code and subject that must not.
struct Expected {
    demo: &'static str,
    there: &'static [(&'static str, &'static str, &'static str)],
    absent: &'static [(&'static str, &'static str)],
}

const EXPECTED: [Expected; 6] = [
    // No cable cures the rating; the lock's own amps hold its volts down.
    Expected {
        demo: "orchard-yard",
        there: &[
            ("fail", "low-volts", "hub"),
            ("fail", "low-volts", "walk lock"),
            ("fail", "over-rating", "operator"),
            ("fail", "reboot-loop", "hub"),
            ("fail", "fuse-short", "F1"),
            ("fail", "clamp-missing", "walk lock"),
            ("ask", "exit-unknown", "walk gate"),
            ("warn", "headroom", "hub"),
            ("note", "shared-return", "walk lock"),
            ("warn", "surge-missing", "hub"),
            ("ask", "signal-unknown", "C"),
            ("ask", "metal-unknown", "site"),
        ],
        absent: &[
            ("high-volts", "walk lock"),
            ("high-volts", "hub"),
            ("ground-loop", "C"),
            ("wiegand-low", "C"),
            ("wiegand-length", "C"),
            ("safety-on-hub", "photo eyes"),
            ("signal-unknown", "photo eyes"),
        ],
    },
    // Dc over 30 V with little drawn, two kinds of rectifier on one common, wet skin, a full
    // transformer.
    Expected {
        demo: "marina-gate",
        there: &[
            ("stop", "dc-over", "hub"),
            ("stop", "mixed-rectifiers", "hub"),
            ("stop", "diode-on-ac", "strike"),
            ("warn", "wet-contact", "shed"),
            ("warn", "transformer-va", "shed"),
            ("warn", "surge-missing", "hub"),
            ("note", "pulse-amps", "hub"),
        ],
        absent: &[
            ("dc-under", "hub"),
            ("low-volts", "strike"),
            ("over-rating", "shed"),
            ("wiegand-length", "W4"),
        ],
    },
    // The lock is weak, the hub is well.
    Expected {
        demo: "boat-storage",
        there: &[
            ("fail", "low-volts", "lot lock"),
            ("warn", "surge-missing", "hub"),
        ],
        absent: &[
            ("low-volts", "hub"),
            ("near-low", "hub"),
            ("high-volts", "lot lock"),
            ("over-rating", "lot supply"),
        ],
    },
    // Too little sun, a hub that dies before the battery is switched off; well at 12.8 V.
    Expected {
        demo: "observatory-road",
        there: &[
            ("fail", "solar-energy", "bank"),
            ("fail", "dark-days", "bank"),
            ("fail", "battery-end-volts", "hub"),
            ("warn", "charge-volts", "strike"),
            ("warn", "surge-missing", "hub"),
            ("warn", "surge-missing", "bank"),
        ],
        absent: &[
            ("low-volts", "hub"),
            ("near-low", "hub"),
            ("high-volts", "hub"),
            ("low-volts", "strike"),
            ("battery-fuse", "bank"),
        ],
    },
    // The loop by name, what it does to the data, what hides in it, what not to do about it.
    Expected {
        demo: "stable-lane",
        there: &[
            ("warn", "ground-loop", "D1"),
            ("warn", "ground-loop", "tack rod"),
            ("warn", "ground-loop", "fence at the barn"),
            ("warn", "signal-return", "D1"),
            ("fail", "wiegand-low", "D1"),
            ("warn", "hidden-return", "W1"),
            ("note", "cut-common", "D1"),
            ("ask", "metal-unknown", "site"),
            ("warn", "coil-draw", "gate lock"),
        ],
        absent: &[
            ("low-volts", "hub"),
            ("earth-return", "hub"),
            ("wiegand-edge", "D1"),
            ("wiegand-pulse", "D1"),
            ("wiegand-length", "D1"),
            ("wiegand-high", "D1"),
            ("signal-unknown", "D1"),
            ("conductor-amps", "D1"),
        ],
    },
    // Volts pass, watts and metres do not; a star of a bus with too much on it; two buildings.
    Expected {
        demo: "workshop-block",
        there: &[
            ("fail", "channel-length", "hub"),
            ("fail", "poe-watts", "hub"),
            ("stop", "exit-release", "exit lock"),
            ("stop", "exit-fire", "exit lock"),
            ("stop", "exit-held", "exit lock"),
            ("ask", "relay-unknown", "strike 1"),
            ("fail", "over-rating", "port"),
            ("fail", "bus-terminators", "gates"),
            ("fail", "bus-idle", "gates"),
            ("warn", "bus-reference", "gates"),
            ("warn", "bus-stubs", "gates"),
            ("warn", "copper-between-earths", "E1"),
            ("warn", "copper-between-earths", "R1"),
            ("warn", "rods-apart", "earth of block B"),
            ("warn", "near-low", "strike 1"),
            ("warn", "near-low", "strike 2"),
        ],
        absent: &[
            ("low-volts", "hub"),
            ("near-low", "hub"),
            ("low-volts", "strike 1"),
            ("bus-rate", "gates"),
            ("bus-swing", "gates"),
            ("bus-units", "gates"),
            ("bus-common-mode", "gates"),
            ("signal-unknown", "gates"),
            ("unreached", "star box"),
        ],
    },
];

fn study(text: &str) -> Study {
    let site = site::read(text).unwrap_or_else(|e| panic!("{e:#?}"));
    Study::of(&site, &mut Solver::new())
}

#[test]
fn every_built_in_site_is_told_what_is_wrong_with_it_and_nothing_else() {
    let mut wrong = Vec::new();
    for demo in demo::ALL {
        let expected = EXPECTED.iter().find(|e| e.demo == demo.name);
        let expected = expected.unwrap_or_else(|| panic!("{} has no list", demo.name));
        let study = study(demo.text);
        let severity = |code: &str, subject: &str| {
            let found = study.findings.iter().map(|j| &j.finding);
            let mut own = found.filter(|f| f.code == code && f.subject == subject);
            own.next().map(|f| f.severity.as_str())
        };
        for (wanted, code, subject) in expected.there {
            let found = severity(code, subject);
            if found != Some(wanted) {
                wrong.push(format!("{}: {code} of {subject} is {found:?}", demo.name));
            }
        }
        for (code, subject) in expected.absent {
            if let Some(found) = severity(code, subject) {
                wrong.push(format!("{}: {code} of {subject} is a {found}", demo.name));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// One finding a check and subject, in every built-in site.
#[test]
fn no_finding_comes_twice() {
    for demo in demo::ALL {
        let study = study(demo.text);
        let mut seen = std::collections::BTreeSet::new();
        for judged in &study.findings {
            let key = (judged.finding.code, &judged.finding.subject);
            assert!(seen.insert(key), "{}: {key:?} twice", demo.name);
        }
    }
}

/// The text with one passage replaced, which must be there.
#[track_caller]
fn changed(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "'{from}' is not in the site");
    text.replacen(from, to, 1)
}

fn text(name: &str) -> &'static str {
    demo::ALL.iter().find(|d| d.name == name).unwrap().text
}

/// Without the lock's current a low arrives at 0.63 V, and that is a low.
#[test]
fn the_lane_reads_while_its_lock_is_off() {
    let lane = text("stable-lane").replace(
        "{ \"gate lock\" = \"hold\" }",
        "{ \"gate lock\" = \"off\" }",
    );
    let found = study(&lane);
    let low = found
        .findings
        .iter()
        .any(|j| j.finding.code == "wiegand-low");
    assert!(!low);
    let lane = changed(&lane, "low_in = \"0.8 V\"", "low_in = \"0.62 V\"");
    let found = study(&lane);
    let low = found
        .findings
        .iter()
        .find(|j| j.finding.code == "wiegand-low");
    let volts = low.unwrap().finding.value.unwrap();
    assert!((volts - 0.63).abs() < 0.005, "{volts}");
}

/// The bus repaired: two terminators and 560 ohm, a line without a star, a third conductor, fibre's
/// absence apart.
#[test]
fn the_workshop_bus_repaired() {
    let mut block = text("workshop-block").to_owned();
    for (from, to) in [
        ("[\"hub\", \"gate 1\", \"gate 2\"]", "[\"hub\", \"gate 3\"]"),
        ("bias = \"4.7 kohm\"", "bias = \"560 ohm\""),
        (
            "from = \"star box\"\nto = \"gate 2\"",
            "from = \"gate 1\"\nto = \"gate 2\"",
        ),
        (
            "from = \"star box\"\nto = \"gate 3\"",
            "from = \"gate 2\"\nto = \"gate 3\"",
        ),
    ] {
        block = changed(&block, from, to);
    }
    block = block.replace("carries = \"rs485\"", "carries = \"rs485\"\ncommon = true");
    let found = study(&block);
    let bus: Vec<&str> = found
        .findings
        .iter()
        .filter(|j| j.finding.subject == "gates" && j.finding.code != "open-questions")
        .map(|j| j.finding.code)
        .collect();
    assert!(bus.is_empty(), "{bus:?}");
}
