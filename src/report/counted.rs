//! What it takes to build a site as tables: the bill, the cuts, the spools and the wires.

use crate::diagnostic::clean;
use crate::report::sheets::{Cell, SHEETS, Sheet, head, money, number, text};
use crate::site::Site;
use crate::takeoff::{CableLine, TakeOff};
use crate::units::{Length, Measure, System};

/// The tables that only count: bill, cuts, spools and wires.
pub fn sheets_of_bid(site: &Site, takeoff: &TakeOff) -> Vec<Sheet> {
    let lengths = Lengths::of(site.units);
    vec![
        bill(site, takeoff),
        cuts(site, takeoff, lengths),
        spools(site, takeoff, lengths),
        wires(site, takeoff),
    ]
}

/// How lengths are written.
#[derive(Clone, Copy)]
struct Lengths {
    unit: &'static str,
    metres: f64,
}

impl Lengths {
    fn of(system: System) -> Self {
        match system {
            System::Us => Self {
                unit: "ft",
                metres: 0.3048,
            },
            System::Si => Self {
                unit: "m",
                metres: 1.0,
            },
        }
    }

    fn cell(self, length: Length) -> Cell {
        // Tenths of a micrometre are rounding of the conversion.
        let written = (length.base() / self.metres * 1e7).round() / 1e7;
        Cell::Number(written, 1)
    }
}

fn bill(site: &Site, takeoff: &TakeOff) -> Sheet {
    let hours = |work: Option<f64>| match work {
        Some(_) => Cell::Product([2, 6], work, 2),
        None => Cell::Empty,
    };
    let lines = takeoff.lines.iter().map(|line| {
        let decimals = if line.unit == "each" { 0 } else { 1 };
        vec![
            text(&line.item),
            text(line.place.as_deref().unwrap_or_default()),
            Cell::Number(line.count, decimals),
            text(line.unit),
            number(line.price, 2),
            Cell::Product([2, 4], line.cost(), 2),
            number(line.hours, 2),
            hours(line.work()),
            text(&line.why),
        ]
    });
    let money = |what: &str| money(site, what);
    let total = &takeoff.total;
    let mut remarks = Vec::new();
    let mut rows: Vec<Vec<Cell>> = lines.collect();
    if let Some(labour) = total.labour {
        rows.push(vec![
            text("labour"),
            Cell::Empty,
            Cell::Above(7, total.hours, 2),
            text("h"),
            Cell::Number(labour / total.hours, 2),
            Cell::Product([2, 4], Some(labour), 2),
            Cell::Empty,
            Cell::Empty,
            text("all hours at the rate of [labour]"),
        ]);
    } else if total.hours > 0.0 {
        remarks.push("hours are stated, but [labour] has no rate: work is not priced".to_owned());
    }
    if !total.unpriced.is_empty() {
        remarks.push(format!(
            "not priced, and not in the total: {}",
            clean(&total.unpriced.join(", "))
        ));
    }
    Sheet {
        name: SHEETS[0],
        head: vec![
            "item".to_owned(),
            "place".to_owned(),
            "count".to_owned(),
            "unit".to_owned(),
            money("price of one"),
            money("cost"),
            "hours for one".to_owned(),
            "hours".to_owned(),
            "how counted".to_owned(),
        ],
        rows,
        summed: vec![5, 7],
        remarks,
    }
}

fn cuts(site: &Site, takeoff: &TakeOff, lengths: Lengths) -> Sheet {
    let spool_of = |cut: usize| -> Option<usize> {
        let line = takeoff.cables.iter().find(|l| l.cuts.contains(&cut))?;
        let own = line.cuts.iter().position(|c| *c == cut)?;
        let spools = &line.packing.as_ref()?.spools;
        spools.iter().position(|s| s.cuts.contains(&own))
    };
    let rows = takeoff.cuts.iter().enumerate().map(|(i, cut)| {
        let run = &site.runs[cut.run];
        vec![
            text(&run.name),
            text(&site.cables[cut.cable.0].name),
            text(site.end_text(run.from)),
            text(site.end_text(run.to)),
            lengths.cell(cut.electrical),
            lengths.cell(cut.cut),
            spool_of(i).map_or(Cell::Empty, |s| Cell::Text(format!("{}", s + 1))),
        ]
    });
    let unit = lengths.unit;
    Sheet {
        name: SHEETS[1],
        head: vec![
            "run".to_owned(),
            "cable".to_owned(),
            "from".to_owned(),
            "to".to_owned(),
            format!("electrical length, {unit}"),
            format!("length to cut, {unit}"),
            "spool".to_owned(),
        ],
        rows: rows.collect(),
        summed: vec![4, 5],
        remarks: vec![format!(
            "to cut: electrical length, {} {unit} at each end, {} % waste, rounded up to whole {unit}",
            trimmed(site.design.slack.base() / lengths.metres),
            trimmed(site.design.waste.value * 100.0),
        )],
    }
}

fn trimmed(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn spools(site: &Site, takeoff: &TakeOff, lengths: Lengths) -> Sheet {
    let (mut rows, mut remarks) = (Vec::new(), Vec::new());
    for line in &takeoff.cables {
        let Some(packing) = &line.packing else {
            continue;
        };
        let cable = clean(&site.cables[line.cable.0].name);
        let name = |own: &usize| {
            let run = takeoff.cuts[line.cuts[*own]].run;
            site.runs[run].name.as_str()
        };
        for (i, spool) in packing.spools.iter().enumerate() {
            let runs: Vec<&str> = spool.cuts.iter().map(name).collect();
            rows.push(vec![
                text(&cable),
                Cell::Text(format!("{}", i + 1)),
                lengths.cell(spool.length),
                text(runs.join(", ")),
                lengths.cell(spool.left),
            ]);
        }
        remarks.extend(about(line, &cable, &name));
    }
    let unit = lengths.unit;
    Sheet {
        name: SHEETS[2],
        head: vec![
            "cable".to_owned(),
            "spool".to_owned(),
            format!("length, {unit}"),
            "runs".to_owned(),
            format!("left over, {unit}"),
        ],
        rows,
        summed: vec![2, 4],
        remarks,
    }
}

/// What to know about the spools of one cable.
fn about<'n>(line: &CableLine, cable: &str, name: &impl Fn(&usize) -> &'n str) -> Vec<String> {
    let mut remarks = Vec::new();
    let Some(packing) = &line.packing else {
        return remarks;
    };
    for cut in &packing.too_long {
        remarks.push(format!(
            "{cable}: no spool is long enough for {}; a pull in the ground has no splice",
            clean(name(cut))
        ));
    }
    if let Some(cut) = &packing.forces_more {
        remarks.push(format!(
            "{cable}: without {} less would be bought",
            clean(name(cut))
        ));
    }
    if !packing.is_least {
        remarks.push(format!(
            "{cable}: the best arrangement found; not proven to be the least"
        ));
    }
    remarks
}

fn wires(site: &Site, takeoff: &TakeOff) -> Sheet {
    let rows = takeoff.wires.iter().map(|wire| {
        vec![
            text(&wire.label),
            text(&site.runs[wire.run].name),
            text(&wire.function),
            text(wire.colour.as_deref().unwrap_or_default()),
            text(&wire.from),
            text(&wire.through),
            text(&wire.to),
        ]
    });
    Sheet {
        name: SHEETS[3],
        head: head(&[
            "label",
            "run",
            "conductor",
            "colour",
            "from",
            "through",
            "to",
        ]),
        rows: rows.collect(),
        summed: Vec::new(),
        remarks: Vec::new(),
    }
}
