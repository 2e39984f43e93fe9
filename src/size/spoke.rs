//! A device on its own wire from a hub, in closed form: what it draws and needs for the hub's
//! volts.
//!
//! With V at the hub and R ohms of wire, a constant power P draws the lesser root of
//! R i^2 - V i + P = 0, which there is from V = 2 sqrt(R P) on, and falls with V.

use crate::circuit::Law;

/// Amperes at some volts of the hub; NaN where there is no operating point.
pub(crate) fn drawn_a(law: Law, ohm: f64, hub_v: f64) -> f64 {
    match law {
        Law::Off => 0.0,
        Law::Current(amps) => amps,
        Law::Resistance(own_ohm) => hub_v / (own_ohm + ohm),
        Law::Power(watts) => 2.0 * watts / (hub_v + root_v(watts, ohm, hub_v)),
    }
}

/// Amperes more for a volt more at the hub.
pub(crate) fn slope_s(law: Law, ohm: f64, hub_v: f64) -> f64 {
    match law {
        Law::Off | Law::Current(_) => 0.0,
        Law::Resistance(own_ohm) => (own_ohm + ohm).recip(),
        Law::Power(watts) => -drawn_a(law, ohm, hub_v) / root_v(watts, ohm, hub_v),
    }
}

/// Volts at the hub with which the device has its least volts, and an operating point.
pub(crate) fn needed_v(law: Law, ohm: f64, lowest_v: f64) -> f64 {
    match law {
        Law::Off => lowest_v,
        Law::Current(amps) => lowest_v + ohm * amps,
        Law::Resistance(own_ohm) => lowest_v * (1.0 + ohm / own_ohm),
        Law::Power(watts) => {
            let device_v = lowest_v.max((ohm * watts).sqrt());
            if device_v > 0.0 {
                device_v + ohm * watts / device_v
            } else {
                0.0
            }
        }
    }
}

/// Volts at the device less what is lost in its wire.
fn root_v(watts: f64, ohm: f64, hub_v: f64) -> f64 {
    (hub_v * hub_v - 4.0 * watts * ohm).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Put into Ohm's and Joule's laws again: 12 W over 3 ohms from 24 V, and what keeps 20 V.
    #[test]
    fn power_is_volts_times_amperes_behind_the_wire() {
        let law = Law::Power(12.0);
        let amps = drawn_a(law, 3.0, 24.0);
        assert_abs_diff_eq!((24.0 - 3.0 * amps) * amps, 12.0, epsilon = 1e-12);
        let needed = needed_v(law, 3.0, 20.0);
        assert_abs_diff_eq!(
            needed - 3.0 * drawn_a(law, 3.0, needed),
            20.0,
            epsilon = 1e-12
        );
        let more = drawn_a(law, 3.0, 24.0 + 1e-6);
        assert_abs_diff_eq!(
            (more - amps) / 1e-6,
            slope_s(law, 3.0, 24.0),
            epsilon = 1e-7
        );
        // Below the greatest power that the wire can bring, V^2 / 4 R, nothing is drawn at all.
        assert!(drawn_a(law, 3.0, 11.9).is_nan() && !drawn_a(law, 3.0, 12.1).is_nan());
        assert_abs_diff_eq!(needed_v(law, 3.0, 0.0), 12.0, epsilon = 1e-12);
    }
}
