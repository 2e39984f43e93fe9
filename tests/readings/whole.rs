//! All readings at once, on networks where one run's ohms do not follow from its own volts.
//!
//! The truth of each invented site is solved here by dense nodal analysis, with ohms, draws, volts
//! and meters a little beside what its file says, and read with two decimals.

use approx::assert_abs_diff_eq;
use farend::readings::{Cause, Says, Whole};
use farend::site::{self, Leg};
use farend::units::Measure as _;
use nalgebra::{DMatrix, DVector};

use super::{finding, severity, study, text, yard};
use crate::oracle::random::Random;

/// A conductor: its name in the file, the two nodes, and its ohms as drawn.
struct Conductor {
    name: String,
    ends: [usize; 2],
    ohm: f64,
}

/// A site of one supply and some devices. Node 0 is the supply's minus, node 1 its plus; device k
/// has 2 k + 3 for its plus and 2 k + 2 for its minus.
struct Yard {
    amps: Vec<f64>,
    conductors: Vec<Conductor>,
    runs: String,
}

const VOLTS: f64 = 24.0;

fn make(random: &mut Random, rings: bool) -> Yard {
    let count = random.within(3, 6);
    let name = |thing: usize| match thing {
        0 => "psu".to_owned(),
        k => format!("d{k}"),
    };
    let mut yard = Yard {
        amps: (0..count).map(|_| random.number(0.2, 0.8)).collect(),
        conductors: Vec::new(),
        runs: String::new(),
    };
    let mut pairs: Vec<(usize, usize)> = (1..=count).map(|k| (random.below(k), k)).collect();
    if rings {
        pairs.push((0, count));
    }
    for (i, (from, to)) in pairs.into_iter().enumerate() {
        let ohm = random.number(0.3, 1.2);
        yard.runs += &format!(
            "[run.W{i}]\nfrom = \"{}\"\nto = \"{}\"\nresistance = \"{ohm:.3} ohm\"\n",
            name(from),
            name(to)
        );
        for (leg, side) in [("plus", 1), ("minus", 0)] {
            yard.conductors.push(Conductor {
                name: format!("W{i}.{leg}"),
                ends: [2 * from + side, 2 * to + side],
                ohm,
            });
        }
    }
    if rings {
        let (a, b) = (1, count);
        let ohm = random.number(0.5, 2.0);
        yard.runs += &format!(
            "[run.E]\nfrom = \"d{a}.minus\"\nto = \"d{b}.minus\"\nresistance = \"{ohm:.3} ohm\"\ncarries = \"bond\"\n"
        );
        yard.conductors.push(Conductor {
            name: "E.plus".to_owned(),
            ends: [2 * a, 2 * b],
            ohm,
        });
    }
    yard
}

/// Volts of every node: G v = i, with the supply's two nodes held.
fn solved(yard: &Yard, ohms: &[f64], amps: &[f64], supply_v: f64) -> DVector<f64> {
    let n = 2 * yard.amps.len() + 2;
    let (mut g, mut i) = (DMatrix::zeros(n, n), DVector::zeros(n));
    for (conductor, ohm) in yard.conductors.iter().zip(ohms) {
        let [a, b] = conductor.ends;
        for (x, y) in [(a, b), (b, a)] {
            g[(x, x)] += 1.0 / ohm;
            g[(x, y)] -= 1.0 / ohm;
        }
    }
    for (k, amps) in amps.iter().enumerate() {
        i[2 * k + 3] -= amps;
        i[2 * k + 2] += amps;
    }
    for (node, volts) in [(0, 0.0), (1, supply_v)] {
        g.row_mut(node).fill(0.0);
        g[(node, node)] = 1.0;
        i[node] = volts;
    }
    g.lu().solve(&i).unwrap()
}

