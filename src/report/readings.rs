//! Readings beside what the site says, and what follows from them, as rows for text and screen.

use std::fmt::Write as _;

use crate::diagnostic::{Severity, clean};
use crate::readings::{
    DRY_OHM, Moment, PathOhms, Readings, Says, SourceOhms, Sum, Taken, Way, Whole, is_beyond,
    wetness,
};
use crate::report::text::{Pieces, Tone};
use crate::site::{Found, Site, Thing};
use crate::study::Study;
use crate::units::{ElectricCurrent, ElectricalResistance, Measure, fixed, show};

/// What a row is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// A heading.
    Heading,
    /// One reading, by its index.
    Reading(usize),
    /// The ohms of a run or conductor, by the index of its path.
    Path(usize),
    /// A supply or the currents at a thing.
    Thing(Thing),
    /// All readings at once.
    Whole,
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingRow {
    /// What it is about.
    pub about: About,
    /// What, model, found, found less model, times of what it may be off, word; of a heading one.
    pub cells: Vec<String>,
    /// How grave it is.
    pub severity: Option<Severity>,
}

/// Heads of the columns; `>` stands before those over numbers.
pub const HEADS: [&str; 6] = [
    "what",
    ">expected",
    ">found",
    ">off by",
    ">times u",
    "state",
];

/// Every row: what follows first, then every reading by its moment.
pub fn reading_rows(site: &Site, study: &Study) -> Vec<ReadingRow> {
    let own = &study.readings;
    let mut rows = Vec::new();
    let follows = own.paths.len() + own.sources.len() + own.sums.len();
    if follows > 0 || own.whole.is_some() {
        rows.push(heading("WHAT FOLLOWS".to_owned()));
    }
    let paths = own.paths.iter().enumerate();
    rows.extend(paths.map(|(i, path)| of_path(site, i, path)));
    rows.extend(
        own.sources
            .iter()
            .flat_map(|source| of_source(site, source)),
    );
    rows.extend(own.sums.iter().map(|sum| of_sum(site, study, sum)));
    rows.extend(own.whole.as_ref().map(|whole| of_whole(study, whole)));
    for moment in &own.moments {
        rows.push(heading(format!(
            "READ AT ONCE: {}",
            called(site, study, moment)
        )));
        let each = moment.readings.iter();
        rows.extend(each.map(|i| of_reading(site, own, *i)));
    }
    let mut others = (0..own.taken.len())
        .filter(|i| own.taken[*i].moment.is_none())
        .peekable();
    if others.peek().is_some() {
        rows.push(heading(
            "READ BY ITSELF: no case and no set is named".to_owned(),
        ));
    }
    rows.extend(others.map(|i| of_reading(site, own, i)));
    rows
}

fn heading(words: String) -> ReadingRow {
    ReadingRow {
        about: About::Heading,
        cells: vec![words],
        severity: None,
    }
}

/// A moment with its set and its time.
fn called(site: &Site, study: &Study, moment: &Moment) -> String {
    let mut name = moment.name(&study.results);
    if let (Some(set), Some(_)) = (moment.set, moment.case) {
        let _ = write!(name, ", set {set}");
    }
    let mut times = moment.readings.iter();
    if let Some(time) = times.find_map(|i| site.readings[*i].time.as_ref()) {
        let _ = write!(name, ", {time}");
    }
    name
}

/// A row of numbers with their unit; without a model nothing is held against anything.
fn numbers(
    about: About,
    what: String,
    [model, found, u]: [Option<f64>; 3],
    unit: &str,
    severity: Option<Severity>,
) -> ReadingRow {
    let shown = |value: Option<f64>| {
        value.map_or_else(|| "-".to_owned(), |v| format!("{} {unit}", fixed(v, 3)))
    };
    let off = found.zip(model).map(|(found, model)| found - model);
    let signed = off.map_or_else(
        || "-".to_owned(),
        |off| {
            let text = fixed(off, 3);
            let rises = off > 0.0 && text != fixed(0.0, 3);
            format!("{}{text}", if rises { "+" } else { "" })
        },
    );
    let times = off.zip(u).map(|(off, u)| fixed(off.abs() / u, 1));
    let word = match (severity, off) {
        (Some(severity), _) => severity.as_str(),
        (None, Some(_)) => "ok",
        (None, None) => "not compared",
    };
    ReadingRow {
        about,
        cells: vec![
            what,
            shown(model),
            shown(found),
            signed,
            times.unwrap_or_else(|| "-".to_owned()),
            word.to_owned(),
        ],
        severity,
    }
}

/// The way as a line, and its ohms.
fn of_path(site: &Site, i: usize, path: &PathOhms) -> ReadingRow {
    let run = &site.runs[path.run];
    let [from, to] = [run.from, run.to].map(|end| site.end_text(end));
    let there = match path.way {
        Way::Loop => " and back",
        Way::Leg(_) => "",
    };
    numbers(
        About::Path(i),
        format!("{from} > {} > {to}{there}", path.name(site)),
        [
            Some(path.expected.value.base()),
            Some(path.found.value.base()),
            Some(path.excess().u.base()),
        ],
        "ohm",
        path.is_wrong().then_some(Severity::Warn),
    )
}

