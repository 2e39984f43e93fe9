//! Where on the way to a device the volts are lost, and whether that is much.

use std::collections::{BTreeMap, HashMap};

use crate::checks::{Check, Finding, Look, exceeds, greatest};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{End, Thing};
use crate::units::Measure;

pub(crate) const FAR: Check = Check {
    code: "far-loss",
    question: "does the wire take more than a tenth of the volts of a device that states no lowest?",
    formula: "(volts at the supply's terminals - volts at the device) / volts of the supply <= 10 %; where lowest is stated, that decides instead",
    source: "common practice, no source",
};
pub(crate) const COSTLY: Check = Check {
    code: "costly-run",
    question: "does a short piece of the way cost most of its volts?",
    formula: "drop of the run / drop of the whole way > 50 %, while its length / length of the way < 20 %; where the way takes over 3 %, in the case in which it takes most",
    source: "Ohm's law on the solved network; both shares are common practice, no source",
};

/// Share of a supply's volts that the way may take where nothing else is known.
const MUCH: f64 = 0.10;
/// Shares that the guidance for branch circuits names: for the branch, and for the whole way.
const GUIDANCE: [f64; 2] = [0.03, 0.05];
/// What makes a run costly: over this share of the drop, under this share of the length.
const MOST_DROP: f64 = 0.5;
const LEAST_LENGTH: f64 = 0.2;

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, _) in look.devices() {
        found.extend(far(look, i));
    }
    costly(look, found);
}

/// Volts lost between the nearest supply's terminals and an end, and the supply's own without load.
fn lost(look: &Look<'_>, row: &Row, end: End) -> Option<(f64, f64)> {
    let supply = look.results.ways.start_of(end)?;
    let there = match end {
        End::Device(i) => look.results.device(row, i)?.volts,
        End::Junction(i) => look.results.junction(row, i)?,
        _ => return None,
    };
    let terminals = look.results.supply(row, supply)?.volts;
    let whole = row.corner.volts(&look.site.supplies[supply]);
    Some((terminals.base() - there.base(), whole.base()))
}

fn far(look: &Look<'_>, i: usize) -> Option<Finding> {
    let device = &look.site.devices[i];
    if device.lowest.is_some() || device.draws_nothing() {
        return None;
    }
    let end = End::Device(i);
    let lives = |row: &&Row| row.corner == Corner::Low && look.results.live[row.case].devices[i];
    let rows = look.whole_rows().filter(lives);
    let (volts, row) = greatest(rows, |row| Some(lost(look, row, end)?.0))?;
    let (_, whole) = lost(look, row, end)?;
    if !exceeds(volts / whole, MUCH) {
        return None;
    }
    let (percent, most) = (100.0 * volts / whole, 100.0 * MUCH);
    let message = format!(
        "the way to {} takes {volts:.2} V, {percent:.1} % of its supply's volts, and nothing says how few it works with: {most:.0} % is what practice allows",
        device.name
    );
    Some(
        FAR.finding(Severity::Warn, &device.name, message)
            .about(Thing::Device(i))
            .at(row)
            .measured(percent, most, "%")
            .put_in(format!(
                "{volts:.3} V / {whole:.3} V = {percent:.2} % > {most:.0} %"
            )),
    )
}

/// The guidance that a share of lost volts is over, in words.
fn guidance(share: f64) -> Option<&'static str> {
    let [branch, whole] = GUIDANCE;
    if exceeds(share, MUCH) {
        Some("over the 10 % of common practice (the lowest volts of what hangs there decide)")
    } else if exceeds(share, whole) {
        Some("over 5 %, which is guidance for the whole way of branch circuits, not law")
    } else if exceeds(share, branch) {
        Some("over 3 %, which is guidance for one branch circuit, not law")
    } else {
        None
    }
}

/// What is lost up to the far end of a run, where that passes one more limit of the guidance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct SoFar {
    /// Of the supply's volts, where the run is not the first of its way.
    percent: Option<f64>,
    over: &'static str,
}

impl SoFar {
    /// The end of a sentence about the run.
    pub(super) fn words(self) -> String {
        let over = self.over;
        match self.percent {
            Some(percent) => {
                format!("; from the supply to its far end {percent:.1} % are lost, {over}")
            }
            None => format!("; {over}"),
        }
    }
}

/// How much is lost from the supply to the far end of a run that takes `drop_v` itself, where that
/// run passes one more limit of the guidance.
pub(super) fn so_far(look: &Look<'_>, row: &Row, run: usize, drop_v: f64) -> Option<SoFar> {
    let far = look.results.ways.far_end(look.site, run)?;
    let (volts, whole) = lost(look, row, far)?;
    let before = (volts - drop_v) / whole;
    let over = guidance(volts / whole).filter(|over| guidance(before) != Some(*over))?;
    let percent = exceeds(before, 0.0).then(|| 100.0 * volts / whole);
    Some(SoFar { percent, over })
}

