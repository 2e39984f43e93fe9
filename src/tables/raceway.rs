//! Raceways: what cables may fill, and the ground over them.

use std::f64::consts::PI;
use std::sync::LazyLock;

use serde::Deserialize;

use super::Pedigree;
use crate::units::{Area, Length, Measure};

/// Metres in an inch.
const INCH: f64 = 0.0254;

/// What a raceway is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RacewayKind {
    /// Thin-walled steel tube.
    Emt,
    /// Rigid or intermediate metal conduit.
    Rigid,
    /// PVC conduit, schedule 40.
    Pvc40,
    /// PVC conduit, schedule 80.
    Pvc80,
    /// Other nonmetallic duct.
    Duct,
}

impl RacewayKind {
    /// All, in the order of [`RacewayKind::WORDS`].
    pub const ALL: [Self; 5] = [Self::Emt, Self::Rigid, Self::Pvc40, Self::Pvc80, Self::Duct];
    /// How files spell them.
    pub const WORDS: &'static [&'static str] = &["emt", "rigid", "pvc 40", "pvc 80", "duct"];

    /// Whether it is of metal.
    pub const fn is_metal(self) -> bool {
        matches!(self, Self::Emt | Self::Rigid)
    }

    /// How files spell it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Emt => "emt",
            Self::Rigid => "rigid",
            Self::Pvc40 => "pvc 40",
            Self::Pvc80 => "pvc 80",
            Self::Duct => "duct",
        }
    }
}

/// What lies over cable or raceway in the ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cover {
    /// Ground alone.
    Ground,
    /// 2 in of concrete in the trench.
    ConcreteInTrench,
    /// 4 in of concrete slab outdoors, without vehicles.
    Slab,
    /// A street, drive or parking lot.
    Drive,
    /// The drive of a home for one or two families.
    HomeDrive,
    /// A building.
    Building,
}

impl Cover {
    /// All, in the order of [`Cover::WORDS`].
    pub const ALL: [Self; 6] = [
        Self::Ground,
        Self::ConcreteInTrench,
        Self::Slab,
        Self::Drive,
        Self::HomeDrive,
        Self::Building,
    ];
    /// How files spell them.
    pub const WORDS: &'static [&'static str] = &[
        "ground",
        "concrete in trench",
        "slab",
        "drive",
        "home drive",
        "building",
    ];

    fn as_str(self) -> &'static str {
        Self::ALL
            .iter()
            .position(|c| *c == self)
            .map_or("ground", |i| Self::WORDS[i])
    }
}

/// Share of a raceway's inside area that so many cables may fill.
///
/// # Source
/// NEC Chapter 9 Table 1 (secondary copy seen), and its Note 4 for raceways of 24 in or less.
pub fn fill_share(cables: usize, length: Option<Length>) -> f64 {
    let fill = &RACEWAYS.fill;
    if length.is_some_and(|l| l.base() <= fill.short_in * INCH + 1e-9) {
        return fill.short;
    }
    match cables {
        0 | 1 => fill.one,
        2 => fill.two,
        _ => fill.more,
    }
}

/// Inside diameter of a raceway of a trade size; `None` where the table has no such row.
///
/// # Source
/// NEC Chapter 9 Table 4, from memory.
pub fn raceway_inside(kind: RacewayKind, size: &str) -> Option<Length> {
    let group = RACEWAYS.group.iter().find(|g| g.kind == kind.as_str())?;
    let row = group.trade_size.iter().find(|r| r.size == size)?;
    Some(Length::from_base(row.inside_in * INCH))
}

/// Trade sizes of a kind with their inside diameters, smallest first.
pub fn raceway_sizes(kind: RacewayKind) -> impl Iterator<Item = (&'static str, Length)> {
    let group = RACEWAYS
        .group
        .iter()
        .filter(move |g| g.kind == kind.as_str());
    group
        .flat_map(|g| &g.trade_size)
        .map(|r| (r.size.as_str(), Length::from_base(r.inside_in * INCH)))
}

/// Area of a circle, pi d^2 / 4.
pub fn round_area(diameter: Length) -> Area {
    let d = diameter.base();
    Area::from_base(PI * d * d / 4.0)
}

/// Least ground over a raceway of a kind, or over cable laid without one; `None` where that is
/// not allowed at all.
///
/// # Source
/// NEC Table 300.5; in part from memory.
pub fn least_cover(kind: Option<RacewayKind>, under: Cover) -> Option<Length> {
    let row = COVER.place.iter().find(|r| r.under == under.as_str())?;
    let inches = match kind {
        None => row.cable_in,
        Some(RacewayKind::Rigid) => row.rigid_in,
        Some(_) => row.nonmetallic_in,
    };
    inches.map(|i| Length::from_base(i * INCH))
}

pub(super) fn raceways_pedigree() -> &'static Pedigree {
    &RACEWAYS.head
}

pub(super) fn cover_pedigree() -> &'static Pedigree {
    &COVER.head
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raceways {
    head: Pedigree,
    fill: Fill,
    group: Vec<Group>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Fill {
    one: f64,
    two: f64,
    more: f64,
    short: f64,
    short_in: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Group {
    kind: String,
    trade_size: Vec<TradeSize>,
}

/// The area stands in the file beside the diameter, for the tests.
#[derive(Deserialize)]
struct TradeSize {
    size: String,
    inside_in: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CoverFile {
    head: Pedigree,
    place: Vec<CoverPlace>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CoverPlace {
    under: String,
    cable_in: Option<f64>,
    rigid_in: Option<f64>,
    nonmetallic_in: Option<f64>,
}

static RACEWAYS: LazyLock<Raceways> = LazyLock::new(|| table!("raceways"));
static COVER: LazyLock<CoverFile> = LazyLock::new(|| table!("cover"));
