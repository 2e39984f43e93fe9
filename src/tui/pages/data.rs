//! Data and grounds: what signals arrive as, which ways the return takes, what leads to earth.

use super::{Row, Table};
use crate::checks::{Finding, GroundPath, Low};
use crate::circuit::{BranchId, Corner};
use crate::diagnostic::Severity;
use crate::report::place;
use crate::site::{ShieldBond, Thing, WhichEnd};
use crate::tui::state::State;
use crate::units::{Measure, fixed};

/// Rows, and which finding each one tells.
struct Page<'s> {
    state: &'s State,
    rows: Vec<Row>,
    findings: Vec<Option<usize>>,
}

pub(super) fn table(state: &State) -> Table {
    let mut page = Page {
        state,
        rows: Vec::new(),
        findings: Vec::new(),
    };
    page.lines();
    page.buses();
    page.loops();
    page.paths();
    page.breaks();
    page.shields();
    page.earths();
    page.surges();
    Table {
        head: &["what", ">now", ">worst", ">limit", "state", "result"],
        detail: page.detail(),
        rows: page.rows,
        enter: "show on the network",
    }
}

impl Page<'_> {
    fn head(&mut self, words: &str) {
        self.rows.push(Row::head(words));
        self.findings.push(None);
    }

    /// A row of numbers, with the state of what goes by a name.
    fn row(&mut self, cells: [String; 4], thing: Option<Thing>, name: &str, result: String) {
        let severity = self.state.grave.get(name).copied();
        let fine = if name.is_empty() { "" } else { "ok" };
        let word = severity.map_or(fine, Severity::as_str).to_owned();
        let [what, now, worst, limit] = cells;
        self.rows.push(Row {
            cells: vec![what, now, worst, limit, word, result],
            severity,
            thing,
            ..Row::default()
        });
        self.findings.push(None);
    }

    /// One row for each finding that is wanted.
    fn tell(&mut self, wanted: impl Fn(&Finding) -> bool) -> usize {
        let before = self.rows.len();
        for (i, judged) in self.state.study.findings.iter().enumerate() {
            let finding = &judged.finding;
            if !wanted(finding) {
                continue;
            }
            let unit = finding.unit.unwrap_or_default();
            let shown = |value: Option<f64>| {
                value.map_or_else(|| "-".to_owned(), |v| format!("{} {unit}", fixed(v, 2)))
            };
            let word = if judged.accepted.is_some() {
                "accepted"
            } else {
                finding.severity.as_str()
            };
            self.rows.push(Row {
                cells: vec![
                    format!("  {}", finding.code),
                    "-".to_owned(),
                    shown(finding.value),
                    shown(finding.limit.filter(|_| finding.unit.is_some())),
                    word.to_owned(),
                    finding.message().into_owned(),
                ],
                severity: Some(finding.severity),
                thing: finding.thing,
                ..Row::default()
            });
            self.findings.push(Some(i));
        }
        self.rows.len() - before
    }

    fn nothing(&mut self, words: &str) {
        self.rows.push(Row {
            cells: vec![
                "  -".to_owned(),
                String::new(),
                String::new(),
                String::new(),
                "ok".to_owned(),
                words.to_owned(),
            ],
            ..Row::default()
        });
        self.findings.push(None);
    }

    /// Wiegand lines: a low as it arrives.
    fn lines(&mut self) {
        let lows = &self.state.overview.lows;
        if lows.is_empty() {
            return;
        }
        self.head("SIGNAL LINES: volts of a low at the receiver");
        for low in lows {
            let name = &self.state.site().runs[low.run].name;
            let worst = worst(low);
            let place = worst.map_or_else(
                || "no zero volts in common".to_owned(),
                |(case, corner, _)| self.place(Some((case, corner))),
            );
            let now = low
                .volts
                .iter()
                .find(|(case, corner, _)| (*case, *corner) == (self.state.case, self.state.corner));
            let cells = [
                name.clone(),
                volts(now.map(|v| v.2)),
                volts(worst.map(|v| v.2)),
                volts(Some(low.limit)),
            ];
            let thing = Thing::Run(low.run);
            let sender = self.state.site().name_of(low.sender);
            let sent = if low.certain {
                format!("sent by {sender}")
            } else {
                format!("sender not stated, taken for {sender}")
            };
            self.row(
                cells,
                Some(thing),
                name,
                format!("{sent}; worst in {place}"),
            );
            self.tell(|f| f.thing == Some(thing) && is_of_a_line(f));
        }
    }

    fn buses(&mut self) {
        let site = self.state.site();
        if !site.buses.is_empty() {
            self.head("BUSES");
        }
        for bus in &site.buses {
            let rate = bus.rate.map_or_else(
                || "rate not stated".to_owned(),
                |rate| format!("{} bit/s", fixed(rate.base(), 0)),
            );
            let terminators = bus.terminators.as_ref().map_or_else(
                || "terminators not stated".to_owned(),
                |all| format!("{} terminators", all.len()),
            );
            let cells = [bus.name.clone(), dash(), dash(), dash()];
            self.row(cells, None, &bus.name, format!("{rate}, {terminators}"));
            self.tell(|f| f.subject == bus.name && f.code != "open-questions");
        }
    }

    fn loops(&mut self) {
        let site = self.state.site();
        if site.runs.iter().any(|run| run.input_loop.is_some()) {
            self.head("LOOPS: watched inputs");
        }
        for (i, run) in site.runs.iter().enumerate() {
            let Some(own) = &run.input_loop else { continue };
            let volts = own.voltage.map_or_else(
                || "volts not stated".to_owned(),
                |v| format!("{} V", fixed(v.base(), 1)),
            );
            let cells = [run.name.clone(), dash(), dash(), dash()];
            self.row(cells, Some(Thing::Run(i)), &run.name, volts);
            self.tell(|f| f.thing == Some(Thing::Run(i)) && f.code.starts_with("loop-"));
        }
    }

    /// Every ground loop: its path, and what goes by each of its ways.
    fn paths(&mut self) {
        self.head("GROUND LOOPS: amps by each way");
        if self.state.overview.loops.is_empty() {
            self.nothing("nothing at zero volts makes a loop");
        }
        for (k, one) in self.state.overview.loops.iter().enumerate() {
            self.path(k, one);
        }
    }

    fn path(&mut self, k: usize, one: &GroundPath) {
        let name = self.state.site().name_of(one.thing).to_owned();
        let found = self.state.study.findings.iter().position(|j| {
            j.finding.code == "ground-loop" && j.finding.message().contains(&one.path)
        });
        let cells = [format!("loop {}", k + 1), dash(), dash(), dash()];
        self.row(cells, Some(one.thing), &name, one.path.clone());
        if let Some(last) = self.findings.last_mut() {
            *last = found;
        }
        let worst = self.place(one.worst);
        for way in &one.ways {
            let percent = fixed(100.0 * way.share, 1);
            let cells = [
                format!("  {}", way.name),
                amps(way.branch.and_then(|b| self.now(b))),
                amps(Some(way.amps)),
                dash(),
            ];
            let words = format!("{percent} % of the return at {}, worst in {worst}", one.at);
            self.row(cells, Some(one.thing), "", words);
            if let Some(last) = self.findings.last_mut() {
                *last = found;
            }
        }
    }

    fn breaks(&mut self) {
        self.head("IF A POWER NEGATIVE OPENS, OR A COMMON IS CUT");
        if self.tell(|f| ["hidden-return", "cut-common"].contains(&f.code)) == 0 {
            self.nothing("no break goes on unseen over a signal conductor");
        }
    }

    fn shields(&mut self) {
        let site = self.state.site();
        let shielded = |run: &crate::site::Run| {
            run.shield.is_some() || run.cable(site).is_some_and(|c| c.shielded)
        };
        if site.runs.iter().any(shielded) {
            self.head("SHIELDS");
        }
        for (i, run) in site.runs.iter().enumerate().filter(|(_, r)| shielded(r)) {
            let branch = self.state.study.results.template.runs[i].shield;
            let bonded = match run.shield {
                None => "where it is bonded is not stated",
                Some(ShieldBond::None) => "bonded nowhere",
                Some(ShieldBond::From) => "bonded where the run starts",
                Some(ShieldBond::To) => "bonded where the run ends",
                Some(ShieldBond::Both) => "bonded at both ends",
            };
            let cells = [
                run.name.clone(),
                amps(branch.and_then(|b| self.now(b))),
                amps(branch.and_then(|b| self.most(b))),
                dash(),
            ];
            self.row(cells, Some(Thing::Run(i)), &run.name, bonded.to_owned());
            self.tell(|f| f.thing == Some(Thing::Run(i)) && f.code == "shield-bond");
        }
    }

    fn earths(&mut self) {
        let site = self.state.site();
        self.head("EARTHS: amps into the soil");
        for (i, earth) in site.earths.iter().enumerate() {
            let branch = self.state.study.results.template.earths[i];
            let ohms = earth.resistance.map_or_else(
                || "ohms not stated".to_owned(),
                |r| format!("{} ohm", fixed(r.base(), 1)),
            );
            let kind = earth.kind.as_deref().unwrap_or("kind not stated");
            let cells = [
                earth.name.clone(),
                amps(branch.and_then(|b| self.now(b))),
                amps(branch.and_then(|b| self.most(b))),
                dash(),
            ];
            let thing = Thing::Earth(i);
            self.row(cells, Some(thing), &earth.name, format!("{kind}, {ohms}"));
            let elsewhere = ["ground-loop", "open-questions"];
            self.tell(|f| f.thing == Some(thing) && !elsewhere.contains(&f.code));
        }
        let codes = ["earth-return", "metal-unknown", "bond-conductor"];
        let told = self.tell(|f| codes.contains(&f.code));
        if told == 0 && site.earths.is_empty() {
            self.nothing("no earth is drawn");
        }
    }

    fn surges(&mut self) {
        let site = self.state.site();
        let missing = |f: &Finding| f.code == "surge-missing";
        let any = self
            .state
            .study
            .findings
            .iter()
            .any(|j| missing(&j.finding));
        if site.surges.is_empty() && !any {
            return;
        }
        self.head("SURGE PARTS");
        for surge in &site.surges {
            let end = match surge.end {
                Some(WhichEnd::From) => "at its start",
                Some(WhichEnd::To) => "at its end",
                None => "end not stated",
            };
            let earth = surge
                .earth
                .map_or("no earth", |e| site.earths[e].name.as_str());
            let cells = [
                surge.name.clone(),
                dash(),
                dash(),
                volts(surge.working.map(Measure::base)),
            ];
            let words = format!("on {} {end}, to {earth}", site.runs[surge.line].name);
            self.row(cells, Some(Thing::Run(surge.line)), &surge.name, words);
            self.tell(|f| f.subject == surge.name);
        }
        self.tell(missing);
    }

    /// Amps in a branch in the case and corner shown.
    fn now(&self, branch: BranchId) -> Option<f64> {
        let amps = self.state.study.results.branch(self.state.row()?, branch)?;
        Some(amps.base().abs())
    }

    /// Most amps in a branch over all cases and corners.
    fn most(&self, branch: BranchId) -> Option<f64> {
        let results = &self.state.study.results;
        let each = results
            .rows
            .iter()
            .filter_map(|row| results.branch(row, branch));
        each.map(|a| a.base().abs()).reduce(f64::max)
    }

    fn place(&self, at: Option<(usize, Corner)>) -> String {
        place(&self.state.study, at.map(|a| a.0), at.map(|a| a.1))
    }

    /// What to know of the selected row: its finding in full.
    fn detail(&self) -> Vec<String> {
        let Some(i) = self.findings.get(self.state.row).copied().flatten() else {
            let row = self.rows.get(self.state.row).filter(|row| !row.is_head);
            return row
                .and_then(|row| row.cells.last().cloned())
                .into_iter()
                .collect();
        };
        let finding = &self.state.study.findings[i].finding;
        vec![
            finding.message().into_owned(),
            finding.worked(),
            format!("source: {}", finding.source(self.state.site())),
        ]
    }
}

/// Whether a finding is about what a signal line carries.
fn is_of_a_line(finding: &Finding) -> bool {
    let codes = ["signal-unknown", "signal-return"];
    finding.code.starts_with("wiegand-") || codes.contains(&finding.code)
}

fn worst(low: &Low) -> Option<(usize, Corner, f64)> {
    let each = low.volts.iter().copied();
    each.max_by(|a, b| a.2.total_cmp(&b.2))
}

fn dash() -> String {
    "-".to_owned()
}

fn volts(value: Option<f64>) -> String {
    value.map_or_else(dash, |v| format!("{} V", fixed(v, 2)))
}

fn amps(value: Option<f64>) -> String {
    value.map_or_else(dash, |a| format!("{} A", fixed(a, 3)))
}
