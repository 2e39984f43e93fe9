//! Least squares of many readings against what the drawing lets vary a little.
//!
//! Numbers here are raw `f64`: differences in the unit of each reading, unknowns as shares.

/// How far off all differences may be together, ready to weigh with.
pub(super) struct Weights {
    /// The lower triangle L with L Lᵀ = S, row by row.
    root: Vec<f64>,
    n: usize,
}

/// One unknown set free: its step from what is drawn, and what that makes better.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Freed {
    /// The step.
    pub(super) step: f64,
    /// What the step may be off.
    pub(super) u: f64,
    /// How much less the squares then come to.
    pub(super) gain: f64,
}

impl Weights {
    /// The covariance S of `n` differences; `None` where it is none.
    pub(super) fn of(covariance: &[f64], n: usize) -> Option<Self> {
        let mut root = vec![0.0; n * n];
        for row in 0..n {
            for column in 0..=row {
                let known: f64 = (0..column)
                    .map(|k| root[row * n + k] * root[column * n + k])
                    .sum();
                let rest = covariance[row * n + column] - known;
                root[row * n + column] = if row > column {
                    rest / root[column * n + column]
                } else if rest > 0.0 && rest.is_finite() {
                    rest.sqrt()
                } else {
                    return None;
                };
            }
        }
        Some(Self { root, n })
    }

    /// L^-1 v: differences that are each off by 1, and by nothing in common.
    pub(super) fn whiten(&self, v: &[f64]) -> Vec<f64> {
        let mut white = Vec::with_capacity(self.n);
        for (row, value) in v.iter().enumerate() {
            let known: f64 = (0..row)
                .map(|k| self.root[row * self.n + k] * white[k])
                .sum();
            white.push((value - known) / self.root[row * self.n + row]);
        }
        white
    }

    /// The sum of squares vᵀ S^-1 v.
    pub(super) fn squares(&self, v: &[f64]) -> f64 {
        self.whiten(v).iter().map(|x| x * x).sum()
    }

    /// What comes of an unknown that moves the readings by `slope` for each of its steps, where the
    /// readings are `off` and S already lets it vary by `prior`: step = aᵀ S^-1 r / q with
    /// q = aᵀ S^-1 a, gain = (aᵀ S^-1 r)² / q, u² = 1 / q - prior². `None` where no reading feels it.
    pub(super) fn freed(&self, slope: &[f64], off: &[f64], prior: f64) -> Option<Freed> {
        let (a, r) = (self.whiten(slope), self.whiten(off));
        let q: f64 = a.iter().map(|x| x * x).sum();
        let b: f64 = a.iter().zip(&r).map(|(a, r)| a * r).sum();
        (q > 0.0 && q.is_finite()).then(|| Freed {
            step: b / q,
            u: (1.0 / q - prior * prior).max(0.0).sqrt(),
            gain: b * b / q,
        })
    }
}

/// Adds v vᵀ, times a square, to a covariance of n differences.
pub(super) fn add_outer(covariance: &mut [f64], v: &[f64], square: f64) {
    let n = v.len();
    for row in (0..n).filter(|row| v[*row] != 0.0) {
        for column in 0..n {
            covariance[row * n + column] += square * v[row] * v[column];
        }
    }
}

/// The gain that none of `count` unknowns reaches by chance, but once in so many `doubts`: under
/// normal errors P(gain > x) <= sqrt(2 / (pi x)) e^(-x / 2) for one of them (Mills' bound on the
/// tail), times their count for all.
pub(super) fn least_gain(count: usize, doubt: f64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a count of conductors")]
    let count = count.max(1) as f64;
    let chance = |x: f64| count * (2.0 / (std::f64::consts::PI * x)).sqrt() * (-x / 2.0).exp();
    let (mut low, mut high) = (1.0, 200.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if chance(middle) > doubt {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

/// What squares of so many free differences come to at most, but once in a hundred: Wilson and
/// Hilferty's cube of a normal deviate, which for one per cent is 2.326.
pub(super) fn most_squares(free: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a count of readings")]
    let n = free.max(1) as f64;
    let spread = 2.0 / (9.0 * n);
    n * (1.0 - spread + 2.326 * spread.sqrt()).powi(3)
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;

    /// S = diag(0.04, 0.01) + 0.5² a aᵀ with a = (1, 2), r = (0.3, 0.5): the same unknown fitted
    /// free by plain weighted least squares, sum a r / u² / sum a² / u², has step 1.075 / 4.25 =
    /// 0.25294 with u = 0.048507, and leaves r - a step = (0.04706, -0.00588) (by hand).
    #[test]
    fn an_unknown_set_free_is_plain_least_squares() {
        let (a, r, prior) = ([1.0, 2.0], [0.3, 0.5], 0.5);
        let mut s = vec![0.04, 0.0, 0.0, 0.01];
        add_outer(&mut s, &a, prior * prior);
        let weights = Weights::of(&s, 2).unwrap();
        let freed = weights.freed(&a, &r, prior).unwrap();
        let q = 1.0 / 0.04 + 4.0 / 0.01;
        let step = (0.3 / 0.04 + 1.0 / 0.01) / q;
        assert_abs_diff_eq!(freed.step, step, epsilon = 1e-12);
        assert_abs_diff_eq!(freed.u, 1.0 / q.sqrt(), epsilon = 1e-12);
        let left = (0.3 - step).powi(2) / 0.04 + (0.5 - 2.0 * step).powi(2) / 0.01;
        assert_abs_diff_eq!(weights.squares(&r) - freed.gain, left, epsilon = 1e-12);
    }

    /// One unknown: 1 % of normal squares lie over 6.635 (NIST/SEMATECH e-Handbook of Statistical
    /// Methods, 1.3.6.7.4, from memory); the bound lies a little above. Of 10 and 30 they lie over
    /// 23.209 and 50.892.
    #[test]
    fn limits_are_those_of_the_tables() {
        assert!((6.635..7.6).contains(&least_gain(1, 0.01)));
        assert!(least_gain(100, 0.01) > 15.1, "{}", least_gain(100, 0.01));
        assert_abs_diff_eq!(most_squares(10), 23.209, epsilon = 0.05);
        assert_abs_diff_eq!(most_squares(30), 50.892, epsilon = 0.05);
    }

    #[test]
    fn what_nobody_feels_is_not_fitted() {
        let weights = Weights::of(&[1.0], 1).unwrap();
        assert_eq!(weights.freed(&[0.0], &[1.0], 0.05), None);
        assert!(Weights::of(&[0.0], 1).is_none());
        assert!(Weights::of(&[1.0, 2.0, 2.0, 1.0], 2).is_none());
    }
}
