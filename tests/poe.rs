//! Power over Ethernet against the standard's own figures.

use approx::assert_relative_eq;
use farend::circuit::Corner;
use farend::site;
use farend::solve::Solver;
use farend::study::Study;
use farend::tables;
use farend::units::Measure;
use rstest::rstest;

/// A port, a channel and a device.
struct Link {
    class: u8,
    volts: f64,
    watts: f64,
    /// Of the whole channel, out and back.
    ohms: f64,
    metres: f64,
    pairs: u32,
    budget: f64,
}

impl Link {
    /// The limit of a class, on everything at once.
    fn at_the_limit(class: u8) -> Self {
        let row = tables::poe_class(class).unwrap();
        Self {
            class,
            volts: row.least_volts.base(),
            watts: row.device.base(),
            ohms: row.channel.base(),
            metres: 100.0,
            pairs: row.pairs,
            budget: 1000.0,
        }
    }

    fn study(&self) -> (site::Site, Study) {
        // One leg of the whole channel is half its ohms, on `pairs` conductors side by side.
        let per_km = self.ohms / 2.0 * f64::from(self.pairs) / 0.1;
        let text = format!(
            r#"format = 1
[cable.channel]
size = "24 AWG"
conductors = 8
resistance = "{per_km} ohm/km"
[design]
hot = "20 C"
[supply.switch]
voltage = "{} V"
tolerance = "0 %"
resistance = "0 ohm"
poe = {{ class = {}, pairs = {}, budget = "{} W" }}
[device.hub]
lowest = "10 V"
highest = "57 V"
draw = {{ idle = "{} W" }}
[run.E1]
from = "switch"
to = "hub"
cable = "channel"
length = "{} m"
carries = ["power", "ethernet"]
parallel = {}
"#,
            self.volts, self.class, self.pairs, self.budget, self.watts, self.metres, self.pairs
        );
        let site = site::read(&text).unwrap_or_else(|e| panic!("{e:?}\n{text}"));
        let study = Study::of(&site, &mut Solver::new());
        (site, study)
    }

    fn found(&self) -> Vec<&'static str> {
        let (_, study) = self.study();
        let codes = study.findings.iter().map(|j| j.finding.code);
        codes
            .filter(|code| code.starts_with("poe") || code.starts_with("channel"))
            .collect()
    }
}

/// IEEE 802.3, clauses 33 and 145: least volts at the device at its most watts, and the amps there.
/// Watts and the volts of types 1, 2 and 4: secondary copy seen; the other volts from memory.
#[rstest]
#[case(0, 37.0, 0.350)]
#[case(1, 42.1, 0.091)]
#[case(2, 40.8, 0.159)]
#[case(3, 37.0, 0.350)]
#[case(4, 42.5, 0.600)]
#[case(5, 44.3, 0.900)]
#[case(6, 42.5, 1.200)]
#[case(7, 42.9, 1.442)]
#[case(8, 41.1, 1.731)]
fn every_class_closes_on_the_solver(#[case] class: u8, #[case] volts: f64, #[case] amps: f64) {
    let (_, study) = Link::at_the_limit(class).study();
    let row = study.results.row(0, Corner::Low).unwrap();
    let device = study.results.device(row, 0).unwrap();
    // The standard's watts are rounded to 0.05 and 0.1 W, so volts hold to a tenth.
    assert_relative_eq!(device.volts.base(), volts, epsilon = 0.11);
    assert_relative_eq!(device.amps.base(), amps, epsilon = 0.003);
    let port = study.results.supply(row, 0).unwrap().watts.base();
    let given = tables::poe_class(class).unwrap().port.base();
    assert_relative_eq!(port, given, max_relative = 0.011);
}

#[rstest]
#[case(3)]
#[case(4)]
#[case(6)]
#[case(8)]
fn each_limit_is_judged_on_both_sides(#[case] class: u8) {
    let limit = || Link::at_the_limit(class);
    assert!(limit().found().is_empty(), "{:?}", limit().found());
    let over = [
        (
            "poe-watts",
            Link {
                watts: limit().watts * 1.001,
                ..limit()
            },
        ),
        (
            "channel-length",
            Link {
                metres: 100.1,
                ohms: limit().ohms * 0.99,
                ..limit()
            },
        ),
        (
            "poe-budget",
            Link {
                budget: limit().watts,
                ..limit()
            },
        ),
    ];
    for (code, link) in over {
        assert_eq!(link.found(), [code]);
    }
    let stouter = Link {
        watts: limit().watts * 0.5,
        ohms: limit().ohms * 1.001,
        ..limit()
    };
    assert_eq!(stouter.found(), ["poe-channel"]);
}

#[test]
fn classes_over_4_need_four_pairs() {
    let pairs = |class, pairs| {
        Link {
            pairs,
            ..Link::at_the_limit(class)
        }
        .found()
    };
    assert_eq!(pairs(5, 2), ["poe-pairs"]);
    assert!(pairs(5, 4).is_empty());
    assert!(pairs(4, 2).is_empty());
}
