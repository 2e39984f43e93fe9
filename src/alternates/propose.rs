//! Other designs worth a look: each a few edits of the site, before anything is solved.

use crate::circuit::Corner;
use crate::results::Results;
use crate::site::{Cable, Edit, End, Run, Site, Thing};
use crate::study::Study;
use crate::units::{Draw, Length, Measure, Size, spell};

/// A design that has yet to prove itself.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Proposal {
    /// Its name, in a few words.
    pub(super) name: String,
    /// What it does and why that helps.
    pub(super) why: String,
    /// What a person must mind.
    pub(super) caution: Option<&'static str>,
    /// What it needs that no line of the take-off counts.
    pub(super) extra: Vec<String>,
    /// The edits.
    pub(super) edits: Vec<Edit>,
}

const PARALLEL: &str = "conductors in parallel: NEC 310.10(G) allows small ones for control power only, in one cable, each able to carry the whole load; local code decides";
const MAINS: &str = "mains at the far end is for a licensed electrician";
const NEW_DEVICES: &str = "needs devices made for 24 V: check every label";
/// Most devices for which proposals of one kind are made: the worst off.
const MOST: usize = 3;

/// The proposals of the trade for what is short, the site's own first.
pub(super) fn proposals(site: &Site, study: &Study) -> Vec<Proposal> {
    let short = shortest(site, &study.results);
    let mut all: Vec<Proposal> = site.bid.alternates.iter().map(|a| own(site, a)).collect();
    for device in short.iter().take(MOST) {
        let way = Way::to(site, &study.results, *device);
        all.extend(home_run(site, &way, *device));
        all.extend(lower_draw(site, *device));
    }
    if let Some(device) = short.first() {
        let way = Way::to(site, &study.results, *device);
        all.extend(pairs(site, &study.results, &way));
        all.extend(twice_the_volts(site, &study.results, &way));
        all.extend(supply_there(site, study, &way));
        all.extend(converter_there(site, &way));
        all.extend(nearer(site, &way));
    }
    all.extend(staggered(site, study));
    // What a device shares with another is proposed once.
    let mut seen = std::collections::HashSet::new();
    all.retain(|p| seen.insert(p.name.clone()));
    all
}

/// Devices by how little they have over their lowest, as a share of it, the worst first.
fn shortest(site: &Site, results: &Results) -> Vec<usize> {
    let mut found: Vec<(f64, usize)> = Vec::new();
    for (i, device) in site.devices.iter().enumerate() {
        let Some(lowest) = device.lowest.map(Measure::base).filter(|v| *v > 0.0) else {
            continue;
        };
        let rows = results
            .rows
            .iter()
            .filter(|r| r.corner == Corner::Low && results.live[r.case].devices[i]);
        // Without an operating point nothing is left.
        let volts = rows.map(|r| results.device(r, i).map_or(0.0, |w| w.volts.base()));
        if let Some(least) = volts.min_by(f64::total_cmp) {
            found.push((least / lowest - 1.0, i));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, i)| i).collect()
}

/// The way from a supply to a device: its runs, and what each of them leads to.
struct Way {
    supply: Option<usize>,
    runs: Vec<(usize, Thing)>,
}

impl Way {
    fn to(site: &Site, results: &Results, device: usize) -> Self {
        let way = results.ways.way_to(End::Device(device));
        Self {
            supply: results.ways.supply_of(device),
            runs: way
                .into_iter()
                .filter_map(|(run, to)| Some((run?, to)))
                .filter(|(run, _)| site.runs[*run].resistance.is_none())
                .collect(),
        }
    }

    /// The first device on the way, where things get distributed.
    fn hub<'s>(&self, site: &'s Site) -> Option<(usize, &'s str, &'s Run)> {
        self.runs.iter().find_map(|(run, to)| match to {
            Thing::Device(i) => Some((*i, site.devices[*i].name.as_str(), &site.runs[*run])),
            _ => None,
        })
    }
}

/// Spells a length in the unit of the site's system.
fn length(site: &Site, metres: f64) -> String {
    let unit = match site.units {
        crate::units::System::Us => "ft",
        crate::units::System::Si => "m",
    };
    let length = Length::from_base(metres);
    let written = spell(length, unit);
    // Two decimals say all that a tape can.
    match written
        .split_once(' ')
        .and_then(|(n, _)| n.parse::<f64>().ok())
    {
        Some(number) => format!("{} {unit}", (number * 100.0).round() / 100.0),
        None => written,
    }
}