/// The site's text, and its readings of the true network, in which one conductor may be bad.
fn read(yard: &Yard, random: &mut Random, bad: Option<(usize, f64)>) -> String {
    let near = |random: &mut Random, share: f64| random.number(1.0 - share, 1.0 + share);
    let mut ohms: Vec<f64> = (yard.conductors.iter())
        .map(|c| c.ohm * near(random, 0.04))
        .collect();
    if let Some((conductor, ohm)) = bad {
        ohms[conductor] += ohm;
    }
    let amps: Vec<f64> = yard.amps.iter().map(|a| a * near(random, 0.08)).collect();
    let v = solved(yard, &ohms, &amps, VOLTS * near(random, 0.03));
    let gain = [near(random, 0.0015), near(random, 0.005)];
    let mut text = format!(
        "format = 1\n[supply.psu]\nvoltage = \"{VOLTS} V\"\ntolerance = \"0 %\"\nresistance = \"0 ohm\"\n\
        [meter.M]\nvolts = \"0.3 % + 1 digit\"\n[meter.C]\namps = \"1 % + 1 digit\"\n"
    );
    for (k, amps) in yard.amps.iter().enumerate() {
        text += &format!("[device.d{}]\ndraw = {{ idle = \"{amps:.3} A\" }}\n", k + 1);
    }
    text += &yard.runs;
    let mut add = |at: &str, value: f64, unit: &str, meter: &str| {
        text += &format!(
            "[[reading]]\n{at}value = \"{value:.2} {unit}\"\nmeter = \"{meter}\"\ncase = \"all idle\"\n"
        );
    };
    let name = |k: usize| {
        if k == 0 {
            "psu".to_owned()
        } else {
            format!("d{k}")
        }
    };
    for k in 0..=yard.amps.len() {
        let (plus, minus) = (v[2 * k + 1], v[2 * k]);
        if random.chance(0.8) {
            add(
                &format!("at = \"{}\"\n", name(k)),
                (plus - minus) * gain[0],
                "V",
                "M",
            );
        }
        if k > 0 && random.chance(0.6) {
            let at = format!("at = \"{}.minus\"\nto = \"psu.minus\"\n", name(k));
            add(&at, minus * gain[0], "V", "M");
        }
    }
    for (conductor, ohm) in yard.conductors.iter().zip(&ohms) {
        let [a, b] = conductor.ends;
        let amps = ((v[a] - v[b]) / ohm).abs();
        if random.chance(0.5) && amps > 0.05 {
            add(
                &format!("at = \"{}\"\n", conductor.name),
                amps * gain[1],
                "A",
                "C",
            );
        }
    }
    text
}

fn whole(text: &str) -> Option<Whole> {
    study(text).readings.whole
}

/// Whether a named cause is the bad conductor: a joint in it, or both legs of its run.
fn names(text: &str, whole: &Whole, bad: &str) -> bool {
    let site = site::read(text).unwrap();
    whole.faults().iter().any(|fault| {
        let run = |run: usize| site.runs[run].name.as_str();
        match fault.cause {
            Cause::Joint(i, leg) => format!("{}.{}", run(i), leg.as_str()) == bad,
            Cause::Wire(i) => bad.split_once('.').is_some_and(|(name, _)| name == run(i)),
            Cause::Draw(_) | Cause::Volts(_) => false,
        }
    })
}

/// Sites without a fault: at a stated doubt of 1 % none of 60 may be accused.
#[test]
fn nothing_is_claimed_of_a_site_without_a_fault() {
    for seed in 0..60 {
        let mut random = Random::new(seed);
        let yard = make(&mut random, seed % 2 == 1);
        let text = read(&yard, &mut random, None);
        let whole = whole(&text).unwrap();
        assert_eq!(whole.says, Says::Agrees, "seed {seed}: {whole:#?}\n{text}");
    }
}

