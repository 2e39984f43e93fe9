//! What a conductor may carry and what a power-limited source may give.

use std::sync::LazyLock;

use serde::Deserialize;
use uom::si::electric_current::ampere;
use uom::si::electric_potential::volt;
use uom::si::power::watt;

use super::Pedigree;
use crate::units::{ElectricCurrent, ElectricPotential, Power, Size};

/// What one conductor may carry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Greatest continuous current.
    pub amps: ElectricCurrent,
    /// The gauge whose row it is: the size itself, or the next smaller one with a row.
    pub row: Size,
    /// Where the figure comes from, and whether by analogy.
    pub source: &'static str,
    /// How the figure was checked.
    pub checked: &'static str,
}

/// Returns the limit of one copper conductor, or none for a size that no row reaches.
///
/// A size between two rows has the limit of the smaller one. Under 24 AWG, and from 8 AWG up, there is none.
///
/// # Source
/// NEC 402.5 by analogy for 18 to 10 AWG; common practice, no source, for 24 to 20 AWG.
pub fn ampacity(gauge: Size) -> Option<Limit> {
    let ladder = &*LADDER;
    let area = gauge.area();
    // A row reaches up to the next even gauge; past the largest row there is nothing to borrow.
    let largest = ladder.last()?;
    if area >= Size::Awg(largest.awg - 2).area() {
        return None;
    }
    let rung = ladder
        .iter()
        .rev()
        .find(|rung| Size::Awg(rung.awg).area() <= area)?;
    Some(Limit {
        amps: ElectricCurrent::new::<ampere>(rung.current_a),
        row: Size::Awg(rung.awg),
        source: rung.source,
        checked: rung.checked,
    })
}

/// Kind of current.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq, Hash)]
#[serde(rename_all = "lowercase")]
pub enum CurrentKind {
    /// Alternating; volts and amperes are rms.
    Ac,
    /// Direct and continuous.
    Dc,
}

/// Class of a listed power-limited source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PowerClass {
    /// Class 2: safe from fire and from shock.
    Class2,
    /// Class 3: safe from fire, with volts that can shock.
    Class3,
}

impl PowerClass {
    const fn number(self) -> u8 {
        match self {
            PowerClass::Class2 => 2,
            PowerClass::Class3 => 3,
        }
    }
}

/// What the nameplate of a power-limited source may state at given volts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClassLimit {
    /// Greatest current.
    pub amps: ElectricCurrent,
    /// Greatest power: volt-amperes, and watts on dc.
    pub va: Power,
    /// Table it stands in.
    pub source: &'static str,
    /// How the figures were checked.
    pub checked: &'static str,
}

/// Returns the nameplate limits of a class at its greatest volts, or none where the class has none.
///
/// Class 2: 5 A and 5 x V to 20 V, then 100 VA to 30 V ac or 60 V dc. Class 3: 100 VA from there to
/// 150 V. The rows of 5 mA for class 2 at higher volts are left out: they power nothing.
///
/// # Source
/// NEC Chapter 9 Tables 11(A) and 11(B). They bind listed sources; an unlisted one has no class.
pub fn class_limit(
    class: PowerClass,
    kind: CurrentKind,
    volts: ElectricPotential,
) -> Option<ClassLimit> {
    let group = CLASS_LIMITS.group.iter().find(|group| group.kind == kind)?;
    let v = volts.get::<volt>();
    let row = group.row.iter().find(|row| {
        let above = v > row.over_v || (row.over_v <= 0.0 && v >= 0.0);
        row.class == class.number() && above && v <= row.through_v
    })?;
    let (a, va) = match row.limit {
        NameplateLimit::Current(a) => (a, a * v),
        NameplateLimit::Power(va) => (va / v, va),
    };
    Some(ClassLimit {
        amps: ElectricCurrent::new::<ampere>(a),
        va: Power::new::<watt>(va),
        source: &group.source,
        checked: &group.checked,
    })
}

/// Returns the volts over which contact in a wet place calls for class 3 wiring, and their source.
///
/// # Units
/// Rms for ac, taken as sinusoidal; continuous for dc.
pub fn wet_contact_limit(kind: CurrentKind) -> (ElectricPotential, &'static str) {
    let row = match kind {
        CurrentKind::Ac => &CLASS_LIMITS.wet_contact.ac,
        CurrentKind::Dc => &CLASS_LIMITS.wet_contact.dc,
    };
    (ElectricPotential::new::<volt>(row.limit_v), &row.source)
}

pub(super) fn ampacity_pedigree() -> &'static Pedigree {
    &AMPACITY.head
}

pub(super) fn class_limits_pedigree() -> &'static Pedigree {
    &CLASS_LIMITS.head
}

/// The rows of all groups, thinnest first.
static LADDER: LazyLock<Vec<Rung>> = LazyLock::new(|| {
    let mut rungs: Vec<Rung> = (AMPACITY.group.iter())
        .flat_map(|group| {
            group.row.iter().map(|row| Rung {
                awg: row.awg,
                current_a: row.current_a,
                source: &group.source,
                checked: &group.checked,
            })
        })
        .collect();
    rungs.sort_by_key(|rung| -rung.awg);
    rungs
});

struct Rung {
    awg: i32,
    current_a: f64,
    source: &'static str,
    checked: &'static str,
}

static AMPACITY: LazyLock<Ampacity> = LazyLock::new(|| table!("ampacity"));
static CLASS_LIMITS: LazyLock<ClassLimits> = LazyLock::new(|| table!("class-limits"));

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Ampacity {
    head: Pedigree,
    group: Vec<AmpacityGroup>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AmpacityGroup {
    source: String,
    checked: String,
    row: Vec<AmpacityRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AmpacityRow {
    awg: i32,
    current_a: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ClassLimits {
    head: Pedigree,
    group: Vec<ClassGroup>,
    wet_contact: WetContact,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ClassGroup {
    kind: CurrentKind,
    source: String,
    checked: String,
    row: Vec<ClassRow>,
}

#[derive(Deserialize)]
struct ClassRow {
    class: u8,
    over_v: f64,
    through_v: f64,
    #[serde(flatten)]
    limit: NameplateLimit,
}

#[derive(Deserialize)]
enum NameplateLimit {
    #[serde(rename = "current_a")]
    Current(f64),
    #[serde(rename = "power_va")]
    Power(f64),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WetContact {
    ac: WetContactRow,
    dc: WetContactRow,
}

#[derive(Deserialize)]
struct WetContactRow {
    limit_v: f64,
    source: String,
}
