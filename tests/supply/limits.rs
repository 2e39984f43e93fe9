//! Limiters and diodes of a site, solved, sized and searched.

use approx::assert_abs_diff_eq;
use farend::diagnostic::Severity;
use farend::size::{Watch, size};
use farend::solve::Solver;
use farend::states::{AllStates, Reach};
use farend::units::Measure;
use rstest::rstest;

use super::Simple;

fn hub_volts(simple: &Simple) -> Option<f64> {
    let results = simple.results();
    results.device(&results.rows[0], 0).map(|w| w.volts.base())
}

// 24 V into 1 + 1 + 10 ohm: 2 A and 20 V. At 1.5 A hard: 15 V. Folding at 1.5 A with no ohms of
// its own: I = 0.5 + 1.0 x V / 24 at V = 12 I, so I = 1 A and 10 V at the hub.
#[rstest]
#[case("limit = \"none\"\nlimit_current = \"1.5 A\"", 20.0, None)]
#[case("limit = \"hard\"\nlimit_current = \"2.01 A\"", 20.0, None)]
#[case("limit = \"hard\"\nlimit_current = \"1.5 A\"", 15.0, Some("limiting"))]
#[case("limit = \"hard\"\ncurrent = \"1.5 A\"", 15.0, Some("limiting"))]
#[case(
    "limit = \"hard\"\ncurrent = \"1 A\"\npeak = \"1.5 A\"",
    15.0,
    Some("limiting")
)]
#[case(
    "limit = \"foldback\"\nlimit_current = \"1.5 A\"",
    10.0,
    Some("limiting")
)]
#[case("one_way = \"0.6 V\"", 19.5, None)]
fn a_limiter_is_solved(#[case] supply: &str, #[case] volts: f64, #[case] code: Option<&str>) {
    let simple = Simple::new(supply, "draw = { idle = \"10 ohm\" }");
    assert_abs_diff_eq!(hub_volts(&simple).unwrap(), volts, epsilon = 1e-9);
    let found = simple.finding("limiting");
    assert_eq!(found.as_ref().map(|f| f.code), code);
    if let Some(found) = found {
        assert_eq!(found.severity, Severity::Fail);
        // The knee of a supply without ohms is its own volts; 2 ohm lie between it and the hub.
        assert_eq!(found.limit, Some(24.0));
        assert_abs_diff_eq!(found.value.unwrap(), volts * 1.2, epsilon = 1e-9);
    }
}

#[rstest]
#[case("1.99 A", false)]
#[case("2.01 A", true)]
fn a_hiccup_has_no_steady_state(#[case] limit: &str, #[case] stands: bool) {
    let supply = format!("limit = \"hiccup\"\nlimit_current = \"{limit}\"");
    let simple = Simple::new(&supply, "draw = { idle = \"10 ohm\" }");
    assert_eq!(hub_volts(&simple).is_some(), stands);
    let found = simple.finding("hiccup");
    assert_eq!(found.is_none(), stands);
    if let Some(found) = found {
        assert_abs_diff_eq!(found.value.unwrap(), 2.0, epsilon = 1e-9);
        assert_eq!(found.limit, Some(1.99));
        assert!(simple.finding("no-operating-point").is_some());
    }
}

#[test]
fn watts_over_the_limit_collapse() {
    // 24 V x 2 A are 48 W; 60 W would need 2.5 A.
    let supply = "limit = \"hard\"\nlimit_current = \"2 A\"";
    let simple =
        Simple::new(supply, "on = \"psu\"\ndraw = { idle = \"60 W\" }").more("[device.far]\n");
    let simple = Simple {
        more: simple.more.clone(),
        leg: "resistance = \"1 ohm\"",
        ..simple
    };
    assert!(hub_volts(&simple).is_none());
    let found = simple.finding("limiting").unwrap();
    assert_abs_diff_eq!(found.value.unwrap(), 2.5, epsilon = 1e-9);
    assert_eq!((found.limit, found.unit), (Some(2.0), Some("A")));
}

