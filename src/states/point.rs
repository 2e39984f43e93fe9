//! The operating point of a combination, from the ports alone.

use crate::circuit::Law;
use crate::states::dense;
use crate::states::ports::Ports;
use crate::states::range::{Sets, members};

/// Enough to come down to a cliff by halves.
const MOST_STEPS: usize = 60;
/// No volts fall below this part of what they were in one step.
const KEEP: f64 = 0.1;
/// Volts, as a part of the largest, that count as none; as in the solver.
const NO_VOLTS: f64 = 1e-9;

/// What is known of a combination.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Point {
    /// Its operating point: amps of each port.
    At(Vec<f64>),
    /// It has none.
    None,
    /// Only the solver can tell.
    Unknown,
}

/// Amps and their slope by volts.
pub(super) fn drawn(law: Law, volts_v: f64) -> (f64, f64) {
    match law {
        Law::Off => (0.0, 0.0),
        Law::Current(amps) => (amps, 0.0),
        Law::Power(watts) => power(watts, volts_v),
        Law::Resistance(ohm) => (volts_v / ohm, ohm.recip()),
    }
}

fn power(watts: f64, volts_v: f64) -> (f64, f64) {
    if watts == 0.0 {
        return (0.0, 0.0);
    }
    (watts / volts_v, -watts / (volts_v * volts_v))
}

/// Whether a law draws anything.
pub(super) fn draws(law: Law) -> bool {
    match law {
        Law::Off => false,
        Law::Current(drawn) | Law::Power(drawn) => drawn > 0.0,
        Law::Resistance(ohm) => ohm.is_finite(),
    }
}

impl Ports {
    /// Finds the operating point where every load follows its law of `laws`.
    ///
    /// Newton's iteration starts from no load. Where it ends with all volts above 0 and a positive
    /// definite Hessian, that is the one right root (see `solve`). Where every ampere takes volts
    /// from all, the iterates only fall and stay above every root, because what is drawn is convex
    /// in the volts; so if they leave that region there is no root.
    pub(super) fn point(&self, laws: &[Law]) -> Point {
        self.settled(
            |port| draws(laws[port]),
            |port, volts_v| drawn(laws[port], volts_v),
        )
    }

    /// The operating point where every port draws the most of its choices at its own volts.
    ///
    /// The greatest of convex laws is convex, so all that [`Ports::point`] says holds for it.
    pub(super) fn point_of_most(&self, sets: &Sets) -> Point {
        let most = |port: usize, volts_v: f64| {
            members(sets[port])
                .map(|c| drawn(self.laws[port][c], volts_v))
                .fold(
                    (0.0, 0.0),
                    |most, law| if law.0 > most.0 { law } else { most },
                )
        };
        let any = |port: usize| members(sets[port]).any(|c| draws(self.laws[port][c]));
        self.settled(any, most)
    }

    fn settled(
        &self,
        needs: impl Fn(usize) -> bool,
        law: impl Fn(usize, f64) -> (f64, f64),
    ) -> Point {
        let Some(order) = &self.order else {
            return Point::Unknown;
        };
        let mut amps = vec![0.0; self.len()];
        let mut watts = vec![0.0; self.fed.len()];
        for part in order {
            let mut falls = part.monotone;
            for (fed, watts) in self.fed.iter().zip(&mut watts) {
                if part.ports.contains(&fed.port) {
                    *watts = fed.watts(&amps);
                    falls &= *watts >= 0.0;
                }
            }
            let loads = self.devices.len();
            let active = |port: usize| port >= loads || needs(port);
            let follows = |port: usize, volts_v: f64| match port.checked_sub(loads) {
                Some(feed) => power(watts[feed], volts_v),
                None => law(port, volts_v),
            };
            let ports: Vec<usize> = part.ports.iter().copied().filter(|p| active(*p)).collect();
            if !self.settle(&ports, follows, falls, &mut amps) {
                return if falls { Point::None } else { Point::Unknown };
            }
        }
        Point::At(amps)
    }

    /// Finds the amps of some ports that all draw; false if the iteration leaves the right
    /// region. `falls`: from no load the volts can only fall towards a root.
    fn settle(
        &self,
        ports: &[usize],
        follows: impl Fn(usize, f64) -> (f64, f64),
        falls: bool,
        amps: &mut [f64],
    ) -> bool {
        let (all, n) = (self.len(), ports.len());
        let z: Vec<f64> = ports
            .iter()
            .flat_map(|j| ports.iter().map(|k| self.z[*j * all + *k]))
            .collect();
        let open: Vec<f64> = ports.iter().map(|p| self.open_v[*p]).collect();
        let scale = open
            .iter()
            .fold(f64::MIN_POSITIVE, |most, v| v.abs().max(most));
        let alive = |volts: &[f64]| volts.iter().all(|v| *v > NO_VOLTS * scale);
        let mut volts = open.clone();
        if !alive(&volts) {
            return false;
        }
        let mut drawn = vec![(0.0, 0.0); n];
        let mut a = vec![0.0; n * n];
        let mut step = vec![0.0; n];
        let mut last = f64::INFINITY;
        for _ in 0..MOST_STEPS {
            for k in 0..n {
                drawn[k] = follows(ports[k], volts[k]);
            }
            for j in 0..n {
                step[j] = open[j] - volts[j];
                for k in 0..n {
                    a[j * n + k] = z[j * n + k] * drawn[k].1;
                    step[j] -= z[j * n + k] * drawn[k].0;
                }
                a[j * n + j] += 1.0;
            }
            if !dense::solve(&mut a, &mut step) {
                return false;
            }
            let mut share = 1.0_f64;
            let mut size = 0.0_f64;
            for k in 0..n {
                if step[k] < (KEEP - 1.0) * volts[k] {
                    share = share.min((KEEP - 1.0) * volts[k] / step[k]);
                }
                size = size.max((step[k] / scale).abs());
            }
            volts
                .iter_mut()
                .zip(&step)
                .for_each(|(v, s)| *v += share * s);
            let rises = falls && step.iter().any(|s| *s > 1e-9 * scale);
            if rises || !alive(&volts) || size.is_nan() {
                return false;
            }
            if share >= 1.0 && (size <= 4e-16 || (size < 1e-9 && size >= 0.5 * last)) {
                let mut slopes = vec![0.0; n];
                for k in 0..n {
                    let (current, slope) = follows(ports[k], volts[k]);
                    (amps[ports[k]], slopes[k]) = (current, slope);
                }
                return dense::is_positive(&dense::root(&z, n), &slopes);
            }
            last = size;
        }
        false
    }
}
