//! The things of a site that a changed value can reach.
//!
//! Things hang together by whatever one of them says of another: the ends of a run, what it goes
//! through, what feeds or sits on what, a jacket, a raceway, a bus, a door, a place, a surge part,
//! and the soil between earths. A value of one thing changes nothing of what does not hang
//! together with it, as long as the network has an operating point.

use std::collections::HashMap;

use crate::joined::Joined;
use crate::site::{DeviceRef, End, FireRelease, Part, Run, Site, Thing};

/// Things of a site, by kind and in file order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scope {
    /// In the order of [`Thing`].
    by_kind: [Vec<usize>; 6],
    whole: bool,
}

impl Scope {
    /// Everything.
    pub fn whole(site: &Site) -> Self {
        Self {
            by_kind: site.counts().map(|count| (0..count).collect()),
            whole: true,
        }
    }

    /// All that hangs together with one of some things.
    pub fn around(site: &Site, things: &[Thing]) -> Self {
        let mut kin = Kin::of(site);
        let mut reached: Vec<u32> = things.iter().map(|t| kin.root(*t)).collect();
        reached.sort_unstable();
        let counts = site.counts();
        let by_kind = std::array::from_fn(|kind| {
            let hangs_together = |i: &usize| {
                let root = kin.joined.root(kin.number(kind, *i));
                reached.binary_search(&root).is_ok()
            };
            (0..counts[kind]).filter(hangs_together).collect::<Vec<_>>()
        });
        Self {
            whole: by_kind.iter().map(Vec::len).eq(counts),
            by_kind,
        }
    }

    /// Whether it is everything.
    pub fn is_whole(&self) -> bool {
        self.whole
    }

    /// Whether a thing is one of them.
    pub fn has(&self, thing: Thing) -> bool {
        let (kind, i) = place(thing);
        self.whole || self.by_kind[kind].binary_search(&i).is_ok()
    }

    /// Its supplies.
    pub fn supplies(&self) -> &[usize] {
        &self.by_kind[0]
    }

    /// Its devices.
    pub fn devices(&self) -> &[usize] {
        &self.by_kind[1]
    }

    /// Its junctions.
    pub fn junctions(&self) -> &[usize] {
        &self.by_kind[2]
    }

    /// Its fuses.
    pub fn fuses(&self) -> &[usize] {
        &self.by_kind[3]
    }

    /// Its earths.
    pub fn earths(&self) -> &[usize] {
        &self.by_kind[4]
    }

    /// Its runs.
    pub fn runs(&self) -> &[usize] {
        &self.by_kind[5]
    }
}

/// The kind of a thing, and its place among those.
const fn place(thing: Thing) -> (usize, usize) {
    match thing {
        Thing::Supply(i) => (0, i),
        Thing::Device(i) => (1, i),
        Thing::Junction(i) => (2, i),
        Thing::Fuse(i) => (3, i),
        Thing::Earth(i) => (4, i),
        Thing::Run(i) => (5, i),
    }
}

/// What hangs together with what: things are numbered kind after kind.
struct Kin {
    joined: Joined,
    /// The number of the first of each kind.
    first: [usize; 6],
}

impl Kin {
    fn of(site: &Site) -> Self {
        let mut all = 0;
        let first = site.counts().map(|count| {
            all += count;
            all - count
        });
        let mut kin = Self {
            joined: Joined::apart(all),
            first,
        };
        kin.of_runs(site);
        kin.of_things(site);
        kin.of_signals(site);
        kin
    }

    fn number(&self, kind: usize, i: usize) -> u32 {
        u32::try_from(self.first[kind] + i).unwrap_or(u32::MAX)
    }

    fn root(&mut self, thing: Thing) -> u32 {
        let (kind, i) = place(thing);
        self.joined.root(self.number(kind, i))
    }

    fn join(&mut self, a: Thing, b: Thing) {
        let [a, b] = [a, b].map(|thing| {
            let (kind, i) = place(thing);
            self.number(kind, i)
        });
        self.joined.join(a, b);
    }

    /// Joins everything that one of a list says with the first of them.
    fn join_all(&mut self, things: impl IntoIterator<Item = Thing>) {
        let mut things = things.into_iter();
        if let Some(first) = things.next() {
            things.for_each(|other| self.join(first, other));
        }
    }

    fn of_runs(&mut self, site: &Site) {
        let mut raceways: HashMap<&str, usize> = HashMap::new();
        for (i, run) in site.runs.iter().enumerate() {
            let own = Thing::Run(i);
            self.join(own, run.from.thing());
            self.join(own, run.to.thing());
            for part in &run.through {
                self.join(
                    own,
                    match *part {
                        Part::Fuse(fuse) => Thing::Fuse(fuse),
                        Part::Contact(device, ..) => Thing::Device(device),
                    },
                );
            }
            if let Some(other) = run.shares {
                self.join(own, Thing::Run(other));
            }
            if let Some(raceway) = &run.raceway {
                self.join(own, Thing::Run(*raceways.entry(raceway).or_insert(i)));
            }
        }
    }

