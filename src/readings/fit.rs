//! Straight lines through what was read: least squares, each point by its own weight.
//!
//! Numbers here are raw `f64` in SI units, with the unit in the name.

/// Amps and volts that belong together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    /// Amps.
    pub(super) amps_a: f64,
    /// Volts at those amps.
    pub(super) volts_v: f64,
    /// How far off the volts may be by chance, over 0.
    pub(super) u_v: f64,
}

impl Point {
    fn weight(&self) -> f64 {
        1.0 / (self.u_v * self.u_v)
    }
}

/// V = R I, as it fits best.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Slope {
    /// R.
    pub(super) ohm: f64,
    /// What R may be off by how the points scatter; none from one point.
    pub(super) scatter_ohm: Option<f64>,
    /// What R may be off by how far off each point may be.
    pub(super) told_ohm: f64,
}

impl Slope {
    /// R = sum w I V / sum w I^2 with w = 1 / u^2; s^2 = sum w (V - R I)^2 / (n - 1);
    /// u(R) = s / sqrt(sum w I^2) by scatter, 1 / sqrt(sum w I^2) by what the points tell.
    /// None without amps.
    pub(super) fn through_zero(points: &[Point]) -> Option<Self> {
        let sum = |value: fn(&Point) -> f64| -> f64 {
            points.iter().map(|p| p.weight() * value(p)).sum()
        };
        let squares = sum(|p| p.amps_a * p.amps_a);
        if !(squares > 0.0 && squares.is_finite()) {
            return None;
        }
        let ohm = sum(|p| p.amps_a * p.volts_v) / squares;
        let rest: f64 = (points.iter())
            .map(|p| p.weight() * (p.volts_v - ohm * p.amps_a).powi(2))
            .sum();
        let free = points.len() - 1;
        #[expect(clippy::cast_precision_loss, reason = "a count of readings")]
        let scatter_ohm = (free > 0).then(|| (rest / free as f64 / squares).sqrt());
        Some(Self {
            ohm,
            scatter_ohm,
            told_ohm: 1.0 / squares.sqrt(),
        })
    }
}

/// V = c + R I, as it fits best.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    /// R.
    pub(super) ohm: f64,
    /// What R may be off: the greater of scatter and of what the points tell.
    pub(super) u_ohm: f64,
    /// c.
    pub(super) volts_v: f64,
    /// What c may be off, likewise.
    pub(super) u_v: f64,
}

