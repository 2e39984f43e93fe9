//! Reactance of building wire, where it is published.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Pedigree;
use crate::units::{LinearResistance, Measure, Size};

static TABLE_9: LazyLock<Table9> = LazyLock::new(|| table!("nec-chapter9-table9"));

const METRES_PER_KFT: f64 = 304.8;

#[derive(Deserialize)]
struct Table9 {
    head: Pedigree,
    reactance: Rows,
}

#[derive(Deserialize)]
struct Rows {
    row: Vec<Row>,
}

/// The column in use; the file has that of steel conduit besides.
#[derive(Deserialize)]
struct Row {
    awg: i32,
    pvc_ohm_per_kft: f64,
}

/// Returns the reactance of one conductor of a gauge at 60 Hz, or none for one without a row.
///
/// # Source
/// NEC Chapter 9 Table 9, PVC or aluminum conduit.
pub fn reactance(size: Size) -> Option<LinearResistance> {
    let Size::Awg(gauge) = size else {
        return None;
    };
    let row = TABLE_9.reactance.row.iter().find(|row| row.awg == gauge)?;
    Some(LinearResistance::from_base(
        row.pvc_ohm_per_kft / METRES_PER_KFT,
    ))
}

pub(super) fn pedigree() -> &'static Pedigree {
    &TABLE_9.head
}
