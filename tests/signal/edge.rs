//! How fast a Wiegand data conductor rises: by the closed form, and by a transient simulation of
//! driver, cable and pull-up.

use approx::assert_relative_eq;
use rstest::rstest;

use super::wiegand::{cable, line};
use crate::judged::{finding, severity, solved, value};
use crate::simulator::{is_there, print};

/// Seconds of the edge, as the program finds them; a pulse of 1 us makes any edge too slow.
fn edge(metres: f64, kilohms: f64) -> f64 {
    let pull_up = format!("\"{kilohms} kohm\"");
    let stated = [
        ("pull_up", pull_up.as_str()),
        ("pulse", "\"1 us\""),
        ("pull_up_at", "\"panel\""),
    ];
    let text = line(&cable(22, 54.021), &format!("{metres} m"), 0.001, &stated);
    value(&solved(&text), "wiegand-edge", "C")
}

// R C ln(V / (V - high_in)) at 100 pF/m, 5 V and 3.5 V (70 %, CMOS, from memory), in microseconds as
// a hand calculation prints them.
#[rstest]
#[case(30.0, [3.6, 7.9, 17.0, 36.0])]
#[case(100.0, [12.0, 26.0, 57.0, 120.0])]
#[case(150.0, [18.0, 40.0, 85.0, 181.0])]
fn edges_by_the_closed_form(#[case] metres: f64, #[case] printed_us: [f64; 4]) {
    for (kilohms, printed_us) in [1.0, 2.2, 4.7, 10.0].into_iter().zip(printed_us) {
        let found = edge(metres, kilohms);
        let closed = kilohms * 1e3 * 100e-12 * metres * (5.0_f64 / 1.5).ln();
        assert_relative_eq!(found, closed, max_relative = 1e-9);
        // Two digits printed.
        let digit = if printed_us < 10.0 { 0.1 } else { 1.0 };
        assert!((found * 1e6 - printed_us).abs() <= 0.51 * digit, "{found}");
    }
}

/// A deck of driver, cable and pull-up: the cable in twenty pieces of its ohms and farads, the
/// driver an open collector of 1 ohm that lets go at once.
fn deck(metres: f64, ohm_per_km: f64, kilohms: f64) -> String {
    let pieces = 20_u32;
    let (ohms, farads) = (
        ohm_per_km * metres / 1000.0 / f64::from(pieces),
        100e-12 * metres / f64::from(pieces),
    );
    let mut text = format!("* edge\nVP p 0 5\nRP p n{pieces} {}\n", kilohms * 1e3);
    text += "VG g 0 PULSE(5 0 10u 1n 1n 1 2)\nS1 n0 0 g 0 driver\n.model driver SW(VT=2.5 VH=0 RON=1 ROFF=1e9)\n";
    for i in 1..=pieces {
        text += &format!("R{i} n{} n{i} {ohms}\nC{i} n{i} 0 {farads}\n", i - 1);
    }
    text + &format!(
        ".options reltol=1e-5\n.control\nset numdgt=10\ntran 20n 600u 0 20n\n\
         meas tran t WHEN v(n{pieces})=3.5 RISE=1\nlet v_edge = t - 10u\nprint v_edge\nquit\n.endc\n.end\n"
    )
}

/// The closed form starts at 0 V and knows no ohms of the cable; a real low is a little above and
/// a real cable has some: 1 % together.
#[rstest]
#[case(30.0, 1.0)]
#[case(100.0, 4.7)]
#[case(150.0, 10.0)]
fn edges_by_a_transient_simulation(#[case] metres: f64, #[case] kilohms: f64) {
    if !is_there() {
        return;
    }
    let there = print(&deck(metres, 54.021, kilohms))["v_edge"];
    assert_relative_eq!(edge(metres, kilohms), there, max_relative = 0.01);
}

// Half of a pulse of 50 us, a quarter of a gap of 100 us: common practice, no source. 100 m and
// 2.0765 kohm: 10 nF x 2.0765 kohm x 1.20397 = 25 us.
#[rstest]
#[case("50 us", "2 ms", 2.07, None)]
#[case("50 us", "2 ms", 2.08, Some("fail"))]
#[case("49 us", "2 ms", 2.07, Some("fail"))]
#[case("100 us", "100 us", 2.07, None)]
#[case("100 us", "99 us", 2.07, Some("fail"))]
fn half_a_pulse_and_a_quarter_of_a_gap(
    #[case] pulse: &str,
    #[case] gap: &str,
    #[case] kilohms: f64,
    #[case] expected: Option<&str>,
) {
    let (pulse, gap, pull_up) = (
        format!("\"{pulse}\""),
        format!("\"{gap}\""),
        format!("\"{kilohms} kohm\""),
    );
    let stated = [
        ("pulse", pulse.as_str()),
        ("gap", gap.as_str()),
        ("pull_up", pull_up.as_str()),
    ];
    let json = solved(&line(&cable(18, 20.0), "100 m", 0.001, &stated));
    assert_eq!(severity(&json, "wiegand-edge", "C").as_deref(), expected);
}

/// The edge makes a pulse longer: 50 + 57 = 107 us at 100 m with 4.7 kohm, over the 100 us of
/// SIA AC-01-1996.10; with 1 kohm 62 us.
#[test]
fn the_edge_lengthens_the_pulse() {
    let with = |pull_up: &str| {
        let json = line(&cable(18, 20.0), "100 m", 0.001, &[("pull_up", pull_up)]);
        solved(&json)
    };
    let json = with("\"4.7 kohm\"");
    assert_relative_eq!(
        value(&json, "wiegand-pulse", "C"),
        107e-6,
        max_relative = 5e-3
    );
    assert_eq!(finding(&with("\"1 kohm\""), "wiegand-pulse", "C"), None);
}
