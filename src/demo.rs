//! The built-in demonstration sites, all of them invented.

/// A built-in site: its name and the text of its file.
#[derive(Clone, Copy, Debug)]
pub struct Demo {
    /// Name by which it is called.
    pub name: &'static str,
    /// What it shows, in one line.
    pub shows: &'static str,
    /// The site file.
    pub text: &'static str,
}

/// Every built-in site.
pub const ALL: [Demo; 6] = [
    Demo {
        name: "orchard-yard",
        shows: "a bid at 12 V dc: no gauge cures an overdrawn output",
        text: include_str!("../demo-sites/orchard-yard.toml"),
    },
    Demo {
        name: "marina-gate",
        shows: "a wet gate on 24 V ac: too many volts of dc, metric",
        text: include_str!("../demo-sites/marina-gate.toml"),
    },
    Demo {
        name: "boat-storage",
        shows: "an old run with readings: the lock feels weak",
        text: include_str!("../demo-sites/boat-storage.toml"),
    },
    Demo {
        name: "observatory-road",
        shows: "the last volts of a battery on a winter night",
        text: include_str!("../demo-sites/observatory-road.toml"),
    },
    Demo {
        name: "stable-lane",
        shows: "a ground loop: return current in the data common",
        text: include_str!("../demo-sites/stable-lane.toml"),
    },
    Demo {
        name: "workshop-block",
        shows: "a hub on network power that feeds two strikes",
        text: include_str!("../demo-sites/workshop-block.toml"),
    },
];

/// The demo of a name, or of a prefix that only one has.
pub fn find(name: &str) -> Option<&'static Demo> {
    let name = name.trim_end_matches(".toml");
    let mut found = ALL.iter().filter(|d| d.name.starts_with(name));
    match (found.next(), found.next()) {
        (Some(demo), None) => Some(demo),
        _ => ALL.iter().find(|d| d.name == name),
    }
}
