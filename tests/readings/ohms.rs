//! The ohms of a run and of a supply, from volts and amps.

use approx::assert_abs_diff_eq;
use farend::readings::{Cause, Likely, PathOhms, Verdict};
use farend::site::{self, Leg};
use farend::units::Measure as _;
use proptest::prelude::*;
use rstest::rstest;

use super::{changed, finding, severity, study, text, yard};

/// Amps and volts lost of the boat storage, as its file has them.
const LOST: [(f64, f64); 4] = [(0.18, 0.84), (0.41, 1.89), (0.89, 4.15), (1.16, 5.42)];

fn path(text: &str) -> PathOhms {
    study(text).readings.paths[0].clone()
}

/// R = sum I V / sum I^2, as one would by hand.
fn closed_form(points: &[(f64, f64)]) -> f64 {
    let (iv, ii) = points
        .iter()
        .fold((0.0, 0.0), |(iv, ii), (i, v)| (iv + i * v, ii + i * i));
    iv / ii
}

/// sum I V = 10.907, sum I^2 = 2.3382, R = 4.665 ohm, scattering by 0.009; with an offset -0.014 V
/// (checked with `numpy.linalg.lstsq` and `numpy.polyfit` of numpy 2.4.6). 18 AWG of 21.367 ohm/km
/// at 20 C, 2 x 70 m at 15 C, and two splices of 10 mohm: 2.953 ohm; 1.712 too many, 1.580 times;
/// 1.16^2 x 1.712 = 2.30 W; 27.22^2 / (4 x (4.665 + 0.582)) = 35.3 W.
#[test]
fn the_run_to_the_boats_has_the_ohms_that_its_readings_say() {
    let boats = path(text("boat-storage"));
    assert_abs_diff_eq!(boats.found.value.base(), closed_form(&LOST), epsilon = 1e-9);
    assert_abs_diff_eq!(boats.found.value.base(), 4.664_613_81, epsilon = 1e-6);
    assert_abs_diff_eq!(boats.scatter.unwrap().base(), 0.009_172_3, epsilon = 1e-6);
    assert_abs_diff_eq!(
        boats.offset.unwrap().value.base(),
        -0.014_305,
        epsilon = 1e-5
    );
    assert!(!boats.has_offset());
    assert_abs_diff_eq!(boats.expected.value.base(), 2.953, epsilon = 5e-4);
    assert_abs_diff_eq!(boats.excess().value.base(), 1.712, epsilon = 1e-3);
    assert_abs_diff_eq!(boats.ratio(), 1.580, epsilon = 1e-3);
    assert_abs_diff_eq!(boats.heat().base(), 2.30, epsilon = 5e-3);
    assert!(boats.may_be_hot());
    assert_abs_diff_eq!(boats.most.unwrap().base(), 35.3, epsilon = 0.05);
    assert_eq!(boats.verdict, Verdict::Over);
    // 4.87 ohm less 0.20 ohm of leads.
    assert_abs_diff_eq!(boats.dead.unwrap().value.base(), 4.67, epsilon = 1e-9);
    assert_eq!(boats.dead_agrees(), Some(true));
}

/// Two gauges thin 2.9324 x 1.5899 + 0.02, clad 2.9324 / 0.63 + 0.02 (K = 230 from 20 C on), a
/// route of 70 m x (4.665 - 0.02) / 2.9324, or joints: all fit.
#[test]
fn what_fits_alike_is_told_together_and_no_splice_is_called_bad() {
    let boats = path(text("boat-storage"));
    let [gauge, clad, route, joint] = boats.likely.as_slice() else {
        panic!("{:?}", boats.likely);
    };
    assert!(matches!(
        gauge.what,
        Likely::Gauge(farend::units::Size::Awg(20), 2)
    ));
    assert_abs_diff_eq!(gauge.ohms.base(), 2.9324 * 1.5899 + 0.02, epsilon = 2e-3);
    assert_eq!(clad.what, Likely::Clad);
    assert_abs_diff_eq!(clad.ohms.base(), 4.658, epsilon = 2e-3);
    let Likely::Route(length) = route.what else {
        panic!("{route:?}");
    };
    assert_abs_diff_eq!(length.base(), 70.0 * 4.6446 / 2.9324, epsilon = 0.05);
    let Likely::Joint(over, heat) = joint.what else {
        panic!("{joint:?}");
    };
    assert_abs_diff_eq!(over.base(), 1.712, epsilon = 1e-3);
    assert_abs_diff_eq!(heat.base(), 2.30, epsilon = 5e-3);
    let study = study(text("boat-storage"));
    let told = finding(&study, "found-ohms", "W1").unwrap();
    let message = told.message();
    for words in [
        "4.665 ohm there and back, 2.953 expected: 1.712 too many (x 1.58)",
        "cannot tell apart: two gauges too thin (20 AWG",
        "copper-clad aluminum",
        "2.3 W of heat in a single one at 1.16 A",
        "35.3 W",
        "lot lock gets 21.20 V, under its lowest 21.60 V",
        "next read volts from lot supply.plus to hub.plus and from lot supply.minus to hub.minus",
    ] {
        assert!(message.contains(words), "no '{words}' in {message}");
    }
    assert!(!message.contains("splice"), "{message}");
    assert!(
        told.worked().contains("5.420 V at 1.160 A"),
        "{}",
        told.worked()
    );
}

