//! Where the conductors of a dead run touch one another, from its ohms at both ends.
//!
//! A run that is sound and shorted at its far end on purpose has the same ohms from either end. One
//! whose conductors touch somewhere, its far end open, has not, unless they touch halfway.

use crate::readings::bench::Bench;
use crate::readings::error::{Estimate, is_beyond, of_difference};
use crate::readings::model::{COPPER_SHARE, KELVIN, Ohms, PER_KELVIN};
use crate::site::{Run, WhichEnd};
use crate::units::{ElectricalResistance, Length, Measure};

/// What the ohms of both ends say together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ends {
    /// Ohms there and back, leads taken off, from the end `from` and from the end `to`.
    pub read: [ElectricalResistance; 2],
    /// Those from the one less those from the other.
    pub apart: Estimate<ElectricalResistance>,
    /// A short that explains both; none where the run has no length.
    pub short: Option<Short>,
}

/// A short between the conductors of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Short {
    /// How far it is from the end `from`.
    pub at: Estimate<Length>,
    /// Ohms of its own.
    pub ohms: Estimate<ElectricalResistance>,
    /// Ohms of both conductors over the whole length, sound and without joints.
    pub wire: ElectricalResistance,
    /// Whether it lies in the run and has ohms, as far as both can be told.
    pub is_possible: bool,
}

impl Ends {
    /// Of a run whose ohms were read at both ends; `should` are those of the sound one.
    pub(super) fn of(bench: &Bench<'_>, run: usize, should: Ohms) -> Option<Self> {
        let read = [WhichEnd::From, WhichEnd::To].map(|end| bench.ohms_from(run, end));
        let [Some(from), Some(to)] = read else {
            return None;
        };
        // A meter is off by a share of all that it shows, its leads with it.
        let shown = [from, to].map(|i| {
            let leads = bench.site.readings[i].leads.map_or(0.0, Measure::base);
            (bench.read(i).value + leads, bench.read(i).error)
        });
        let (digits, share) = of_difference(shown[0], shown[1]);
        let [a, b] = [from, to].map(|i| bench.read(i).value);
        let apart = digits + share * (shown[0].0 - shown[1].0).abs();
        // Its share does not cancel in their mean.
        let mean = digits / 2.0 + share * (shown[0].0 + shown[1].0) / 2.0;
        Some(Self {
            read: [a, b].map(ElectricalResistance::from_base),
            apart: Estimate::of(a - b, apart),
            short: Short::of(&bench.site.runs[run], should, ((a, b), (apart, mean))),
        })
    }

    /// Whether they differ by more than the meter: then the conductors touch.
    pub(super) fn differ(&self) -> bool {
        is_beyond(self.apart.value.base(), self.apart.u.base())
    }
}

impl Short {
    /// With r ohms a metre of one conductor and L metres, d metres from the end `from`:
    /// Ra = 2 r d + Rf and Rb = 2 r (L - d) + Rf, so d = L / 2 + (Ra - Rb) / (4 r) and
    /// Rf = (Ra + Rb) / 2 - r L. Joints lie nobody knows where: half of theirs count in Rf, and d may
    /// be off by all of them. `by_meter` is how far off Ra - Rb and their mean may be.
    fn of(run: &Run, should: Ohms, ((a, b), by_meter): ((f64, f64), (f64, f64))) -> Option<Self> {
        let metres = run.length.base();
        if run.resistance.is_some() || metres <= 0.0 || should.wire_ohm <= 0.0 {
            return None;
        }
        let copper = COPPER_SHARE.hypot(KELVIN * PER_KELVIN);
        let four_r = 2.0 * should.wire_ohm / metres;
        let beside = (a - b) / four_r;
        let (apart, mean) = by_meter;
        let u_m = (apart.hypot(should.rest_ohm) / four_r).hypot(beside * copper);
        let half_ohm = should.wire_ohm / 2.0;
        let ohm = f64::midpoint(a, b) - half_ohm - should.rest_ohm / 2.0;
        let u_ohm = mean.hypot(half_ohm * copper);
        let at = metres / 2.0 + beside;
        let outside = (beside.abs() - metres / 2.0).max(0.0);
        let is_possible = !is_beyond(outside, u_m) && !is_beyond(ohm.min(0.0), u_ohm);
        Some(Self {
            at: Estimate::of(at.clamp(0.0, metres), u_m),
            ohms: Estimate::of(ohm.max(0.0), u_ohm),
            wire: ElectricalResistance::from_base(should.wire_ohm),
            is_possible,
        })
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;

    fn run(splices_ohm: f64) -> (Run, Ohms) {
        let site = crate::site::read(
            "format = 1\n[device.a]\n[device.b]\n[run.W]\nfrom = \"a\"\nto = \"b\"\ncable = \"18/2\"\nlength = \"70 m\"\n",
        );
        let should = Ohms {
            wire_ohm: 140.0 * 0.020_695,
            rest_ohm: splices_ohm,
        };
        (site.unwrap().runs[0].clone(), should)
    }

    /// 70 m of 0.020695 ohm/m: 35 + 0.45 / 0.08278 = 40.4 m, (2.35 + 1.90) / 2 - 1.449 = 0.68 ohm; a
    /// meter that tells 0.0566 ohm of the difference 0.68 m, copper and 5 K 2.8 % of 5.44 m (by hand).
    #[test]
    fn both_ends_tell_where_it_is_and_its_own_ohms() {
        let (run, should) = run(0.0);
        let short = Short::of(&run, should, ((2.35, 1.90), (0.0566, 0.05))).unwrap();
        assert_abs_diff_eq!(short.at.value.base(), 40.436, epsilon = 1e-3);
        assert_abs_diff_eq!(short.ohms.value.base(), 0.6764, epsilon = 1e-4);
        assert_abs_diff_eq!(short.at.u.base(), 0.684_f64.hypot(0.152), epsilon = 2e-3);
        assert_abs_diff_eq!(
            short.ohms.u.base(),
            0.05_f64.hypot(1.4487 * 0.028_04),
            epsilon = 1e-3
        );
        assert!(short.is_possible);
    }

    /// Ohms of a run that is longer than entered lie outside of it; those of a shorter one leave
    /// less than nothing for the short.
    #[test]
    fn what_no_short_explains_is_not_called_one() {
        let (run, should) = run(0.0);
        let of = |a, b| Short::of(&run, should, ((a, b), (0.01, 0.01))).unwrap();
        assert!(!of(3.6, 0.2).is_possible);
        assert!(!of(0.8, 0.4).is_possible);
        assert!(of(2.9, 0.02).is_possible);
    }

    /// Joints of 40 mohm: 20 mohm less in the short, and 0.48 m more either way.
    #[test]
    fn joints_may_lie_anywhere() {
        let (run, should) = run(0.04);
        let short = Short::of(&run, should, ((2.35, 1.90), (0.0, 0.0))).unwrap();
        assert_abs_diff_eq!(short.ohms.value.base(), 0.6564, epsilon = 1e-4);
        assert_abs_diff_eq!(
            short.at.u.base(),
            (0.04_f64 / 0.08278).hypot(0.1524),
            epsilon = 2e-3
        );
    }
}