/// The volts of a supply without load, and its ohms.
fn of_source(site: &Site, source: &SourceOhms) -> [ReadingRow; 2] {
    let own = &site.supplies[source.supply];
    let about = About::Thing(Thing::Supply(source.supply));
    let drawn = own.resistance.map_or(0.0, Measure::base);
    let row = |what: &str, model: f64, found: [f64; 2], unit| {
        let [found, u] = found;
        let off = is_beyond(found - model, u);
        numbers(
            about,
            format!("{} {what}", own.name),
            [Some(model), Some(found), Some(u)],
            unit,
            off.then_some(Severity::Warn),
        )
    };
    let volts = [source.volts.value.base(), source.volts.u.base()];
    let ohms = [source.ohms.value.base(), source.ohms.u.base()];
    [
        row("without load", own.voltage.base(), volts, "V"),
        row("as a source", drawn, ohms, "ohm"),
    ]
}

/// What flows in beside what flows out.
fn of_sum(site: &Site, study: &Study, sum: &Sum) -> ReadingRow {
    let total = |side: &[ElectricCurrent]| side.iter().map(|a| a.base()).sum::<f64>();
    let moment = study.readings.moments[sum.moment].name(&study.results);
    numbers(
        About::Thing(sum.thing),
        format!("into {}, out of it, in {moment}", site.name_of(sum.thing)),
        [
            Some(total(&sum.into)),
            Some(total(&sum.out)),
            Some(sum.u.base()),
        ],
        "A",
        (!sum.holds()).then_some(Severity::Warn),
    )
}

/// How far off all readings are together, as a root mean square, and how grave its finding is.
fn of_whole(study: &Study, whole: &Whole) -> ReadingRow {
    #[expect(clippy::cast_precision_loss, reason = "a count of readings")]
    let times = (whole.squares / whole.count as f64).sqrt();
    let mut findings = study.findings.iter().map(|judged| &judged.finding);
    let severity = findings
        .find(|f| f.code == "found-fault")
        .map(|f| f.severity);
    let severity = severity.filter(|severity| *severity != Severity::Note);
    let word = match (severity, &whole.says) {
        (Some(severity), _) => severity.as_str(),
        (None, Says::Agrees) => "ok",
        (None, Says::One(..)) => "as above",
        (None, Says::Several) => "not as drawn",
    };
    let mut cells = vec![format!("all {} readings at once", whole.count)];
    cells.extend(["-", "-", "-"].map(str::to_owned));
    cells.extend([fixed(times, 1), word.to_owned()]);
    ReadingRow {
        about: About::Whole,
        cells,
        severity,
    }
}

fn of_reading(site: &Site, readings: &Readings, i: usize) -> ReadingRow {
    let taken: &Taken = &readings.taken[i];
    let reading = &site.readings[i];
    let spot = site.spot_text(reading.at);
    let what = match reading.found {
        Found::Insulation(_) => return of_insulation(site, (i, taken.found), &spot),
        Found::Ohms(_) => format!("{spot}, dead"),
        Found::Volts(_) | Found::Amps(_) => spot,
    };
    let off = match reading.found {
        Found::Volts(_) | Found::Amps(_) => taken.is_off(),
        // Ohms have their copper to reckon with, too: their path is what judges them.
        Found::Ohms(_) | Found::Insulation(_) => {
            (readings.paths.iter()).any(|path| path.spot() == reading.at && path.is_wrong())
        }
    };
    numbers(
        About::Reading(i),
        what,
        [taken.model, Some(taken.found), Some(taken.u)],
        reading.unit(),
        off.then_some(Severity::Warn),
    )
}

/// Insulation beside what dry cable has at least.
fn of_insulation(site: &Site, (i, ohm): (usize, f64), spot: &str) -> ReadingRow {
    let shown = |ohm| show(ElectricalResistance::from_base(ohm), site.units);
    let severity = wetness(ElectricalResistance::from_base(ohm));
    ReadingRow {
        about: About::Reading(i),
        cells: vec![
            format!("{spot}, insulation"),
            shown(DRY_OHM),
            shown(ohm),
            "-".to_owned(),
            "-".to_owned(),
            severity.map_or("ok", Severity::as_str).to_owned(),
        ],
        severity,
    }
}

/// The readings as a part of the text: columns under one another.
pub(super) fn text(site: &Site, study: &Study, out: &mut Pieces) {
    let rows = reading_rows(site, study);
    if rows.is_empty() {
        return;
    }
    let heads = HEADS.map(|head| head.trim_start_matches('>').to_owned());
    let lines = || rows.iter().filter(|row| row.about != About::Heading);
    let widths: Vec<usize> = (0..HEADS.len())
        .map(|c| {
            let cells = lines().filter_map(|row| row.cells.get(c));
            let widest = cells.map(|cell| clean(cell).chars().count()).max();
            widest.unwrap_or(0).max(heads[c].chars().count())
        })
        .collect();
    let line = |cells: &[String]| {
        let mut text = String::new();
        for (c, cell) in cells.iter().enumerate() {
            let (cell, wide) = (clean(cell), widths[c]);
            if HEADS[c].starts_with('>') {
                let _ = write!(text, "  {cell:>wide$}");
            } else {
                let _ = write!(text, "  {cell:wide$}");
            }
        }
        format!("{}\n", text.trim_end())
    };
    out.push((Tone::Strong, "Readings\n".into()));
    out.push((Tone::Plain, line(&heads)));
    for row in &rows {
        match (row.about, row.severity) {
            (About::Heading, _) => out.push((Tone::Plain, format!("{}\n", clean(&row.cells[0])))),
            (_, Some(severity)) => out.push((Tone::Severity(severity), line(&row.cells))),
            (_, None) => out.push((Tone::Plain, line(&row.cells))),
        }
    }
    out.push((Tone::Plain, "\n".into()));
}