/// Each reading left out in turn: the ratio stays where it is.
#[rstest]
#[case(0)]
#[case(1)]
#[case(2)]
#[case(3)]
fn one_reading_less_says_nearly_the_same(#[case] without: usize) {
    let mut points = LOST.to_vec();
    points.remove(without);
    let (amps, _) = LOST[without];
    let blocks = text("boat-storage").split("[[reading]]");
    let kept = blocks.filter(|block| !block.contains(&format!("value = \"{amps:.2} A\"")));
    let boats = path(&kept.collect::<Vec<_>>().join("[[reading]]"));
    assert_eq!(boats.lost.len(), 3);
    assert_abs_diff_eq!(
        boats.found.value.base(),
        closed_form(&points),
        epsilon = 1e-9
    );
    assert_abs_diff_eq!(boats.ratio(), 1.58, epsilon = 0.01);
    assert_eq!(boats.verdict, Verdict::Over);
}

/// Two meters of 0.5 % + 2 digits are 0.155 V off at 27 V, each in its own way: 0.22 V in the
/// difference, which at 0.18 A is 1.2 ohm (by hand). One meter leaves 0.028 V.
#[test]
fn two_meters_tell_far_less_than_one() {
    let two = changed(
        &changed(
            text("boat-storage"),
            "[meter.clamp]",
            "[meter.M2]\nvolts = \"0.5 % + 2 digits\"\n\n[meter.clamp]",
        ),
        "at = \"hub\"\nvalue = \"26.28 V\"\nmeter = \"M1\"",
        "at = \"hub\"\nvalue = \"26.28 V\"\nmeter = \"M2\"",
    );
    // The first reading alone, and amps without an error of their own.
    let alone = |text: &str| {
        let text = changed(text, "amps = \"1.5 % + 2 digits\"", "amps = \"0 %\"");
        path(
            text.split("[[reading]]\nat = \"lot supply\"\nvalue = \"26.98 V\"")
                .next()
                .unwrap(),
        )
    };
    let (one, two) = (alone(text("boat-storage")), alone(&two));
    assert_abs_diff_eq!(one.found.value.base(), 0.84 / 0.18, epsilon = 1e-9);
    assert_abs_diff_eq!(
        one.found.u.base(),
        (0.0283_f64 / 0.18).hypot(0.005 * 4.667),
        epsilon = 1e-3
    );
    assert_abs_diff_eq!(two.found.u.base(), 0.217 / 0.18, epsilon = 5e-3);
    // So much that nothing is said against the run.
    assert_eq!((one.verdict, two.verdict), (Verdict::Over, Verdict::Agrees));
}

/// At 35 C 2 x 70 m have 2.9914 x (234.5 + 35) / 254.5 = 3.168 ohm, with splices 3.188.
#[test]
fn warmer_copper_leaves_less_to_explain() {
    let warm = path(&changed(
        text("boat-storage"),
        "\ntemperature = \"15 C\"\n",
        "\ntemperature = \"35 C\"\n",
    ));
    assert_abs_diff_eq!(warm.expected.value.base(), 3.188, epsilon = 1e-3);
    assert_abs_diff_eq!(warm.ratio(), 4.6646 / 3.1877, epsilon = 1e-3);
}

