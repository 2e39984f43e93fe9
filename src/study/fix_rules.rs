//! Fixes of what relays switch, of ways out and of raceways.

use super::fix::Candidate;
use crate::checks::Finding;
use crate::site::{Clamp, ClampAt, Edit, End, FireRelease, Part, Site, Thing, Throw};
use crate::study::Study;
use crate::tables;
use crate::units::{ElectricPotential, Measure};

/// Volts of a clamp over those of the supply: enough that the supply itself never works it.
const CLAMP_OVER: f64 = 1.5;

/// A clamp at a coil: two-way where the contacts bear its volts, and a diode.
pub(super) fn clamped(site: &Site, study: &Study, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Device(i)) = finding.thing else {
        return Vec::new();
    };
    let device = &site.devices[i];
    let mut ladders = Vec::new();
    if let Some(volts) = quick(site, study, i) {
        let volts_text = format!("{volts} V");
        ladders.push(vec![with_clamp(
            site,
            i,
            (Clamp::TwoWay, "two-way", Some(volts)),
            format!(
                "{} with a two-way clamp of {volts_text} at its coil",
                device.name
            ),
        )]);
    }
    if finding.code == "clamp-missing" {
        ladders.push(vec![with_clamp(
            site,
            i,
            (Clamp::Diode, "diode", None),
            format!(
                "{} with a diode across its coil, cathode to plus",
                device.name
            ),
        )]);
    }
    ladders
}

/// Another clamp at each coil that a contact switches: quick where the contact bears it, else a
/// diode.
pub(super) fn lower_clamp(site: &Site, study: &Study, finding: &Finding) -> Vec<Vec<Candidate>> {
    let is_its = |(d, r): (usize, usize)| {
        let part = format!(
            "{}.{}",
            site.devices[d].name, site.devices[d].relays[r].name
        );
        finding.subject == part
            || finding
                .subject
                .strip_prefix(&part)
                .is_some_and(|rest| rest.starts_with('.'))
    };
    let behind = |i: &usize| {
        let coil = &site.devices[*i].coil;
        let clamps =
            matches!(coil.clamp, Some(clamp) if !matches!(clamp, Clamp::None | Clamp::Unknown));
        clamps && contacts_to(site, study, *i).any(is_its)
    };
    let coils = (0..site.devices.len()).filter(behind);
    coils.flat_map(|i| {
        let name = &site.devices[i].name;
        let two_way = quick(site, study, i).map(|volts| {
            let what = format!("{name} with a two-way clamp of {volts} V at its coil");
            vec![with_clamp(site, i, (Clamp::TwoWay, "two-way", Some(volts)), what)]
        });
        let what = format!(
            "{name} with a plain diode across its coil, cathode to plus: 0.7 V, but it lets go later"
        );
        let diode = vec![with_clamp(site, i, (Clamp::Diode, "diode", None), what)];
        two_way.into_iter().chain([diode])
    })
    .collect()
}

/// Volts of a quick clamp that every contact on the way bears on top of the supply's.
fn quick(site: &Site, study: &Study, device: usize) -> Option<f64> {
    let ways = &study.results.ways;
    let supply = &site.supplies[ways.supply_of(device)?];
    let volts = (CLAMP_OVER * supply.voltage.base()).round();
    let most = crate::circuit::Corner::High.volts(supply).base();
    let mut contacts = contacts_to(site, study, device);
    let borne = contacts.all(|(d, r)| {
        let rated = site.devices[d].relays[r].voltage;
        rated.is_some_and(|rated| rated.base() >= most + volts)
    });
    borne.then_some(volts)
}

/// Relays whose contacts lie on the way to a device.
fn contacts_to<'s>(
    site: &'s Site,
    study: &Study,
    device: usize,
) -> impl Iterator<Item = (usize, usize)> + 's {
    let way = study.results.ways.way_to(End::Device(device));
    let runs = way.into_iter().filter_map(|(run, _)| run);
    runs.flat_map(|run| &site.runs[run].through)
        .filter_map(|part| match part {
            Part::Contact(d, r, _) => Some((*d, *r)),
            Part::Fuse(_) => None,
        })
}

