//! What must be so of a thing by how it is wired, before something is asked of it.

use crate::grouped::Grouped;
use crate::joined::Joined;
use crate::site::{ContactMaterial, Does, End, FireRelease, Input, Part, Run, Site, Thing};
use crate::tables::When;

/// The power runs that end at the terminals of things, outputs of supplies apart.
pub(super) type Ends = Grouped<Thing, usize>;

pub(super) fn ends(site: &Site) -> Ends {
    let runs = (site.runs.iter().enumerate()).filter(|(_, run)| run.carries.power);
    let ends = runs.flat_map(|(i, run)| [(run.from, i), (run.to, i)]);
    Grouped::new(
        ends.filter(|(end, _)| !matches!(end, End::Output(..)))
            .map(|(end, i)| (end.thing(), i)),
    )
}

/// Whether it is so of a thing.
pub(super) fn is(site: &Site, ends: &Ends, thing: Thing, when: When) -> bool {
    match (when, thing) {
        (When::BatteryBehindFireRelease, Thing::Supply(i)) => {
            site.supplies[i].battery.is_some() && feeds_a_fire_release(site, i)
        }
        (When::MaybeSolidState, Thing::Device(i)) => maybe_solid_state(site, ends, i),
        (When::MaybeInMetal, Thing::Device(i)) => maybe_in_metal(site, i),
        (When::FeedsOthers, Thing::Device(i)) => feeds_others(site, ends, i),
        (When::Crowded, Thing::Device(i)) => {
            site.devices[i].fit.wires.is_none() && ends.of(thing).len() > 1
        }
        (When::Crowded, Thing::Supply(i)) => {
            site.supplies[i].fit.wires.is_none() && ends.of(thing).len() > 1
        }
        (When::MaybeAtSource, Thing::Fuse(i)) => maybe_at_source(site, i),
        _ => false,
    }
}

/// Whether it is so of anything.
pub(super) fn anything_is(site: &Site, ends: &Ends, when: When) -> bool {
    let supplies = (0..site.supplies.len()).map(Thing::Supply);
    let devices = (0..site.devices.len()).map(Thing::Device);
    let fuses = (0..site.fuses.len()).map(Thing::Fuse);
    let mut all = supplies.chain(devices).chain(fuses);
    all.any(|thing| is(site, ends, thing, when))
}

fn power_runs(site: &Site) -> impl Iterator<Item = &Run> {
    site.runs.iter().filter(|run| run.carries.power)
}

fn runs_at<'s>(site: &'s Site, ends: &'s Ends, device: usize) -> impl Iterator<Item = &'s Run> {
    ends.of(Thing::Device(device)).map(|i| &site.runs[*i])
}

/// Whether a supply is on one network of power runs with a lock whose door says that the fire alarm
/// cuts the lock's supply.
fn feeds_a_fire_release(site: &Site, supply: usize) -> bool {
    // A relay of the alarm is followed through the network, an input of the supply is not.
    let releases = |input: &Input| input.does == Some(Does::Release);
    let by_input = site.supplies[supply].inputs.iter().any(releases);
    let released = |i: usize| {
        let door = site.devices[i].door.and_then(|d| site.doors.get(d));
        door.is_some_and(|door| match door.fire_release {
            Some(FireRelease::Said) => true,
            Some(FireRelease::By(..)) => by_input,
            Some(FireRelease::No) | None => false,
        })
    };
    let locks: Vec<usize> = (0..site.devices.len()).filter(|i| released(*i)).collect();
    if locks.is_empty() {
        return false;
    }
    let (supplies, devices) = (site.supplies.len(), site.devices.len());
    let index = |thing: Thing| {
        let at = match thing {
            Thing::Supply(i) => i,
            Thing::Device(i) => supplies + i,
            Thing::Junction(i) => supplies + devices + i,
            Thing::Fuse(_) | Thing::Earth(_) | Thing::Run(_) => return None,
        };
        u32::try_from(at).ok()
    };
    let mut joined = Joined::apart(supplies + devices + site.junctions.len());
    let mut join = |a: Thing, b: Thing| {
        if let (Some(a), Some(b)) = (index(a), index(b)) {
            joined.join(a, b);
        }
    };
    for run in power_runs(site) {
        join(run.from.thing(), run.to.thing());
    }
    for (i, own) in site.supplies.iter().enumerate() {
        let towards = own.on.map(End::thing);
        let feeder = own.fed_by.map(|device| Thing::Device(device.0));
        for other in towards.into_iter().chain(feeder) {
            join(Thing::Supply(i), other);
        }
    }
    for (i, own) in site.devices.iter().enumerate() {
        if let Some(on) = own.on {
            join(Thing::Device(i), on.thing());
        }
    }
    for (i, own) in site.junctions.iter().enumerate() {
        if let Some(on) = own.on {
            join(Thing::Junction(i), on.thing());
        }
    }
    let mut root = |thing: Thing| index(thing).map(|i| joined.root(i));
    let own = root(Thing::Supply(supply));
    locks.into_iter().any(|i| root(Thing::Device(i)) == own)
}

