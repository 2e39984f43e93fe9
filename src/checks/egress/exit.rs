//! Locks on a way out: fail state, release by hand, button and sensor, the hub that dies, fire.

use crate::checks::asks::Asks;
use crate::checks::egress::fire;
use crate::checks::{Check, Finding, Look, exceeds};
use crate::diagnostic::Severity;
use crate::site::{Device, Door, End, FireRelease, Part, Thing, WithoutPower};
use crate::units::{Length, Measure, Time};

pub(crate) const LOCKED: Check = Check {
    code: "exit-locked",
    question: "can people leave when the power is gone?",
    formula: "a lock on a way out lets go without power, or a handle inside opens the door by hand alone",
    source: "NFPA 101 7.2.1.6.2 and IBC 2015 1010.1.9.8 (secondary copies seen); your local code decides",
};
pub(crate) const RELEASE: Check = Check {
    code: "exit-release",
    question: "does something on the inside let people out without a card?",
    formula: "a handle that releases by hand, or a sensor and a button that cuts the lock's power by itself",
    source: "NFPA 101 7.2.1.6.2 and IBC 2015 1010.1.9.8, sensor release of locks (secondary copies seen); your local code decides",
};
pub(crate) const BUTTON: Check = Check {
    code: "exit-button",
    question: "is the release button where a hand finds it, and does it hold long enough?",
    formula: "40 in <= height <= 48 in; distance <= 5 ft; held >= 30 s",
    source: "NFPA 101 7.2.1.6.2 and IBC 2015 1010.1.9.8 (secondary copies seen); your local code decides",
};
pub(crate) const HELD: Check = Check {
    code: "exit-held",
    question: "does a hub that dies let people out?",
    formula: "with every relay at rest no supply reaches the lock, or something else than the hub cuts its power",
    source: "the network as drawn; NFPA 101 7.2.1.6.2, release independent of access control (secondary copy seen)",
};
/// Metres in an inch and in a foot.
const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const HEIGHT_IN: [f64; 2] = [40.0, 48.0];
const DISTANCE_FT: f64 = 5.0;
const HOLDS_S: f64 = 30.0;
const MAGNET: &str = "electromagnetic lock";
const LOCKS: [&str; 2] = [MAGNET, "electric strike"];

pub(super) fn check(look: &Look<'_>, asks: &mut Asks, found: &mut Vec<Finding>) {
    let holds = |device: &Device| {
        let is_lock = device.kind.as_deref().is_some_and(|k| LOCKS.contains(&k));
        is_lock || device.without_power.is_some()
    };
    // Doors are asked of as well, which are no things of the network: all locks count.
    let devices = look.site.devices.iter().enumerate();
    let mut locks = devices.filter(|(_, device)| holds(device)).peekable();
    if locks.peek().is_some() {
        let at_rest = live_at_rest(look);
        for (i, device) in locks {
            let door = device.door.and_then(|d| look.site.doors.get(d));
            Lock { i, device, door }.judge(look, &at_rest, asks, found);
        }
    }
    for door in &look.site.doors {
        button(door, asks, found);
    }
}

/// By device: a supply reaches it with every relay at rest and what hangs on a dead hub dead.
fn live_at_rest(look: &Look<'_>) -> Vec<bool> {
    let site = look.site;
    let mut case = look.whole_case();
    // A fire alarm is no hub: its relays stay as they stand.
    let of_alarm = |relay: (usize, usize)| {
        let by = FireRelease::By(relay.0, relay.1);
        site.doors.iter().any(|door| door.fire_release == Some(by))
    };
    for (d, device) in site.devices.iter().enumerate() {
        let own = (0..device.relays.len()).filter(|r| !of_alarm((d, *r)));
        case.relays.extend(own.map(|r| (d, r, false)));
    }
    let live = look.results.template.live(site, &case);
    let has_relays = |d: usize| !site.devices[d].relays.is_empty();
    let dies = |i: usize| {
        let supply = look.results.ways.supply_of(i);
        let feeder = supply.and_then(|s| site.supplies[s].fed_by);
        feeder.is_some_and(|hub| has_relays(hub.0))
    };
    (0..site.devices.len())
        .map(|i| live.devices[i] && !dies(i))
        .collect()
}

