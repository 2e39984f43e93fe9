//! The table files behind a conductor's ohms, as they stand: numbers with the unit in the name.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Pedigree;

pub(super) static TABLE_8: LazyLock<Table8> = LazyLock::new(|| table!("nec-chapter9-table8"));
pub(super) static IEC_60228: LazyLock<Iec60228> = LazyLock::new(|| table!("iec-60228"));
pub(super) static MATERIALS: LazyLock<Materials> = LazyLock::new(|| table!("materials"));

#[derive(Deserialize)]
pub(super) struct Table8 {
    pub(super) head: Pedigree,
    pub(super) coefficient: Coefficient,
    pub(super) group: Vec<Table8Group>,
}

impl Table8 {
    pub(super) fn rows(&self) -> impl Iterator<Item = &Table8Row> {
        self.group.iter().flat_map(|group| &group.row)
    }
}

#[derive(Deserialize)]
pub(super) struct Coefficient {
    pub(super) copper_per_c: f64,
    pub(super) aluminum_per_c: f64,
}

#[derive(Deserialize)]
pub(super) struct Table8Group {
    pub(super) row: Vec<Table8Row>,
}

/// The columns in use; the file has the areas and the ohm/km columns besides, for the tests.
#[derive(Deserialize)]
pub(super) struct Table8Row {
    pub(super) awg: i32,
    pub(super) strands: u32,
    pub(super) copper_ohm_per_kft: f64,
    pub(super) coated_ohm_per_kft: f64,
    pub(super) aluminum_ohm_per_kft: f64,
}

#[derive(Deserialize)]
pub(super) struct Iec60228 {
    pub(super) head: Pedigree,
    pub(super) sizes: Iec60228Sizes,
}

#[derive(Deserialize)]
pub(super) struct Iec60228Sizes {
    pub(super) row: Vec<Iec60228Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Iec60228Row {
    pub(super) area_mm2: f64,
    pub(super) plain_ohm_per_km: f64,
    pub(super) coated_ohm_per_km: f64,
    pub(super) fine_plain_ohm_per_km: f64,
    pub(super) fine_coated_ohm_per_km: f64,
}

#[derive(Deserialize)]
pub(super) struct Materials {
    pub(super) head: Pedigree,
    pub(super) copper: Copper,
    pub(super) aluminum: OtherMetal,
    pub(super) copper_clad_aluminum: OtherMetal,
    pub(super) stranding: Factor,
    pub(super) tinning: Factor,
}

#[derive(Deserialize)]
pub(super) struct Copper {
    pub(super) conductivity_m_per_ohm_mm2: f64,
    pub(super) inferred_zero_c: f64,
}

#[derive(Deserialize)]
pub(super) struct OtherMetal {
    pub(super) of_copper: f64,
    pub(super) inferred_zero_c: f64,
}

#[derive(Deserialize)]
pub(super) struct Factor {
    pub(super) factor: f64,
}
