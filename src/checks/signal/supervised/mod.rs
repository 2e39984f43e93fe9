//! Supervised loops: whether every state reads as what it is, and no state hides a fault.

mod divider;
mod states;

pub(crate) use states::{Crossing, HIDES, LEAKAGE, WINDOWS};

use crate::checks::asks::Asks;
use crate::checks::signal::supervised::divider::Divider;
use crate::checks::signal::{Line, lines, sent_from};
use crate::checks::{Check, Finding, Look, exceeds, greatest};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::readings::WET_OHM;
use crate::results::Row;
use crate::site::{EndAt, InputLoop, Route, Site, Thing};
use crate::units::Measure;

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

/// Share of the pull-up that the cable may have.
const CABLE_SHARE: f64 = 0.1;
/// Share of the volts that the common may move.
const COMMON_SHARE: f64 = 0.05;
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

/// The leakage that the loop of a run stands, where enough of it is stated.
pub(crate) fn crossing(look: &Look<'_>, run: usize) -> Option<Crossing> {
    let lines = lines(look, |run| run.carries.supervised);
    let line = lines.into_iter().find(|line| line.runs.contains(&run))?;
    let run = line.main(look, |run| run.input_loop.is_some());
    let judged = Judged {
        look,
        site: look.site,
        line: &line,
        run,
        own: look.site.runs[run].input_loop?,
    };
    judged.crossing(&judged.divider()?)
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
