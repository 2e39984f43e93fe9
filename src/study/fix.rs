//! Fixes: changes of the site that make a finding go away, each re-solved over all cases and
//! corners before it is offered.

use crate::checks::Finding;
use crate::diagnostic::Severity;
use crate::site::{AVERAGE, Cable, CableRef, Edit, End, Site, Thing};
use crate::solve::Solver;
use crate::study::{Study, fix_ac, fix_battery, fix_rules, fix_signal, fix_supply};
use crate::units::{self, Draw, ElectricCurrent, Measure, Size};

/// A change that was tried and helps.
#[derive(Clone, Debug, PartialEq)]
pub struct Fix {
    /// What to change and what comes of it.
    pub text: String,
    /// The edits that make the change.
    pub edits: Vec<Edit>,
}

/// Most fixes offered for one finding.
const MOST: usize = 3;
/// Gauges that a run may be thickened to, thinnest first.
const GAUGES: [&str; 8] = ["22", "20", "18", "16", "14", "12", "10", "8"];
const SQUARES: [&str; 9] = ["0.5", "0.75", "1", "1.5", "2.5", "4", "6", "10", "16"];
/// Ratings that supplies and parts are commonly sold in, in amperes.
pub(super) const RATINGS: [f64; 14] = [
    0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0,
];

/// A change that has yet to prove itself.
#[derive(Clone)]
pub(super) struct Candidate {
    pub(super) what: String,
    pub(super) site: Site,
    pub(super) edits: Vec<Edit>,
}

/// The fixes of a finding, cheapest change first.
pub fn fixes(site: &Site, study: &Study, finding: &Finding, solver: &mut Solver) -> Vec<Fix> {
    let ladders = match finding.code {
        "low-volts" | "near-low" | "headroom" | "no-operating-point" | "reboot-loop"
        | "stays-off" | "boot-volts" | "far-loss" => thicker_way(site, study, finding),
        "conductor-amps" | "costly-run" | "parallel-alone" => match finding.thing {
            Some(Thing::Run(i)) => vec![thicker(site, &[i])],
            _ => Vec::new(),
        },
        "few-conductors" => more_conductors(site, finding),
        "over-rating" | "little-spare" | "inrush" | "contact-load" => greater_rating(site, finding),
        "dc-over" => fix_ac::regulated(site, study, finding),
        "transformer-va" => fix_ac::larger(site, finding),
        "battery-end-volts" => {
            let mut ladders = fix_battery::sooner_off(site, study, finding);
            ladders.extend(thicker_way(site, study, finding));
            ladders
        }
        "battery-hours" | "dark-days" => fix_battery::larger(site, finding),
        "battery-deep" => fix_battery::not_so_deep(site, finding),
        "solar-energy" => fix_battery::larger_panel(site, finding),
        "coil-draw" => as_label(site, study, finding),
        "clamp-missing" | "release-delay" => fix_rules::clamped(site, study, finding),
        "clamp-volts" => fix_rules::lower_clamp(site, study, finding),
        "fuse-conductor" | "fuse-short" => fix_supply::fuse(site, study, finding),
        "unfused-run" | "shared-limiter" => fix_supply::fused(site, study, finding),
        "cable-metal" => fix_supply::in_copper(site, finding),
        "exit-held" | "open-at-rest" => fix_rules::open_at_rest(site, study, finding),
        "exit-fire" => fix_rules::alarm_in_series(site, finding),
        "raceway-fill" => fix_rules::wider(site, finding),
        "wiegand-low" | "signal-return" | "ground-loop" => fix_signal::apart(site, study, finding),
        "bus-terminators" => fix_signal::two_terminators(site, finding),
        "bus-idle" => fix_signal::stronger_bias(site, study, finding, solver),
        "bus-bias" => fix_signal::one_bias(site, finding),
        "shield-bond" => fix_signal::one_bond(site, finding),
        _ => Vec::new(),
    };
    let mut found = Vec::new();
    for ladder in ladders {
        // Of each ladder, the first rung that helps.
        let rung = ladder
            .into_iter()
            .find_map(|candidate| proven(candidate, study, finding, solver));
        found.extend(rung);
        if found.len() == MOST {
            break;
        }
    }
    found
}

/// Whether a note is there for the sake of its fix.
pub fn is_proposal(finding: &Finding) -> bool {
    finding.code == "costly-run"
}

/// Re-solves a candidate; it is a fix where the finding is gone and nothing graver came.
pub(super) fn proven(
    candidate: Candidate,
    before: &Study,
    finding: &Finding,
    solver: &mut Solver,
) -> Option<Fix> {
    let after = before.again(&candidate.site, solver);
    // What is left of it as a note is no finding any more, unless it is a note and nothing else.
    let still = |j: &&crate::study::Judged| {
        j.finding.code == finding.code
            && j.finding.subject == finding.subject
            && (j.finding.severity != Severity::Note || is_proposal(finding))
    };
    if after.findings.iter().any(|j| still(&j)) {
        return None;
    }
    let grave = |study: &Study| study.count(Severity::Stop) + study.count(Severity::Fail);
    if grave(&after) > grave(before) {
        return None;
    }
    let result = outcome(&candidate.site, &after, finding).map(|text| format!(": {text}"));
    Some(Fix {
        text: format!("{}{}", candidate.what, result.unwrap_or_default()),
        edits: candidate.edits,
    })
}

