//! Published examples and tables: Peukert's law, IEEE 485, standby by hand.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use farend::tables::battery;
use farend::units::{ElectricCharge, Measure, ThermodynamicTemperature};
use rstest::rstest;

use super::Bench;

fn celsius(c: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::from_base(c + 273.15)
}

/// Two printed examples of t = C / I^k, which is the law about a rate of 1 A: H = C / 1 A.
///
/// # Source
/// Tutorials on Peukert's law, looked up: 250 Ah, 20 A, k 1.3: 5.088631644 h; 100 Ah, 5 A, k 1.2:
/// 14.5 h. The third, 100 Ah at 20 h, 10 A, k 1.2: 8.7 h, is from memory.
#[rstest]
#[case("250 Ah", "250 h", "20 A", "1.3", 5.088_631_644, 5e-10)]
#[case("100 Ah", "100 h", "5 A", "1.2", 14.5, 0.05)]
#[case("100 Ah", "20 h", "10 A", "1.2", 8.7, 0.05)]
fn peukert_examples(
    #[case] capacity: &str,
    #[case] rate: &str,
    #[case] draw: &str,
    #[case] k: &str,
    #[case] hours: f64,
    #[case] half_digit: f64,
) {
    let solved = Bench::drawing(draw)
        .with("capacity", &format!("\"{capacity}\""))
        .with("rate", &format!("\"{rate}\""))
        .with("peukert", k)
        .solved();
    assert_abs_diff_eq!(solved.number("hours"), hours, epsilon = half_digit);
}

/// The exponent that stands in for a silent one fits the rate table at 20 h and 1 h, and comes
/// within 10 % of the hours between.
#[test]
fn the_typical_exponent_follows_from_the_rate_table() {
    let k = battery::peukert();
    assert_abs_diff_eq!(k, 1.22, epsilon = 0.005);
    for (hours, percent, within) in [
        (20.0, 100.0, 1e-9),
        (10.0, 93.0, 0.08),
        (5.0, 83.0, 0.08),
        (3.0, 76.0, 0.1),
        (1.0, 58.0, 1e-9),
    ] {
        // Amps at which 100 Ah last so long, drawn without ohms.
        let amps = percent / hours;
        let lasts = 20.0 * (100.0_f64 / (amps * 20.0)).powf(k);
        assert_relative_eq!(lasts, hours, max_relative = within);
    }
}

/// IEEE Std 485 Table 1 (from memory): 77 F is 25 C; 32 F lies between 30 and 35 F.
#[rstest]
#[case(40.0, 1.30)]
#[case(50.0, 1.19)]
#[case(60.0, 1.11)]
#[case(70.0, 1.04)]
#[case(77.0, 1.00)]
#[case(80.0, 0.98)]
#[case(90.0, 0.94)]
#[case(32.0, 1.40)]
fn ieee_485_cell_size_factors(#[case] fahrenheit: f64, #[case] factor: f64) {
    let at = celsius((fahrenheit - 32.0) / 1.8);
    let found = battery::cell_size_factor(at).unwrap().base();
    assert_abs_diff_eq!(found, factor, epsilon = 0.005);
}

#[rstest]
#[case(-4.0)]
#[case(52.0)]
fn ieee_485_says_nothing_outside_its_range(#[case] at: f64) {
    assert_eq!(battery::cell_size_factor(celsius(at)), None);
}

/// A worked example of battery sizing by the factors of IEEE 485 (from memory): 3242.8 Wh at
/// 120 V, ageing 1.25, 0.956 at 30 C, 1.1 for the rate, 80 % deep: 44.4 Ah. That battery, with the
/// same factors turned over, holds the same energy.
#[test]
fn a_sizing_example_run_backwards() {
    let mut bench = Bench::drawing("0.02 A");
    for (key, value) in [
        ("capacity", "\"40.3637 Ah\""), // 44.4 Ah / 1.1 for the rate
        ("cells", "60"),
        ("full", "\"120 V\""),
        ("empty", "\"120 V\""),
        ("cold_capacity", "\"104.6025 %\""), // 1 / 0.956
        ("aged", "\"80 %\""),                // 1 / 1.25
        ("usable", "\"80 %\""),
    ] {
        bench = bench.with(key, value);
    }
    bench.supply = "voltage = \"120 V\"".to_owned();
    let text = bench.text().replacen("voltage = \"12 V\"\n", "", 1);
    let solved = super::Solved::of(&text);
    let energy = solved.number("amp_hours") * 120.0;
    // 44.4 Ah is rounded: half a digit of it.
    assert_relative_eq!(energy, 3242.8, max_relative = 0.05 / 44.4);
}