/// 2 ohm expected within 2 % of copper and 5 K x 0.393 %: 0.0561 ohm; the meter tells 1 mohm. Over
/// 2.1122 ohm are too many; too few are under nine tenths.
#[rstest]
#[case("2.110 ohm", Verdict::Agrees, "note")]
#[case("2.113 ohm", Verdict::Over, "warn")]
#[case("1.801 ohm", Verdict::Agrees, "note")]
#[case("1.799 ohm", Verdict::Under, "warn")]
fn ohms_have_two_limits(#[case] ohms: &str, #[case] verdict: Verdict, #[case] word: &str) {
    let expected = "[run.W1]\nfrom = \"psu\"\nto = \"hub\"\nresistance = \"0.5 ohm\"";
    let twice = changed(
        &yard("", &[("W1", ohms)]),
        expected,
        &expected.replace("0.5", "1"),
    );
    let study = study(&twice);
    assert_eq!(study.readings.paths[0].verdict, verdict);
    assert_eq!(severity(&study, "found-ohms", "W1"), Some(word));
}

/// 1.98 ohm less 0.22 ohm of leads; 18 AWG at 12 C has 0.020695 ohm/m: a short lies 42.5 m off at
/// most, 1.6 m more or less.
#[test]
fn a_dead_run_with_too_few_ohms_may_be_shorted() {
    let shorted = "format = 1\n[cable.c]\nsize = \"18 AWG\"\nconductors = 2\nresistance = \"20.695 ohm/km\"\nresistance_at = \"12 C\"\n\
        [supply.psu]\nvoltage = \"24 V\"\n[device.hub]\ndraw = { idle = \"1 W\" }\n\
        [run.W1]\nfrom = \"psu\"\nto = \"hub\"\ncable = \"c\"\nlength = \"70 m\"\n\
        [[reading]]\nat = \"W1\"\nvalue = \"1.98 ohm\"\nleads = \"0.22 ohm\"\nkind = \"loop\"\nmeter = \"0.8 % + 3 digits\"\ntemperature = \"12 C\"\n";
    let path = path(shorted);
    assert_eq!(path.verdict, Verdict::Under);
    let short = path.likely.iter().find_map(|c| match c.what {
        Likely::Short(at) => Some(at),
        _ => None,
    });
    assert_abs_diff_eq!(short.unwrap().value.base(), 42.5, epsilon = 0.05);
    assert_abs_diff_eq!(short.unwrap().u.base(), 1.6, epsilon = 0.05);
    assert!(path.likely.iter().any(|c| c.what == Likely::OtherWay));
    let study = study(shorted);
    let message = finding(&study, "found-ohms", "W1").unwrap().message();
    assert!(message.contains("at most"), "{message}");
    assert!(message.contains("from the other end as well"), "{message}");
}

/// A dead run of 18 AWG, 70 m at 12 C, 0.020695 ohm/m, and its ohms from both ends, leads in them.
fn from_both_ends(a: &str, b: &str) -> String {
    let head = "format = 1\n[site]\nunits = \"si\"\n[cable.c]\nsize = \"18 AWG\"\nconductors = 2\nresistance = \"20.695 ohm/km\"\nresistance_at = \"12 C\"\n\
        [supply.psu]\nvoltage = \"24 V\"\n[device.hub]\ndraw = { idle = \"1 W\" }\n\
        [run.W1]\nfrom = \"psu\"\nto = \"hub\"\ncable = \"c\"\nlength = \"70 m\"\n[meter.M1]\nohms = \"0.8 % + 3 digits\"\n";
    let reading = |end: &str, ohms: &str| {
        format!(
            "[[reading]]\nat = \"W1\"\nend = \"{end}\"\nvalue = \"{ohms} ohm\"\nleads = \"0.22 ohm\"\nmeter = \"M1\"\ntemperature = \"12 C\"\n"
        )
    };
    format!("{head}{}{}", reading("from", a), reading("to", b))
}

