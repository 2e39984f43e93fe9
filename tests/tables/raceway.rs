//! Raceways: areas, fill and cover.

use approx::assert_relative_eq;
use farend::tables::{
    Cover, RacewayKind, fill_share, least_cover, raceway_inside, raceway_sizes, round_area,
};
use farend::units::Length;
use rstest::rstest;
use uom::si::area::square_inch;
use uom::si::length::inch;

/// NEC Chapter 9 Table 4, areas of 100 % and 40 % as printed (from memory).
#[rstest]
#[case(RacewayKind::Emt, "1/2", 0.304, 0.122)]
#[case(RacewayKind::Emt, "3/4", 0.533, 0.213)]
#[case(RacewayKind::Emt, "1-1/4", 1.496, 0.598)]
#[case(RacewayKind::Emt, "2", 3.356, 1.342)]
#[case(RacewayKind::Pvc40, "1", 0.832, 0.333)]
#[case(RacewayKind::Pvc80, "1-1/2", 1.711, 0.684)]
fn areas(#[case] kind: RacewayKind, #[case] size: &str, #[case] whole: f64, #[case] forty: f64) {
    let inside = raceway_inside(kind, size).unwrap();
    let found = round_area(inside).get::<square_inch>();
    assert_relative_eq!(found, whole, epsilon = 1.1e-3);
    assert_relative_eq!(found * fill_share(3, None), forty, epsilon = 6e-4);
}

/// A worked question of the Steel Tube Institute's tables: 3 x 12, 4 x 10 and 8 x 8 AWG in EMT are
/// 0.4171 in2, and take trade size 1-1/4 at 40 %.
#[test]
fn a_worked_question_of_fill() {
    let used = 3.0 * 0.0133 + 4.0 * 0.0211 + 8.0 * 0.0366;
    assert_relative_eq!(used, 0.4171, epsilon = 5e-5);
    let fits = |inside: Length| round_area(inside).get::<square_inch>() * fill_share(15, None);
    let size = raceway_sizes(RacewayKind::Emt).find(|(_, inside)| fits(*inside) >= used);
    assert_eq!(size.unwrap().0, "1-1/4");
}

#[test]
fn shares_of_fill() {
    let short = Some(Length::new::<inch>(24.0));
    for (cables, share) in [(1, 0.53), (2, 0.31), (3, 0.40), (9, 0.40)] {
        assert_relative_eq!(fill_share(cables, None), share);
    }
    assert_relative_eq!(fill_share(2, short), 0.60);
}

/// NEC Table 300.5: drives and streets 24 in for all; a drive at home 18 in.
#[rstest]
#[case(None, Cover::Ground, Some(24.0))]
#[case(Some(RacewayKind::Rigid), Cover::Ground, Some(6.0))]
#[case(Some(RacewayKind::Pvc40), Cover::Ground, Some(18.0))]
#[case(Some(RacewayKind::Pvc80), Cover::Drive, Some(24.0))]
#[case(Some(RacewayKind::Rigid), Cover::Drive, Some(24.0))]
#[case(Some(RacewayKind::Duct), Cover::HomeDrive, Some(18.0))]
#[case(None, Cover::Building, None)]
fn covers(#[case] kind: Option<RacewayKind>, #[case] under: Cover, #[case] inches: Option<f64>) {
    let found = least_cover(kind, under).map(|c| c.get::<inch>());
    assert_eq!(found.is_some(), inches.is_some());
    if let (Some(found), Some(inches)) = (found, inches) {
        assert_relative_eq!(found, inches, epsilon = 1e-9);
    }
}

#[test]
fn kinds_without_rows_have_no_sizes() {
    assert!(raceway_inside(RacewayKind::Duct, "1").is_none());
    assert_eq!(raceway_sizes(RacewayKind::Rigid).count(), 0);
    assert_eq!(
        RacewayKind::ALL.map(RacewayKind::as_str),
        RacewayKind::WORDS
    );
}
