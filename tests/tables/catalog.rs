//! Typical devices and cables.

use approx::assert_relative_eq;
use farend::site::fields::DEVICE_KINDS;
use farend::tables::{Material, Stranding, cable, cable_names, device, device_names};
use farend::units::Size;
use uom::si::capacitance::picofarad;
use uom::si::electrical_resistance::ohm;
use uom::si::length::{kilometer, meter};

use farend::units::Length;

/// Splits "0.5 A" into its number and unit.
fn split(value: &str) -> (f64, &str) {
    let (number, unit) = value.split_once(' ').unwrap();
    (number.parse().unwrap(), unit)
}

/// Reads a draw's first number in A, W or VA.
fn magnitude(draw: &str) -> f64 {
    let (number, unit) = split(draw);
    if unit.starts_with("mA") {
        number / 1000.0
    } else {
        number
    }
}

fn is_name(name: &str) -> bool {
    let plain = |c: char| c.is_ascii_alphanumeric() || " -_/".contains(c);
    name.trim() == name && !name.is_empty() && name.chars().all(plain)
}

#[test]
fn the_hub_of_the_manual_is_there() {
    let hub = device("hub 12/24 V").unwrap();
    let states: Vec<_> = hub.draw.states().collect();
    assert_eq!(states, [("idle", "4 W"), ("active", "9 W")]);
    assert_eq!(
        (hub.lowest.as_deref(), hub.highest.as_deref()),
        (Some("10.8 V"), Some("30 V"))
    );
    assert_eq!(
        (hub.kind.as_str(), hub.source.as_str()),
        ("hub", "common practice, no source")
    );
    assert!(device("Hub 12/24 V").is_none());
}

#[test]
fn names_are_plain_and_used_once() {
    for names in [device_names().collect::<Vec<_>>(), cable_names().collect()] {
        let mut sorted = names.clone();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(sorted.len(), names.len());
        // A cable may have a decimal section in its name; nothing else has a dot.
        assert!(
            names.iter().all(|name| is_name(&name.replace('.', ""))),
            "{names:?}"
        );
    }
    assert!(device_names().all(is_name));
}

#[test]
fn devices_have_a_kind_and_volts_the_right_way_round() {
    for name in device_names() {
        let row = device(name).unwrap();
        assert!(
            DEVICE_KINDS.contains(&row.kind.as_str()),
            "{name}: {}",
            row.kind
        );
        assert!(!row.source.is_empty() && !row.checked.is_empty(), "{name}");
        let passive = row.draw.states().next().is_none();
        assert_eq!(
            row.lowest.is_none() && row.highest.is_none(),
            passive,
            "{name}"
        );
        if let (Some(lowest), Some(highest)) = (&row.lowest, &row.highest) {
            let (lowest, highest) = (split(lowest), split(highest));
            assert_eq!((lowest.1, highest.1), ("V", "V"), "{name}");
            assert!(0.0 < lowest.0 && lowest.0 < highest.0, "{name}");
        }
    }
}

/// Coils and heaters are labels, "A at V"; electronics are A, W or VA.
#[test]
fn draws_obey_the_law_of_their_kind() {
    for name in device_names() {
        let row = device(name).unwrap();
        let coil =
            ["electromagnetic lock", "electric strike", "heater"].contains(&row.kind.as_str());
        for (state, draw) in row.draw.states() {
            let (amps, rest) = split(draw);
            assert!(amps > 0.0, "{name} {state}");
            let label = rest.contains(" at ");
            assert!(
                label || ["A", "mA", "W", "VA"].contains(&rest),
                "{name} {state}: {draw}"
            );
            assert!(label || !coil, "{name} {state}: {draw}");
        }
    }
}

#[test]
fn typical_draws_lie_between_least_and_most() {
    for name in device_names() {
        let row = device(name).unwrap();
        assert_eq!(row.least.is_some(), row.most.is_some(), "{name}");
        let (Some(least), Some(most)) = (&row.least, &row.most) else {
            continue;
        };
        for draw in [&row.draw.idle, &row.draw.active].into_iter().flatten() {
            let law = |text: &str| {
                text.trim_start_matches(|c: char| !c.is_alphabetic())
                    .trim_start_matches('m')
                    .to_owned()
            };
            assert_eq!((law(least), law(most)), (law(draw), law(draw)), "{name}");
            assert!(
                magnitude(least) <= magnitude(draw),
                "{name}: {draw} under {least}"
            );
            assert!(
                magnitude(draw) <= magnitude(most),
                "{name}: {draw} over {most}"
            );
        }
    }
}

#[test]
fn cables_are_of_sizes_and_counts_that_a_site_may_name() {
    for name in cable_names() {
        let row = cable(name).unwrap();
        assert!((1..=100).contains(&row.conductors), "{name}");
        let fits = match row.gauge {
            Size::Awg(n) => (-3..=40).contains(&n),
            Size::Mm2(area) => (0.05..=300.0).contains(&area),
        };
        assert!(fits, "{name}");
        assert!(
            row.rated
                .iter()
                .all(|word| ["wet", "burial"].contains(&word.as_str())),
            "{name}"
        );
        assert!(!row.source.is_empty() && !row.checked.is_empty(), "{name}");
    }
}

/// A name in the short form GAUGE/COUNT and its words means something else; no cable may take one.
#[test]
fn no_cable_looks_like_a_gauge_and_a_count() {
    let short_words = [
        "solid", "stranded", "fine", "tinned", "shielded", "AWG", "mm2", "copper",
    ];
    for name in cable_names() {
        let own = name.split(' ').any(|word| {
            !short_words.contains(&word) && !word.starts_with(|c: char| c.is_ascii_digit())
        });
        assert!(own, "{name}");
    }
}

#[test]
fn a_reader_cable_knows_its_capacitance() {
    let row = cable("22/6 shielded reader cable").unwrap();
    assert_eq!(
        (row.conductors, row.gauge, row.shielded),
        (6, Size::Awg(22), true)
    );
    assert_eq!(
        (row.material, row.stranding),
        (Material::Copper, Stranding::Stranded)
    );
    let metre = Length::new::<meter>(1.0);
    let to_rest = (row.capacitance_to_rest.unwrap() * metre).get::<picofarad>();
    assert!((180.0..=215.0).contains(&to_rest));
    assert!(row.capacitance_to_rest > row.capacitance);
}

/// TIA-568: at most 9.38 ohm and 5.6 nF in 100 m.
#[test]
fn a_data_cable_states_its_greatest_resistance() {
    let row = cable("category 5e data cable").unwrap();
    let stated = row.resistance.unwrap().per_length * Length::new::<kilometer>(0.1);
    assert_relative_eq!(stated.get::<ohm>(), 9.38, max_relative = 1e-12);
    let pair = row.capacitance.unwrap() * Length::new::<meter>(100.0);
    assert_relative_eq!(pair.get::<picofarad>(), 5600.0, max_relative = 1e-12);
}
