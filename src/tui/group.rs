//! Groups of tables of the file that are no part of the network.

use crate::site::fields::{self, Field};
use crate::site::{Site, fields_of};

/// One group of tables of the file that are no part of the network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Group {
    /// Name, units and edition of the code.
    Site,
    /// Temperatures and allowances.
    Design,
    /// What happens at once.
    Case,
    /// States that never stand together.
    Exclusive,
    /// Doors and gates as people use them.
    Door,
    /// Pipes and ducts.
    Raceway,
    /// Places with properties.
    Place,
    /// Cables of the site's own.
    Cable,
    /// Two-wire buses.
    Bus,
    /// Surge parts.
    Surge,
    /// Meters and their errors.
    Meter,
    /// Readings taken on site.
    Reading,
    /// Findings that somebody accepted.
    Accepted,
    /// Cables to choose from.
    Sizing,
    /// Other designs.
    Alternate,
    /// Items of the bid.
    Part,
    /// Conductors as they are marked, of all runs.
    Wire,
    /// Price of work.
    Labour,
}

impl Group {
    /// All groups, in the order of the screen.
    pub const ALL: [Self; 18] = [
        Self::Site,
        Self::Design,
        Self::Case,
        Self::Exclusive,
        Self::Door,
        Self::Raceway,
        Self::Place,
        Self::Cable,
        Self::Bus,
        Self::Surge,
        Self::Meter,
        Self::Reading,
        Self::Accepted,
        Self::Sizing,
        Self::Alternate,
        Self::Part,
        Self::Wire,
        Self::Labour,
    ];

    /// Groups of which a form can add one; a finding is accepted where it is shown.
    pub const ADDED: [Self; 13] = [
        Self::Door,
        Self::Raceway,
        Self::Place,
        Self::Case,
        Self::Exclusive,
        Self::Cable,
        Self::Bus,
        Self::Surge,
        Self::Meter,
        Self::Reading,
        Self::Alternate,
        Self::Part,
        Self::Wire,
    ];

    /// Word of its table.
    pub const fn table(self) -> &'static str {
        match self {
            Self::Site => "site",
            Self::Design => "design",
            Self::Case => "case",
            Self::Exclusive => "exclusive",
            Self::Door => "door",
            Self::Raceway => "raceway",
            Self::Place => "place",
            Self::Cable => "cable",
            Self::Bus => "bus",
            Self::Surge => "surge",
            Self::Meter => "meter",
            Self::Reading => "reading",
            Self::Accepted => "accepted",
            Self::Sizing => "sizing",
            Self::Alternate => "alternate",
            Self::Part => "part",
            Self::Wire => "wire",
            Self::Labour => "labour",
        }
    }

    /// Every site has it once, written or not.
    pub const fn is_single(self) -> bool {
        matches!(
            self,
            Self::Site | Self::Design | Self::Sizing | Self::Labour
        )
    }

    /// Its tables are a list and have no names.
    pub const fn is_list(self) -> bool {
        matches!(
            self,
            Self::Exclusive | Self::Reading | Self::Accepted | Self::Part | Self::Wire
        )
    }

    /// How many a site has.
    pub fn count(self, site: &Site) -> usize {
        match self {
            Self::Site | Self::Design | Self::Sizing | Self::Labour => 1,
            Self::Exclusive => site.exclusive.len(),
            Self::Reading => site.readings.len(),
            Self::Accepted => site.accepted.len(),
            Self::Part => site.bid.items.len(),
            Self::Wire => site.runs.iter().map(|run| run.wires.len()).sum(),
            _ => self.names(site).len(),
        }
    }

    /// Names of its tables, in file order; none where they have no names.
    fn names(self, site: &Site) -> Vec<&str> {
        match self {
            Self::Case => site.cases.iter().map(|x| x.name.as_str()).collect(),
            Self::Door => site.doors.iter().map(|x| x.name.as_str()).collect(),
            Self::Raceway => site.raceways.iter().map(|x| x.name.as_str()).collect(),
            Self::Place => site.places.iter().map(|x| x.name.as_str()).collect(),
            Self::Cable => {
                let own = &site.cables[..site.own_cables];
                own.iter().map(|x| x.name.as_str()).collect()
            }
            Self::Bus => site.buses.iter().map(|x| x.name.as_str()).collect(),
            Self::Surge => site.surges.iter().map(|x| x.name.as_str()).collect(),
            Self::Meter => site.meters.iter().map(|x| x.name.as_str()).collect(),
            Self::Alternate => (site.bid.alternates.iter())
                .map(|x| x.name.as_str())
                .collect(),
            _ => Vec::new(),
        }
    }

    /// Name of one of its tables.
    pub fn name(self, site: &Site, i: usize) -> String {
        if self.is_single() {
            return self.table().to_owned();
        }
        match (self.names(site).get(i), wire(site, i)) {
            (Some(name), _) => (*name).to_owned(),
            (None, Some((run, at))) if self == Self::Wire => {
                format!("wire {} of {run}", at + 1)
            }
            (None, _) => format!("{} {}", self.table(), i + 1),
        }
    }

    /// The table of that name.
    pub fn find(self, site: &Site, name: &str) -> Option<usize> {
        self.names(site).iter().position(|own| *own == name)
    }

    /// The keys of one of its tables.
    pub fn fields(self) -> &'static [Field] {
        match self {
            Self::Wire => fields::WIRE,
            _ => fields_of(self.table()),
        }
    }

    /// The path of one of its tables in the file.
    pub fn path(self, site: &Site, i: usize) -> Vec<String> {
        let word = self.table().to_owned();
        if self.is_single() {
            vec![word]
        } else if self == Self::Wire {
            let (run, at) = wire(site, i).unwrap_or_default();
            ["run", run, "wire", &at.to_string()]
                .map(str::to_owned)
                .to_vec()
        } else if self.is_list() {
            vec![word, i.to_string()]
        } else {
            vec![word, self.name(site, i)]
        }
    }
}

/// The run of one conductor of the site, and its place there.
fn wire(site: &Site, i: usize) -> Option<(&str, usize)> {
    let all = site.runs.iter().flat_map(|run| {
        let own = 0..run.wires.len();
        own.map(|at| (run.name.as_str(), at))
    });
    all.into_iter().nth(i)
}