/// The device's own pair back to the supply: its current no longer drops anybody else's volts.
fn home_run(site: &Site, way: &Way, device: usize) -> Option<Proposal> {
    let supply = way.supply?;
    let (last, _) = *way.runs.last()?;
    if way.runs.len() < 2 {
        return None;
    }
    let metres: f64 = way
        .runs
        .iter()
        .map(|(r, _)| site.runs[*r].length.base())
        .sum();
    let (run, name) = (&site.runs[last], &site.devices[device].name);
    let key = if matches!(run.to, End::Device(i) if i == device) {
        "from"
    } else {
        "to"
    };
    let start = site.runs[way.runs[0].0].from;
    let start = match start {
        End::Output(s, _) if s == supply => site.end_text(start),
        _ => site.supplies[supply].name.clone(),
    };
    Some(Proposal {
        name: format!("own pair for {name}"),
        why: format!(
            "{} runs from {start}, {}, on a pair of its own",
            run.name,
            length(site, metres)
        ),
        caution: None,
        extra: Vec::new(),
        edits: vec![
            Edit::set("run", &run.name, key, &start),
            Edit::set("run", &run.name, "length", &length(site, metres)),
        ],
    })
}

/// Twice the conductors in the run that loses most.
fn pairs(site: &Site, results: &Results, way: &Way) -> Option<Proposal> {
    let lost = |run: usize| {
        let rows = results.rows.iter().filter(|r| r.corner == Corner::Low);
        let drops = rows.filter_map(|r| results.run(site, r, run)?.drop.map(|d| d.base().abs()));
        drops.fold(0.0, f64::max)
    };
    let (run, _) = way
        .runs
        .iter()
        .max_by(|a, b| lost(a.0).total_cmp(&lost(b.0)))?;
    let run = &site.runs[*run];
    let cable = run.cable(site)?;
    let count = cable.conductors.max(Cable::conductors_for(run)) * 2;
    let gauge = match cable.size {
        Size::Awg(_) => cable.size.to_string().trim_end_matches(" AWG").to_owned(),
        Size::Mm2(area) => format!("{area}mm2"),
    };
    let parallel = run.parallel * 2;
    Some(Proposal {
        name: format!("pairs in parallel in {}", run.name),
        why: format!(
            "{} in {gauge}/{count} with {parallel} conductors a leg",
            run.name
        ),
        caution: Some(PARALLEL),
        extra: Vec::new(),
        edits: vec![
            Edit::set("run", &run.name, "cable", &format!("{gauge}/{count}")),
            Edit::set("run", &run.name, "parallel", &parallel.to_string()),
        ],
    })
}

/// 24 V for 12 V: half the amps for the same watts.
fn twice_the_volts(site: &Site, results: &Results, way: &Way) -> Option<Proposal> {
    let index = way.supply?;
    let supply = &site.supplies[index];
    let volts = supply.voltage.base();
    if !(10.0..=15.0).contains(&volts) || supply.fed_by.is_some() || supply.battery.is_some() {
        return None;
    }
    let doubled = |v: f64| spell(crate::units::ElectricPotential::from_base(2.0 * v), "V");
    let mut edits = vec![Edit::set(
        "supply",
        &supply.name,
        "voltage",
        &doubled(volts),
    )];
    for (key, value) in [("lowest", supply.lowest), ("highest", supply.highest)] {
        if let Some(value) = value {
            edits.push(Edit::set(
                "supply",
                &supply.name,
                key,
                &doubled(value.base()),
            ));
        }
    }
    if let Some((v, a)) = supply.loaded {
        let text = format!("{}, {}", doubled(v.base()), spell(a, "A"));
        edits.push(Edit::set("supply", &supply.name, "loaded", &text));
    }
    for (i, device) in site.devices.iter().enumerate() {
        let on_it = results.ways.supply_of(i) == Some(index);
        let takes_it = device.highest.is_some_and(|h| h.base() >= 2.2 * volts);
        if !on_it || takes_it {
            continue;
        }
        for (key, value) in [("lowest", device.lowest), ("highest", device.highest)] {
            if let Some(value) = value {
                edits.push(Edit::set(
                    "device",
                    &device.name,
                    key,
                    &doubled(value.base()),
                ));
            }
        }
        for (state, draw) in &device.draw {
            let text = match draw {
                // The same watts at twice the volts.
                Draw::Current(amps) => spell(*amps / 2.0, "A"),
                Draw::Resistance(ohms) => spell(*ohms * 4.0, "ohm"),
                Draw::Off | Draw::Power(_) | Draw::Apparent(_) => continue,
            };
            edits.push(Edit::set(
                "device",
                &device.name,
                &format!("draw.{state}"),
                &text,
            ));
        }
    }
    Some(Proposal {
        name: format!("24 V from {}", supply.name),
        why: "twice the volts: half the amps for the same watts, a quarter of the loss".to_owned(),
        caution: Some(NEW_DEVICES),
        extra: vec![format!("supply and devices for 24 V on {}", supply.name)],
        edits,
    })
}