/// Whether an output feeds a device of which nobody says that it has contacts of metal.
fn maybe_solid_state(site: &Site, ends: &Ends, device: usize) -> bool {
    let runs =
        runs_at(site, ends, device).filter(|run| [run.from, run.to].contains(&End::Device(device)));
    let outputs = runs.flat_map(|run| {
        let fed = [run.from, run.to].iter().any(|end| match end {
            End::Supply(i) | End::Output(i, _) => site.supplies[*i].fed_by.is_some(),
            End::Device(i) => *i != device && site.devices[*i].is_head(),
            _ => false,
        });
        let contacts = run.through.iter().filter_map(|part| match part {
            Part::Contact(d, r, _) => Some(site.devices[*d].relays[*r].material),
            Part::Fuse(_) => None,
        });
        let contacts: Vec<_> = contacts.collect();
        // A contact in the run opens it, whatever its feeder leaks.
        if contacts.is_empty() && fed {
            vec![None]
        } else {
            contacts
        }
    });
    let unsettled = |material: Option<ContactMaterial>| match material {
        None => true,
        // With the amps at which the coil lets go it is judged.
        Some(ContactMaterial::SolidState) => site.devices[device].coil.release_current.is_none(),
        Some(ContactMaterial::Silver | ContactMaterial::Gold) => false,
    };
    outputs.into_iter().any(unsettled)
}

fn maybe_in_metal(site: &Site, device: usize) -> bool {
    let place = site.devices[device].place.as_ref();
    let stands = place.and_then(|name| site.places.iter().find(|p| p.name == *name));
    let made_of = stands.and_then(|place| place.made_of.as_deref());
    made_of.is_none_or(|made_of| made_of == "metal")
}

/// A power run that starts at a device's terminals and passes none of its own contacts: what it
/// takes flows through the device.
fn feeds_others(site: &Site, ends: &Ends, device: usize) -> bool {
    runs_at(site, ends, device).any(|run| {
        let own = |part: &Part| matches!(part, Part::Contact(d, ..) if *d == device);
        run.from == End::Device(device) && !run.through.iter().any(own)
    })
}

/// Whether a fuse may sit where its conductor leaves the supply: not where both say that they are
/// at different places.
fn maybe_at_source(site: &Site, fuse: usize) -> bool {
    let at = site.fuses[fuse].place.as_ref();
    let apart = |run: &Run| match run.from {
        End::Supply(i) | End::Output(i, _) => {
            let of = site.supplies[i].place.as_ref();
            at.is_some() && of.is_some() && at != of
        }
        _ => false,
    };
    let mut own = power_runs(site).filter(|run| run.through.contains(&Part::Fuse(fuse)));
    !own.any(apart)
}
