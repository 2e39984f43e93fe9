//! What was read at once: readings of one case, or of one set.

use std::collections::HashMap;

use crate::results::Results;
use crate::site::Site;

/// Readings that belong together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moment {
    /// The set that they are of, where they say so.
    pub set: Option<u32>,
    /// The case, as an index into the cases of the results.
    pub case: Option<usize>,
    /// The readings, in file order.
    pub readings: Vec<usize>,
}

impl Moment {
    /// How a person calls it.
    pub fn name(&self, results: &Results) -> String {
        match (self.set, self.case) {
            (_, Some(case)) => format!("'{}'", results.cases[case].name),
            (Some(set), None) => format!("set {set}"),
            (None, None) => String::new(),
        }
    }
}

/// The moments of a site, in order of their first readings. A reading takes its case from its set
/// where it states none; one without case and set is of no moment.
pub(super) fn moments(site: &Site, results: &Results) -> Vec<Moment> {
    let cases = results.cases.iter().enumerate();
    let cases: HashMap<&str, usize> = cases.map(|(i, c)| (c.name.as_str(), i)).collect();
    let stated = site.readings.iter().map(|reading| {
        let name = reading.case.as_deref()?;
        cases.get(name).copied()
    });
    let stated: Vec<Option<usize>> = stated.collect();
    let mut of_set: HashMap<u32, usize> = HashMap::new();
    for (reading, case) in site.readings.iter().zip(&stated) {
        if let (Some(set), Some(case)) = (reading.set, case) {
            of_set.entry(set).or_insert(*case);
        }
    }
    let mut known: HashMap<(Option<u32>, Option<usize>), usize> = HashMap::new();
    let mut moments: Vec<Moment> = Vec::new();
    for (i, reading) in site.readings.iter().enumerate() {
        let set = reading.set;
        let case = stated[i].or_else(|| of_set.get(&set?).copied());
        if set.is_none() && case.is_none() {
            continue;
        }
        let moment = *known.entry((set, case)).or_insert_with(|| {
            moments.push(Moment {
                set,
                case,
                readings: Vec::new(),
            });
            moments.len() - 1
        });
        moments[moment].readings.push(i);
    }
    moments
}
