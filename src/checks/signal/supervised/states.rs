//! The states of a loop: whether each reads as what it is, wet or dry, and whether one hides a fault.

use super::Judged;
use crate::checks::signal::supervised::divider::{Divider, Range};
use crate::checks::{Check, Finding, exceeds};
use crate::diagnostic::Severity;
use crate::readings::WET_OHM;
use crate::site::{LoopLayout, LoopState};
use crate::units::{ElectricPotential, ElectricalResistance, Measure, System, show};

const DIVIDER: &str =
    "Ohm's law; with every resistor at the ends of its spread; common practice, no source";

pub(crate) const WINDOWS: Check = Check {
    code: "loop-windows",
    question: "Does each state of the loop read as what it is, with spread, cable and rain?",
    formula: "V R / (pull-up + R) lies in the window of its state; without windows 10 % of V lie between two states",
    source: DIVIDER,
};
pub(crate) const LEAKAGE: Check = Check {
    code: "loop-leakage",
    question: "How wet may the cable get before a state reads as another?",
    formula: "leakage at which V R / (pull-up + R), R the loop beside the leakage, leaves its window <= 100 kohm",
    source: DIVIDER,
};
pub(crate) const HIDES: Check = Check {
    code: "loop-hides",
    question: "Does a cut or a shorted cable read as one?",
    formula: "normal, active, cut and short read differently",
    source: "common practice, no source",
};

/// Share of the volts that lies between two states.
const GAP: f64 = 0.1;

/// Where leakage across a cable first makes a state read as another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Crossing {
    /// At this leakage and less.
    pub(crate) leak: ElectricalResistance,
    /// The state.
    pub(crate) state: LoopState,
    /// The least volts at which it still reads as what it is.
    pub(crate) volts: ElectricPotential,
}