fn with_clamp(
    site: &Site,
    device: usize,
    (clamp, word, volts): (Clamp, &str, Option<f64>),
    what: String,
) -> Candidate {
    let mut changed = site.clone();
    let name = &site.devices[device].name;
    let set = |key: &str, text: &str| Edit::set("device", name, key, text);
    let coil = &mut changed.devices[device].coil;
    let mut edits = vec![set("clamp", word)];
    if coil.clamp_at == Some(ClampAt::Contact) {
        edits.push(set("clamp_at", "load"));
        coil.clamp_at = Some(ClampAt::Load);
    }
    if volts.is_some() || coil.clamp_voltage.is_some() {
        let text = volts.map(|v| format!("{v} V")).unwrap_or_default();
        edits.push(set("clamp_voltage", &text));
    }
    coil.clamp = Some(clamp);
    coil.clamp_voltage = volts.map(ElectricPotential::from_base);
    Candidate {
        what,
        site: changed,
        edits,
    }
}

/// The contact that is open at rest instead of the one that is closed.
pub(super) fn open_at_rest(site: &Site, study: &Study, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Device(i)) = finding.thing else {
        return Vec::new();
    };
    let way = study.results.ways.way_to(End::Device(i));
    let runs = way.into_iter().filter_map(|(run, _)| run);
    let candidates = runs.filter_map(|run| {
        let mut changed = site.clone();
        let mut through = changed.runs[run].through.clone();
        let closed = through
            .iter_mut()
            .find(|p| matches!(p, Part::Contact(_, _, Throw::Closed)))?;
        if let Part::Contact(_, _, throw) = closed {
            *throw = Throw::Open;
        }
        let words: Vec<String> = through.iter().map(|p| site.part_text(*p)).collect();
        let words = words.join(", ");
        changed.runs[run].through = through;
        let name = &site.runs[run].name;
        let pulled = if finding.code == "open-at-rest" {
            "opens"
        } else {
            "locks"
        };
        Some(Candidate {
            what: format!("{name} through {words}, and the relay pulled while it {pulled}"),
            site: changed,
            edits: vec![Edit::set("run", name, "through", &words)],
        })
    });
    candidates.map(|c| vec![c]).collect()
}

/// The alarm's contact in every power run that ends at the lock.
pub(super) fn alarm_in_series(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Device(lock)) = finding.thing else {
        return Vec::new();
    };
    let door = site.devices[lock].door.and_then(|d| site.doors.get(d));
    let Some(FireRelease::By(device, relay)) = door.and_then(|d| d.fire_release) else {
        return Vec::new();
    };
    let contact = Part::Contact(device, relay, Throw::Closed);
    let passes =
        |part: &Part| matches!(part, Part::Contact(d, r, _) if (*d, *r) == (device, relay));
    let mut changed = site.clone();
    let (mut edits, mut names) = (Vec::new(), Vec::new());
    for run in &mut changed.runs {
        let ends = [run.from, run.to].contains(&End::Device(lock));
        if !run.carries.power || !ends || run.through.iter().any(passes) {
            continue;
        }
        run.through.push(contact);
        let words: Vec<String> = run.through.iter().map(|p| site.part_text(*p)).collect();
        edits.push(Edit::set("run", &run.name, "through", &words.join(", ")));
        names.push(run.name.clone());
    }
    if edits.is_empty() {
        return Vec::new();
    }
    let what = format!("{} in {}", site.part_text(contact), names.join(" and "));
    vec![vec![Candidate {
        what,
        site: changed,
        edits,
    }]]
}

/// The next trade sizes of a raceway.
pub(super) fn wider(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let found = site.raceways.iter().enumerate();
    let Some((i, raceway)) = found.into_iter().find(|(_, r)| r.name == finding.subject) else {
        return Vec::new();
    };
    let (Some(kind), Some(size), None) = (raceway.kind, &raceway.size, raceway.inside) else {
        return Vec::new();
    };
    let larger = tables::raceway_sizes(kind)
        .skip_while(|(s, _)| s != size)
        .skip(1);
    let rungs = larger.map(|(new, _)| {
        let mut changed = site.clone();
        changed.raceways[i].size = Some(new.to_owned());
        Candidate {
            what: format!("{} in trade size {new} (was {size})", raceway.name),
            site: changed,
            edits: vec![Edit::set("raceway", &raceway.name, "size", new)],
        }
    });
    vec![rungs.collect()]
}
