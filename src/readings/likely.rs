//! What may be wrong with a run whose ohms are not what they should be, as far as it fits, and the
//! one next reading that parts what fits alike.
//!
//! Readings at the ends of a run fix the sum of its ohms and nothing else: which of several joints
//! is bad, or whether the wire itself is thin, cannot be told from them.

use crate::readings::Estimate;
use crate::readings::error::is_beyond;
use crate::readings::model::{COPPER_SHARE, KELVIN, Ohms, PER_KELVIN, Way};
use crate::readings::path::{PathOhms, Verdict};
use crate::readings::short::Short;
use crate::readings::split::Lies;
use crate::site::{Leg, Run, Site, WhichEnd};
use crate::tables::{Material, ohms};
use crate::units::{ElectricalResistance, Length, Measure, Power, Size, fixed, show};

/// Gauges that may have been pulled by mistake: so many steps beside the one on the label.
const STEPS: i32 = 6;
/// Metric sizes as they are sold, in mm2 (IEC 60228).
const METRIC: [f64; 12] = [
    0.2, 0.25, 0.34, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0,
];
/// A joint that turns more than this to heat must not stay in use: common practice, no source.
const HOT_W: f64 = 1.0;

/// One explanation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Likely {
    /// The wire is of another gauge; thinner by so many steps, or thicker where they are negative.
    Gauge(Size, i32),
    /// It is copper-clad aluminum and no copper.
    Clad,
    /// The route is as long as this, and not as entered.
    Route(Length),
    /// One joint, or several together, have these ohms too many; one would turn this to heat.
    Joint(ElectricalResistance, Power),
    /// Current has another way as well.
    OtherWay,
    /// The conductors touch one another, no farther than this from where the ohms were read.
    Short(Estimate<Length>),
    /// The conductors touch one another here, by the ohms of both ends.
    ShortAt(Short),
}

/// One explanation and the ohms that the run would then have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// What is wrong.
    pub what: Likely,
    /// Ohms with it.
    pub ohms: ElectricalResistance,
}

/// What explains the ohms of a path, the nearest gauge first.
pub(super) fn candidates(site: &Site, path: &PathOhms) -> Vec<Candidate> {
    let run = &site.runs[path.run];
    let Some(should) = Ohms::of(site, run, path.way, path.at) else {
        return Vec::new();
    };
    let found = path.found.value;
    let excess = path.excess().value;
    let wire = found.base() - should.rest_ohm;
    let exact = |what| Candidate { what, ohms: found };
    let route = || {
        let has_length = run.resistance.is_none() && should.wire_ohm > 0.0 && wire > 0.0;
        has_length.then(|| exact(Likely::Route(run.length * (wire / should.wire_ohm))))
    };
    let mut all = Vec::new();
    match path.verdict {
        Verdict::Agrees => {}
        Verdict::Over => {
            let lies = path.split.map(|split| split.lies);
            // Gauge, metal and length are the same in both legs.
            if matches!(lies, None | Some(Lies::Alike)) {
                all.extend(gauges(site, path, should, 1));
                all.extend(clad(site, path, should));
                all.extend(route());
            }
            all.push(exact(Likely::Joint(excess, path.heat())));
        }
        Verdict::Under => {
            all.push(exact(Likely::OtherWay));
            all.extend(gauges(site, path, should, -1));
            all.extend(route());
            if path.lost.is_empty() && path.way == Way::Loop {
                let one_end = || short(site, path, should);
                all.extend(located(path).or_else(one_end).map(exact));
            }
        }
        Verdict::Shorted => all.extend(located(path).map(exact)),
    }
    all
}

/// Whether some ohms are the ones found, as far as both can be told.
fn fits(path: &PathOhms, wire_ohm: f64, rest_ohm: f64) -> bool {
    let u = Ohms { wire_ohm, rest_ohm }.estimate().u.base();
    let off = wire_ohm + rest_ohm - path.found.value.base();
    !is_beyond(off, path.found.u.base().hypot(u))
}

/// The cable as its run has it: size and material.
fn cable(site: &Site, run: &Run) -> Option<(Size, Material)> {
    run.cable(site)
        .filter(|_| run.resistance.is_none())
        .map(|cable| (cable.size, cable.material))
}

/// Gauges to one side that fit, the nearest first: ohms go by the inverse of the area.
fn gauges(site: &Site, path: &PathOhms, should: Ohms, side: i32) -> Vec<Candidate> {
    let Some((size, _)) = cable(site, &site.runs[path.run]) else {
        return Vec::new();
    };
    let others = (1..=STEPS).filter_map(|k| Some((stepped(size, k * side)?, k * side)));
    let mut fitting: Vec<Candidate> = others
        .filter_map(|(other, steps)| {
            let wire_ohm = should.wire_ohm * (size.area() / other.area()).base();
            fits(path, wire_ohm, should.rest_ohm).then(|| Candidate {
                what: Likely::Gauge(other, steps),
                ohms: ElectricalResistance::from_base(wire_ohm + should.rest_ohm),
            })
        })
        .collect();
    let off = |c: &Candidate| (c.ohms - path.found.value).base().abs();
    fitting.sort_by(|a, b| off(a).total_cmp(&off(b)));
    fitting
}

