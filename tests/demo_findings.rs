//! What the program must say of each built-in site, and what it must not.
//!
//! The lists were worked out by hand with the figures of the sites, before there was a program.

use farend::circuit::Corner;
use farend::demo;
use farend::site;
use farend::solve::Solver;
use farend::study::Study;
use farend::units::Measure as _;

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
            ("fail", "wet-rating", "keypad cable"),
            ("warn", "raceway-cover", "pier pipe"),
        ],
        absent: &[
            // Tinned copper, boxes of plastic, a pipe with room in it, and all that was asked of it.
            ("corrosion", "pier box"),
            ("corrosion", "pier gate"),
            ("wet-rating", "pier cable"),
            ("raceway-fill", "pier pipe"),
            ("raceway-water", "pier pipe"),
            ("raceway-unknown", "pier pipe"),
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
            ("fail", "found-low", "lot lock"),
            ("warn", "found-ohms", "W1"),
            ("warn", "reading-off", "hub"),
            ("note", "found-source", "lot supply"),
            ("warn", "surge-missing", "hub"),
        ],
        absent: &[
            ("found-low", "hub"),
            ("reading-off", "lot supply"),
            ("reading-contradiction", "W1"),
            ("reading-missing", "site"),
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
            ("note", "reading-sum", "hub"),
            ("note", "found-ohms", "W1.minus"),
            ("note", "found-ohms", "D1.common"),
        ],
        absent: &[
            ("reading-contradiction", "hub"),
            ("reading-off", "hub"),
            ("reading-off", "W1.minus"),
            ("reading-off", "D1.common"),
            ("reading-missing", "site"),
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

/// Salt air asks for tinned copper: with bare copper, or a metal box, the pier is warned of.
#[test]
fn the_pier_in_bare_copper_corrodes() {
    let pier = text("marina-gate");
    for (from, to) in [
        (
            "material = \"tinned copper\"\nresistance",
            "material = \"copper\"\nresistance",
        ),
        (
            "corrosive = true\nbox = \"plastic\"",
            "corrosive = true\nbox = \"metal\"",
        ),
    ] {
        let found = study(&changed(pier, from, to));
        let warned = (found.findings.iter())
            .find(|j| j.finding.code == "corrosion" && j.finding.subject == "pier box");
        assert_eq!(warned.unwrap().finding.severity.as_str(), "warn", "{to}");
    }
}

/// A drive asks for 24 in over the pipe: NEC Table 300.5.
#[test]
fn the_pipe_under_the_drive_lies_deep_enough_at_610_mm() {
    let found = |cover: &str| {
        let pier = changed(text("marina-gate"), "cover = \"300 mm\"", cover);
        let mut codes = study(&pier).findings.into_iter().map(|j| j.finding.code);
        codes.any(|code| code == "raceway-cover")
    };
    assert!(found("cover = \"609 mm\""));
    assert!(!found("cover = \"610 mm\""));
}

/// The mast is a question of the hub; its answers turn into a finding, or into silence.
#[test]
fn the_mast_of_the_observatory_is_asked_about() {
    let road = text("observatory-road");
    let hub = "[device.hub]\nkind = \"hub\"";
    let of_mast = |text: &str| {
        let all = study(text).findings.into_iter().map(|j| j.finding);
        let mut own = all.filter(|f| f.subject == "hub" && f.message().contains("mast"));
        own.next().map(|f| (f.severity.as_str(), f.code))
    };
    assert_eq!(of_mast(road), Some(("ask", "open-questions")));
    let answered = |answer: bool| {
        let answers = format!("{hub}\nanswers = {{ mast-bonded = {answer} }}");
        changed(road, hub, &answers)
    };
    assert_eq!(of_mast(&answered(false)), Some(("warn", "mast-bonded")));
    assert_eq!(of_mast(&answered(true)), None);
}

/// The invented readings of the lane are what its network gives, to the last digit of the meter:
/// 0.75 A out, 0.54 A and 0.21 A back.
#[test]
fn the_readings_of_the_lane_are_those_of_its_network() {
    let site = site::read(text("stable-lane")).unwrap();
    let found = Study::of(&site, &mut Solver::new());
    let results = &found.results;
    let device = |name: &str| site.devices.iter().position(|d| d.name == name).unwrap();
    let run = |name: &str| site.runs.iter().position(|r| r.name == name).unwrap();
    assert_eq!(site.readings.len(), 10);
    for reading in &site.readings {
        let case = results
            .cases
            .iter()
            .position(|c| Some(&c.name) == reading.case.as_ref());
        let row = results.row(case.unwrap(), Corner::Nominal).unwrap();
        let flow = |name: &str| results.run(&site, row, run(name)).unwrap();
        let negative = |name: &str| results.negative(row, device(name)).unwrap().base();
        let solved = match site.spot_text(reading.at).as_str() {
            "hub" => results.device(row, device("hub")).unwrap().volts.base(),
            "hub.minus to panel.minus" => negative("hub") - negative("panel"),
            "W1.plus" => flow("W1").amps.unwrap().base(),
            "W1.minus" => flow("W1").return_amps.unwrap().base(),
            "D1.common" => flow("D1").common_amps.unwrap().base(),
            other => panic!("a reading at {other}"),
        };
        let read = reading.value();
        assert!(
            (solved.abs() - read).abs() < 0.0051,
            "{reading:?}: {solved}"
        );
    }
}
