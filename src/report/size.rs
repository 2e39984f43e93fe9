//! What sizing came to: as one line of JSON, and for people.

use serde::Serialize;

use crate::diagnostic::clean;
use crate::report::{Pieces, Tone};
use crate::site::Site;
use crate::size::{CostUnit, Ladder, Reach, Room, Sizing, choices_of};
use crate::units::{self, Measure};

#[derive(Serialize)]
struct SizingJson<'a> {
    optimal: bool,
    cost: Option<f64>,
    bound: Option<f64>,
    cost_unit: &'a str,
    runs: Vec<RunJson<'a>>,
    r#unsized: Vec<UnsizedJson<'a>>,
    unpriced: Vec<&'a str>,
    remaining: &'a [String],
}

#[derive(Serialize)]
struct RunJson<'a> {
    id: &'a str,
    cable: &'a str,
    was: &'a str,
}

#[derive(Serialize)]
struct UnsizedJson<'a> {
    id: &'a str,
    reason: &'a str,
}

/// What sizing came to, as one line of JSON.
///
/// # Errors
/// Only where a number is not finite, which none is.
pub fn size_json(site: &Site, sizing: &Sizing) -> Result<String, serde_json::Error> {
    let name = |run: usize| site.runs[run].name.as_str();
    serde_json::to_string(&SizingJson {
        optimal: sizing.optimal,
        cost: sizing.cost,
        bound: sizing.bound,
        cost_unit: sizing.unit.as_str(),
        runs: sizing
            .runs
            .iter()
            .map(|r| RunJson {
                id: name(r.run),
                cable: &r.cable,
                was: &r.was,
            })
            .collect(),
        r#unsized: sizing
            .unsized_runs
            .iter()
            .map(|u| UnsizedJson {
                id: &u.id,
                reason: &u.reason,
            })
            .collect(),
        unpriced: sizing.unpriced.iter().map(|run| name(*run)).collect(),
        remaining: &sizing.remaining,
    })
}

/// A cost in the site's currency, or metal in litres.
pub fn cost_text(site: &Site, unit: CostUnit, cost: f64) -> String {
    match unit {
        CostUnit::Price => format!("{cost:.2} {}", clean(&site.currency))
            .trim_end()
            .to_owned(),
        // A cubic decimetre is what a hand can picture; copper weighs 8.9 kg by the litre.
        CostUnit::Metal => format!("{:.3} dm3", cost * 1e3),
    }
}

/// What sizing came to, for people; `ladders` stand in the order of the runs sized.
pub fn size_text(site: &Site, sizing: &Sizing, ladders: &[Ladder]) -> Pieces {
    let mut out: Pieces = vec![(Tone::Strong, format!("{}\n", clean(&site.name)))];
    let mut plain = |text: String| out.push((Tone::Plain, text));
    if site.runs.iter().all(|run| choices_of(site, run).is_empty()) {
        plain(
            "no run has choices: name cables under [sizing] choices, or in a run's own choices\n"
                .into(),
        );
    }
    let Some(cost) = sizing.cost else {
        plain("no choice of cables passes\n".into());
        let reasons = (sizing.unsized_runs.iter()).map(|u| (u.reason.as_str(), u.id.as_str()));
        for (reason, ids) in gathered(reasons) {
            plain(format!("  {}: {}\n", clean(&ids.join(", ")), clean(reason)));
        }
        return out;
    };
    plain(run_lines(site, sizing, ladders));
    plain(whole_lines(site, sizing, cost));
    out
}

/// The runs, what they have and had, and how they fare.
fn run_lines(site: &Site, sizing: &Sizing, ladders: &[Ladder]) -> String {
    let mut out = String::new();
    let wide = |heads: &str, texts: &mut dyn Iterator<Item = usize>| {
        texts.max().unwrap_or(0).max(heads.len()).min(28)
    };
    let names = wide(
        "run",
        &mut sizing
            .runs
            .iter()
            .map(|r| site.runs[r.run].name.chars().count()),
    );
    let old = wide(
        "was",
        &mut sizing.runs.iter().map(|r| r.was.chars().count()),
    );
    let new = wide(
        "now",
        &mut sizing.runs.iter().map(|r| r.cable.chars().count()),
    );
    if !sizing.runs.is_empty() {
        out += &format!(
            "{:names$}  {:old$}  {:new$}  {:>12}  {:>8}  {:>12}\n",
            "run", "was", "now", "far end, low", "margin", "cost"
        );
    }
    for sized in &sizing.runs {
        let ladder = ladders.iter().find(|l| l.run == sized.run);
        let rung = ladder.and_then(|l| l.rungs.iter().find(|r| r.chosen));
        let volts = |v: Option<units::ElectricPotential>| {
            v.map_or_else(|| "-".into(), |v| format!("{:.2} V", v.base()))
        };
        let margin = rung.and_then(|r| r.margin);
        out += &format!(
            "{:names$}  {:old$}  {:new$}  {:>12}  {:>8}  {:>12}\n",
            clean(&site.runs[sized.run].name),
            clean(&sized.was),
            clean(&sized.cable),
            volts(rung.and_then(|r| r.far_end)),
            volts(margin),
            cost_text(site, sizing.unit, sized.cost),
        );
    }
    out
}

