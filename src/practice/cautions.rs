//! The cautions that a site earns.

use crate::practice::code::cited;
use crate::practice::when::Sight;
use crate::site::Site;
use crate::tables;

/// One caution, ready to read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warned {
    /// Its code.
    pub code: &'static str,
    /// The words, with sections by the edition on file.
    pub words: String,
}

/// The cautions that a site earns by what stands in it, in the order of the table.
pub fn cautions(site: &Site) -> Vec<Warned> {
    let sight = Sight::of(site);
    let earned = tables::cautions().iter().filter(|c| sight.site_is(c.when));
    earned
        .map(|c| Warned {
            code: &c.code,
            words: cited(site, &c.words),
        })
        .collect()
}
