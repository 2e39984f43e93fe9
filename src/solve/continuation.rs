//! Following the operating point as what is drawn grows, up to the cliff.

use super::element::{Demand, Flow, State};
use super::network::Network;
use super::newton::{Start, Work};

/// Relative width at which the search for the cliff ends.
pub(super) const CLIFF: f64 = 2e-8;
/// A factor below this is searched for as if it were this.
pub(super) const FLOOR: f64 = 1e-3;

/// Bound on the work where even short steps keep failing; ordinary cliffs take about 30.
const MOST_ATTEMPTS: usize = 200;

/// When a search along a factor is over, short of where it leads to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Until {
    /// Its end is known to this part of the factor.
    Cliff(f64),
    /// It is certain that it ends short, and the shorter it ends the sooner.
    Short,
}

impl Until {
    /// For a way that is of use only if it leads to its end; where all is to be told exactly, that
    /// is looked for with the finest strides.
    pub(super) fn end(exact_under: f64) -> Self {
        if exact_under < 1.0 {
            Self::Short
        } else {
            Self::Cliff(CLIFF)
        }
    }

    /// The stride below which a failed step is believed.
    fn stride(self, (low, to): (f64, f64)) -> f64 {
        let least = |width: f64| width * low.max(FLOOR);
        match self {
            Self::Cliff(width) => least(width),
            Self::Short => least(CLIFF).max(SHORT * (to - low)),
        }
    }
}

/// Part of what is left of the way: where no step so short succeeds, the way leads no further.
const SHORT: f64 = 1.0 / 64.0;

/// The served part of the loads, followed from none on; one of `exact_under` or more need not be
/// told exactly, but whether all are served is.
pub(super) fn served<S>(
    state: &mut S,
    exact_under: f64,
    mut follow: impl FnMut(&mut S, (f64, f64, Until)) -> f64,
) -> f64 {
    let mut low = 0.0;
    if exact_under < 1.0 {
        low = follow(state, (low, 1.0, Until::Short));
        if low >= exact_under {
            return low;
        }
    }
    follow(state, (low, 1.0, Until::Cliff(CLIFF)))
}

/// What grows.
#[derive(Clone, Copy, Debug)]
pub(super) enum Knob {
    /// All Current and Power loads, from none to what the circuit says.
    Loads,
    /// The feeds, with no Current and Power loads.
    Feeds,
    /// One load's current or power alone, that load having this flow at factor 1.
    Load(usize, Flow),
}

/// Follows the operating point from factor `from`, where `state` is one, as far as `to`.
///
/// Returns the largest factor found, `state` then being the point there.
pub(super) fn climb(
    network: &mut Network,
    work: &mut Work,
    knob: Knob,
    state: &mut State,
    range: (f64, f64, Until),
) -> f64 {
    follow(state, range, |next, factor| {
        attempt(network, work, knob, next, factor)
    })
}

/// Follows a state from factor `from` as far as `to`; `attempt` takes a known state to another factor, and says whether it could.
///
/// A failed step is retried from nearer by before it is believed, so the answer does not hang on
/// where Newton's iteration happens to converge from.
pub(super) fn follow<S: Clone>(
    state: &mut S,
    (from, to, until): (f64, f64, Until),
    mut attempt: impl FnMut(&mut S, f64) -> bool,
) -> f64 {
    let mut low = from;
    let mut stride = to - from;
    let mut failed: Option<f64> = None;
    for _ in 0..MOST_ATTEMPTS {
        if low >= to {
            break;
        }
        let narrow = stride <= until.stride((low, to));
        let target = match failed {
            Some(high) if narrow => high,
            _ => (low + stride).min(to),
        };
        let mut next = state.clone();
        if attempt(&mut next, target) {
            *state = next;
            low = target;
            match failed {
                Some(high) if !narrow => stride = (high - low) / 2.0,
                _ => {
                    failed = None;
                    stride *= 2.0;
                }
            }
        } else if narrow {
            break;
        } else {
            failed = Some(target);
            stride = (target - low) / 2.0;
        }
    }
    low
}

fn attempt(
    network: &mut Network,
    work: &mut Work,
    knob: Knob,
    state: &mut State,
    factor: f64,
) -> bool {
    let demand = match knob {
        Knob::Loads => Demand {
            loads: factor,
            feeds: 1.0,
        },
        Knob::Feeds => Demand {
            loads: 0.0,
            feeds: factor,
        },
        Knob::Load(load, flow) => {
            let at = network.load_at(load);
            network.draws[at].flow = match flow {
                Flow::Current(amps) => Flow::Current(amps * factor),
                Flow::Power(watts) => Flow::Power(watts * factor),
                other => other,
            };
            Demand::FULL
        }
    };
    work.newton(network, state, demand, Start::Root) && network.is_served(&state.x, demand)
}