/// What the subject has after the change, at its worst.
fn outcome(site: &Site, after: &Study, finding: &Finding) -> Option<String> {
    let results = &after.results;
    if finding.code == "wiegand-low" {
        return fix_signal::outcome(site, after, finding);
    }
    // Its volts are those of a contact.
    if finding.code == "clamp-volts" {
        return None;
    }
    if let ("costly-run", Some(Thing::Run(run))) = (finding.code, finding.thing) {
        return fix_supply::behind_run(site, after, run);
    }
    let Some(Thing::Device(i)) = finding.thing else {
        return fix_battery::outcome(site, after, finding);
    };
    if finding.code == "battery-end-volts" {
        return fix_battery::outcome(site, after, finding);
    }
    let far = finding.code == "far-loss";
    if finding.unit != Some("V") && finding.unit != Some("x") && !far {
        return None;
    }
    let volts = results
        .rows
        .iter()
        .filter(|r| results.live[r.case].devices[i])
        .filter_map(|r| results.device(r, i));
    let least = volts.map(|w| w.volts.base()).min_by(f64::total_cmp)?;
    Some(format!(
        "{} then gets {least:.2} V at least",
        site.devices[i].name
    ))
}

/// Thicker cable in one run of the way to a device, each in turn, then in all of them.
fn thicker_way(site: &Site, study: &Study, finding: &Finding) -> Vec<Vec<Candidate>> {
    match finding.thing {
        Some(Thing::Device(i)) => thicker_to(site, study, finding, i),
        _ => Vec::new(),
    }
}

/// Thicker cable on the way to a device.
pub(super) fn thicker_to(
    site: &Site,
    study: &Study,
    finding: &Finding,
    i: usize,
) -> Vec<Vec<Candidate>> {
    let way = study.results.ways.way_to(End::Device(i));
    let runs: Vec<usize> = way.into_iter().filter_map(|(run, _)| run).collect();
    // The run that loses most is the first to look at.
    let lost = |run: usize| finding_drop(site, study, finding, run);
    let mut order = runs.clone();
    order.sort_by(|a, b| lost(*b).total_cmp(&lost(*a)));
    let mut ladders: Vec<Vec<Candidate>> = order
        .iter()
        .take(3)
        .map(|run| thicker(site, &[*run]))
        .collect();
    if runs.len() > 1 {
        ladders.push(thicker(site, &runs));
    }
    ladders
}

fn finding_drop(site: &Site, study: &Study, finding: &Finding, run: usize) -> f64 {
    let row = study
        .results
        .rows
        .iter()
        .find(|r| Some(r.case) == finding.case && Some(r.corner) == finding.corner);
    let drop = row
        .and_then(|row| study.results.run(site, row, run))
        .and_then(|flow| flow.drop);
    drop.map_or_else(|| site.runs[run].length.base(), |d| d.base().abs())
}

/// The same runs in ever thicker cable: the site's own choices, else the usual sizes.
pub(super) fn thicker(site: &Site, runs: &[usize]) -> Vec<Candidate> {
    let Some(first) = runs.first().map(|r| &site.runs[*r]) else {
        return Vec::new();
    };
    let own = if first.choices.is_empty() {
        &site.choices
    } else {
        &first.choices
    };
    if !own.is_empty() {
        let mut choices: Vec<&Cable> = own.iter().map(|c| &site.cables[c.0]).collect();
        choices.sort_by(|a, b| a.size.area().base().total_cmp(&b.size.area().base()));
        return choices
            .iter()
            .filter_map(|c| in_cable(site, runs, |_| c.name.clone()))
            .collect();
    }
    let (ladder, unit): (&[&str], &str) = match first.cable(site).map(|c| c.size) {
        Some(Size::Awg(_)) => (&GAUGES, ""),
        Some(Size::Mm2(_)) => (&SQUARES, "mm2"),
        None => return Vec::new(),
    };
    let rung = |size: &&str| in_cable(site, runs, |old| format!("{size}{unit}/{}", old.conductors));
    ladder.iter().filter_map(rung).collect()
}

/// Some runs in the cable that is named for the old one; `None` unless some get thicker.
fn in_cable(site: &Site, runs: &[usize], named: impl Fn(&Cable) -> String) -> Option<Candidate> {
    let mut changed = site.clone();
    let mut edits = Vec::new();
    let mut words = Vec::new();
    for run in runs {
        let run_before = &site.runs[*run];
        let old = run_before.cable(site)?;
        if run_before.resistance.is_some() {
            return None;
        }
        let name = named(old);
        let cable = changed.cable_named(&name)?;
        let new = &changed.cables[cable.0];
        let fits = new.conductors >= Cable::conductors_for(run_before);
        if !fits || new.size.area() <= old.size.area() {
            continue;
        }
        changed.runs[*run].cable = Some(cable);
        changed.runs[*run].cable_text.clone_from(&name);
        words.push(format!("{} in {name} (was {})", run_before.name, old.name));
        edits.push(Edit::set("run", &run_before.name, "cable", &name));
    }
    (!edits.is_empty()).then(|| Candidate {
        what: words.join(", "),
        site: changed,
        edits,
    })
}

