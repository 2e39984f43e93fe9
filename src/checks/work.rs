//! The work behind a number: the formula along the way from the supply, with every number put in.

use crate::results::{Results, Row};
use crate::site::{End, Site};
use crate::units::Measure;

/// How the volts at an end come about, with numbers: as a sum along the way from its supply, or,
/// where that way is open in this case, as the difference of its two terminals.
pub fn volts_at(site: &Site, results: &Results, row: &Row, end: End) -> Option<String> {
    volts_along(site, results, row, end).or_else(|| volts_between(site, results, row, end))
}

/// The volts at an end from its terminals' own, counted from the negative of its supply.
fn volts_between(site: &Site, results: &Results, row: &Row, end: End) -> Option<String> {
    let solution = row.solution()?;
    let start = results.ways.start_of(end)?;
    let reference = results.template.terminals.supplies[start][1];
    let [plus, minus] = results.template.terminals.pair(end);
    let island = &results.live[row.case].island;
    if [plus, minus]
        .iter()
        .any(|n| island[*n as usize] != island[reference as usize])
    {
        return None;
    }
    let [plus, minus] =
        [plus, minus].map(|n| solution.node_v[n as usize] - solution.node_v[reference as usize]);
    Some(format!(
        "counted from the negative of {}, by another way than the open one: plus {plus:.3} V - minus {minus:.3} V = {:.3} V",
        site.supplies[start].name,
        plus - minus
    ))
}

/// The volts at an end as a sum along the way from its supply, by Kirchhoff's voltage law:
/// no-load volts, less the source's own drop, less both legs of each run.
fn volts_along(site: &Site, results: &Results, row: &Row, end: End) -> Option<String> {
    let solution = row.solution()?;
    let start = results.ways.start_of(end)?;
    let supply = &site.supplies[start];
    let working = results.supply(row, start)?;
    let open = row.corner.volts(supply).base();
    let mut text = format!("{open:.2} V");
    let own = supply.resistance.map_or(0.0, Measure::base);
    if own > 0.0 {
        text += &format!(
            " - {} {:.3} A x {own:.3} ohm",
            supply.name,
            working.amps.base()
        );
    }
    let mut sum = open - own * working.amps.base();
    for (run, _) in results.ways.way_to(end) {
        let Some(i) = run else { continue };
        if let End::Output(s, o) = site.runs[i].from {
            let branch = results.template.outputs[s][o];
            let (a, b) = results.template.branch_ends(branch);
            let drop = solution.node_v[a as usize] - solution.node_v[b as usize];
            text += &format!(" - {} {drop:.3} V", site.end_text(site.runs[i].from));
            sum -= drop;
        }
        let flow = results.run(site, row, i)?;
        let (plus, minus) = (flow.plus_drop?.base(), flow.minus_drop?.base());
        // A run that stands the other way round on this path adds its drops.
        let forward = results.ways.way_to(site.runs[i].to).len()
            > results.ways.way_to(site.runs[i].from).len();
        let sign = if forward { 1.0 } else { -1.0 };
        text += &format!(
            " - {} ({:.3} + {:.3}) V",
            site.runs[i].name,
            sign * plus,
            sign * minus
        );
        sum -= sign * (plus + minus);
    }
    Some(format!("{text} = {sum:.3} V"))
}

/// How the ohms and the drop of a run come about: the conductor's row in its table, length,
/// parallel conductors, splices, then amps times ohms in each leg.
pub fn run_work(site: &Site, results: &Results, row: &Row, i: usize) -> Vec<String> {
    let run = &site.runs[i];
    let mut lines = Vec::new();
    let at = row.corner.temperature(site, run, &results.cases[row.case]);
    match (run.resistance, run.cable(site)) {
        (Some(ohms), _) => lines.push(format!("each leg as stated: {} ohm", ohms.base())),
        (None, Some(cable)) => {
            let per_length = crate::circuit::per_length(site, run, at);
            let explained = crate::tables::explain(cable.size, cable.material, cable.stranding, at);
            let (formula, source) = match cable.resistance {
                Some(_) => (
                    "R = Rref x (K + T) / (K + Tref)",
                    format!("stated for cable {}", cable.name),
                ),
                None => (explained.formula, explained.source),
            };
            lines.push(format!("ohms per length of one conductor: {formula}"));
            lines.push(format!(
                "  {:.4} ohm/km at {:.1} C; {source}",
                per_length.base() * 1e3,
                at.base() - 273.15
            ));
            let splice = run.splice.unwrap_or(site.design.splice).base();
            let one = per_length.base() * run.length.base();
            lines.push("leg = ohms per length x length / conductors + splices x one splice".into());
            for (leg, n) in [("plus", run.parallel), ("minus", run.minus_parallel)] {
                if n > 0 {
                    let ohms = one / f64::from(n) + f64::from(run.splices) * splice;
                    lines.push(format!(
                        "  {leg}: {:.4} ohm/km x {:.2} m / {n} + {} x {splice} ohm = {ohms:.4} ohm",
                        per_length.base() * 1e3,
                        run.length.base(),
                        run.splices
                    ));
                }
            }
        }
        (None, None) => {}
    }
    if let Some(flow) = results.run(site, row, i) {
        lines.push("drop = amps x ohms, in each leg".into());
        for (leg, amps, drop) in [
            ("plus", flow.amps, flow.plus_drop),
            ("minus", flow.return_amps, flow.minus_drop),
        ] {
            if let (Some(amps), Some(drop)) = (amps, drop) {
                lines.push(format!(
                    "  {leg}: {:.4} A, {:.4} V",
                    amps.base(),
                    drop.base()
                ));
            }
        }
        if let Some(amps) = flow.common_amps {
            lines.push(format!(
                "  data common: {:.4} A back to the from end",
                amps.base()
            ));
        }
        lines.push(format!("heat in all conductors: {:.3} W", flow.loss.base()));
    }
    lines
}