/// A supply of its own where things get distributed.
fn supply_there(site: &Site, study: &Study, way: &Way) -> Option<Proposal> {
    let supply = &site.supplies[way.supply?];
    let (_, hub, run) = way.hub(site)?;
    let results = &study.results;
    let index = site.runs.iter().position(|r| r.name == run.name)?;
    let amps = results
        .rows
        .iter()
        .filter_map(|row| results.run(site, row, index)?.amps)
        .map(|a| a.base().abs())
        .fold(0.0, f64::max);
    let rating = [1.0, 2.0, 3.0, 5.0, 8.0, 10.0]
        .into_iter()
        .find(|rating| rating * (1.0 - site.design.spare.value) >= amps)?;
    let volts = if supply.voltage.base() < 18.0 {
        12.0
    } else {
        24.0
    };
    let name = format!("{hub} supply");
    Some(Proposal {
        why: format!(
            "{volts} V, {rating} A at {hub}; {} carries no power",
            run.name
        ),
        caution: Some(MAINS),
        extra: vec![format!(
            "supply {volts} V {rating} A and its mains at {hub}"
        )],
        edits: vec![
            Edit::Add {
                table: vec!["supply".to_owned(), name.clone()],
                keys: vec![
                    ("voltage".to_owned(), format!("{volts} V")),
                    ("tolerance".to_owned(), "5 %".to_owned()),
                    ("current".to_owned(), format!("{rating} A")),
                    ("on".to_owned(), hub.to_owned()),
                ],
            },
            Edit::set("run", &run.name, "fitted", "false"),
        ],
        name: format!("supply at {hub}"),
    })
}

/// 24 V on the long run, turned into the device's own volts at its end.
fn converter_there(site: &Site, way: &Way) -> Option<Proposal> {
    let index = way.supply?;
    let supply = &site.supplies[index];
    let volts = supply.voltage.base();
    if !(10.0..=15.0).contains(&volts) || supply.fed_by.is_some() {
        return None;
    }
    let others = site.runs.iter().filter(|r| {
        r.carries.power
            && [r.from, r.to]
                .iter()
                .any(|e| e.thing() == Thing::Supply(index))
    });
    // What else hangs on the supply would get 24 V as well.
    if others.count() > 1
        || site
            .devices
            .iter()
            .any(|d| d.on == Some(End::Supply(index)))
    {
        return None;
    }
    let (i, hub, run) = way.hub(site)?;
    let key = if matches!(run.to, End::Device(d) if d == i) {
        "to"
    } else {
        "from"
    };
    let (converter, output) = (format!("{hub} converter"), format!("{hub} converter out"));
    let text = |v: f64| spell(crate::units::ElectricPotential::from_base(v), "V");
    let pair = |k: &str, v: String| (k.to_owned(), v);
    Some(Proposal {
        name: format!("24 V to a converter at {hub}"),
        why: format!("24 V on {}, turned into 12 V at {hub}", run.name),
        caution: Some("a converter takes more amps as its volts fall: its own lowest volts decide"),
        extra: vec![
            format!("supply 24 V for {}", supply.name),
            format!("converter 24 V to 12 V at {hub}"),
        ],
        edits: vec![
            Edit::Add {
                table: vec!["device".to_owned(), converter.clone()],
                keys: vec![pair("kind", "other".to_owned())],
            },
            Edit::Add {
                table: vec!["supply".to_owned(), output.clone()],
                keys: vec![
                    pair("voltage", "12 V".to_owned()),
                    pair("fed_by", converter.clone()),
                    pair("efficiency", "85 %".to_owned()),
                ],
            },
            Edit::set("supply", &supply.name, "voltage", &text(2.0 * volts)),
            Edit::set("run", &run.name, key, &converter),
            Edit::set("device", hub, "on", &output),
        ],
    })
}

