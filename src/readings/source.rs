//! A supply as its own volts and amps show it: the volts that it has without load, and how far it
//! sags.

use crate::readings::Estimate;
use crate::readings::bench::{Bench, Read};
use crate::readings::error::is_beyond;
use crate::readings::fit::{Line, Point};
use crate::results::Row;
use crate::site::End;
use crate::units::{ElectricCurrent, ElectricPotential, ElectricalResistance, Measure};

/// What the readings say of a supply.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceOhms {
    /// The supply.
    pub supply: usize,
    /// Amps that it gave and volts that it had.
    pub points: Vec<(ElectricCurrent, ElectricPotential)>,
    /// Volts without load.
    pub volts: Estimate<ElectricPotential>,
    /// Ohms of the source.
    pub ohms: Estimate<ElectricalResistance>,
    /// Both are as drawn.
    pub agrees: bool,
}

/// Every supply whose volts were read at two currents or more.
pub(super) fn sources(bench: &Bench<'_>) -> Vec<SourceOhms> {
    (0..bench.site.supplies.len())
        .filter_map(|supply| source(bench, supply))
        .collect()
}

fn source(bench: &Bench<'_>, supply: usize) -> Option<SourceOhms> {
    let own = &bench.site.supplies[supply];
    // With angles the volts lost in a source do not add to those at its terminals.
    let angled = |m: usize| bench.some_row(m).is_some_and(Row::has_angles);
    if (0..bench.moments.len()).any(angled) {
        return None;
    }
    let pair = bench.results.template.terminals.pair(End::Supply(supply));
    let read = |moment| -> Option<(Read, Read)> {
        let volts = bench.volts(moment, pair)?;
        Some((bench.given(moment, supply)?, volts))
    };
    let taken: Vec<(Read, Read)> = (0..bench.moments.len()).filter_map(read).collect();
    let points = |ohm: f64| -> Vec<Point> {
        let all = taken.iter().map(|(amps, volts)| Point {
            amps_a: amps.value.abs(),
            volts_v: volts.value,
            u_v: volts.error.digits.hypot(ohm * amps.error.digits).max(1e-9),
        });
        all.collect()
    };
    let first = Line::of(&points(0.0))?;
    let line = Line::of(&points(first.ohm))?;
    // The share by which a meter is off is in all volts alike, and in their slope.
    let share = |of: fn(&(Read, Read)) -> f64| taken.iter().map(of).fold(0.0, f64::max);
    let (volts_share, amps_share) = (share(|t| t.1.error.share), share(|t| t.0.error.share));
    let ohm = -line.ohm;
    let u_ohm = line.u_ohm.hypot(ohm * volts_share.hypot(amps_share));
    let u_v = line.u_v.hypot(line.volts_v * volts_share);
    // Volts that rise with the amps are no source, but readings of different hours.
    if ohm < 0.0 && is_beyond(ohm, u_ohm) {
        return None;
    }
    let drawn = own.resistance.map_or(0.0, Measure::base);
    let agrees =
        !is_beyond(ohm - drawn, u_ohm) && !is_beyond(line.volts_v - own.voltage.base(), u_v);
    Some(SourceOhms {
        supply,
        points: (taken.iter())
            .map(|(amps, volts)| {
                (
                    ElectricCurrent::from_base(amps.value.abs()),
                    ElectricPotential::from_base(volts.value),
                )
            })
            .collect(),
        volts: Estimate::of(line.volts_v, u_v),
        ohms: Estimate::of(ohm.max(0.0), u_ohm),
        agrees,
    })
}
