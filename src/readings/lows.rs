//! What the ohms that were found do to the devices: the site solved once more with them.

use crate::circuit::{Corner, part_resistance};
use crate::readings::model::Way;
use crate::readings::path::{PathOhms, Verdict};
use crate::results::{Results, Row};
use crate::site::{End, Run, Site};
use crate::solve::Solver;
use crate::units::{ElectricPotential, ElectricalResistance, Measure};

/// A device that has too few volts with the ohms found, and enough with those drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Low {
    /// The device.
    pub device: usize,
    /// The case in which it has least.
    pub case: usize,
    /// Volts with the ohms found, in the corner low.
    pub volts: ElectricPotential,
    /// Its lowest.
    pub lowest: ElectricPotential,
}

/// Puts the ohms found into the site, all at once, and notes with each path the devices behind it
/// that then have too few volts in a case in which they have enough as drawn.
pub(super) fn note_lows(
    site: &Site,
    results: &Results,
    paths: &mut [PathOhms],
    solver: &mut Solver,
) {
    let over = |path: &PathOhms| path.way == Way::Loop && path.verdict == Verdict::Over;
    if !paths.iter().any(over) {
        return;
    }
    let mut changed = site.clone();
    for path in paths.iter().filter(|path| over(path)) {
        put(site, path, &mut changed.runs[path.run]);
    }
    let cases = results.cases.clone();
    let found = Results::in_corners((&changed, cases), &[Corner::Low], solver, None);
    let lows: Vec<Low> = (0..site.devices.len())
        .filter_map(|device| low(site, (results, &found), device))
        .collect();
    for path in paths.iter_mut().filter(|path| over(path)) {
        let behind = |low: &&Low| {
            let way = results.ways.way_to(End::Device(low.device));
            way.iter().any(|(run, _)| *run == Some(path.run))
        };
        path.lows = lows.iter().filter(behind).copied().collect();
    }
}

/// States the ohms found in a run: half of them in each leg, what it passes apart.
fn put(site: &Site, path: &PathOhms, run: &mut Run) {
    let parts = run.through.iter();
    let parts: ElectricalResistance = parts.filter_map(|part| part_resistance(site, *part)).sum();
    let leg = (path.found.value - parts) / 2.0 - run.surge;
    run.resistance = Some(ElectricalResistance::from_base(leg.base().max(0.0)));
}

fn low(site: &Site, (drawn, found): (&Results, &Results), device: usize) -> Option<Low> {
    let lowest = site.devices[device].lowest?;
    let volts = |results: &Results, row: &Row| {
        let live = results.live[row.case].devices[device];
        results
            .device(row, device)
            .filter(|_| live)
            .map(|w| w.volts)
    };
    let under = |volts: ElectricPotential| volts.base() < lowest.base() - 1e-9;
    let rows = found.rows.iter().filter_map(|row| {
        let before = volts(drawn, drawn.row(row.case, Corner::Low)?)?;
        let now = volts(found, row)?;
        (under(now) && !under(before)).then_some((now, row.case))
    });
    let (volts, case) = rows.min_by(|a, b| a.0.base().total_cmp(&b.0.base()))?;
    Some(Low {
        device,
        case,
        volts,
        lowest,
    })
}
