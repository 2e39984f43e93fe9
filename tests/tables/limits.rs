//! Ampacities, class limits and wet contact.

use approx::assert_relative_eq;
use farend::tables::{CurrentKind, PowerClass, ampacity, class_limit, wet_contact_limit};
use farend::units::ElectricPotential;
use farend::units::Size;
use rstest::rstest;
use uom::si::electric_current::ampere;
use uom::si::electric_potential::volt;
use uom::si::power::watt;

use super::gauges;

use CurrentKind::{Ac, Dc};
use PowerClass::{Class2, Class3};

/// NEC 402.5 for 18 to 10 AWG; common practice below; between rows, the next smaller gauge.
#[rstest]
#[case(Size::Awg(10), Some((28.0, 10)))]
#[case(Size::Awg(12), Some((23.0, 12)))]
#[case(Size::Awg(14), Some((17.0, 14)))]
#[case(Size::Awg(16), Some((8.0, 16)))]
#[case(Size::Awg(17), Some((6.0, 18)))]
#[case(Size::Awg(18), Some((6.0, 18)))]
#[case(Size::Awg(20), Some((3.0, 20)))]
#[case(Size::Awg(22), Some((2.0, 22)))]
#[case(Size::Awg(24), Some((1.0, 24)))]
#[case(Size::Awg(26), None)]
#[case(Size::Awg(9), Some((28.0, 10)))]
#[case(Size::Awg(8), None)]
#[case(Size::Mm2(0.2), None)]
#[case(Size::Mm2(0.5), Some((2.0, 22)))]
#[case(Size::Mm2(0.75), Some((3.0, 20)))]
#[case(Size::Mm2(1.0), Some((6.0, 18)))]
#[case(Size::Mm2(1.5), Some((8.0, 16)))]
#[case(Size::Mm2(2.5), Some((17.0, 14)))]
#[case(Size::Mm2(6.0), Some((28.0, 10)))]
#[case(Size::Mm2(10.0), None)]
fn a_conductor_carries(#[case] gauge: Size, #[case] expected: Option<(f64, i32)>) {
    let found = ampacity(gauge).map(|limit| (limit.amps.get::<ampere>(), limit.row));
    assert_eq!(found, expected.map(|(amps, awg)| (amps, Size::Awg(awg))));
}

#[test]
fn a_limit_says_how_far_it_can_be_trusted() {
    assert!(
        ampacity(Size::Awg(18))
            .unwrap()
            .source
            .contains("by analogy")
    );
    assert!(
        ampacity(Size::Awg(22))
            .unwrap()
            .source
            .contains("common practice, no source")
    );
}

#[test]
fn thicker_conductors_carry_no_less() {
    let amps: Vec<_> = gauges()
        .filter_map(ampacity)
        .map(|limit| limit.amps.get::<ampere>())
        .collect();
    assert!(amps.is_sorted_by(|thick, thin| thick >= thin));
}

/// NEC Chapter 9 Tables 11(A) and 11(B): nameplate amperes and volt-amperes.
#[rstest]
#[case(Class2, Ac, 0.0, Some((5.0, 0.0)))]
#[case(Class2, Dc, 12.0, Some((5.0, 60.0)))]
#[case(Class2, Dc, 20.0, Some((5.0, 100.0)))]
#[case(Class2, Ac, 24.0, Some((100.0 / 24.0, 100.0)))]
#[case(Class2, Ac, 30.0, Some((100.0 / 30.0, 100.0)))]
#[case(Class2, Ac, 30.1, None)]
#[case(Class2, Dc, 48.0, Some((100.0 / 48.0, 100.0)))]
#[case(Class2, Dc, 60.0, Some((100.0 / 60.0, 100.0)))]
#[case(Class2, Dc, 60.1, None)]
#[case(Class3, Ac, 24.0, None)]
#[case(Class3, Ac, 48.0, Some((100.0 / 48.0, 100.0)))]
#[case(Class3, Dc, 70.0, Some((100.0 / 70.0, 100.0)))]
#[case(Class3, Dc, 151.0, None)]
#[case(Class2, Dc, f64::NAN, None)]
fn a_class_allows(
    #[case] class: PowerClass,
    #[case] kind: CurrentKind,
    #[case] volts: f64,
    #[case] expected: Option<(f64, f64)>,
) {
    let found = class_limit(class, kind, ElectricPotential::new::<volt>(volts));
    assert_eq!(found.is_some(), expected.is_some());
    if let (Some(limit), Some((amps, va))) = (found, expected) {
        assert_relative_eq!(limit.amps.get::<ampere>(), amps, max_relative = 1e-12);
        assert_relative_eq!(limit.va.get::<watt>(), va, max_relative = 1e-12);
        assert!(limit.source.starts_with("NEC Chapter 9 Table 11("));
    }
}

/// NEC Chapter 9 Table 11 notes 2 and 4.
#[rstest]
#[case(Ac, 15.0, "note 2")]
#[case(Dc, 30.0, "note 4")]
fn wet_contact_begins(#[case] kind: CurrentKind, #[case] volts: f64, #[case] note: &str) {
    let (limit, source) = wet_contact_limit(kind);
    assert_relative_eq!(limit.get::<volt>(), volts, max_relative = 1e-12);
    assert!(source.ends_with(note));
}