/// The same lock with half the draw.
fn lower_draw(site: &Site, device: usize) -> Option<Proposal> {
    let device = &site.devices[device];
    let kind = device.kind.as_deref()?;
    if !matches!(kind, "electromagnetic lock" | "electric strike") {
        return None;
    }
    let edits: Vec<Edit> = device
        .draw
        .iter()
        .filter_map(|(state, draw)| {
            let text = match draw {
                Draw::Off => return None,
                Draw::Current(amps) => spell(*amps / 2.0, "A"),
                Draw::Power(watts) => spell(*watts / 2.0, "W"),
                Draw::Apparent(va) => spell(
                    crate::units::ApparentPower::from_base(va.base() / 2.0),
                    "VA",
                ),
                Draw::Resistance(ohms) => spell(*ohms * 2.0, "ohm"),
            };
            Some(Edit::set(
                "device",
                &device.name,
                &format!("draw.{state}"),
                &text,
            ))
        })
        .collect();
    (!edits.is_empty()).then(|| Proposal {
        name: format!("{} with half the draw", device.name),
        why: "one of half the amps, where that holds as well".to_owned(),
        caution: None,
        extra: vec![format!("{kind} of half the draw for {}", device.name)],
        edits,
    })
}

/// The box where things get distributed, half-way to the supply.
fn nearer(site: &Site, way: &Way) -> Option<Proposal> {
    let (hub, name, into) = way.hub(site)?;
    let half = into.length.base() / 2.0;
    if half < 1.0 {
        return None;
    }
    let mut edits = vec![Edit::set("run", &into.name, "length", &length(site, half))];
    for run in &site.runs {
        let touches = [run.from, run.to].contains(&End::Device(hub));
        let movable = run.resistance.is_none() && run.shares.is_none() && run.measured.is_none();
        if touches && run.name != into.name && movable {
            let longer = length(site, run.length.base() + half);
            edits.push(Edit::set("run", &run.name, "length", &longer));
        }
    }
    if into.measured.is_some() || into.shares.is_some() {
        return None;
    }
    Some(Proposal {
        name: format!("{name} half-way"),
        why: format!(
            "{name} stands {} nearer to the supply; its other runs get longer by that",
            length(site, half)
        ),
        caution: None,
        extra: Vec::new(),
        edits,
    })
}

/// Peaks one after the other instead of at once, where named cases let two things act together.
fn staggered(site: &Site, study: &Study) -> Option<Proposal> {
    let mut edits = Vec::new();
    for case in &site.cases {
        let index = study.results.cases.iter().position(|c| c.name == case.name);
        let hurts = study.findings.iter().any(|j| {
            j.counts()
                && j.finding.case == index
                && j.finding.severity <= crate::diagnostic::Severity::Fail
        });
        let acting: Vec<usize> = case
            .states
            .iter()
            .filter(|(_, state)| state != "idle" && state != "off")
            .map(|(d, _)| *d)
            .collect();
        // The one that draws most goes first; the others wait.
        if hurts && acting.len() > 1 && index.is_some() {
            for device in &acting[1..] {
                let key = format!("states.{}", site.devices[*device].name);
                edits.push(Edit::set("case", &case.name, &key, "idle"));
            }
        }
    }
    (!edits.is_empty()).then(|| Proposal {
        name: "peaks one after the other".to_owned(),
        why: "what acts together now acts in turn: an interlock or a delay, no copper".to_owned(),
        caution: None,
        extra: Vec::new(),
        edits,
    })
}

/// An alternate that the site file names.
fn own(site: &Site, alternate: &crate::site::Alternate) -> Proposal {
    let mut edits: Vec<Edit> = alternate
        .set
        .iter()
        .map(|(thing, key, text)| Edit::set(thing.table(), site.name_of(*thing), key, text))
        .collect();
    for run in &alternate.fitted {
        edits.push(Edit::set("run", &site.runs[*run].name, "fitted", "true"));
    }
    for (run, leg) in &alternate.broken {
        use crate::site::Leg;
        let (key, text) = match leg {
            Leg::Plus => ("fitted", "false"),
            Leg::Minus => ("minus_parallel", "0"),
            Leg::Common => ("common", "false"),
            Leg::Shield => ("shield", "none"),
        };
        edits.push(Edit::set("run", &site.runs[*run].name, key, text));
    }
    Proposal {
        name: alternate.name.clone(),
        why: "as the site file names it".to_owned(),
        caution: None,
        extra: Vec::new(),
        edits,
    }
}
