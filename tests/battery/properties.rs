//! What holds for every battery, tried on drawn ones.

use proptest::prelude::*;

use super::{Bench, Solved};

#[derive(Clone, Debug)]
struct Drawn {
    watts: f64,
    ohms: f64,
    amps: f64,
    leg: &'static str,
    inner: f64,
    k: f64,
    disconnect: f64,
}

impl Drawn {
    fn bench(&self) -> Bench {
        let mut bench = Bench::drawing("off")
            .with("resistance", &format!("\"{} ohm\"", self.inner))
            .with("peukert", &format!("{:?}", self.k))
            .with("disconnect", &format!("\"{} V\"", self.disconnect));
        bench.leg = self.leg;
        bench.device = format!("draw = {{ idle = \"{} W\" }}", self.watts);
        bench.more = format!(
            "[device.lock]\non = \"hub\"\ndraw = {{ idle = \"{} ohm\" }}\n[device.reader]\non = \"hub\"\ndraw = {{ idle = \"{} A\" }}\n",
            self.ohms, self.amps
        );
        bench
    }

    fn with(&self, key: &'static str, value: &str) -> Solved {
        self.bench().with(key, value).solved()
    }
}

fn drawn() -> impl Strategy<Value = Drawn> {
    (
        0.5..20.0_f64,
        10.0..500.0_f64,
        0.01..1.0_f64,
        prop_oneof![Just("0 ohm"), Just("0.2 ohm"), Just("1 ohm")],
        0.0..0.5_f64,
        1.0..1.4_f64,
        9.0..12.0_f64,
    )
        .prop_map(|(watts, ohms, amps, leg, inner, k, disconnect)| Drawn {
            watts,
            ohms,
            amps,
            leg,
            inner,
            k,
            disconnect,
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Twice the capacity lasts twice as long below C/H, and longer still above.
    #[test]
    fn a_larger_battery_lasts_longer(drawn in drawn()) {
        let (small, large) = (drawn.with("capacity", "\"5 Ah\""), drawn.with("capacity", "\"10 Ah\""));
        prop_assert!(large.number("hours") >= 2.0 * small.number("hours") * (1.0 - 1e-9));
    }

    /// A greater exponent never lasts longer; at exponent 1 the ampere-hours drawn are q x C.
    #[test]
    fn the_exponent_takes_away(drawn in drawn()) {
        let (one, more) = (drawn.with("peukert", "1.0"), drawn.with("peukert", "1.3"));
        prop_assert!(more.number("hours") <= one.number("hours") * (1.0 + 1e-9));
        let q = 1.0 - one.number("charge_left");
        prop_assert!((one.number("amp_hours") - 10.0 * q).abs() <= 1e-5);
        prop_assert!((one.number("charge_left") - more.number("charge_left")).abs() <= 1e-9);
    }

    /// Switched off sooner, it ends sooner, with more left.
    #[test]
    fn a_higher_disconnect_ends_sooner(drawn in drawn()) {
        let (late, soon) = (drawn.with("disconnect", "\"11 V\""), drawn.with("disconnect", "\"11.7 V\""));
        prop_assert!(soon.number("hours") <= late.number("hours") * (1.0 + 1e-9));
        prop_assert!(soon.number("charge_left") >= late.number("charge_left") - 1e-9);
    }

    /// Whatever ends it, the volts at its terminals are those of its charge less its own drop.
    #[test]
    fn the_end_obeys_ohms_law(drawn in drawn()) {
        let solved = drawn.bench().solved();
        if solved.number("hours") > 0.0 {
            let q = 1.0 - solved.number("charge_left");
            let rest = 12.8 - 1.6 * q;
            let drop = solved.number("last_amps") * drawn.inner;
            prop_assert!((solved.number("end_volts") - (rest - drop)).abs() < 1e-6);
            let held = match solved.ends_by() {
                "charge" => solved.number("charge_left").abs() < 1e-9,
                "disconnect" => (solved.number("end_volts") - drawn.disconnect).abs() < 1e-6,
                _ => solved.number("end_volts") > drawn.disconnect,
            };
            prop_assert!(held);
        }
    }
}