/// The size so many steps thinner.
fn stepped(size: Size, steps: i32) -> Option<Size> {
    match size {
        Size::Awg(gauge) => Some(gauge + steps)
            .filter(|gauge| (-3..=40).contains(gauge))
            .map(Size::Awg),
        Size::Mm2(area) => {
            let at = METRIC.iter().position(|own| (own - area).abs() < 1e-9)?;
            let at = i32::try_from(at).ok()? - steps;
            METRIC
                .get(usize::try_from(at).ok()?)
                .copied()
                .map(Size::Mm2)
        }
    }
}

/// Copper-clad aluminum of the same gauge, where the label says copper.
fn clad(site: &Site, path: &PathOhms, should: Ohms) -> Option<Candidate> {
    let cable = site.runs[path.run].cable(site)?;
    let (size, material) = cable_of_copper(site, path)?;
    let of = |material| ohms(size, material, cable.stranding, path.at).base();
    let wire_ohm = should.wire_ohm * of(Material::CopperCladAluminum) / of(material);
    fits(path, wire_ohm, should.rest_ohm).then(|| Candidate {
        what: Likely::Clad,
        ohms: ElectricalResistance::from_base(wire_ohm + should.rest_ohm),
    })
}

fn cable_of_copper(site: &Site, path: &PathOhms) -> Option<(Size, Material)> {
    let copper = |m: Material| matches!(m, Material::Copper | Material::TinnedCopper);
    cable(site, &site.runs[path.run]).filter(|(_, material)| copper(*material))
}

/// A short by the ohms of both ends, where one can explain them.
fn located(path: &PathOhms) -> Option<Likely> {
    let short = path.ends?.short.filter(|short| short.is_possible)?;
    Some(Likely::ShortAt(short))
}

/// How far off a short may be at most: d = R / (2 r). What the short itself has adds to R, so it
/// lies no farther.
fn short(site: &Site, path: &PathOhms, should: Ohms) -> Option<Likely> {
    let run = &site.runs[path.run];
    let metres = run.length.base();
    let has_length = run.resistance.is_none() && metres > 0.0 && should.wire_ohm > 0.0;
    has_length.then(|| Likely::Short(distance(path.found, should.wire_ohm / metres)))
}

/// Metres to a short of so many ohms, at ohms a metre there and back; how far off that may be by
/// the meter, by 5 K and by 2 % of copper.
fn distance(found: Estimate<ElectricalResistance>, per_metre: f64) -> Estimate<Length> {
    let metres = found.value.base() / per_metre;
    let meter = found.u.base() / per_metre;
    let copper = metres * COPPER_SHARE.hypot(KELVIN * PER_KELVIN);
    Estimate::of(metres, meter.hypot(copper))
}

impl Candidate {
    /// In words.
    pub fn words(&self, site: &Site, path: &PathOhms) -> String {
        let with = format!("{} ohm", fixed(self.ohms.base(), 3));
        let length = |length| show(length, site.units);
        let entered = length(site.runs[path.run].length);
        match self.what {
            Likely::Gauge(size, steps) => {
                let gauges = match steps.abs() {
                    1 => "one gauge".to_owned(),
                    2 => "two gauges".to_owned(),
                    n => format!("{n} gauges"),
                };
                let side = if steps > 0 { "thin" } else { "thick" };
                format!("{gauges} too {side} ({size}, {with})")
            }
            Likely::Clad => format!("copper-clad aluminum ({with})"),
            Likely::Route(route) => format!("a route of {} instead of {entered}", length(route)),
            Likely::Joint(over, heat) => {
                let joint = format!("{} ohm in a joint or several", fixed(over.base(), 3));
                if heat.base() > 0.0 {
                    let amps = fixed(path.most_amps().base(), 2);
                    let heat = fixed(heat.base(), 1);
                    format!("{joint} ({heat} W of heat in a single one at {amps} A)")
                } else {
                    joint
                }
            }
            Likely::OtherWay => "a second way for the current, beside this run".to_owned(),
            Likely::Short(at) => {
                let run = &site.runs[path.run];
                let end = match path.dead_from {
                    Some(WhichEnd::From) => site.end_text(run.from),
                    Some(WhichEnd::To) => site.end_text(run.to),
                    None => "where it was read".to_owned(),
                };
                format!(
                    "a short between its conductors, at most {} from {end} (or {} more or less)",
                    length(at.value),
                    length(at.u)
                )
            }
            Likely::ShortAt(short) => format!(
                "a short between its conductors {} from {} (or {} more or less), with {} ohm of its own (or {} more or less)",
                length(short.at.value),
                site.end_text(site.runs[path.run].from),
                length(short.at.u),
                fixed(short.ohms.value.base(), 2),
                fixed(short.ohms.u.base(), 2)
            ),
        }
    }
}