#[test]
fn a_blocked_supply_stands_by_and_takes_nothing_in() {
    let spare = "[supply.spare]\nvoltage = \"20 V\"\none_way = \"0.5 V\"\non = \"psu\"\n";
    let simple = Simple::new("resistance = \"1 ohm\"", "draw = { idle = \"1 A\" }").more(spare);
    let results = simple.results();
    let [psu, spare] = [0, 1].map(|i| results.supply(&results.rows[0], i).unwrap());
    assert_abs_diff_eq!(psu.volts.base(), 23.0, epsilon = 1e-9);
    assert_abs_diff_eq!(spare.signed_amps(), 0.0);
    assert_eq!(
        simple.finding("stands-by").unwrap().severity,
        Severity::Note
    );
    assert!(simple.finding("back-feed").is_none());
    // Without the diode 2 A flow back through no ohms at all.
    let open = Simple::new("resistance = \"1 ohm\"", "draw = { idle = \"1 A\" }")
        .more("[supply.spare]\nvoltage = \"20 V\"\non = \"psu\"\n");
    assert!(open.finding("back-feed").is_some());
}

#[rstest]
#[case("limit = \"hard\"", true)]
#[case("limit_current = \"2 A\"", true)]
#[case("limit = \"none\"\nlimit_current = \"2 A\"", false)]
#[case("limit = \"hard\"\ncurrent = \"2 A\"", false)]
#[case("", false)]
fn half_a_limiter_is_asked_about(#[case] supply: &str, #[case] asks: bool) {
    let found = Simple::new(supply, "draw = { idle = \"1 W\" }").finding("limiter-unknown");
    assert_eq!(found.map(|f| f.severity), asks.then_some(Severity::Ask));
}

#[test]
fn an_alternating_supply_at_its_limit_is_not_solved() {
    let ac = "kind = \"ac\"\none_way = \"0.5 V\"\nlimit = \"hard\"\nlimit_current = \"1.9 A\"";
    let simple = Simple::new(ac, "draw = { idle = \"10 ohm\" }");
    assert!(hub_volts(&simple).is_none());
    assert!(
        simple
            .finding("hiccup")
            .unwrap()
            .message()
            .contains("no sine")
    );
    assert_eq!(
        simple.finding("restrained-ac").unwrap().severity,
        Severity::Ask
    );
}

#[test]
fn all_states_feel_the_limiter() {
    // Idle 1 A flows, active 2 A would; the limit of 1.5 A leaves the hub 15 V, not 20.
    let supply = "limit = \"hard\"\nlimit_current = \"1.5 A\"";
    let device = "draw = { idle = \"22 ohm\", active = \"10 ohm\" }";
    let site = Simple::new(supply, device).site();
    let all = AllStates::of(&site, Reach::Proof, &mut Solver::new());
    assert!(all.proven);
    let least = all.devices[0].least.as_ref().unwrap();
    assert_abs_diff_eq!(least.value.base(), 15.0, epsilon = 1e-9);
    let most = all.supplies[0].as_ref().unwrap();
    assert_abs_diff_eq!(most.value.base(), 1.5, epsilon = 1e-9);
}

#[rstest]
// 0.81 ohm a leg and more in 18 AWG over 100 ft, 0.2 in 12 AWG; both leave 14 V at 1.5 A.
#[case("14 V", true)]
// No copper cures a limiter: 1.5 A x 10 ohm are 15 V.
#[case("15.1 V", false)]
fn a_design_passes_only_as_solved(#[case] lowest: &str, #[case] passes: bool) {
    let supply = "limit = \"hard\"\nlimit_current = \"1.5 A\"";
    let device = format!("lowest = \"{lowest}\"\ndraw = {{ idle = \"10 ohm\" }}");
    let site = Simple::new(supply, &device)
        .leg("cable = \"18/2\"\nlength = \"100 ft\"")
        .more("[sizing]\nchoices = [\"18/2\", \"12/2\"]\n")
        .site();
    let watch = Watch {
        tell: &|_| {},
        goes_on: &|| true,
    };
    let sizing = size(&site, &watch);
    assert_eq!(sizing.cost.is_some(), passes);
    // One supply that stands in no loop: the proof holds behind its limiter, too.
    assert_eq!(sizing.optimal, passes);
    assert_eq!(sizing.bound, sizing.cost);
    assert_eq!(sizing.unsized_runs.is_empty(), passes);
}