/// Standby of an alarm panel (study notes for a fire-alarm certificate, looked up): 0.25 A for 24 h
/// and 1.5 A for 5 min are 6.125 Ah. A battery of just that capacity, without a loss by rate,
/// bridges 24.5 h of 0.25 A.
#[test]
fn standby_by_hand() {
    let needed: f64 = 0.25 * 24.0 + 1.5 * 5.0 / 60.0;
    assert_abs_diff_eq!(needed, 6.125, epsilon = 0.0005);
    let solved = Bench::drawing("0.25 A")
        .with("capacity", &format!("\"{needed} Ah\""))
        .with("peukert", "1.0")
        .solved();
    assert_relative_eq!(solved.number("hours"), 24.0 + 0.5, max_relative = 1e-9);
}

/// The table of the cold, spot values retyped; between rows straight, beyond them held.
#[rstest]
#[case(25.0, 100.0)]
#[case(0.0, 85.0)]
#[case(-15.0, 68.5)]
#[case(-30.0, 45.0)]
#[case(-45.0, 45.0)]
#[case(60.0, 103.0)]
fn capacity_in_the_cold(#[case] at: f64, #[case] percent: f64) {
    let found = battery::cold_capacity(celsius(at)).base();
    assert_abs_diff_eq!(found * 100.0, percent, epsilon = 1e-9);
}

/// Typical resistance of 12 V batteries: the rows themselves, half of it for three cells, and
/// capacity x resistance held beyond the rows.
#[rstest]
#[case(7.0, 6, 25.0)]
#[case(18.0, 6, 13.0)]
#[case(100.0, 6, 5.0)]
#[case(7.0, 3, 12.5)]
#[case(200.0, 6, 2.5)]
#[case(3.5, 6, 50.0)]
fn typical_resistance(#[case] ah: f64, #[case] cells: u32, #[case] milliohm: f64) {
    let found = battery::resistance(ElectricCharge::from_base(ah * 3600.0), cells);
    assert_relative_eq!(found.base() * 1e3, milliohm, max_relative = 1e-9);
}

/// What stands in for silent keys is listed, each with its value.
#[test]
fn silent_keys_are_assumptions() {
    let mut bench = Bench::drawing("1 A");
    bench
        .battery
        .retain(|(key, _)| ["capacity", "fuse"].contains(key));
    let solved = bench
        .with("coldest", "\"10 C\"")
        .with("charge", "\"14.4 V\"")
        .solved();
    let assumed: Vec<(String, String)> = solved.0["assumptions"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|a| a["key"].as_str().unwrap().starts_with("battery."))
        .map(|a| {
            (
                a["key"].as_str().unwrap()[8..].to_owned(),
                a["value"].as_str().unwrap().to_owned(),
            )
        })
        .collect();
    let wanted = [
        ("chemistry", "lead-acid"),
        ("cells", "6"),
        ("rate", "20 h"),
        ("cold_capacity", "93.0 %"),
        ("aged", "80.0 %"),
        ("usable", "100.0 %"),
        ("peukert", "1.222"),
        ("full", "12.8 V"),
        ("empty", "11.8 V"),
        ("charge_slope", "18 mV/C"),
        ("resistance", "19.5 mohm"),
    ];
    assert_eq!(assumed, wanted.map(|(k, v)| (k.to_owned(), v.to_owned())));
    assert_relative_eq!(
        solved.number("capacity_ah"),
        10.0 * 0.93 * 0.8,
        max_relative = 1e-12
    );
}
