//! Limiters, diodes, terminals, and the volts at which a device gives up.

use crate::site::fields::LIMITS;
use crate::site::form::{Form, Mistakes};
use crate::site::model::{Limiting, Restrained, TerminalFit, Wake};
use crate::site::read::ac::above_zero;
use crate::site::read::supply::in_order;
use crate::units;

/// Most conductors that may be said to fit under one screw.
const MOST_WIRES: u32 = 100;

/// Reads what holds a supply back.
pub(crate) fn restrained(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Restrained {
    let limit = form.choice("limit", LIMITS, mistakes).map(|i| match i {
        1 => Limiting::Hard,
        2 => Limiting::Foldback,
        3 => Limiting::Hiccup,
        _ => Limiting::None,
    });
    Restrained {
        limit,
        limit_current: above_zero(form, "limit_current", "\"1.2 A\"", mistakes),
        one_way: form.quantity("one_way", mistakes),
    }
}

/// Reads what the terminals of a supply or device take.
pub(crate) fn terminal_fit(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> TerminalFit {
    TerminalFit {
        max_gauge: form.read_with("max_gauge", mistakes, units::read_size),
        wires: form.count("wires_per_terminal", (1, MOST_WIRES), mistakes),
    }
}

/// Reads the volts at which a device gives up and starts again.
pub(crate) fn wake(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Wake {
    let wake = Wake {
        cutoff: form.quantity("cutoff", mistakes),
        restart: form.quantity("restart", mistakes),
    };
    let (cutoff, restart) = (("cutoff", wake.cutoff), ("restart", wake.restart));
    in_order(form, cutoff, restart, mistakes);
    wake
}
