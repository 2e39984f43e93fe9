//! The work behind a number: the formula along the way from the supply, with every number put in.

use num_complex::Complex64;

use crate::results::{Results, Row};
use crate::site::{End, Site, Supply};
use crate::solve::Regime;
use crate::units::Measure;

/// How the volts at an end come about, with numbers: as a sum along the way from its supply, or,
/// where that way is open in this case, as the difference of its two terminals.
pub fn volts_at(site: &Site, results: &Results, row: &Row, end: End) -> Option<String> {
    volts_along(site, results, row, end).or_else(|| volts_between(site, results, row, end))
}

/// Volts for a person: with their angle where the row has angles.
fn told(row: &Row, volts: Complex64) -> String {
    if row.has_angles() {
        format!(
            "{:.3} V at {:.1} deg",
            volts.norm(),
            volts.arg().to_degrees()
        )
    } else {
        format!("{:.3} V", volts.re)
    }
}

/// The volts at an end from its terminals' own, counted from the negative of its supply.
fn volts_between(site: &Site, results: &Results, row: &Row, end: End) -> Option<String> {
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
    let counted = |node| results.fall(row, [node, reference]);
    let (plus, minus) = (counted(plus)?, counted(minus)?);
    Some(format!(
        "counted from the negative of {}, by another way than the open one: plus {} - minus {} = {}",
        site.supplies[start].name,
        told(row, plus),
        told(row, minus),
        told(row, plus - minus)
    ))
}

/// The volts at an end as a sum along the way from its supply, by Kirchhoff's voltage law:
/// no-load volts, less the source's own drop, less both legs of each run.
fn volts_along(site: &Site, results: &Results, row: &Row, end: End) -> Option<String> {
    let start = results.ways.start_of(end)?;
    let supply = &site.supplies[start];
    let (mut text, mut sum) = at_terminals(results, row, supply, start)?;
    for (run, _) in results.ways.way_to(end) {
        let Some(i) = run else { continue };
        let from = site.runs[i].from;
        if let End::Output(s, o) = from {
            let (a, b) = results.template.branch_ends(results.template.outputs[s][o]);
            let drop = results.fall(row, [a, b])?;
            text += &format!(" - {} {}", site.end_text(from), told(row, drop));
            sum -= drop;
        }
        let [plus, minus] = legs(site, results, row, i)?;
        text += &if row.has_angles() {
            format!(" - {} {}", site.runs[i].name, told(row, plus + minus))
        } else {
            format!(
                " - {} ({:.3} + {:.3}) V",
                site.runs[i].name, plus.re, minus.re
            )
        };
        sum -= plus + minus;
    }
    Some(format!("{text} = {}", told(row, sum)))
}

/// The volts at a supply's terminals: without load, less its diode's and its ohms'; as solved where
/// its limiter holds or its diode blocks.
fn at_terminals(
    results: &Results,
    row: &Row,
    supply: &Supply,
    start: usize,
) -> Option<(String, Complex64)> {
    let regime = row.solution().and_then(|s| s.regime(start));
    let how = match regime {
        Some(Regime::Limited) => "held at its limit",
        Some(Regime::Blocked) => "its diode blocking",
        Some(Regime::Gives) | None => "",
    };
    if !how.is_empty() {
        let volts = results.fall(row, results.template.terminals.supplies[start])?;
        return Some((
            format!("{} at {}, {how}", told(row, volts), supply.name),
            volts,
        ));
    }
    let amps = results.given(row, start)?;
    let open = row.corner.volts(supply).base();
    let diode = supply.restrained.one_way.filter(|_| regime.is_some());
    let diode = diode.map_or(0.0, Measure::base);
    let mut text = format!("{open:.2} V");
    if diode > 0.0 {
        text += &format!(" - diode {diode} V");
    }
    let own = supply.resistance.map_or(0.0, Measure::base);
    if own > 0.0 {
        let size = if row.has_angles() {
            amps.norm()
        } else {
            amps.re
        };
        text += &format!(" - {} {size:.3} A x {own:.3} ohm", supply.name);
    }
    Some((text, amps * -own + (open - diode)))
}

/// The drops of both legs of a run, away from the supply; none where a leg is open.
fn legs(site: &Site, results: &Results, row: &Row, i: usize) -> Option<[Complex64; 2]> {
    let run = &site.runs[i];
    let flow = results.run(site, row, i)?;
    flow.plus_drop.and(flow.minus_drop)?;
    let terminals = &results.template.terminals;
    let (from, to) = (terminals.pair(run.from), terminals.pair(run.to));
    let plus = results.fall(row, [from[0], to[0]])?;
    let minus = results.fall(row, [to[1], from[1]])?;
    // A run that stands the other way round on this path adds its drops.
    let forward = results.ways.way_to(run.to).len() > results.ways.way_to(run.from).len();
    let sign = if forward { 1.0 } else { -1.0 };
    Some([plus * sign, minus * sign])
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
    lines.extend(reactance(site, results, row, i));
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

/// The reactance of a leg, where the cable states one and the run is on ac.
fn reactance(site: &Site, results: &Results, row: &Row, i: usize) -> Option<String> {
    let run = &site.runs[i];
    let per_length = run.cable(site)?.reactance?.base();
    let hertz = results.hertz_of_run(row, i).filter(|hz| *hz > 0.0)?;
    let conductors = run.parallel.max(1);
    let ohms = per_length * hertz / 60.0 * run.length.base() / f64::from(conductors);
    Some(format!(
        "  reactance of the positive leg: {:.4} ohm/km x {hertz} Hz / 60 Hz x {:.2} m / {conductors} = {ohms:.4} ohm",
        per_length * 1e3,
        run.length.base(),
    ))
}

/// What a device on ac takes, and what its rectifier makes of it.
pub fn ac_work(results: &Results, row: &Row, device: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let Some(w) = results.device(row, device) else {
        return lines;
    };
    if let Some(va) = w.va.map(Measure::base) {
        let (volts, amps, watts) = (w.volts.base(), w.amps.base(), w.watts.base());
        let share = if va > 0.0 { watts / va } else { 1.0 };
        lines.push(format!(
            "S = V x I = {volts:.3} V x {amps:.4} A = {va:.3} VA; P = {watts:.3} W, power factor {share:.3}"
        ));
    }
    let Some(behind) = results.rectified(row, device) else {
        return lines;
    };
    let pulse = behind.pulse;
    lines.push(format!(
        "behind the rectifier: {:.2} V rms behind {:.3} ohm, diodes {:.2} V, {:.2} W of dc",
        pulse.open_v, pulse.ohm, pulse.lost_v, pulse.watts
    ));
    lines.push(match behind.steady {
        Some(s) => format!(
            "  dc {:.2} V mean, {:.2} to {:.2} V; {:.3} A dc, {:.3} A rms and {:.2} A peak in the wire",
            s.mean_v, s.least_v, s.most_v, s.dc_a, s.rms_a, s.peak_a
        ),
        None => "  no steady state: the dc volts collapse".to_owned(),
    });
    lines
}