/// d = L / 2 + (Ra - Rb) / (4 r) = 35 + 0.45 / 0.08278 = 40.4 m, Rf = (Ra + Rb) / 2 - r L = 2.125 -
/// 1.449 = 0.68 ohm (by hand); 0.22 ohm of leads were in both.
#[test]
fn both_ends_tell_where_the_conductors_touch() {
    let text = from_both_ends("2.57", "2.12");
    let path = path(&text);
    assert_eq!(path.verdict, Verdict::Shorted);
    let short = path.ends.unwrap().short.unwrap();
    assert_abs_diff_eq!(short.at.value.base(), 40.44, epsilon = 0.01);
    assert_abs_diff_eq!(short.ohms.value.base(), 0.68, epsilon = 0.005);
    let study = study(&text);
    let told = finding(&study, "found-ohms", "W1").unwrap();
    let message = told.message();
    for words in [
        "2.350 ohm from psu and 1.900 ohm from hub",
        "a short between its conductors 40.4 m from psu",
        "with 0.68 ohm of its own",
        "opened there",
    ] {
        assert!(message.contains(words), "no '{words}' in {message}");
    }
    assert!(told.worked().contains("= 40.4 m"), "{}", told.worked());
    // The sound run, shorted at its far end on purpose: 2.897 ohm from either end.
    let sound = from_both_ends("3.12", "3.11");
    assert_eq!(
        severity(&self::study(&sound), "found-ohms", "W1"),
        Some("note")
    );
}

/// Ohms that differ, and that no short of 70 m of 18 AWG has: no place is named.
#[test]
fn a_short_outside_the_run_is_not_claimed() {
    let study = study(&from_both_ends("3.90", "0.30"));
    let message = finding(&study, "found-ohms", "W1").unwrap().message();
    assert!(message.contains("no single short"), "{message}");
    assert!(!message.contains("what fits"), "{message}");
}

proptest! {
    /// Any touch of any place and ohms, read with a meter's rounding: found again within twice what
    /// it may be off, Ra = 2 r d + Rf and Rb = 2 r (L - d) + Rf.
    #[test]
    fn a_short_is_found_where_it_was_put(metres in 0.0..70.0_f64, ohm in 0.0..20.0_f64) {
        let (r, leads) = (0.020_695, 0.22);
        let read = |metres: f64| format!("{:.2}", 2.0 * r * metres + ohm + leads);
        let (a, b) = (read(metres), read(70.0 - metres));
        let path = path(&from_both_ends(&a, &b));
        let short = path.ends.unwrap().short.unwrap();
        prop_assert!(short.is_possible);
        prop_assert!((short.at.value.base() - metres).abs() <= 2.0 * short.at.u.base());
        prop_assert!((short.ohms.value.base() - ohm).abs() <= 2.0 * short.ohms.u.base());
        // Half a digit of each cannot turn a touch off the middle into a sound run.
        if (metres - 35.0).abs() > 5.0 && ohm < 5.0 {
            prop_assert_eq!(path.verdict, Verdict::Shorted);
        }
    }
}

/// Five floors of the clamp are just enough, less are not.
#[rstest]
#[case("0.0359 A", 4)]
#[case("0.0361 A", 3)]
#[case("0.3 A", 0)]
fn amps_near_the_floor_of_the_clamp_say_nothing(#[case] floor: &str, #[case] points: usize) {
    let text = changed(
        text("boat-storage"),
        "floor = \"0.02 A\"",
        &format!("floor = \"{floor}\""),
    );
    let study = study(&text);
    assert_eq!(study.readings.paths[0].lost.len(), points);
    let ask = finding(&study, "reading-missing", "site");
    assert_eq!(ask.is_some(), points < 4);
    if let Some(ask) = ask {
        assert!(
            ask.message().contains("floor of their clamp"),
            "{}",
            ask.message()
        );
    }
}

/// 27.2214 V and 0.5817 ohm by `numpy.polyfit` of numpy 2.4.6.
#[test]
fn the_supply_sags_as_its_own_readings_say() {
    let boats = study(text("boat-storage"));
    let source = &boats.readings.sources[0];
    assert_abs_diff_eq!(source.volts.value.base(), 27.221_45, epsilon = 1e-4);
    assert_abs_diff_eq!(source.ohms.value.base(), 0.581_74, epsilon = 1e-4);
    assert_eq!(severity(&boats, "found-source", "lot supply"), Some("note"));
    let stiff = changed(
        text("boat-storage"),
        "resistance = \"0.58 ohm\"",
        "resistance = \"0.1 ohm\"",
    );
    assert_eq!(
        severity(&study(&stiff), "found-source", "lot supply"),
        Some("warn")
    );
    let other = changed(
        text("boat-storage"),
        "voltage = \"27.2 V\"",
        "voltage = \"24 V\"",
    );
    assert_eq!(
        severity(&study(&other), "found-source", "lot supply"),
        Some("warn")
    );
}

