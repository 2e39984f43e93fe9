//! Supervised loops: whether every state reads as what it is, and no state hides a fault.

use crate::checks::signal::loop_state::{Divider, Range};
use crate::checks::signal::{Asks, Line, lines, sent_from};
use crate::checks::{Check, Finding, Look, exceeds, greatest};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{EndAt, InputLoop, LoopLayout, LoopState, Route, Site, Thing};
use crate::units::{ElectricalResistance, Measure, System, show};

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
pub(crate) const CABLE: Check = Check {
    code: "loop-cable",
    question: "Is the loop's cable short enough to read a short at its far end as one?",
    formula: "ohms of both conductors <= pull-up / 10",
    source: "common practice, no source",
};
pub(crate) const END: Check = Check {
    code: "loop-end",
    question: "Does the end resistor sit at the far end, so that the cable is watched?",
    formula: "end_at = device",
    source: "common practice, no source",
};
pub(crate) const LOOP_COMMON: Check = Check {
    code: "loop-common",
    question: "Does current in a shared negative move what the loop reads?",
    formula: "difference of zero volts at the two ends of the loop <= 5 % of its volts",
    source: "Kirchhoff's laws on the whole network; 5 %: common practice, no source",
};

/// Share of the volts that lies between two states.
const GAP: f64 = 0.1;
/// Share of the pull-up that the cable may have.
const CABLE_SHARE: f64 = 0.1;
/// Share of the volts that the common may move.
const COMMON_SHARE: f64 = 0.05;
/// What a wet splice may well leak.
const WET_OHM: f64 = 100e3;
/// Spread of resistors that state none.
const TOLERANCE: f64 = 0.01;

/// The silent inputs of a loop and what they are taken for, in one line.
pub(crate) fn taken(own: &InputLoop) -> Option<String> {
    let each = [
        (own.contact.is_none(), "contact 0 ohm"),
        (own.tolerance.is_none(), "tolerance 1 %"),
        (own.leakage.is_none(), "leakage none"),
    ];
    let words: Vec<&str> = each.into_iter().filter(|e| e.0).map(|e| e.1).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

pub(super) fn check(look: &Look<'_>, asks: &mut Asks, found: &mut Vec<Finding>) {
    for line in lines(look, |run| run.carries.supervised) {
        let run = line.main(look, |run| run.input_loop.is_some());
        let thing = Thing::Run(run);
        let name = &look.site.runs[run].name;
        let Some(own) = look.site.runs[run].input_loop else {
            asks.add(
                name,
                Some(thing),
                "loop (its volts, pull_up, end, trip, layout and windows: the hub's data sheet, and the resistors at the contact)",
            );
            continue;
        };
        let judged = Judged {
            look,
            site: look.site,
            line: &line,
            run,
            own,
        };
        judged.judge(asks, found);
    }
}

struct Judged<'a> {
    look: &'a Look<'a>,
    site: &'a Site,
    line: &'a Line,
    run: usize,
    own: InputLoop,
}