impl Judged<'_> {
    /// The window of a state, where it is stated.
    fn window(&self, state: LoopState) -> Option<Range> {
        let i = LoopState::ALL.iter().position(|s| *s == state)?;
        let (low, high) = self.own.windows[i]?;
        Some(Range {
            low_v: low.base(),
            high_v: high.base(),
        })
    }

    pub(super) fn windows(&self, divider: &Divider) -> Finding {
        if self.own.windows.iter().any(Option::is_some) {
            self.within_windows(divider)
        } else {
            self.far_apart(divider)
        }
    }

    /// Each state in its window, and no two windows over one another.
    fn within_windows(&self, divider: &Divider) -> Finding {
        let mut least: Option<(f64, LoopState, String)> = None;
        for state in LoopState::ALL {
            let Some(window) = self.window(state) else {
                continue;
            };
            let range = divider.range(state);
            let room = room(state, range, window, divider.voltage_v);
            let text = format!(
                "{} {:.3} to {:.3} V in {} to {} V",
                state.as_str(),
                range.low_v,
                range.high_v,
                window.low_v,
                window.high_v
            );
            if least.as_ref().is_none_or(|(l, ..)| room < *l) {
                least = Some((room, state, text));
            }
        }
        let (room, state, numbers) = least.unwrap_or((0.0, LoopState::Normal, String::new()));
        if let Some((a, b)) = self.overlap() {
            let message = format!(
                "the windows of {} and {} lie over one another: such volts mean both",
                a.as_str(),
                b.as_str()
            );
            return self.found(&WINDOWS, Severity::Fail, &message);
        }
        let severity = if exceeds(0.0, room) {
            Severity::Fail
        } else {
            Severity::Note
        };
        let message = if severity == Severity::Fail {
            format!(
                "the state {} leaves its window by {:.3} V: change the resistors, or dry the splices",
                state.as_str(),
                -room
            )
        } else {
            format!(
                "every state reads as what it is; {} has the least room, {room:.3} V",
                state.as_str()
            )
        };
        self.found(&WINDOWS, severity, &message)
            .measured(room, 0.0, "V")
            .put_in(format!("{numbers}: {room:.3} V"))
            .lower_is_worse()
    }

    fn overlap(&self) -> Option<(LoopState, LoopState)> {
        let stated: Vec<(LoopState, Range)> = LoopState::ALL
            .into_iter()
            .filter_map(|s| Some((s, self.window(s)?)))
            .collect();
        let pairs = stated
            .iter()
            .enumerate()
            .flat_map(|(i, a)| stated[i + 1..].iter().map(move |b| (a, b)));
        let mut over =
            pairs.filter(|(a, b)| exceeds(a.1.high_v, b.1.low_v) && exceeds(b.1.high_v, a.1.low_v));
        over.next().map(|(a, b)| (a.0, b.0))
    }

    /// The states in order of their volts; equal ones, which [`HIDES`] names, count once.
    fn in_order(&self, divider: &Divider) -> Vec<(LoopState, Range)> {
        let mut all: Vec<(LoopState, Range)> = LoopState::ALL
            .into_iter()
            .map(|state| (state, divider.range(state)))
            .collect();
        if let Some(hidden) = hidden(divider) {
            all.retain(|(state, _)| *state != hidden);
        }
        all.sort_by(|a, b| a.1.low_v.total_cmp(&b.1.low_v));
        all
    }

    fn far_apart(&self, divider: &Divider) -> Finding {
        let order = self.in_order(divider);
        let gaps = order
            .windows(2)
            .map(|pair| (pair[1].1.low_v - pair[0].1.high_v, pair[0], pair[1]));
        let worst = gaps.min_by(|a, b| a.0.total_cmp(&b.0));
        let limit = GAP * divider.voltage_v;
        let Some((gap, below, above)) = worst else {
            return self.found(&WINDOWS, Severity::Fail, "its states cannot be told apart");
        };
        let severity = if exceeds(limit, gap) {
            Severity::Fail
        } else {
            Severity::Note
        };
        let message = format!(
            "{:.3} V lie between {} and {}, which are nearest; {limit:.2} V are the least",
            gap,
            below.0.as_str(),
            above.0.as_str()
        );
        let numbers = format!(
            "{} up to {:.3} V, {} from {:.3} V: {gap:.3} V",
            below.0.as_str(),
            below.1.high_v,
            above.0.as_str(),
            above.1.low_v
        );
        self.found(&WINDOWS, severity, &message)
            .measured(gap, limit, "V")
            .put_in(numbers)
            .lower_is_worse()
    }

    /// The leakage at which the first state reads as another.
    pub(super) fn crossing(&self, divider: &Divider) -> Option<Crossing> {
        let order = self.in_order(divider);
        let least = |state: LoopState| {
            self.window(state).map(|w| w.low_v).or_else(|| {
                // Without windows: the middle of the gap below.
                let at = order.iter().position(|(s, _)| *s == state)?;
                let below = order.get(at.checked_sub(1)?)?;
                Some(f64::midpoint(below.1.high_v, order[at].1.low_v))
            })
        };
        let states = [LoopState::Normal, LoopState::Active, LoopState::Open];
        let crossings = states.into_iter().filter_map(|state| {
            let volts = least(state)?;
            let ohms = divider.leakage_to(state, volts)?;
            (ohms > 0.0 && ohms.is_finite()).then(|| Crossing {
                leak: ElectricalResistance::from_base(ohms),
                state,
                volts: ElectricPotential::from_base(volts),
            })
        });
        crossings.max_by(|a, b| a.leak.base().total_cmp(&b.leak.base()))
    }

    pub(super) fn leakage(&self, divider: &Divider) -> Option<Finding> {
        let Crossing { leak, state, volts } = self.crossing(divider)?;
        let (ohms, volts) = (leak.base(), volts.base());
        let severity = if exceeds(ohms, WET_OHM) {
            Severity::Warn
        } else {
            Severity::Note
        };
        let shown = show(leak, System::Si);
        let message = format!(
            "{} falls under its {volts:.2} V when the cable leaks {shown} or less; dry cable has 1 Mohm and more",
            state.as_str()
        );
        Some(
            self.found(&LEAKAGE, severity, &message)
                .measured(ohms, WET_OHM, "ohm")
                .put_in(format!("{} at {volts:.2} V: {ohms:.0} ohm", state.as_str())),
        )
    }

    pub(super) fn hides(&self, divider: &Divider) -> Option<Finding> {
        if let Some(fault) = hidden(divider) {
            let message = match fault {
                LoopState::Open => {
                    "a cut cable reads like the contact opening: a second resistor across the contact tells them apart"
                }
                _ => {
                    "a shorted cable reads like the contact closing: a second resistor at the contact tells them apart"
                }
            };
            return Some(self.found(&HIDES, Severity::Warn, message));
        }
        let stated = self.own.windows.iter().any(Option::is_some);
        let missing = [LoopState::Short, LoopState::Open]
            .into_iter()
            .find(|s| stated && self.window(*s).is_none())?;
        let message = format!(
            "no window is stated for {}: the hub does not tell that fault, or somebody has to look it up",
            missing.as_str()
        );
        Some(self.found(&HIDES, Severity::Warn, &message))
    }
}

/// How far a state stays from the nearer end of its window, negative where it leaves it. No volts
/// are under 0 or over those of the pull-up: an end beyond either is no limit.
fn room(state: LoopState, range: Range, window: Range, most_v: f64) -> f64 {
    let (below, above) = (range.low_v - window.low_v, window.high_v - range.high_v);
    match state {
        LoopState::Short if window.low_v <= 0.0 => above,
        LoopState::Open if window.high_v >= most_v => below,
        _ => below.min(above),
    }
}

/// The fault that reads like the active state.
fn hidden(divider: &Divider) -> Option<LoopState> {
    match divider.layout {
        LoopLayout::Series if !divider.has_trip => Some(LoopState::Open),
        LoopLayout::Parallel if divider.trip_ohm <= 0.0 => Some(LoopState::Short),
        _ => None,
    }
}