/// A bad joint that loses some volts, in any conductor of trees and rings: whenever something is
/// named, the joint is among it; and it is named more often than not.
#[test]
fn a_fault_is_among_those_named() {
    let (mut named, mut tried) = (0, 0);
    for seed in 100..160 {
        let mut random = Random::new(seed);
        let yard = make(&mut random, seed % 2 == 1);
        let bad = random.below(yard.conductors.len());
        let drawn: Vec<f64> = yard.conductors.iter().map(|c| c.ohm).collect();
        let v = solved(&yard, &drawn, &yard.amps, VOLTS);
        let [a, b] = yard.conductors[bad].ends;
        let amps = ((v[a] - v[b]) / drawn[bad]).abs();
        // What carries next to nothing is not found by volts and amps.
        if amps < 0.1 {
            continue;
        }
        let text = read(&yard, &mut random, Some((bad, 1.5 / amps)));
        let whole = whole(&text).unwrap();
        tried += 1;
        let name = &yard.conductors[bad].name;
        match &whole.says {
            Says::One(..) => {
                named += 1;
                assert!(
                    names(&text, &whole, name),
                    "seed {seed}: {name} is bad, {:#?}\n{text}",
                    whole.says
                );
            }
            Says::Agrees | Says::Several => {}
        }
    }
    assert!(3 * named > 2 * tried, "{named} of {tried}");
}

/// 0.68 V over 0.54 A are 1.26 ohm, with what the panel's own lead loses 1.28 ohm; drawn are
/// 60 m x 21.367 ohm/km = 1.282 ohm. The loop is not drawn wrong, and nothing is claimed.
#[test]
fn the_lane_has_its_return_ohms_by_all_readings() {
    let lane = study(text("stable-lane"));
    let whole = lane.readings.whole.as_ref().unwrap();
    assert_eq!((whole.count, &whole.says), (10, &Says::Agrees));
    let minus = whole
        .told
        .iter()
        .find(|told| told.leg == Leg::Minus)
        .unwrap();
    assert_abs_diff_eq!(minus.drawn.base(), 1.282, epsilon = 5e-4);
    assert_abs_diff_eq!(minus.ohms.value.base(), 0.68 / 0.54, epsilon = 0.04);
    assert!(minus.ohms.u.base() < 0.05);
    assert_eq!(severity(&lane, "found-fault", "site"), Some("note"));
}

/// A lane whose negative has 1 ohm in a joint: the readings of the ring are those of 2.282 ohm in
/// place of 1.282 (solved by hand: G = 1 / 2.282 + 1 / 3.3454 = 0.7371 S, so 0.25 A lift the hub
/// by 0.339 V, of which 0.149 A come by the negative and 0.101 A by the data common; 0.75 A by
/// 1.018 V, 0.446 A and 0.304 A; the positive loses 1.282 ohm x amps, the source 0.1 ohm).
#[test]
fn a_joint_in_a_shared_return_is_found_on_the_ring() {
    let mut lane = text("stable-lane").to_owned();
    let replace = [
        ("13.02 V", "12.92 V"),
        ("0.23 V", "0.33 V"),
        ("11.87 V", "11.54 V"),
        ("0.68 V", "1.00 V"),
        ("0.18 A", "0.15 A"),
        ("0.54 A", "0.45 A"),
        ("0.07 A", "0.10 A"),
        ("0.21 A", "0.30 A"),
    ];
    for (from, to) in replace {
        lane = lane.replace(&format!("value = \"{from}\""), &format!("value = \"{to}\""));
    }
    let whole = whole(&lane).unwrap();
    assert!(names(&lane, &whole, "W1.minus"), "{whole:#?}");
    let fault = &whole.faults()[0];
    assert_eq!(fault.cause, Cause::Joint(0, Leg::Minus));
    let extra = fault.drawn.unwrap().base() * (fault.times.base() - 1.0);
    assert_abs_diff_eq!(extra, 1.0, epsilon = 0.1);
}

