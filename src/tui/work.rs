//! The work behind the selected number, with every number put in.

use crate::checks::work::{ac_work, run_work, volts_at};
use crate::circuit::Corner;
use crate::diagnostic::clean;
use crate::site::{End, Thing};
use crate::states::Combination;
use crate::tui::numbers::worst_amps;
use crate::tui::pages::Page;
use crate::tui::state::{Panel, State};
use crate::tui::tree::Item;
use crate::units::Measure;

/// Lines that show how the selected number comes about.
pub(crate) fn lines(state: &State) -> Vec<String> {
    if (state.panel == Panel::Findings || state.shows == Page::Findings)
        && let Some(judged) = state.study.findings.get(state.finding)
    {
        let finding = &judged.finding;
        return vec![
            finding.message().into_owned(),
            String::new(),
            format!("formula  {}", finding.worked().replace("; ", "\n         ")),
            format!("source   {}", finding.source(state.site())),
        ];
    }
    let mut lines = here(state);
    lines.extend(worst(state));
    lines
}

/// Where the worst over all states is found.
fn worst(state: &State) -> Vec<String> {
    let (Some(all), Some(item)) = (&state.study.states, state.item()) else {
        return Vec::new();
    };
    let site = state.site();
    let place = |c: &Combination, corner: Corner| {
        format!("{}, corner {}", clean(&c.words(site)), corner.as_str())
    };
    let mut lines = Vec::new();
    if let Item::Thing(Thing::Device(i)) = item {
        for (word, worst) in [
            ("least", &all.devices[i].least),
            ("most", &all.devices[i].most),
        ] {
            if let Some(w) = worst {
                lines.push(format!(
                    "{word} {:.3} V: {}",
                    w.value.base(),
                    place(&w.state, w.corner)
                ));
            }
        }
    } else if let Some(w) = worst_amps(all, item) {
        lines.push(format!(
            "most {:.4} A: {}",
            w.value.base(),
            place(&w.state, w.corner)
        ));
    }
    if !lines.is_empty() {
        let number = all
            .combinations
            .map_or_else(|| "very many".to_owned(), |n| format!("{n:.0}"));
        let word = if all.proven {
            "proven: nothing is worse"
        } else {
            "not proven: the worst of those that were tried"
        };
        lines.insert(0, format!("over all states, {number} combinations, {word}"));
        lines.insert(0, String::new());
    }
    lines
}

/// How the number comes about in the case and corner shown.
fn here(state: &State) -> Vec<String> {
    let (site, results) = (state.site(), &state.study.results);
    let Some(row) = state.row() else {
        return vec!["nothing solved".into()];
    };
    let head = format!("case {}", state.place());
    let Some(solution) = row.solution() else {
        return vec![
            head,
            "no operating point: the draws are more than the network can serve".into(),
        ];
    };
    let mut lines = vec![head, String::new()];
    match state.thing() {
        Some(Thing::Device(i)) => {
            lines.push("V = V source - I x R source - (plus leg + minus leg) of each run".into());
            lines.extend(volts_at(site, results, row, End::Device(i)));
            lines.extend(ac_work(results, row, i));
            if let Some(w) = results.device(row, i).filter(|w| w.va.is_none()) {
                lines.push(format!(
                    "I = {:.4} A, P = V x I = {:.3} V x {:.4} A = {:.3} W",
                    w.amps.base(),
                    w.volts.base(),
                    w.amps.base(),
                    w.watts.base()
                ));
            }
        }
        Some(Thing::Junction(i)) => lines.extend(volts_at(site, results, row, End::Junction(i))),
        Some(Thing::Run(i)) => lines.extend(run_work(site, results, row, i)),
        Some(Thing::Supply(i)) => {
            if let Some(w) = results.supply(row, i) {
                let supply = &site.supplies[i];
                let open = row.corner.volts(supply).base();
                let ohms = supply.resistance.map_or(0.0, Measure::base);
                lines.push("V = V without load - I x R source".into());
                lines.push(format!(
                    "{open:.3} V - {:.4} A x {ohms:.3} ohm = {:.3} V",
                    w.amps.base(),
                    w.volts.base()
                ));
            }
        }
        Some(Thing::Fuse(_) | Thing::Earth(_)) | None => {
            lines.push("select a supply, a device, a junction or a run".into());
        }
    }
    lines.push(String::new());
    lines.push(format!(
        "Kirchhoff's laws on the whole network; largest current imbalance at any node {:.1e} A",
        solution.imbalance_a
    ));
    lines
}