struct Lock<'a> {
    i: usize,
    device: &'a Device,
    door: Option<&'a Door>,
}

impl Lock<'_> {
    fn judge(&self, look: &Look<'_>, at_rest: &[bool], asks: &mut Asks, found: &mut Vec<Finding>) {
        let state = self.without_power();
        let mut ask = |silent: bool, words: &str| {
            if silent {
                asks.add(&self.device.name, Some(Thing::Device(self.i)), words);
            }
        };
        ask(
            state.is_none(),
            "without_power (cut its power and try the door: unlocked or locked)",
        );
        ask(
            self.door.is_none(),
            "door (the [door.NAME] that it locks, with way_out; until then it counts as a way out)",
        );
        let Some(door) = self.door else {
            if state == Some(WithoutPower::Unlocked) && at_rest[self.i] {
                ask(
                    true,
                    "what lets people out when the hub dies: it holds with every relay at rest",
                );
            }
            return;
        };
        if door.way_out == Some(false) {
            return;
        }
        if door.way_out.is_none() {
            let words =
                "way_out (true if people may have to leave by it; until then it counts as one)";
            asks.add(&door.name, None, words);
        }
        match state {
            Some(WithoutPower::Locked) => found.extend(self.locked(door, asks)),
            Some(WithoutPower::Unlocked) => {
                found.extend(self.release(door, asks));
                found.extend(self.held(look, door, at_rest));
                found.extend(fire::release(look, self.i, door, asks));
            }
            Some(WithoutPower::Unknown) | None => {}
        }
    }

    /// What it does without power, where anybody knows: a magnet without current holds nothing.
    fn without_power(&self) -> Option<WithoutPower> {
        let magnet = self.device.kind.as_deref() == Some(MAGNET);
        match self.device.without_power {
            Some(WithoutPower::Unknown) => None,
            None if magnet => Some(WithoutPower::Unlocked),
            stated => stated,
        }
    }

    fn finding(&self, check: &Check, message: String) -> Finding {
        check
            .finding(Severity::Stop, &self.device.name, message)
            .about(Thing::Device(self.i))
    }

    fn locked(&self, door: &Door, asks: &mut Asks) -> Option<Finding> {
        match door.hand_release {
            Some(true) => None,
            None => {
                let words =
                    "hand_release (whether a handle inside opens it by hand alone, locked or not)";
                asks.add(&door.name, None, words);
                None
            }
            Some(false) => {
                let message = format!(
                    "{} stays locked without power, and nothing opens {} from inside by hand: fit hardware that does, or a lock that lets go",
                    self.device.name, door.name
                );
                Some(
                    self.finding(&LOCKED, message)
                        .put_in("without_power = locked, hand_release = false"),
                )
            }
        }
    }

    fn release(&self, door: &Door, asks: &mut Asks) -> Option<Finding> {
        if door.hand_release == Some(true) {
            return None;
        }
        let answers = [
            ("sensor", door.sensor, "a sensor on the inside"),
            (
                "button",
                door.button,
                "a button that cuts the lock's power by itself",
            ),
        ];
        let missing: Vec<&str> = answers
            .iter()
            .filter(|a| a.1 == Some(false))
            .map(|a| a.2)
            .collect();
        if missing.is_empty() {
            for (key, _, what) in answers.iter().filter(|a| a.1.is_none()) {
                asks.add(&door.name, None, &format!("{key} ({what})"));
            }
            return None;
        }
        let message = format!(
            "{} holds {}, a way out, without {}: people inside need a card, or luck",
            self.device.name,
            door.name,
            missing.join(" and without ")
        );
        let numbers: Vec<String> = answers
            .iter()
            .map(|(key, answer, _)| {
                let word = answer.map_or("not stated", |yes| if yes { "true" } else { "false" });
                format!("{key} = {word}")
            })
            .collect();
        Some(self.finding(&RELEASE, message).put_in(numbers.join(", ")))
    }

    fn held(&self, look: &Look<'_>, door: &Door, at_rest: &[bool]) -> Option<Finding> {
        let other_way = [door.hand_release, door.button];
        let answered_no = other_way[1] == Some(false) && other_way[0] != Some(true);
        if !at_rest[self.i] || !answered_no {
            // A button that is not answered is asked with the rest of the release.
            return None;
        }
        let name = &self.device.name;
        let way = look.results.ways.way_to(End::Device(self.i));
        let mut parts =
            (way.iter().filter_map(|(run, _)| *run)).flat_map(|run| &look.site.runs[run].through);
        let has_contact = parts.any(|part| matches!(part, Part::Contact(..)));
        let why = if has_contact {
            "a contact that is closed at rest releases nobody"
        } else {
            "nothing but its supply ever lets go"
        };
        let message = format!(
            "{name} holds {} when the hub dies: with every relay at rest it still has its power, and {why}; put it on the contact that is open at rest, or add a button that cuts its power",
            door.name
        );
        Some(
            self.finding(&HELD, message)
                .put_in("every relay at rest: a supply reaches the lock"),
        )
    }
}

