//! Single causes that may explain what was read, and how well each does on the network itself.

use crate::readings::bench::Bench;
use crate::readings::error::Estimate;
use crate::readings::whole::TOLD;
use crate::readings::whole::Told;
use crate::readings::whole::gauss::Freed;
use crate::readings::whole::scene::Element;
use crate::readings::whole::sheet::{OHMS_SHARE, Sheet, legs};
use crate::site::{Leg, Site, Spot};
use crate::units::{
    ElectricPotential, ElectricalResistance, Measure, Ratio, fixed, ohms, percent, volts,
};

/// So many steps lead from the drawing to the best fit of one cause.
const STEPS: usize = 30;
/// One step multiplies or divides what was drawn by this at most.
const STRIDE: f64 = 4.0;
/// Less than this of what was drawn, or more than so many times of it, is no fit.
const RANGE: (f64, f64) = (1e-3, 1e6);

/// A conductor with so many times its ohms is as good as open.
const OPEN: f64 = 1e3;

/// One thing that may be other than drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// Ohms in a joint, or in several, of one conductor.
    Joint(usize, Leg),
    /// Both legs of a run alike: its gauge, its metal, its length.
    Wire(usize),
    /// What a device draws.
    Draw(usize),
    /// What a supply has without load.
    Volts(usize),
}

/// One cause at its best fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fault {
    /// What is other than drawn.
    pub cause: Cause,
    /// So many times what is drawn.
    pub times: Ratio,
    /// Ohms as drawn, of a conductor or of both legs.
    pub drawn: Option<ElectricalResistance>,
    /// Squares of what the readings are off with it.
    pub squares: f64,
    /// How much less they would be by straight lines through the drawing.
    pub promise: f64,
}

impl Cause {
    /// The run that it is in.
    pub const fn run(self) -> Option<usize> {
        match self {
            Self::Joint(run, _) | Self::Wire(run) => Some(run),
            Self::Draw(_) | Self::Volts(_) => None,
        }
    }

    /// What it moves in the circuit.
    fn elements(self, bench: &Bench<'_>) -> Vec<Element> {
        let branches = |run, of: &dyn Fn(Leg) -> bool| {
            let legs = legs(bench, run).into_iter();
            legs.filter(|(leg, _)| of(*leg))
                .map(|(_, branch)| Element::Branch(branch))
                .collect()
        };
        match self {
            Self::Joint(run, leg) => branches(run, &|own| own == leg),
            Self::Wire(run) => branches(run, &|own| matches!(own, Leg::Plus | Leg::Minus)),
            Self::Draw(device) => vec![Element::Load(device)],
            Self::Volts(supply) => vec![Element::Source(supply)],
        }
    }

    /// Whether it can be of so many times what is drawn: a joint only adds ohms.
    fn allows(self, times: f64) -> bool {
        match self {
            Self::Joint(..) => times > 1.0,
            Self::Wire(_) | Self::Draw(_) | Self::Volts(_) => times > RANGE.0,
        }
    }
}

impl Fault {
    /// Counts the squares anew, with the slopes that hold with the cause.
    pub(super) fn weigh(&mut self, bench: &Bench<'_>, sheet: &mut Sheet) -> Option<()> {
        let changes = self.changes(bench);
        let weights = sheet.weights_with(bench, &changes)?;
        self.squares = weights.squares(&sheet.off_with(&changes)?);
        Some(())
    }

    /// What it changes in the circuit.
    pub(super) fn changes(&self, bench: &Bench<'_>) -> Vec<(Element, f64)> {
        let elements = self.cause.elements(bench).into_iter();
        elements
            .map(|element| (element, self.times.base()))
            .collect()
    }

    /// In words.
    pub fn words(&self, site: &Site) -> String {
        let times = self.times.base();
        let drawn = self.drawn.unwrap_or_default();
        match self.cause {
            Cause::Joint(run, leg) if times >= OPEN => format!(
                "{} open, or nearly so",
                site.spot_text(Spot::Conductor(run, leg))
            ),
            Cause::Joint(run, leg) => format!(
                "{} too many in {}, in a joint or several ({} instead of {})",
                ohms(drawn * (times - 1.0), 3),
                site.spot_text(Spot::Conductor(run, leg)),
                fixed((drawn * times).base(), 3),
                ohms(drawn, 3)
            ),
            Cause::Wire(run) => {
                let what = if times > 1.0 {
                    "thinner, longer or of other metal than drawn"
                } else {
                    "thicker or shorter than drawn, or with a second way beside it"
                };
                format!(
                    "{} {what} ({} there and back instead of {})",
                    site.runs[run].name,
                    fixed((drawn * times).base(), 3),
                    ohms(drawn, 3)
                )
            }
            Cause::Draw(device) => format!(
                "{} takes {} of the draw that the site states",
                site.devices[device].name,
                percent(self.times, 0)
            ),
            Cause::Volts(supply) => {
                let own = &site.supplies[supply];
                let now: ElectricPotential = own.voltage * times;
                format!(
                    "{} has {} without load instead of {}",
                    own.name,
                    volts(now, 2),
                    volts(own.voltage, 2)
                )
            }
        }
    }
}