impl Line {
    /// The normal equations of weighted least squares; scatter counts from three points on.
    /// None where all amps are alike.
    pub(super) fn of(points: &[Point]) -> Option<Self> {
        let sum = |value: fn(&Point) -> f64| -> f64 {
            points.iter().map(|p| p.weight() * value(p)).sum()
        };
        let (w, wi, wii) = (sum(|_| 1.0), sum(|p| p.amps_a), sum(|p| p.amps_a.powi(2)));
        let (wv, wiv) = (sum(|p| p.volts_v), sum(|p| p.amps_a * p.volts_v));
        let determinant = w * wii - wi * wi;
        // Alike to a millionth: what is left is rounding.
        if points.len() < 2 || !determinant.is_finite() || determinant <= 1e-12 * w * wii {
            return None;
        }
        let ohm = (w * wiv - wi * wv) / determinant;
        let volts_v = (wii * wv - wi * wiv) / determinant;
        let rest: f64 = (points.iter())
            .map(|p| p.weight() * (p.volts_v - volts_v - ohm * p.amps_a).powi(2))
            .sum();
        #[expect(clippy::cast_precision_loss, reason = "a count of readings")]
        let scatter = match points.len() - 2 {
            0 => 0.0,
            free => rest / free as f64,
        };
        let widened = scatter.max(1.0);
        Some(Self {
            ohm,
            u_ohm: (widened * w / determinant).sqrt(),
            volts_v,
            u_v: (widened * wii / determinant).sqrt(),
        })
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;

    /// Amps and volts lost of an invented run of 18 AWG, 70 m.
    const LOST: [(f64, f64); 4] = [(0.18, 0.84), (0.41, 1.89), (0.89, 4.15), (1.16, 5.42)];

    fn points(of: &[(f64, f64)], u_v: &[f64]) -> Vec<Point> {
        let all = of.iter().zip(u_v.iter().cycle());
        all.map(|((amps_a, volts_v), u_v)| Point {
            amps_a: *amps_a,
            volts_v: *volts_v,
            u_v: *u_v,
        })
        .collect()
    }

    /// sum I V = 10.907, sum I^2 = 2.3382; `numpy.linalg.lstsq` of numpy 2.4.6 says 4.66461381,
    /// and 0.0091723 by scatter.
    #[test]
    fn the_slope_is_that_of_numpy() {
        let slope = Slope::through_zero(&points(&LOST, &[1.0])).unwrap();
        assert_abs_diff_eq!(slope.ohm, 4.664_613_81, epsilon = 1e-8);
        assert_abs_diff_eq!(slope.scatter_ohm.unwrap(), 0.009_172_3, epsilon = 1e-7);
        assert_abs_diff_eq!(slope.told_ohm, 1.0 / 2.3382_f64.sqrt(), epsilon = 1e-12);
    }

    /// Rows divided by 0.05, 0.04, 0.03 and 0.06 V: `numpy.linalg.lstsq` of numpy 2.4.6.
    #[test]
    fn weights_count_as_in_numpy() {
        let slope = Slope::through_zero(&points(&LOST, &[0.05, 0.04, 0.03, 0.06])).unwrap();
        assert_abs_diff_eq!(slope.ohm, 4.661_471_5, epsilon = 1e-7);
        assert_abs_diff_eq!(slope.scatter_ohm.unwrap(), 0.008_926_36, epsilon = 1e-8);
        assert_abs_diff_eq!(slope.told_ohm, 0.026_998_33, epsilon = 1e-8);
        let line = Line::of(&points(&LOST, &[0.05, 0.04, 0.03, 0.06])).unwrap();
        assert_abs_diff_eq!(line.ohm, 4.682_270_07, epsilon = 1e-8);
        assert_abs_diff_eq!(line.volts_v, -0.017_405_44, epsilon = 1e-8);
        // It scatters less than it may: what the points tell counts.
        assert_abs_diff_eq!(line.u_v, 0.046_883_84, epsilon = 1e-8);
        assert_abs_diff_eq!(line.u_ohm, 0.062_189_74, epsilon = 1e-8);
    }

    /// `numpy.polyfit(I, V, 1, cov=True)` of numpy 2.4.6: 4.68076536 and -0.01430514, variances
    /// 0.00032022 and 0.00018718; the source's own line likewise, 27.22144763 V and 0.58173884 ohm.
    #[test]
    fn the_line_is_that_of_polyfit() {
        let line = Line::of(&points(&LOST, &[0.001])).unwrap();
        assert_abs_diff_eq!(line.ohm, 4.680_765_36, epsilon = 1e-8);
        assert_abs_diff_eq!(line.volts_v, -0.014_305_14, epsilon = 1e-8);
        assert_abs_diff_eq!(line.u_ohm, 0.000_320_22_f64.sqrt(), epsilon = 1e-6);
        assert_abs_diff_eq!(line.u_v, 0.000_187_18_f64.sqrt(), epsilon = 1e-6);
        let source = [(0.18, 27.12), (0.41, 26.98), (0.89, 26.70), (1.16, 26.55)];
        let line = Line::of(&points(&source, &[0.001])).unwrap();
        assert_abs_diff_eq!(line.volts_v, 27.221_447_63, epsilon = 1e-8);
        assert_abs_diff_eq!(line.ohm, -0.581_738_84, epsilon = 1e-8);
    }

    #[test]
    fn nothing_follows_from_no_amps_or_from_one_and_the_same() {
        assert_eq!(Slope::through_zero(&[]), None);
        assert_eq!(Slope::through_zero(&points(&[(0.0, 0.1)], &[0.1])), None);
        assert_eq!(Line::of(&points(&LOST[..1], &[0.1])), None);
        assert_eq!(Line::of(&points(&[(0.5, 1.0), (0.5, 1.1)], &[0.1])), None);
        let one = Slope::through_zero(&points(&LOST[..1], &[0.09])).unwrap();
        assert_eq!((one.scatter_ohm, one.told_ohm), (None, 0.09 / 0.18));
    }
}
