//! The wire schedule: every conductor from where to where, with colour and mark.

use crate::site::{Cable, Part, Run, Site};

/// One conductor of one run.
#[derive(Clone, Debug, PartialEq)]
pub struct WireRow {
    /// The run.
    pub run: usize,
    /// What the conductor does, for instance `plus`; `spare` does nothing.
    pub function: String,
    /// Terminal at the `from` end.
    pub from: String,
    /// Terminal at the other end.
    pub to: String,
    /// Fuses and contacts on the way.
    pub through: String,
    /// Colour, as entered.
    pub colour: Option<String>,
    /// Mark at both ends.
    pub label: String,
    /// Joints on the way.
    pub splices: u32,
}

impl WireRow {
    /// Whether the conductor does nothing yet.
    pub fn is_spare(&self) -> bool {
        self.function == SPARE
    }
}

const SPARE: &str = "spare";

/// Every conductor of every jacket: those that runs use, then the spare ones.
pub(super) fn schedule(site: &Site) -> Vec<WireRow> {
    let mut rows = Vec::new();
    for (owner, run) in site.runs.iter().enumerate() {
        if run.shares.is_some() {
            continue;
        }
        let mut used = 0;
        for (i, run) in std::iter::once((owner, run)).chain(
            run.sharers
                .iter()
                .filter_map(|i| Some((*i, site.runs.get(*i)?))),
        ) {
            let colours = run.cable(site).map_or(&[][..], |c| &c.colours);
            let beside = site.runs_beside(i).take_while(|r| r.name != run.name);
            let before: u32 = beside.map(Cable::conductors_for).sum();
            let own = functions(run);
            for (k, function) in own.iter().enumerate() {
                rows.push(row(site, i, k, function, colours.get(before as usize + k)));
            }
            used += own.len();
        }
        let spare = conductors(site, run).saturating_sub(used);
        for k in 0..spare {
            let colours = run.cable(site).map_or(&[][..], |c| &c.colours);
            let colour = run.jacket(site).filter(|j| j.elements.is_empty());
            let colour = colour.and_then(|_| colours.get(used + k));
            rows.push(WireRow {
                run: owner,
                function: SPARE.to_owned(),
                from: site.end_text(run.from),
                to: site.end_text(run.to),
                through: String::new(),
                colour: colour.cloned(),
                label: format!("{}-S{}", run.name, k + 1),
                splices: run.splices,
            });
        }
    }
    rows
}

/// Conductors that the jacket of a run has.
fn conductors(site: &Site, run: &Run) -> usize {
    let Some(jacket) = run.jacket(site).filter(|_| run.resistance.is_none()) else {
        return 0;
    };
    let elements = jacket.elements.iter().map(|c| site.cables[c.0].conductors);
    let count: u32 = if jacket.elements.is_empty() {
        jacket.conductors
    } else {
        elements.sum()
    };
    count as usize
}

/// What each conductor of a run does, in order.
fn functions(run: &Run) -> Vec<String> {
    let c = run.carries;
    if c.bond {
        return vec!["bond".to_owned()];
    }
    let mut found = Vec::new();
    if c.ethernet {
        for pair in 1..=4 {
            found.extend([format!("pair {pair} a"), format!("pair {pair} b")]);
        }
    } else if c.power {
        found.extend(numbered("plus", run.parallel));
        found.extend(numbered("minus", run.minus_parallel));
    }
    let pairs = [
        (c.wiegand, ["data 0", "data 1"]),
        (c.rs485, ["A", "B"]),
        (c.data, ["data +", "data -"]),
        (c.supervised, ["loop 1", "loop 2"]),
        (c.contact, ["contact 1", "contact 2"]),
    ];
    for (carried, names) in pairs {
        if carried && !c.ethernet {
            found.extend(names.map(str::to_owned));
        }
    }
    if run.common && !c.power && !c.ethernet {
        found.push("common".to_owned());
    }
    found.extend(numbered("signal", run.signal_wires));
    found
}

fn numbered(name: &str, count: u32) -> Vec<String> {
    match count {
        0 => Vec::new(),
        1 => vec![name.to_owned()],
        _ => (1..=count).map(|n| format!("{name} {n}")).collect(),
    }
}

fn row(site: &Site, i: usize, k: usize, function: &str, colour: Option<&String>) -> WireRow {
    let run = &site.runs[i];
    let marked = run.wires.iter().find(|w| w.function == function);
    let terminal = |end| format!("{} {function}", site.end_text(end));
    let through: Vec<String> = if function.starts_with("plus") {
        let parts = run.through.iter();
        parts.map(|part: &Part| site.part_text(*part)).collect()
    } else {
        Vec::new()
    };
    WireRow {
        run: i,
        function: function.to_owned(),
        from: marked
            .and_then(|w| w.from.clone())
            .unwrap_or_else(|| terminal(run.from)),
        to: marked
            .and_then(|w| w.to.clone())
            .unwrap_or_else(|| terminal(run.to)),
        through: through.join(", "),
        colour: marked.and_then(|w| w.colour.clone()).or(colour.cloned()),
        label: marked
            .and_then(|w| w.label.clone())
            .unwrap_or_else(|| format!("{}-{}", run.name, k + 1)),
        splices: run.splices,
    }
}
