//! The battery of a supply and its panel, with typical figures where the file is silent.

use std::fmt::Display;

use crate::site::fields;
use crate::site::form::{Form, Mistakes, listed, nearest};
use crate::site::model::{Battery, Chemistry, PostFuse, Solar, Supply, SupplyKind, Thing};
use crate::site::read::Names;
use crate::site::read::supply::in_order;
use crate::tables::battery as typical;
use crate::units::{
    self, Draw, ElectricCharge, ElectricCurrent, ElectricPotential, Measure, Ratio,
    ThermodynamicTemperature, Time, VoltsPerDegree, spell,
};

/// Most cells of a battery.
const MOST_CELLS: u32 = 400;

/// Keys that were silent, and what they were taken for.
type Filled = Vec<(&'static str, String)>;

/// Reads `[supply.X.battery]` and `[supply.X.solar]` into their supply.
pub(crate) fn battery(
    form: &Form<'_, '_>,
    supply: &mut Supply,
    names: &Names,
    mistakes: &mut Mistakes,
) {
    if let Some(table) = form.table("battery", mistakes) {
        let own = Form::new(
            table,
            format!("{}.battery", form.title),
            fields::BATTERY,
            mistakes,
        );
        if supply.kind == SupplyKind::Ac {
            mistakes
                .add(&own.table.place, "a battery stands at an ac supply")
                .allow("write the battery as a dc supply of its own, fed_by what charges it");
        }
        supply.battery = of_form(&own, supply, names, mistakes);
    }
    if let Some(table) = form.table("solar", mistakes) {
        let own = Form::new(
            table,
            format!("{}.solar", form.title),
            fields::SOLAR,
            mistakes,
        );
        supply.solar = Some(solar(&own, mistakes));
    }
}

fn of_form(
    form: &Form<'_, '_>,
    supply: &Supply,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<Battery> {
    let mut filled = Filled::new();
    let kind = kind(form, supply, &mut filled, mistakes);
    let capacity: Option<ElectricCharge> = over_zero(form, "capacity", mistakes);
    let rate = over_zero(form, "rate", mistakes).unwrap_or_else(|| {
        let usual = Time::from_base(20.0 * 3600.0);
        fill(&mut filled, "battery.rate", "20 h", usual)
    });
    let coldest = form.quantity("coldest", mistakes).unwrap_or_else(|| {
        let warm = ThermodynamicTemperature::from_base(298.15);
        fill(&mut filled, "battery.coldest", "25 C", warm)
    });
    let [cold_capacity, aged, usable] = shares(form, kind.lead, coldest, &mut filled, mistakes);
    let peukert = form.number("peukert", (1.0, 2.0), mistakes);
    let peukert = peukert.unwrap_or_else(|| {
        let exponent = if kind.lead { typical::peukert() } else { 1.0 };
        let text = format!("{exponent:.3}");
        fill(&mut filled, "battery.peukert", text, exponent)
    });
    let (full, empty) = rest_volts(form, &kind, &mut filled, mistakes);
    let stated = form.quantity("resistance", mistakes);
    let charge = form.quantity("charge", mistakes);
    let read = Battery {
        chemistry: kind.chemistry,
        capacity: ElectricCharge::from_base(0.0),
        rate,
        cells: kind.cells,
        coldest,
        cold_capacity,
        aged,
        usable,
        peukert,
        full,
        empty,
        resistance: Measure::from_base(0.0),
        disconnect: form.quantity("disconnect", mistakes),
        reconnect: form.quantity("reconnect", mistakes),
        charge,
        charge_slope: slope(form, &kind, charge.is_some(), &mut filled, mistakes),
        fuse: post_fuse(form, names, mistakes),
        hours: form.quantity("hours", mistakes),
        filled: Filled::new(),
    };
    let capacity = capacity?;
    let resistance = stated.unwrap_or_else(|| {
        let ohms = if kind.lead {
            typical::resistance(capacity, kind.cells)
        } else {
            Measure::from_base(0.0)
        };
        let text = units::show(ohms, units::System::Si);
        fill(&mut filled, "battery.resistance", text, ohms)
    });
    Some(Battery {
        capacity,
        resistance,
        filled,
        ..read
    })
}

/// What typical figures go by.
struct Kind {
    chemistry: Chemistry,
    /// Lead-acid: only for it there are any.
    lead: bool,
    cells: u32,
    voltage: ElectricPotential,
}

fn kind(
    form: &Form<'_, '_>,
    supply: &Supply,
    filled: &mut Filled,
    mistakes: &mut Mistakes,
) -> Kind {
    let chemistry = match form.choice("chemistry", fields::CHEMISTRIES, mistakes) {
        Some(1) => Chemistry::LithiumIronPhosphate,
        Some(2) => Chemistry::Other,
        Some(_) => Chemistry::LeadAcid,
        None => fill(
            filled,
            "battery.chemistry",
            fields::CHEMISTRIES[0],
            Chemistry::LeadAcid,
        ),
    };
    let lead = chemistry == Chemistry::LeadAcid;
    let cells = form.count("cells", (1, MOST_CELLS), mistakes);
    let cells = cells.unwrap_or_else(|| {
        let likely = likely_cells(supply.voltage);
        if lead {
            fill(filled, "battery.cells", likely, likely)
        } else {
            likely
        }
    });
    Kind {
        chemistry,
        lead,
        cells,
        voltage: supply.voltage,
    }
}

/// What is left in the cold, when old, and what of it may be drawn.
fn shares(
    form: &Form<'_, '_>,
    lead: bool,
    coldest: ThermodynamicTemperature,
    filled: &mut Filled,
    mistakes: &mut Mistakes,
) -> [Ratio; 3] {
    let whole = Ratio::from_base(1.0);
    let cold = if lead {
        typical::cold_capacity(coldest)
    } else {
        whole
    };
    [
        ("cold_capacity", "battery.cold_capacity", cold, 1.5),
        ("aged", "battery.aged", typical::aged(), 1.0),
        ("usable", "battery.usable", whole, 1.0),
    ]
    .map(|(key, name, silent, most)| {
        let stated = share(form, key, most, mistakes);
        stated.unwrap_or_else(|| fill(filled, name, units::percent(silent, 1), silent))
    })
}

/// Notes that a key was silent, and gives back what it was taken for.
fn fill<T>(filled: &mut Filled, key: &'static str, text: impl Display, value: T) -> T {
    filled.push((key, text.to_string()));
    value
}

/// Cells of lead-acid for the volts of a supply: blocks of six, or one of three.
fn likely_cells(voltage: ElectricPotential) -> u32 {
    let block = 13.0;
    let blocks = (1..=MOST_CELLS / 6).min_by(|a, b| {
        let off = |n: &u32| (f64::from(*n) * block - voltage.base()).abs();
        off(a).total_cmp(&off(b))
    });
    if voltage.base() < 9.0 {
        3
    } else {
        blocks.unwrap_or(1) * 6
    }
}

fn rest_volts(
    form: &Form<'_, '_>,
    kind: &Kind,
    filled: &mut Filled,
    mistakes: &mut Mistakes,
) -> (ElectricPotential, ElectricPotential) {
    let cell = typical::cell();
    let mut rest = |key, name, of_cell: ElectricPotential| {
        let stated: Option<ElectricPotential> = over_zero(form, key, mistakes);
        stated.unwrap_or_else(|| {
            let volts = if kind.lead {
                of_cell * f64::from(kind.cells)
            } else {
                kind.voltage
            };
            // A typical figure: three digits after the point are more than it has.
            let volts = ElectricPotential::from_base((volts.base() * 1e3).round() / 1e3);
            fill(filled, name, spell(volts, "V"), volts)
        })
    };
    let full = rest("full", "battery.full", cell.full);
    let empty = rest("empty", "battery.empty", cell.empty);
    in_order(form, ("empty", Some(empty)), ("full", Some(full)), mistakes);
    (full, empty)
}

/// Rise of the charge volts: of the whole battery, or `/cell`.
fn slope(
    form: &Form<'_, '_>,
    kind: &Kind,
    asked: bool,
    filled: &mut Filled,
    mistakes: &mut Mistakes,
) -> VoltsPerDegree {
    let stated = form.read_with("charge_slope", mistakes, |text| {
        match text.trim().strip_suffix("/cell") {
            Some(one) => units::read::<VoltsPerDegree>(one)
                .map(|slope| VoltsPerDegree::from_base(slope.base() * f64::from(kind.cells))),
            None => units::read(text),
        }
    });
    stated.unwrap_or_else(|| {
        let of_cell = if kind.lead {
            typical::cell().charge_slope.base()
        } else {
            0.0
        };
        let slope = VoltsPerDegree::from_base(of_cell * f64::from(kind.cells));
        if asked {
            fill(
                filled,
                "battery.charge_slope",
                units::show(slope, units::System::Si),
                slope,
            )
        } else {
            slope
        }
    })
}

/// The fuse at the post: a fuse of the site, a rating, or `none`.
fn post_fuse(form: &Form<'_, '_>, names: &Names, mistakes: &mut Mistakes) -> Option<PostFuse> {
    let (text, place) = form.placed("fuse", mistakes)?;
    if let Some(Thing::Fuse(i)) = names.things.get(text) {
        return Some(PostFuse::Named(*i));
    }
    if text == "none" {
        return Some(PostFuse::None);
    }
    if let Ok(amps) = units::read::<ElectricCurrent>(text) {
        return Some(PostFuse::Rated(amps));
    }
    let fuses = || {
        let all = names.things.iter();
        let mut found: Vec<&str> = all
            .filter(|(_, thing)| matches!(thing, Thing::Fuse(_)))
            .map(|(name, _)| name.as_str())
            .collect();
        found.sort_unstable();
        found
    };
    mistakes
        .add(&place, format!("'fuse' is '{text}'"))
        .allow("its amps, as \"10 A\", the name of a fuse of this file, or \"none\"")
        .allow(if fuses().is_empty() {
            "there is no fuse in this file".to_owned()
        } else {
            format!("fuses: {}", listed(fuses()))
        })
        .suggest(nearest(text, fuses()));
    None
}

fn solar(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Solar {
    let mut filled = Filled::new();
    let usual = typical::sun();
    let efficiency = share(form, "efficiency", 1.0, mistakes).unwrap_or_else(|| {
        let text = units::percent(usual.efficiency, 0);
        fill(&mut filled, "solar.efficiency", text, usual.efficiency)
    });
    let controller = form.read_with("controller_draw", mistakes, units::read_draw);
    let dark_days = form.number("dark_days", (0.0, 365.0), mistakes);
    Solar {
        panel: over_zero(form, "panel", mistakes),
        sun: over_zero(form, "sun", mistakes),
        efficiency,
        controller_draw: controller
            .unwrap_or_else(|| fill(&mut filled, "solar.controller_draw", "0 A", Draw::Off)),
        dark_days: dark_days.unwrap_or_else(|| {
            fill(
                &mut filled,
                "solar.dark_days",
                usual.dark_days,
                usual.dark_days,
            )
        }),
        filled,
    }
}

/// A value of which zero makes no sense.
fn over_zero<Q: Measure>(form: &Form<'_, '_>, key: &str, mistakes: &mut Mistakes) -> Option<Q> {
    let found: Q = form.quantity(key, mistakes)?;
    if found.base() > 0.0 {
        return Some(found);
    }
    let place = form.entry(key).and_then(|e| e.value.place.clone());
    mistakes
        .add(&place, format!("'{key}' is zero"))
        .allow("more than zero");
    None
}

/// A share over 0, up to `most`.
fn share(form: &Form<'_, '_>, key: &str, most: f64, mistakes: &mut Mistakes) -> Option<Ratio> {
    let found: Ratio = over_zero(form, key, mistakes)?;
    if found.base() <= most {
        return Some(found);
    }
    let place = form.entry(key).and_then(|e| e.value.place.clone());
    mistakes
        .add(&place, format!("'{key}' is over {:.0} %", most * 100.0))
        .allow(format!("up to {:.0} %", most * 100.0));
    None
}