    fn of_things<'s>(&mut self, site: &'s Site) {
        let mut places: HashMap<&'s str, Thing> = HashMap::new();
        let mut doors: HashMap<usize, Thing> = HashMap::new();
        let mut beside = |kin: &mut Self, thing: Thing, place: &'s Option<String>| {
            if let Some(place) = place {
                kin.join(thing, *places.entry(place).or_insert(thing));
            }
        };
        for (i, supply) in site.supplies.iter().enumerate() {
            let own = Thing::Supply(i);
            beside(self, own, &supply.place);
            self.join_all([own].into_iter().chain(supply.on.map(End::thing)));
            self.join_all([own].into_iter().chain(supply.fed_by.map(device)));
        }
        for (i, device) in site.devices.iter().enumerate() {
            let own = Thing::Device(i);
            beside(self, own, &device.place);
            self.join_all([own].into_iter().chain(device.on.map(End::thing)));
            if let Some(door) = device.door {
                self.join(own, *doors.entry(door).or_insert(own));
            }
        }
        for (i, junction) in site.junctions.iter().enumerate() {
            let own = Thing::Junction(i);
            beside(self, own, &junction.place);
            self.join_all([own].into_iter().chain(junction.on.map(End::thing)));
        }
        for (i, fuse) in site.fuses.iter().enumerate() {
            beside(self, Thing::Fuse(i), &fuse.place);
        }
        self.join_all((0..site.earths.len()).map(Thing::Earth));
        for (i, door) in site.doors.iter().enumerate() {
            if let (Some(FireRelease::By(device, _)), Some(locked)) =
                (door.fire_release, doors.get(&i))
            {
                self.join(Thing::Device(device), *locked);
            }
        }
    }

    fn of_signals(&mut self, site: &Site) {
        for (i, run) in site.runs.iter().enumerate() {
            if let Some(line) = &run.wiegand {
                let named = [line.sender, line.pull_up_at].into_iter().flatten();
                self.join_all([Thing::Run(i)].into_iter().chain(named.map(device)));
            }
        }
        // What is said once for all lines of a kind is said at the first of them.
        let lines = |is: fn(&Run) -> bool| {
            let runs = site.runs.iter().enumerate();
            runs.filter(move |(_, run)| is(run))
                .map(|(i, _)| Thing::Run(i))
        };
        self.join_all(lines(|run| run.carries.wiegand));
        self.join_all(lines(|run| run.carries.ethernet || run.carries.rs485));
        for (b, bus) in site.buses.iter().enumerate() {
            let runs = site.runs.iter().enumerate();
            let own = runs
                .filter(|(_, run)| run.bus == Some(b))
                .map(|(i, _)| Thing::Run(i));
            let ends = bus.terminators.iter().flatten().chain(&bus.bias_at);
            self.join_all(own.chain(ends.map(|device| Thing::Device(*device))));
        }
        for surge in &site.surges {
            let earth = surge.earth.map(Thing::Earth);
            self.join_all([Thing::Run(surge.line)].into_iter().chain(earth));
        }
    }
}

fn device(device: DeviceRef) -> Thing {
    Thing::Device(device.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::read;

    /// Two supplies with a device each; what joins the two families stands where `{more}` does.
    fn around(more: &str) -> usize {
        let family = |i: u32| {
            format!(
                "[supply.S{i}]\nvoltage = \"12 V\"\n[device.D{i}]\n[device.E{i}]\n[run.R{i}]\nfrom = \"S{i}\"\nto = \"D{i}\"\nresistance = \"1 ohm\"\n[run.Q{i}]\nfrom = \"D{i}\"\nto = \"E{i}\"\nresistance = \"1 ohm\"\n"
            )
        };
        let site = read(&format!("format = 1\n{}{}{more}", family(1), family(2))).unwrap();
        let scope = Scope::around(&site, &[site.names["R1"]]);
        assert!(scope.has(site.names["E1"]) && scope.has(site.names["S1"]));
        assert_eq!(scope.has(site.names["E2"]), scope.is_whole());
        scope.devices().len()
    }

    #[test]
    fn things_hang_together_by_what_one_says_of_another() {
        assert_eq!(around(""), 2);
        for joins in [
            "[run.X]\nfrom = \"E1\"\nto = \"E2\"\nresistance = \"1 ohm\"\ncarries = \"contact\"\n",
            "[surge.X]\nline = \"R1\"\nearth = \"rod\"\n[surge.Y]\nline = \"R2\"\nearth = \"bar\"\n[earth.rod]\n[earth.bar]\n",
            "[device.X]\non = \"E1\"\n[run.Y]\nfrom = \"X\"\nto = \"E2\"\nresistance = \"1 ohm\"\n",
            "[bus.X]\nterminators = [\"E1\", \"E2\"]\n",
        ] {
            assert_eq!(
                around(joins),
                if joins.starts_with("[device") { 5 } else { 4 },
                "{joins}"
            );
        }
    }
}
