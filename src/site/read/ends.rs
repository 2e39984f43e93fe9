//! References: ends of runs, terminals, contacts and conductors.

use crate::site::form::{Mistakes, listed, nearest};
use crate::site::model::{DeviceRef, End, Leg, Part, Thing, Throw, Whole};
use crate::site::read::Names;
use crate::site::value::Place;

/// Whether an end may be a single terminal or an earth.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum EndUse {
    /// Both terminals: a run of power or data, or `on`.
    Pair,
    /// Both terminals, or the input that a contact closes.
    Contact,
    /// One conductor: a bond.
    Bond,
}

/// The input of a supply or device that an end of a contact run names.
pub(crate) fn input_of(text: &str, names: &Names) -> Option<String> {
    let (head, input) = text.split_once('.')?;
    let thing = names.things.get(head)?;
    let inputs = names.inputs.get(thing)?;
    inputs.iter().find(|i| *i == input).cloned()
}

/// The end that a text names.
pub(crate) fn end(
    text: &str,
    place: &Place,
    as_what: EndUse,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<End> {
    let mut parts = text.split('.');
    let head = parts.next().unwrap_or_default();
    let rest: Vec<&str> = parts.collect();
    let thing = names.thing(head, "supply, device, junction or earth", place, mistakes)?;
    if as_what == EndUse::Contact && input_of(text, names).is_some() {
        return match thing {
            Thing::Supply(s) => Some(End::Supply(s)),
            Thing::Device(d) => Some(End::Device(d)),
            _ => None,
        };
    }
    let (whole, tail) = match (thing, rest.as_slice()) {
        (Thing::Supply(s), [output, tail @ ..]) if !is_terminal(output) => (
            Whole::Output(s, output_of(s, output, head, place, names, mistakes)?),
            tail,
        ),
        (Thing::Supply(s), tail) => (Whole::Supply(s), tail),
        (Thing::Device(d), tail) => (Whole::Device(d), tail),
        (Thing::Junction(j), tail) => (Whole::Junction(j), tail),
        (Thing::Earth(e), []) => {
            if as_what == EndUse::Bond {
                return Some(End::Earth(e));
            }
            mistakes
                .add(place, format!("'{text}' is an earth"))
                .allow("only a run that carries a bond ends at an earth");
            return None;
        }
        (Thing::Earth(_) | Thing::Fuse(_) | Thing::Run(_), _) => {
            let what = thing.table();
            mistakes
                .add(place, format!("'{text}' is no end: '{head}' is a {what}"))
                .allow("an end is a supply, an output, a device or a junction");
            return None;
        }
    };
    terminal(text, place, as_what, (whole, tail), mistakes)
}

fn is_terminal(word: &str) -> bool {
    matches!(word, "plus" | "minus")
}

fn terminal(
    text: &str,
    place: &Place,
    as_what: EndUse,
    (whole, tail): (Whole, &[&str]),
    mistakes: &mut Mistakes,
) -> Option<End> {
    match (tail, as_what) {
        ([], EndUse::Pair | EndUse::Contact) => Some(whole.into()),
        ([], EndUse::Bond) => match whole {
            Whole::Supply(_) | Whole::Device(_) => Some(whole.into()),
            Whole::Output(..) | Whole::Junction(_) => {
                mistakes
                    .add(
                        place,
                        format!("a bond joins one terminal, and '{text}' has two"),
                    )
                    .allow(format!("write '{text}.minus' or '{text}.plus'"));
                None
            }
        },
        ([word], EndUse::Bond) if is_terminal(word) => Some(End::Terminal(whole, *word == "plus")),
        ([word], EndUse::Pair | EndUse::Contact) if is_terminal(word) => {
            mistakes
                .add(place, format!("'{text}' is one terminal"))
                .allow("only a run that carries a bond joins one terminal");
            None
        }
        _ => {
            let last = tail.last().copied().unwrap_or_default();
            mistakes
                .add(place, format!("'{text}' names nothing"))
                .allow("after the name: an output of a supply, or the terminal plus or minus of a bond")
                .suggest(nearest(last, ["plus", "minus"]));
            None
        }
    }
}

impl From<Whole> for End {
    fn from(whole: Whole) -> Self {
        match whole {
            Whole::Supply(i) => Self::Supply(i),
            Whole::Output(s, o) => Self::Output(s, o),
            Whole::Device(i) => Self::Device(i),
            Whole::Junction(i) => Self::Junction(i),
        }
    }
}

fn output_of(
    s: usize,
    output: &str,
    supply: &str,
    place: &Place,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<usize> {
    let outputs = &names.outputs[s];
    let found = outputs.iter().position(|o| o == output);
    if found.is_none() {
        let words = || outputs.iter().map(String::as_str);
        let error = mistakes.add(place, format!("supply '{supply}' has no output '{output}'"));
        error.suggest(nearest(output, words()));
        if outputs.is_empty() {
            error.allow("it has no outputs");
        } else {
            error.allow(format!("its outputs: {}", listed(words())));
        }
    }
    found
}

/// The device that a text names.
pub(crate) fn device(
    text: &str,
    place: &Place,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<DeviceRef> {
    match names.thing(text, "device", place, mistakes)? {
        Thing::Device(i) => Some(DeviceRef(i)),
        other => {
            let what = other.table();
            mistakes.add(place, format!("'{text}' is a {what}, not a device"));
            None
        }
    }
}

/// The relay that a text names: device and relay, with what stands after them.
pub(crate) fn relay<'w>(
    text: &'w str,
    place: &Place,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<(usize, usize, Option<&'w str>)> {
    let mut words = text.splitn(3, '.');
    let (head, relay, tail) = (words.next()?, words.next(), words.next());
    let DeviceRef(d) = device(head, place, names, mistakes)?;
    let relays = &names.relays[d];
    let known = || relays.iter().map(String::as_str);
    let found = relay.and_then(|r| relays.iter().position(|k| k == r));
    if found.is_none() {
        let error = mistakes.add(
            place,
            format!(
                "device '{head}' has no relay '{}'",
                relay.unwrap_or_default()
            ),
        );
        error.suggest(relay.and_then(|r| nearest(r, known())));
        if relays.is_empty() {
            error.allow("it has no relays");
        } else {
            error.allow(format!("its relays: {}", listed(known())));
        }
    }
    Some((d, found?, tail))
}

/// The fuse or contact that a text names.
pub(crate) fn part(
    text: &str,
    place: &Place,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<Part> {
    if !text.contains('.') {
        return match names.thing(text, "fuse", place, mistakes)? {
            Thing::Fuse(i) => Some(Part::Fuse(i)),
            other => {
                let what = other.table();
                mistakes
                    .add(place, format!("a run passes no {what}, and '{text}' is one"))
                    .allow("'through' lists fuses and relay contacts, as F1, hub.k1, hub.k1.no, hub.k1.nc");
                None
            }
        };
    }
    let (d, r, tail) = relay(text, place, names, mistakes)?;
    let throw = match tail {
        None => Throw::Bare,
        Some("no") => Throw::Open,
        Some("nc") => Throw::Closed,
        Some(other) => {
            mistakes
                .add(place, format!("'{text}' names no contact"))
                .allow("after the relay: no or nc")
                .suggest(nearest(other, ["no", "nc"]));
            return None;
        }
    };
    Some(Part::Contact(d, r, throw))
}

/// The run that a text names.
pub(crate) fn run(
    text: &str,
    place: &Place,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<usize> {
    match names.thing(text, "run", place, mistakes)? {
        Thing::Run(i) => Some(i),
        other => {
            let what = other.table();
            mistakes.add(place, format!("'{text}' is a {what}, not a run"));
            None
        }
    }
}

/// The conductor of a run that a text names.
pub(crate) fn conductor(
    text: &str,
    place: &Place,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<(usize, Leg)> {
    let (head, tail) = text.split_once('.').unwrap_or((text, ""));
    let index = run(head, place, names, mistakes)?;
    let leg = Leg::ALL.into_iter().find(|leg| leg.as_str() == tail);
    if leg.is_none() {
        mistakes
            .add(place, format!("'{text}' names no conductor"))
            .allow(format!(
                "write {head}.plus, {head}.minus, {head}.common or {head}.shield"
            ))
            .suggest(nearest(tail, Leg::ALL.map(Leg::as_str)).map(|w| format!("{head}.{w}")));
    }
    Some((index, leg?))
}
