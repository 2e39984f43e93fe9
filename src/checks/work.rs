//! The work behind a number: the formula along the way from the supply, with every number put in.

use crate::results::{Results, Row};
use crate::site::{End, Site};
use crate::units::Measure;

/// The volts at an end as a sum along the way from its supply, by Kirchhoff's voltage law:
/// no-load volts, less the source's own drop, less both legs of each run.
pub fn volts_along(site: &Site, results: &Results, row: &Row, end: End) -> Option<String> {
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