/// The one reading that parts what fits alike, where anything is wrong.
pub(super) fn next_reading(site: &Site, path: &PathOhms) -> Option<String> {
    let run = &site.runs[path.run];
    let [from, to] = [run.from, run.to].map(|end| site.end_text(end));
    if let Some(offset) = path.offset.filter(|_| path.has_offset()) {
        let next = if offset.value.base() > 0.0 {
            "the same volts with the leads of the meter swapped: what turns with them is the meter's, what stays is a diode or a second load"
        } else {
            "the same volts and amps after five minutes under load: what warms up has risen"
        };
        return Some(next.to_owned());
    }
    match path.verdict {
        Verdict::Agrees => None,
        Verdict::Over => Some(match (path.way, path.split.map(|split| split.lies)) {
            (Way::Loop, None) => format!(
                "volts from {from}.plus to {to}.plus and from {from}.minus to {to}.minus, at the most amps: wire loads both legs alike, a joint its own"
            ),
            (Way::Loop, Some(Lies::Alike)) => "the strands at one end: count and measure them, and scrape one; copper is red all through".to_owned(),
            (Way::Loop, Some(Lies::In(leg))) => halfway(Some(leg)),
            (Way::Loop, Some(Lies::Uneven)) | (Way::Leg(_), _) => halfway(None),
        }),
        Verdict::Shorted => Some(match located(path) {
            Some(_) => "ohms at the nearest box to that place, the run opened there: the side that still has them holds the short".to_owned(),
            None => "ohms from both ends once more, the other end open each time; and measure its length".to_owned(),
        }),
        Verdict::Under if path.lost.is_empty() && path.ends.is_none() => Some(format!(
            "ohms from the other end as well, the far end open, and say with end = which is which: with a short both are less than they should be, and d = L / 2 + (R at {from} - R at {to}) / (4 r) tells where it is"
        )),
        Verdict::Under if path.lost.is_empty() => {
            Some("ohms at a box halfway, the run opened there: the side that still has them holds the short".to_owned())
        }
        Verdict::Under => Some("a clamp around every other conductor and pipe that leads there: one with amps in it is the second way".to_owned()),
    }
}

fn halfway(leg: Option<Leg>) -> String {
    let leg = match leg {
        Some(Leg::Plus) => " along the positive leg",
        Some(Leg::Minus) => " along the negative leg",
        _ => "",
    };
    format!(
        "volts{leg} up to a joint halfway, at the most amps: each such reading halves where to look"
    )
}

impl PathOhms {
    /// Whether a single joint with all that is too much would be too hot to stay in use.
    pub fn may_be_hot(&self) -> bool {
        let joint = |c: &Candidate| matches!(c.what, Likely::Joint(..));
        self.likely.iter().any(joint) && self.heat().base() > HOT_W
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;

    /// 1.98 ohm less 0.22 ohm of leads are 1.76 ohm; 18 AWG of 0.020695 ohm/m at 12 C: 1.76 / (2 x
    /// 0.020695) = 42.5 m; the meter's 0.8 % + 3 digits are 0.0458 ohm and 1.1 m, 5 K 0.84 m, 2 % of
    /// copper 0.85 m, and sqrt(1.1^2 + 0.84^2 + 0.85^2) = 1.6 m (by hand).
    #[test]
    fn a_short_lies_where_its_ohms_say() {
        let meter = 0.008 * 1.98 + 0.03;
        let at = distance(Estimate::of(1.76, meter), 2.0 * 0.020_695);
        assert_abs_diff_eq!(at.value.base(), 42.5, epsilon = 0.05);
        assert_abs_diff_eq!(at.u.base(), 1.63, epsilon = 0.02);
    }

    #[test]
    fn sizes_step_as_they_are_sold() {
        assert_eq!(stepped(Size::Awg(18), 2), Some(Size::Awg(20)));
        assert_eq!(stepped(Size::Awg(-2), -2), None);
        assert_eq!(stepped(Size::Mm2(0.75), 1), Some(Size::Mm2(0.5)));
        assert_eq!(stepped(Size::Mm2(0.2), 1), None);
        assert_eq!(stepped(Size::Mm2(0.8), 1), None);
    }
}
