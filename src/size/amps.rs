//! What is known of the amperes of a design below a run: nothing that differs from one design to
//! another, or what it draws by the lines of [`Drawn`](crate::size::drawn::Drawn).

use crate::size::pareto::{Asks, MOST_ROWS, Problem};

/// What is known of the amperes of a design.
pub(crate) trait Amps: Copy + std::fmt::Debug {
    /// Of what hangs on a run's far end.
    fn start(problem: &Problem<'_>, e: usize) -> Self;
    /// Of two designs that hang on the same node.
    fn with(self, other: Self) -> Self;
    /// From a run's far end to its near end, with the volts asked for.
    fn through(self, problem: &Problem<'_>, at: (usize, usize), asks: &mut Asks) -> Self;
    /// Numbers, none of which may be greater in a design that is to serve as well at an end of a
    /// run, and how many they are.
    fn keys(self, problem: &Problem<'_>, at: (usize, bool), asks: &Asks) -> Keys;
    /// How many keys there are for some rows.
    fn keys_of(rows: usize) -> usize;
    /// Volts asked for at the near end of a run, as if it drew what is drawn there at least.
    fn eased(self, problem: &Problem<'_>, e: usize, asks: &Asks) -> Asks;
}

/// What designs are held against one another by.
pub(crate) type Keys = [f64; 2 * MOST_ROWS];

/// The same in all designs.
impl Amps for () {
    fn start(_: &Problem<'_>, _: usize) -> Self {}

    fn with(self, (): Self) -> Self {}

    fn through(self, problem: &Problem<'_>, (e, k): (usize, usize), asks: &mut Asks) -> Self {
        for (ask, row) in asks.iter_mut().zip(&problem.rows) {
            *ask += row.lost_v[e][k];
        }
    }

    fn keys(self, _: &Problem<'_>, _: (usize, bool), asks: &Asks) -> Keys {
        let mut keys = Keys::default();
        keys[..MOST_ROWS].copy_from_slice(asks);
        keys
    }

    fn keys_of(rows: usize) -> usize {
        rows
    }

    fn eased(self, _: &Problem<'_>, _: usize, asks: &Asks) -> Asks {
        *asks
    }
}

/// By row, at the volts of the supply.
pub(crate) type At0 = [f64; MOST_ROWS];

impl Amps for At0 {
    fn start(problem: &Problem<'_>, e: usize) -> Self {
        let mut at_0 = Self::default();
        for (amps, row) in at_0.iter_mut().zip(&problem.rows) {
            *amps = row.drawn.as_ref().map_or(0.0, |d| d.start_a(e));
        }
        at_0
    }

    fn with(mut self, other: Self) -> Self {
        for (amps, more) in self.iter_mut().zip(other) {
            *amps += more;
        }
        self
    }

    fn through(mut self, problem: &Problem<'_>, at: (usize, usize), asks: &mut Asks) -> Self {
        for ((amps, ask), row) in self.iter_mut().zip(asks).zip(&problem.rows) {
            if let Some(drawn) = &row.drawn {
                (*ask, *amps) = drawn.through(at, *ask, *amps);
            }
        }
        self
    }

    fn keys(self, problem: &Problem<'_>, (e, near): (usize, bool), asks: &Asks) -> Keys {
        let mut keys = Keys::default();
        for (r, row) in problem.rows.iter().enumerate() {
            let worth = row.drawn.as_ref().map_or(0.0, |d| d.worth_ohm(e, near));
            keys[2 * r] = asks[r] + worth * self[r];
            keys[2 * r + 1] = self[r];
        }
        keys
    }

    fn keys_of(rows: usize) -> usize {
        2 * rows
    }

    fn eased(self, problem: &Problem<'_>, e: usize, asks: &Asks) -> Asks {
        let mut eased = *asks;
        for ((ask, amps), row) in eased.iter_mut().zip(self).zip(&problem.rows) {
            if let Some(drawn) = &row.drawn {
                *ask = drawn.eased_v(e, *ask, amps);
            }
        }
        eased
    }
}