/// Every cause of which something is weighed.
pub(super) fn causes(bench: &Bench<'_>, sheet: &Sheet) -> Vec<Cause> {
    let weighed = |element: Element| sheet.columns.iter().any(|c| c.element == element);
    let mut all = Vec::new();
    for run in 0..bench.site.runs.len() {
        let mut own = legs(bench, run);
        own.retain(|(_, branch)| weighed(Element::Branch(*branch)));
        let both = [Leg::Plus, Leg::Minus]
            .iter()
            .all(|leg| own.iter().any(|(own, _)| own == leg));
        all.extend(own.iter().map(|(leg, _)| Cause::Joint(run, *leg)));
        all.extend(both.then_some(Cause::Wire(run)));
    }
    let devices = (0..bench.site.devices.len()).filter(|i| weighed(Element::Load(*i)));
    all.extend(devices.map(Cause::Draw));
    let supplies = (0..bench.site.supplies.len()).filter(|i| weighed(Element::Source(*i)));
    all.extend(supplies.map(Cause::Volts));
    all
}

/// The causes by what they promise, most first, and the first step of each: from straight lines
/// through the drawing.
pub(super) fn screened(
    bench: &Bench<'_>,
    sheet: &Sheet,
    causes: Vec<Cause>,
) -> Vec<(Cause, Freed)> {
    let tried = causes.into_iter().filter_map(|cause| {
        let slope = sheet.slope_of(&cause.elements(bench));
        let freed = sheet.weights.freed(&slope, &sheet.off, 0.0)?;
        let fits = !matches!(cause, Cause::Joint(..)) || freed.step > 0.0;
        fits.then_some((cause, freed))
    });
    let mut tried: Vec<(Cause, Freed)> = tried.collect();
    tried.sort_by(|a, b| b.1.gain.total_cmp(&a.1.gain));
    tried
}

/// The best fit of one cause, each step on the solved network, as Gauss and Newton go. `None` where
/// it explains nothing.
pub(super) fn followed(
    bench: &Bench<'_>,
    sheet: &mut Sheet,
    cause: Cause,
    first: Freed,
) -> Option<Fault> {
    let elements = cause.elements(bench);
    let with = |times: f64| -> Vec<_> { elements.iter().map(|e| (*e, times)).collect() };
    let mut times = 1.0;
    let mut squares = sheet.weights.squares(&sheet.off);
    let mut step = first.step;
    for _ in 0..STEPS {
        let wished = (times + step).clamp(times / STRIDE, times * STRIDE);
        let next = wished.clamp(RANGE.0, RANGE.1);
        let tried = sheet.off_with(&with(next));
        let tried = tried.map(|off| (sheet.weights.squares(&off), off));
        match tried.filter(|(better, _)| *better < squares) {
            Some((better, off)) => {
                let done = squares - better < 1e-4 * better.max(1e-2);
                (times, squares) = (next, better);
                if done {
                    break;
                }
                let slope = slope_at(sheet, &with, times, &off)?;
                step = sheet.weights.freed(&slope, &off, 0.0)?.step;
            }
            // Over the top: half the way back.
            None if (step / times).abs() > 1e-4 => step = (next - times) / 2.0,
            None => break,
        }
    }
    if !cause.allows(times) || (times - 1.0).abs() < 1e-6 {
        return None;
    }
    let ohms = elements.iter().filter_map(|element| match element {
        Element::Branch(branch) => Some(sheet.scenes[0].ohm(*branch)),
        Element::Load(_) | Element::Source(_) => None,
    });
    let drawn = ElectricalResistance::from_base(ohms.sum());
    Some(Fault {
        cause,
        times: Ratio::from_base(times),
        drawn: cause.run().map(|_| drawn),
        squares,
        promise: first.gain,
    })
}

type Changes<'c> = &'c dyn Fn(f64) -> Vec<(Element, f64)>;

/// What the readings change by with a step of the cause.
fn slope_at(sheet: &mut Sheet, with: Changes<'_>, times: f64, off: &[f64]) -> Option<Vec<f64>> {
    let step = 1e-3 * times;
    let beside = sheet.off_with(&with(times + step))?;
    let each = off.iter().zip(beside);
    Some(each.map(|(at, beside)| (at - beside) / step).collect())
}

/// The conductors whose ohms follow from the readings.
pub(super) fn told(bench: &Bench<'_>, sheet: &Sheet) -> Vec<Told> {
    let mut all = Vec::new();
    for run in 0..bench.site.runs.len() {
        for (leg, branch) in legs(bench, run) {
            let element = Element::Branch(branch);
            let Some(column) = sheet.columns.iter().find(|c| c.element == element) else {
                continue;
            };
            let freed = sheet.weights.freed(&column.slope, &sheet.off, OHMS_SHARE);
            let Some(freed) = freed.filter(|freed| freed.u < TOLD) else {
                continue;
            };
            let ohm = sheet.scenes[0].ohm(branch);
            all.push(Told {
                run,
                leg,
                ohms: Estimate::of(ohm * (1.0 + freed.step), ohm * freed.u),
                drawn: ElectricalResistance::from_base(ohm),
            });
        }
    }
    all
}