/// The lock gets 21.20 V with the ohms found; the hub was read with 21.13 V.
#[rstest]
#[case("lowest = \"21.6 V\"", "lowest = \"21.21 V\"", "lot lock", true)]
#[case("lowest = \"21.6 V\"", "lowest = \"21.19 V\"", "lot lock", false)]
#[case("lowest = \"9 V\"", "lowest = \"21.14 V\"", "hub", true)]
#[case("lowest = \"9 V\"", "lowest = \"21.12 V\"", "hub", false)]
fn a_device_has_too_few_volts_with_the_ohms_found(
    #[case] from: &str,
    #[case] to: &str,
    #[case] device: &str,
    #[case] low: bool,
) {
    let study = study(&changed(text("boat-storage"), from, to));
    let found = severity(&study, "found-low", device);
    assert_eq!(found, low.then_some("fail"));
}

/// A run that is as drawn earns a note, and nothing that explains it.
#[test]
fn a_run_that_is_as_drawn_needs_no_explanation() {
    let cable = "cable = \"18/2 by its label\"\nlength = \"229 ft 8 in\"\nsplices = 1";
    let right = changed(text("boat-storage"), cable, "resistance = \"2.3325 ohm\"");
    let study = study(&right);
    let path = &study.readings.paths[0];
    assert_eq!((path.verdict, path.likely.len()), (Verdict::Agrees, 0));
    assert_eq!(severity(&study, "found-ohms", "W1"), Some("note"));
    assert_eq!(severity(&study, "found-low", "lot lock"), None);
    assert_eq!(severity(&study, "reading-off", "hub"), None);
}

