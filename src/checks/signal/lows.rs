//! The lows of every Wiegand line as they arrive, in every case and corner.

use crate::checks::signal::wiegand::sender_of;
use crate::checks::signal::{lines, wiegand_low};
use crate::checks::{Look, Low};
use crate::units::Measure;

/// Most volts that a receiver takes for a low, where it does not say.
const LOW_IN_V: f64 = 0.8;

/// The lines of a site.
pub(crate) fn lows(look: &Look<'_>) -> Vec<Low> {
    let all = lines(look, |run| run.carries.wiegand);
    let each = all.iter().map(|line| {
        let run = line.main(look, |run| run.wiegand.is_some());
        let stated = look.site.runs[run].wiegand.unwrap_or_default();
        let (sender, certain) = sender_of(look, line, &stated);
        let low = |row: &crate::results::Row| {
            let volts = |pair| Some(look.results.between(row, pair)?.base());
            let (volts, _) = wiegand_low(look, run, row, volts)?;
            Some((row.case, row.corner, volts))
        };
        Low {
            run,
            sender: line.ends[sender],
            certain,
            volts: look.whole_rows().filter_map(low).collect(),
            limit: stated.low_in.map_or(LOW_IN_V, Measure::base),
        }
    });
    each.collect()
}
