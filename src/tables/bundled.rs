//! What conductors that lie together may carry of what each may alone.

use std::sync::LazyLock;

use serde::Deserialize;
use uom::si::ratio::percent;

use super::Pedigree;
use crate::units::Ratio;

/// The share of its limit that each of so many current-carrying conductors together may carry;
/// none up to three.
///
/// # Source
/// NEC Table 310.15(C)(1), up to 2017 310.15(B)(3)(a), secondary copies seen.
pub fn bundled_share(conductors: u32) -> Option<Ratio> {
    let rows = &BUNDLED.row;
    let row = rows
        .iter()
        .find(|row| (row.least..=row.most).contains(&conductors))?;
    Some(Ratio::new::<percent>(row.percent))
}

pub(super) fn pedigree() -> &'static Pedigree {
    &BUNDLED.head
}

static BUNDLED: LazyLock<Bundled> = LazyLock::new(|| table!("bundled"));

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Bundled {
    head: Pedigree,
    row: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    least: u32,
    most: u32,
    percent: f64,
}