impl Judged<'_> {
    fn name(&self) -> &str {
        &self.site.runs[self.run].name
    }

    fn found(&self, check: &Check, severity: Severity, message: &str) -> Finding {
        let message = format!("{}: {message}", self.name());
        check
            .finding(severity, self.name(), message)
            .about(Thing::Run(self.run))
    }

    fn judge(&self, asks: &mut Asks, found: &mut Vec<Finding>) {
        let own = &self.own;
        let mut ask = |silent: bool, words: &str| {
            if silent {
                asks.add(self.name(), Some(Thing::Run(self.run)), words);
            }
        };
        ask(
            own.voltage.is_none(),
            "voltage (measure the input with the loop unplugged)",
        );
        ask(own.pull_up.is_none(), "pull_up (the hub's data sheet)");
        ask(
            own.end.is_none(),
            "end (read the colours of the resistor at the end, or measure it unplugged)",
        );
        ask(
            own.layout.is_none(),
            "layout (series: the contact shorts a resistor; parallel: it adds one beside the end)",
        );
        ask(
            own.end_at.is_none(),
            "end_at (open the box at the contact and look for the resistor)",
        );
        if own.end_at == Some(EndAt::Hub) {
            let message = "its end resistor sits in the hub's box: a cut or shorted cable reads as normal; move it to the contact";
            found.push(self.found(&END, Severity::Fail, message));
        }
        found.extend(self.cable());
        found.extend(self.common());
        let Some(divider) = self.divider() else {
            return;
        };
        found.extend(self.hides(&divider));
        let judged = self.windows(&divider);
        let failed = judged.severity == Severity::Fail;
        found.push(judged);
        found.extend(self.leakage(&divider));
        let wet = Divider {
            leakage_ohm: WET_OHM,
            ..divider
        };
        let outside = self.line.runs.iter().any(|i| {
            let route = self.site.runs[*i].route;
            matches!(
                route,
                Some(Route::Outdoor | Route::Buried | Route::Overhead)
            )
        });
        let decides = outside
            && own.leakage.is_none()
            && !failed
            && self.windows(&wet).severity == Severity::Fail;
        ask(
            decides,
            "leakage (taken for none; at 100 kohm a state leaves its window; unplug both ends and measure ohms between the conductors after rain)",
        );
    }

    fn divider(&self) -> Option<Divider> {
        let own = &self.own;
        let rows = self.look.results.rows.iter();
        let hot = rows.filter(|r| r.corner == Corner::Low);
        let cable = greatest(hot, |row: &Row| Some(self.line.ohms(self.look, row)))?.0;
        Some(Divider {
            voltage_v: own.voltage?.base(),
            pull_up_ohm: own.pull_up?.base(),
            end_ohm: own.end?.base(),
            trip_ohm: own.trip.map_or(0.0, Measure::base),
            has_trip: own.trip.is_some(),
            layout: own.layout?,
            contact_ohm: own.contact.map_or(0.0, Measure::base),
            cable_ohm: 2.0 * cable,
            tolerance: own.tolerance.map_or(TOLERANCE, Measure::base),
            leakage_ohm: own.leakage.map_or(f64::INFINITY, Measure::base),
        })
    }

    /// The window of a state, where it is stated.
    fn window(&self, state: LoopState) -> Option<Range> {
        let i = LoopState::ALL.iter().position(|s| *s == state)?;
        let (low, high) = self.own.windows[i]?;
        Some(Range {
            low_v: low.base(),
            high_v: high.base(),
        })
    }

    fn windows(&self, divider: &Divider) -> Finding {
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
            let room = (range.low_v - window.low_v).min(window.high_v - range.high_v);
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
            .put_in(numbers)
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
            "{} up to {:.3} V, {} from {:.3} V",
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
    fn leakage(&self, divider: &Divider) -> Option<Finding> {
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
            (ohms > 0.0 && ohms.is_finite()).then_some((ohms, state, volts))
        });
        let (ohms, state, volts) = crossings.max_by(|a, b| a.0.total_cmp(&b.0))?;
        let severity = if exceeds(ohms, WET_OHM) {
            Severity::Warn
        } else {
            Severity::Note
        };
        let shown = show(ElectricalResistance::from_base(ohms), System::Si);
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

    fn hides(&self, divider: &Divider) -> Option<Finding> {
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

    fn cable(&self) -> Option<Finding> {
        let pull_up = self.own.pull_up?.base();
        let rows = self.look.results.rows.iter();
        let hot = rows.filter(|r| r.corner == Corner::Low);
        let (one, _) = greatest(hot, |row: &Row| Some(self.line.ohms(self.look, row)))?;
        let (ohms, limit) = (2.0 * one, CABLE_SHARE * pull_up);
        exceeds(ohms, limit).then(|| {
            let message = format!(
                "its cable has {ohms:.0} ohm there and back, {limit:.0} ohm are the most: a short at its far end reads as no short"
            );
            self.found(&CABLE, Severity::Warn, &message)
                .measured(ohms, limit, "ohm")
                .put_in(format!("{ohms:.1} ohm > {limit:.1} ohm"))
        })
    }

    /// Only a loop that comes back by a common of its run shares current with anything.
    fn common(&self) -> Option<Finding> {
        let volts = self.own.voltage?.base();
        let shares = |i: &usize| self.site.runs[*i].common;
        if !self.line.runs.iter().any(shares) {
            return None;
        }
        let ends = self.line.ends.map(|end| sent_from(self.look, end));
        let (a, b) = (ends[0]?, ends[1]?);
        let shift = |row: &Row| {
            let joined = self.look.joined(row, a, b);
            let volts = self.look.results.between(row, [a, b]).filter(|_| joined)?;
            Some(volts.base().abs())
        };
        let (shift, row) = greatest(self.look.whole_rows(), shift)?;
        let limit = COMMON_SHARE * volts;
        exceeds(shift, limit).then(|| {
            let message = format!(
                "the zero volts at its two ends stand {shift:.3} V apart, and the input reads that too: give the loop two conductors of its own"
            );
            self.found(&LOOP_COMMON, Severity::Warn, &message)
                .at(row)
                .measured(shift, limit, "V")
                .put_in(format!("{shift:.3} V > {limit:.3} V"))
        })
    }
}

/// The fault that reads like the active state.
fn hidden(divider: &Divider) -> Option<LoopState> {
    match divider.layout {
        LoopLayout::Series if !divider.has_trip => Some(LoopState::Open),
        LoopLayout::Parallel if !divider.has_trip => Some(LoopState::Short),
        _ => None,
    }
}
