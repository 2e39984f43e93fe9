//! The published figures: what a conductor's ohms are, what it may carry, what a typical device draws.
//!
//! The figures stand in the top-level `tables/` folder, one file a source, and are built into the
//! program. Each file opens with its [`Pedigree`]; a row is found by value, never by position.
//!
//! [`ohms`] is the plain number for the solver; [`explain`] is the same number with its source and
//! formula, for whoever wants to see the work.

/// The table of a file in `tables/`, as the build has put it into the program.
macro_rules! table {
    ($name:literal) => {
        $crate::tables::embedded(include_str!(concat!(env!("OUT_DIR"), "/", $name, ".json")))
    };
}

pub mod battery;
mod bundled;
mod catalog;
mod conductor;
mod figures;
mod limits;
mod poe;
mod practice;
mod raceway;
mod reactance;
mod resistance;
mod signal;
mod soil;

use serde::Deserialize;
use serde::de::DeserializeOwned;

pub use bundled::bundled_share;
pub use catalog::{
    CableRow, DeviceRow, StatedResistance, TypicalDraw, cable, cable_names, device, device_names,
};
pub use conductor::{Material, Stranding};
pub use limits::{
    ClassLimit, CurrentKind, Limit, PowerClass, ampacity, class_limit, wet_contact_limit,
};
pub use poe::{PoeClass, longest_channel, poe_class};
pub use practice::{Caution, EDITIONS, Of, Question, Section, When, cautions, questions, sections};
pub use raceway::{
    Cover, RacewayKind, fill_share, least_cover, raceway_inside, raceway_sizes, round_area,
};
pub use reactance::reactance;
pub use resistance::{
    PerLength, at_temperature, explain, has_published_row, ohms, temperature_ratio,
};

pub use signal::{BusLimits, WiegandTiming, bus_limits, wiegand_length, wiegand_timing};
pub use soil::{Soil, rod_ohms, soils};

/// Where the figures of one table file come from.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Pedigree {
    /// Document or documents.
    pub source: String,
    /// Edition or editions for which the figures stand; "none" for trade figures.
    pub edition: String,
    /// Table or section in the document; "none" for trade figures.
    pub table: String,
    /// What the figures hold for: temperature, kind of current, one conductor or more.
    pub conditions: String,
    /// How the figures were checked: "secondary copy seen", "from memory" or both, told apart.
    pub checked: String,
}

/// Returns every table file's name and pedigree, in the order of their names.
pub fn pedigrees() -> [(&'static str, &'static Pedigree); 20] {
    [
        ("ampacity.toml", limits::ampacity_pedigree()),
        ("batteries.toml", battery::batteries_pedigree()),
        ("bundled.toml", bundled::pedigree()),
        ("cables.toml", catalog::cables_pedigree()),
        ("cautions.toml", practice::cautions_pedigree()),
        ("class-limits.toml", limits::class_limits_pedigree()),
        ("code-sections.toml", practice::sections_pedigree()),
        ("cover.toml", raceway::cover_pedigree()),
        ("devices.toml", catalog::devices_pedigree()),
        ("iec-60228.toml", &figures::IEC_60228.head),
        ("ieee-485.toml", battery::ieee_485_pedigree()),
        ("materials.toml", &figures::MATERIALS.head),
        ("nec-chapter9-table8.toml", &figures::TABLE_8.head),
        ("nec-chapter9-table9.toml", reactance::pedigree()),
        ("poe.toml", poe::pedigree()),
        ("questions.toml", practice::questions_pedigree()),
        ("raceways.toml", raceway::raceways_pedigree()),
        ("sia-ac-01.toml", signal::wiegand_pedigree()),
        ("soil.toml", soil::pedigree()),
        ("tia-485.toml", signal::bus_pedigree()),
    ]
}

/// Reads an embedded table; tests load every file, so a broken one never ships.
fn embedded<T: DeserializeOwned>(text: &str) -> T {
    serde_json::from_str(text).expect("an embedded table reads, as the tests prove")
}