/// 3 ohm instead of 1 by volts at both ends: gauge, and a joint in either leg, explain it alike,
/// and the volts along one leg part them. Without amps a hub that draws three times as much does,
/// too, and so does a supply with other volts where its own were not read.
#[test]
fn what_explains_alike_is_told_together_with_what_parts_it() {
    let ends = yard(
        "",
        &[("psu", "24.00 V"), ("hub", "21.00 V"), ("W1", "1.00 A")],
    );
    let causes = |text: &str| -> Vec<Cause> {
        let whole = whole(text).unwrap();
        whole.faults().iter().map(|fault| fault.cause).collect()
    };
    let three = causes(&ends);
    for cause in [
        Cause::Joint(0, Leg::Plus),
        Cause::Joint(0, Leg::Minus),
        Cause::Wire(0),
    ] {
        assert!(three.contains(&cause), "{three:?}");
    }
    assert!(!three.contains(&Cause::Draw(0)), "{three:?}");
    let Says::One(_, Some(next)) = whole(&ends).unwrap().says else {
        panic!("nothing to read next");
    };
    assert!(next.what.starts_with("volts from psu."), "{next:?}");
    // What found-ohms says of the run already is not said twice.
    let study = study(&ends);
    let told = finding(&study, "found-fault", "W1").unwrap();
    assert_eq!(told.severity.as_str(), "note");
    let dim = yard("", &[("psu", "24.00 V"), ("hub", "21.00 V")]);
    assert!(causes(&dim).contains(&Cause::Draw(0)), "{:?}", causes(&dim));
    let message = self::study(&dim);
    let message = finding(&message, "found-fault", "site").unwrap().message();
    assert!(message.contains("cannot tell them apart"), "{message}");
    assert!(message.contains("next read volts from psu."), "{message}");
}

/// One reading alone says nothing, nor do readings without a case, or of a case without an
/// operating point.
#[test]
fn too_little_is_not_weighed() {
    assert_eq!(whole(&yard("", &[("psu", "24.00 V")])), None);
    let text = yard("", &[("psu", "24.00 V"), ("hub", "3 V")]);
    assert_eq!(whole(&text.replace("case = \"all idle\"\n", "")), None);
    assert_eq!(whole(&text.replace("1 A\"", "200 W\"")), None);
}

/// Ten runs in a row, read at their ends alone: a joint in any of twenty conductors does as well,
/// more than are followed, and that is said.
#[test]
fn what_was_not_followed_is_said() {
    let mut text = "format = 1\n[supply.psu]\nvoltage = \"24 V\"\ntolerance = \"0 %\"\nresistance = \"0 ohm\"\n\
        [device.hub]\ndraw = { idle = \"1 A\" }\n[meter.M]\nvolts = \"2 digits\"\namps = \"1 digit\"\n"
        .to_owned();
    let name = |k: usize| match k {
        0 => "psu".to_owned(),
        10 => "hub".to_owned(),
        k => format!("j{k}"),
    };
    for k in 0..10 {
        if k > 0 {
            text += &format!("[junction.j{k}]\n");
        }
        text += &format!(
            "[run.W{k}]\nfrom = \"{}\"\nto = \"{}\"\nresistance = \"0.05 ohm\"\n",
            name(k),
            name(k + 1)
        );
    }
    for (at, value) in [("psu", "24.00 V"), ("hub", "21.00 V"), ("W0", "1.00 A")] {
        text += &format!(
            "[[reading]]\nat = \"{at}\"\nvalue = \"{value}\"\nmeter = \"M\"\ncase = \"all idle\"\n"
        );
    }
    let study = study(&text);
    let whole = study.readings.whole.as_ref().unwrap();
    assert!(whole.others && whole.faults().len() > 3, "{whole:#?}");
    let message = finding(&study, "found-fault", "site").unwrap().message();
    assert!(message.contains("were not followed"), "{message}");
    assert!(message.contains("next read"), "{message}");
}