/// What lies between the nearest supply and a thing.
#[derive(Clone, Copy)]
struct Along {
    drop_v: f64,
    length_m: f64,
    runs: usize,
    /// The run that takes most, and the volts that it takes.
    dearest: Option<(usize, f64)>,
}

impl Along {
    const NOTHING: Self = Self {
        drop_v: 0.0,
        length_m: 0.0,
        runs: 0,
        dearest: None,
    };

    /// With one more run; `None` where that has no drop, or no length to compare.
    fn and(self, look: &Look<'_>, row: &Row, run: usize) -> Option<Self> {
        let own = &look.site.runs[run];
        let drop = look.results.run(look.site, row, run)?.drop?.base().abs();
        let most = self.dearest.filter(|(_, volts)| !exceeds(drop, *volts));
        own.resistance.is_none().then(|| Self {
            drop_v: self.drop_v + drop,
            length_m: self.length_m + own.length.base(),
            runs: self.runs + 1,
            dearest: most.or(Some((run, drop))),
        })
    }
}

/// What lies before a device in a row, each step of the ways being taken once.
fn along(
    look: &Look<'_>,
    row: &Row,
    device: usize,
    known: &mut HashMap<(usize, Thing), Option<Along>>,
) -> Option<Along> {
    let mut steps = Vec::new();
    let mut at = Thing::Device(device);
    let mut sum = loop {
        if let Some(sum) = known.get(&(row.case, at)) {
            break *sum;
        }
        let Some((run, from)) = at
            .terminals()
            .and_then(|end| look.results.ways.towards(end))
        else {
            break Some(Along::NOTHING);
        };
        steps.push((at, run));
        at = from;
    };
    for (thing, run) in steps.into_iter().rev() {
        sum = match (sum, run) {
            (Some(sum), Some(run)) => sum.and(look, row, run),
            (sum, _) => sum,
        };
        known.insert((row.case, thing), sum);
    }
    sum
}

/// One finding a run: for the device behind it whose way it spoils most.
fn costly(look: &Look<'_>, found: &mut Vec<Finding>) {
    let rows: Vec<&Row> = (look.whole_rows())
        .filter(|row| row.corner == Corner::Low)
        .collect();
    let mut known = HashMap::new();
    // By run: its share of the drop, the device that it spoils most, the way there, and when.
    let mut worst: BTreeMap<usize, (f64, usize, Along, &Row)> = BTreeMap::new();
    for (i, _) in look.devices() {
        let share = |row: &Row| {
            let lives = look.results.live[row.case].devices[i];
            let (volts, whole) = lost(look, row, End::Device(i)).filter(|_| lives)?;
            Some(volts / whole)
        };
        let Some((_, row)) =
            greatest(rows.iter().copied(), share).filter(|(share, _)| exceeds(*share, GUIDANCE[0]))
        else {
            continue;
        };
        let Some(along) = along(look, row, i, &mut known) else {
            continue;
        };
        if let Some((run, share)) = dear(look, &along)
            && (worst.get(&run)).is_none_or(|(before, ..)| exceeds(share, *before))
        {
            worst.insert(run, (share, i, along, row));
        }
    }
    let worst = worst.into_values();
    found.extend(worst.filter_map(|(share, i, along, row)| tell(look, row, (i, along), share)));
}

/// The run that costs most of a way, and its share of what is lost there.
fn dear(look: &Look<'_>, along: &Along) -> Option<(usize, f64)> {
    let (run, volts) = along.dearest.filter(|_| along.runs > 1)?;
    let share = volts / along.drop_v;
    let short = exceeds(
        LEAST_LENGTH,
        look.site.runs[run].length.base() / along.length_m,
    );
    (exceeds(share, MOST_DROP) && short).then_some((run, share))
}

/// What is said of the run that takes a share of what is lost on the way to a device.
fn tell(look: &Look<'_>, row: &Row, (i, along): (usize, Along), share: f64) -> Option<Finding> {
    let (run, volts) = along.dearest?;
    let own = &look.site.runs[run];
    let length = own.length.base();
    let (drop, length_percent) = (100.0 * share, 100.0 * length / along.length_m);
    let message = format!(
        "{} takes {drop:.0} % of the volts lost on the way to {}, and is {length_percent:.0} % of its length: a thicker cable in {} alone helps most",
        own.name, look.site.devices[i].name, own.name
    );
    Some(
        COSTLY
            .finding(Severity::Note, &own.name, message)
            .about(Thing::Run(run))
            .at(row)
            .measured(drop, 100.0 * MOST_DROP, "%")
            .put_in(format!(
                "{volts:.3} V / {:.3} V = {drop:.1} % > 50 %; {length:.2} m / {:.2} m = {length_percent:.1} % < 20 %",
                along.drop_v, along.length_m
            )),
    )
}