fn more_conductors(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Run(i)) = finding.thing else {
        return Vec::new();
    };
    let Some(old) = site.runs[i].cable(site) else {
        return Vec::new();
    };
    let gauge = match old.size {
        Size::Awg(_) => old.size.to_string().trim_end_matches(" AWG").to_owned(),
        Size::Mm2(area) => format!("{area}mm2"),
    };
    let counts = [2_u32, 3, 4, 5, 6, 8, 10, 12, 16, 20];
    let rungs = counts
        .iter()
        .filter(|n| **n > old.conductors)
        .filter_map(|n| {
            let name = format!("{gauge}/{n}");
            let mut changed = site.clone();
            changed.runs[i].cable = Some(changed.cable_named(&name)?);
            let edits = vec![Edit::set("run", &site.runs[i].name, "cable", &name)];
            Some(Candidate {
                what: format!("{} in {name} (was {})", site.runs[i].name, old.name),
                site: changed,
                edits,
            })
        });
    vec![rungs.collect()]
}

/// A supply, fuse or contact of a greater rating.
fn greater_rating(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(value) = finding.value else {
        return Vec::new();
    };
    let key = if finding.code == "inrush" {
        "peak"
    } else {
        "current"
    };
    let rungs = RATINGS
        .iter()
        .filter(|amps| **amps >= value)
        .filter_map(|amps| {
            let mut changed = site.clone();
            let rating = Some(ElectricCurrent::from_base(*amps));
            let mut words = finding.subject.splitn(3, '.');
            let (head, part) = (words.next()?, words.next());
            let (kind, key) = match (finding.thing?, part) {
                (Thing::Supply(i), None) if key == "peak" => {
                    changed.supplies[i].peak = rating;
                    ("supply", key.to_owned())
                }
                (Thing::Supply(i), None) => {
                    changed.supplies[i].current = rating;
                    ("supply", key.to_owned())
                }
                (Thing::Supply(i), Some(output)) => {
                    changed.supplies[i]
                        .outputs
                        .iter_mut()
                        .find(|o| o.name == output)?
                        .current = rating;
                    ("supply", format!("output.{output}.current"))
                }
                (Thing::Fuse(i), _) => {
                    changed.fuses[i].current = rating;
                    ("fuse", key.to_owned())
                }
                (Thing::Device(i), Some(relay)) => {
                    changed.devices[i]
                        .relays
                        .iter_mut()
                        .find(|r| r.name == relay)?
                        .current = rating;
                    ("device", format!("relay.{relay}.current"))
                }
                _ => return None,
            };
            let text = format!("{amps} A");
            let what = format!("{} rated {text}, where one exists", finding.subject);
            Some(Candidate {
                what,
                site: changed,
                edits: vec![Edit::set(kind, head, &key, &text)],
            })
        });
    vec![rungs.collect()]
}

/// A coil's plain draw as it stands on its label, at the volts of its supply.
fn as_label(site: &Site, study: &Study, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Device(i)) = finding.thing else {
        return Vec::new();
    };
    let Some(supply) = study.results.ways.supply_of(i) else {
        return Vec::new();
    };
    let volts = nominal(site.supplies[supply].voltage.base());
    let mut changed = site.clone();
    let mut edits = Vec::new();
    let draws = changed.devices[i].draw.iter_mut();
    for (state, draw) in draws.filter(|(state, _)| state != AVERAGE) {
        let text = match draw {
            Draw::Current(amps) => format!("{} A at {volts} V", amps.base()),
            Draw::Power(watts) => format!("{} W at {volts} V", watts.base()),
            _ => continue,
        };
        let Ok(label) = units::read_draw(&text) else {
            continue;
        };
        *draw = label;
        edits.push(Edit::set(
            "device",
            &finding.subject,
            &format!("draw.{state}"),
            &text,
        ));
    }
    let what = format!(
        "write the draw of {} as on its label, at {volts} V if it says so",
        finding.subject
    );
    vec![vec![Candidate {
        what,
        site: changed,
        edits,
    }]]
}

/// The nominal volts that labels print, nearest to a supply's.
fn nominal(volts: f64) -> f64 {
    let labels = [12.0, 24.0, 48.0];
    labels
        .into_iter()
        .min_by(|a: &f64, b: &f64| (a - volts).abs().total_cmp(&(b - volts).abs()))
        .unwrap_or(volts)
}

impl Site {
    /// The cable of a name, made known to the site if it is a built-in one.
    pub fn cable_named(&mut self, name: &str) -> Option<CableRef> {
        if let Some(i) = self.cables.iter().position(|c| c.name == name) {
            return Some(CableRef(i));
        }
        self.cables.push(crate::site::builtin_cable(name).ok()?);
        Some(CableRef(self.cables.len() - 1))
    }
}