/// The button's figures, each against its limit; the first that misses is the finding.
fn button(door: &Door, asks: &mut Asks, found: &mut Vec<Finding>) {
    if door.button != Some(true) || door.way_out == Some(false) {
        return;
    }
    let mut ask = |silent: bool, words: &str| {
        if silent {
            asks.add(&door.name, None, words);
        }
    };
    ask(
        door.button_height.is_none(),
        "button_height (over the floor)",
    );
    ask(
        door.button_distance.is_none(),
        "button_distance (from the door)",
    );
    ask(
        door.button_holds.is_none(),
        "button_holds (how long it keeps the door unlocked: press it and count)",
    );
    let inches = door.button_height.map(|h| Length::base(h) / INCH);
    let feet = door.button_distance.map(|d| Length::base(d) / FOOT);
    let seconds = door.button_holds.map(Time::base);
    let [low, high] = HEIGHT_IN;
    let misses = [
        inches.filter(|h| exceeds(low, *h)).map(|h| {
            (
                h,
                low,
                "in",
                format!("sits {h:.1} in over the floor, and {low} in are the least"),
                true,
            )
        }),
        inches.filter(|h| exceeds(*h, high)).map(|h| {
            (
                h,
                high,
                "in",
                format!("sits {h:.1} in over the floor, and {high} in are the most"),
                false,
            )
        }),
        feet.filter(|d| exceeds(*d, DISTANCE_FT)).map(|d| {
            (
                d,
                DISTANCE_FT,
                "ft",
                format!("is {d:.1} ft from the door, and {DISTANCE_FT} ft are the most"),
                false,
            )
        }),
        seconds.filter(|s| exceeds(HOLDS_S, *s)).map(|s| {
            (
                s,
                HOLDS_S,
                "s",
                format!("keeps the door unlocked for {s} s, and {HOLDS_S} s are the least"),
                true,
            )
        }),
    ];
    let misses: Vec<_> = misses.into_iter().flatten().collect();
    let Some((value, limit, unit, _, lower)) = misses.first() else {
        return;
    };
    let words: Vec<&str> = misses.iter().map(|m| m.3.as_str()).collect();
    let message = format!("the button of {} {}", door.name, words.join("; it "));
    let sign = if *lower { "<" } else { ">" };
    let finding = BUTTON
        .finding(Severity::Fail, &door.name, message)
        .measured(*value, *limit, unit)
        .put_in(format!("{value:.2} {unit} {sign} {limit} {unit}"));
    found.push(if *lower {
        finding.lower_is_worse()
    } else {
        finding
    });
}
