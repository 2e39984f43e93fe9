//! What a path's readings say, for people.

use crate::readings::likely::next_reading;
use crate::readings::model::Way;
use crate::readings::path::{PathOhms, Verdict};
use crate::readings::split::{Lies, Split};
use crate::site::{Leg, Site};
use crate::units::{Measure, fixed, ohms, volts, watts};

/// What was found, what fits it, and what to read next.
pub fn words(site: &Site, path: &PathOhms) -> Vec<String> {
    let name = path.name(site);
    let there = match path.way {
        Way::Loop => " there and back",
        Way::Leg(_) => "",
    };
    let (found, expected) = (
        ohms(path.found.value, 3),
        fixed(path.expected.value.base(), 3),
    );
    let start = format!("{name} has {found}{there}, {expected} expected");
    let (off, ratio) = (path.excess().value.base().abs(), fixed(path.ratio(), 2));
    let mut parts = vec![match path.verdict {
        Verdict::Shorted => shorted(site, path),
        Verdict::Agrees => format!("{start}: as drawn"),
        Verdict::Over => format!("{start}: {} too many (x {ratio})", fixed(off, 3)),
        Verdict::Under => format!("{start}: {} too few (x {ratio})", fixed(off, 3)),
    }];
    parts.extend(fitting(site, path));
    parts.extend(next_reading(site, path).map(|next| format!("next read {next}")));
    parts.extend(path.split.map(split));
    parts.extend(path.offset.filter(|_| path.has_offset()).map(|offset| {
        if offset.value.base() > 0.0 {
            format!("{} are lost even without amps, as in a diode or by a meter that does not read zero", volts(offset.value, 3))
        } else {
            "its ohms rise with the amps, as those of a joint or fuse that warms up".to_owned()
        }
    }));
    parts.extend(dead(path));
    if path.may_be_hot() {
        parts.push("a joint that turns over 1 W to heat must not stay in use".to_owned());
    }
    let works = !matches!(path.verdict, Verdict::Agrees | Verdict::Shorted);
    if let Some(most) = path.most.filter(|_| works) {
        parts.push(format!("no load gets more than {} by it", watts(most, 1)));
    }
    for low in &path.lows {
        parts.push(format!(
            "with it {} gets {}, under its lowest {}",
            site.devices[low.device].name,
            volts(low.volts, 2),
            volts(low.lowest, 2)
        ));
    }
    parts
}

/// The ohms of both ends, and what no sound run has.
fn shorted(site: &Site, path: &PathOhms) -> String {
    let run = &site.runs[path.run];
    let [from, to] = [run.from, run.to].map(|end| site.end_text(end));
    let read = path.ends.map_or_else(Default::default, |ends| ends.read);
    let [a, b] = read.map(|read| ohms(read, 3));
    let start = format!("{} has {a} from {from} and {b} from {to}", path.name(site));
    match path.ends.and_then(|ends| ends.short) {
        Some(short) if !short.is_possible => format!(
            "{start}, which no single short of a run as long and thick as entered has: its length, its gauge or a reading is wrong, or it touches in more than one place"
        ),
        _ => format!("{start}: its conductors touch on the way"),
    }
}

/// What an ohmmeter said of the dead run, where it is not all that is known.
fn dead(path: &PathOhms) -> Option<String> {
    let dead = ohms(path.dead?.value, 3);
    Some(match path.dead_agrees()? {
        true => format!("an ohmmeter agrees ({dead})"),
        false => format!("an ohmmeter said {dead}, which contradicts volts and amps"),
    })
}

fn split(split: Split) -> String {
    let [plus, minus] = [split.plus, split.minus].map(|leg| fixed(leg.value.base(), 3));
    let over = format!(
        "over what is expected are {plus} ohm in the positive leg and {minus} ohm in the negative one"
    );
    match split.lies {
        Lies::Alike => format!("{over}: both alike, as gauge, metal and length would be"),
        Lies::In(Leg::Plus) => format!(
            "{over}: it lies in the positive leg, so neither gauge nor metal nor length is it"
        ),
        Lies::In(_) => format!(
            "{over}: it lies in the negative leg, so neither gauge nor metal nor length is it"
        ),
        Lies::Uneven => over,
    }
}

/// What fits the ohms; where several things do, that nothing read so far parts them.
fn fitting(site: &Site, path: &PathOhms) -> Option<String> {
    let words: Vec<String> = (path.likely.iter())
        .map(|candidate| candidate.words(site, path))
        .collect();
    match words.as_slice() {
        [] => None,
        [one] => Some(format!("what fits: {one}")),
        _ => Some(format!("cannot tell apart: {}", words.join(", "))),
    }
}