/// What the design costs in all, how far that is proven, and what is not counted or not done.
fn whole_lines(site: &Site, sizing: &Sizing, cost: f64) -> String {
    let mut out = String::new();
    let mut plain = |text: String| out.push_str(&text);
    let whole = cost_text(site, sizing.unit, cost);
    let proof = match sizing.bound {
        _ if sizing.optimal => "nothing cheaper passes".to_owned(),
        Some(bound) => format!(
            "not proven: something that costs {} or more may be cheaper",
            cost_text(site, sizing.unit, bound)
        ),
        None => "not proven: with phase angles, diodes or limiters no bound is known".to_owned(),
    };
    if sizing.runs.is_empty() {
        plain(format!(
            "all runs together {whole}: the cables as they are pass\n"
        ));
    } else {
        plain(format!("all runs together {whole}: {proof}\n"));
    }
    if sizing.unit == CostUnit::Metal {
        let words = "counted in conductor metal, because these choices have no price";
        plain(format!("{words}: {}\n", clean(&unpriced(site).join(", "))));
    }
    if !sizing.unpriced.is_empty() {
        let names: Vec<String> = sizing
            .unpriced
            .iter()
            .map(|run| clean(&site.runs[*run].name))
            .collect();
        plain(format!(
            "without a price, counted as nothing: {}\n",
            names.join(", ")
        ));
    }
    if !sizing.remaining.is_empty() {
        plain("what remains:\n".into());
        let remaining = sizing.remaining.iter().filter_map(|r| r.split_once(' '));
        for (code, subjects) in gathered(remaining) {
            plain(format!("  {code}: {}\n", clean(&subjects.join(", "))));
        }
    }
    out
}

/// What belongs to the same word, in order of first use.
fn gathered<'t>(pairs: impl Iterator<Item = (&'t str, &'t str)>) -> Vec<(&'t str, Vec<&'t str>)> {
    let mut all: Vec<(&str, Vec<&str>)> = Vec::new();
    for (word, own) in pairs {
        match all.iter_mut().find(|(known, _)| *known == word) {
            Some((_, list)) => list.push(own),
            None => all.push((word, vec![own])),
        }
    }
    all
}

/// Names of the cables to choose from that have no price.
fn unpriced(site: &Site) -> Vec<&str> {
    let chosen = site.runs.iter().flat_map(|run| choices_of(site, run));
    let mut names: Vec<&str> = Vec::new();
    for cable in chosen
        .map(|c| &site.cables[c.0])
        .filter(|c| c.price.is_none())
    {
        if !names.contains(&cable.name.as_str()) {
            names.push(&cable.name);
        }
    }
    names
}

/// The ladder of a run, for people.
pub fn ladder_text(site: &Site, ladder: &Ladder) -> String {
    let mut out = format!("\n{}\n", clean(&site.runs[ladder.run].name));
    for rung in &ladder.rungs {
        let volts = |v: Option<units::ElectricPotential>| {
            v.map_or_else(|| "-".into(), |v| format!("{:.3} V", v.base()))
        };
        out += &format!(
            "{} {:12}  far end {:>10}  margin {:>10}  loss {:>8.3} W  {:>12}  {}\n",
            if rung.chosen { ">" } else { " " },
            clean(&rung.cable),
            volts(rung.far_end),
            volts(rung.margin),
            rung.loss.base(),
            cost_text(site, ladder.unit, rung.cost),
            rung.fails
                .as_ref()
                .map_or_else(|| "passes".into(), |why| format!("fails: {}", clean(why))),
        );
    }
    if let Some(binds) = &ladder.binds {
        out += &format!("  no cheaper, because {}\n", clean(binds));
    }
    out
}

/// How far a run may go and how much more the device there may draw, for people.
pub fn longest_text(site: &Site, run: usize, reaches: &[Reach], room: Option<&Room>) -> String {
    let mut out = format!(
        "{}: longest that passes, one way\n",
        clean(&site.runs[run].name)
    );
    for reach in reaches {
        let length = match reach.longest {
            None => "no length passes".to_owned(),
            Some(_) if reach.endless => "any length passes".to_owned(),
            Some(length) => match site.units {
                units::System::Us => format!("{:.1} ft", length.base() / 0.3048),
                units::System::Si => format!("{:.2} m", length.base()),
            },
        };
        let beyond = if reach.longest.is_some() {
            "; beyond it "
        } else {
            ": "
        };
        let gaps = if reach.gaps {
            "; not every shorter length passes"
        } else {
            ""
        };
        let binds = reach
            .binds
            .as_ref()
            .map_or_else(String::new, |b| format!("{beyond}{}", clean(b)));
        out += &format!("  {:12}  {length}{gaps}{binds}\n", clean(&reach.cable));
    }
    if let Some(room) = room {
        let binds = room
            .binds
            .as_ref()
            .map_or_else(String::new, |b| format!("; beyond it {}", clean(b)));
        out += &format!(
            "  extra draw at its far end: {:.3} A{binds}\n",
            room.extra.base()
        );
    }
    out
}