/// Every difference 0.3 V more than 1 ohm makes; and ohms that are 0.8 at 0.2 A and 1.12 at 1 A.
#[rstest]
#[case(&[(0.2, 0.5), (0.6, 0.9), (1.0, 1.3)], 0.3, "0.300 V are lost even without amps", "leads of the meter swapped")]
#[case(&[(0.2, 0.16), (0.6, 0.64), (1.0, 1.12)], -0.08, "rise with the amps", "after five minutes")]
fn volts_that_do_not_follow_amps_from_zero_are_told(
    #[case] lost: &[(f64, f64)],
    #[case] offset: f64,
    #[case] words: &str,
    #[case] next: &str,
) {
    let mut text = yard("[case.a]\n[case.b]\n[case.c]", &[]);
    // Read to a millivolt and a milliampere.
    for ((amps, lost), case) in lost.iter().zip(["a", "b", "c"]) {
        for (at, value) in [
            ("psu", "24.000 V".to_owned()),
            ("hub", format!("{:.3} V", 24.0 - lost)),
            ("W1", format!("{amps:.3} A")),
        ] {
            text += &format!(
                "[[reading]]\nat = \"{at}\"\nvalue = \"{value}\"\nmeter = \"M1\"\ncase = \"{case}\"\n"
            );
        }
    }
    let study = study(&text);
    let path = &study.readings.paths[0];
    assert_abs_diff_eq!(path.offset.unwrap().value.base(), offset, epsilon = 1e-9);
    assert!(path.has_offset());
    let message = finding(&study, "found-ohms", "W1").unwrap().message();
    assert!(
        message.contains(words) && message.contains(next),
        "{message}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Readings that the solver itself makes, of a run with other ohms than drawn, lead back to
    /// those ohms.
    #[test]
    fn the_ohms_come_back_from_what_they_cause(
        leg in 0.2_f64..3.0,
        draws in proptest::collection::vec(0.1_f64..1.5, 2..5),
    ) {
        let cases: String = (0..draws.len()).map(|i| format!("[case.c{i}]\nstates = {{ hub = \"s{i}\" }}\n")).collect();
        let states: Vec<String> = draws.iter().enumerate().map(|(i, a)| format!("s{i} = \"{a} A\"")).collect();
        let drawn = changed(&yard(&cases, &[]), "idle = \"1 A\"", &states.join(", "));
        let made = study(&changed(&drawn, "resistance = \"0.5 ohm\"", &format!("resistance = \"{leg} ohm\"")));
        let site = site::read(&drawn).unwrap();
        let mut read = drawn;
        for (i, case) in made.results.cases.iter().enumerate() {
            let row = made.results.row(i, farend::circuit::Corner::Nominal).unwrap();
            let hub = made.results.device(row, 0).unwrap().volts.base();
            let amps = made.results.run(&site, row, 0).unwrap().amps.unwrap().base();
            for (at, value) in [("psu", "24.000000 V".to_owned()), ("hub", format!("{hub:.9} V")), ("W1", format!("{amps:.9} A"))] {
                read += &format!("[[reading]]\nat = \"{at}\"\nvalue = \"{value}\"\nmeter = \"M1\"\ncase = \"{}\"\n", case.name);
            }
        }
        let found = path(&read);
        prop_assert!((found.found.value.base() - 2.0 * leg).abs() < 1e-5 , "{} {leg}", found.found.value.base());
    }
}

/// Resistive ac is dc arithmetic with rms values: 24 V, 1 ohm there and back as drawn, 23 ohm of
/// load; read are 21 V and 1 A, so 3 ohm. Signs of volts between terminals do not count.
#[rstest]
#[case("hub.minus to psu.minus")]
#[case("psu.minus to hub.minus")]
fn ohms_follow_on_ac_that_is_in_phase(#[case] leg: &str) {
    let ends = [
        ("psu", "24.00 V"),
        ("hub", "21.00 V"),
        ("W1", "1.00 A"),
        (leg, "0.50 V"),
    ];
    let dc = changed(&yard("", &ends), "idle = \"1 A\"", "idle = \"23 ohm\"");
    let ac = changed(
        &dc,
        "voltage = \"24 V\"",
        "kind = \"ac\"\nvoltage = \"24 V\"",
    );
    let study = study(&ac);
    let path = &study.readings.paths[0];
    assert_abs_diff_eq!(path.found.value.base(), 3.0, epsilon = 1e-9);
    assert_eq!(path.verdict, Verdict::Over);
    let split = path.split.unwrap();
    assert_abs_diff_eq!(split.plus.value.base(), 2.0, epsilon = 1e-9);
    assert_eq!(severity(&study, "reading-off", leg), None);
    // With a load of 21 ohm 21 V drive 1 A: all at once, a joint in the positive leg explains it.
    let all = changed(&ac, "23 ohm", "21 ohm");
    let whole = self::study(&all).readings.whole.unwrap();
    assert_eq!(whole.faults()[0].cause, Cause::Joint(0, Leg::Plus));
}

/// 24 V behind 1 ohm: 23.5 V at 0.5 A and 23 V at 1 A; on ac as on dc. With a power factor the volts
/// that the source loses stand at an angle, and nothing follows.
#[rstest]
#[case("idle = \"1 A\", half = \"0.5 A\" }", 1)]
#[case("idle = \"24 W\", half = \"12 W\" }\npower_factor = 0.8", 0)]
fn a_source_on_ac_sags_as_on_dc(#[case] draw: &str, #[case] sources: usize) {
    let readings = [("psu", "23.00 V"), ("W1", "1.00 A")];
    let text = changed(
        &yard(
            "[case.half]\nstates = { hub = \"half\" }\n[case.all]\nstates = { hub = \"idle\" }",
            &readings,
        ),
        "draw = { idle = \"1 A\" }",
        &format!("draw = {{ {draw}"),
    );
    let text = changed(&text, "case = \"all idle\"", "case = \"all\"");
    let text = changed(
        &text,
        "voltage = \"24 V\"",
        "kind = \"ac\"\nvoltage = \"24 V\"",
    );
    let half = "[[reading]]\nat = \"psu\"\nvalue = \"23.50 V\"\nmeter = \"M1\"\ncase = \"half\"\n[[reading]]\nat = \"W1\"\nvalue = \"0.50 A\"\nmeter = \"M1\"\ncase = \"half\"\n";
    let study = study(&format!("{text}{half}"));
    assert_eq!(study.readings.sources.len(), sources);
    if let Some(source) = study.readings.sources.first() {
        assert_abs_diff_eq!(source.volts.value.base(), 24.0, epsilon = 1e-9);
        assert_abs_diff_eq!(source.ohms.value.base(), 1.0, epsilon = 1e-9);
    }
}
