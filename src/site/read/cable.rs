//! Cables: the site's own, the built-in ones, and names made of gauge and count.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, nearest, quantity_of, text_of};
use crate::site::model::Cable;
use crate::site::read::Body;
use crate::tables::{self, Material, Stranding};
use crate::units::{self, Length, Measure, Size, ThermodynamicTemperature};

const STRANDINGS: [Stranding; 3] = [Stranding::Solid, Stranding::Stranded, Stranding::Fine];
const MATERIALS: [Material; 4] = [
    Material::Copper,
    Material::TinnedCopper,
    Material::CopperCladAluminum,
    Material::Aluminum,
];

/// Reads `[cable.X]`.
pub(crate) fn own(body: &Body<'_, '_>, mistakes: &mut Mistakes) -> Option<Cable> {
    let form = Form::new(body.table, body.title.clone(), fields::CABLE, mistakes);
    // Cables in one jacket have their own sizes.
    let is_jacket = form.entry("parts").is_some();
    for (key, example) in [("size", "\"18 AWG\""), ("conductors", "2")] {
        if form.entry(key).is_none() && !is_jacket {
            form.missing(key, example, mistakes);
        }
    }
    let size = form.read_with("size", mistakes, units::read_size);
    let conductors = form.count("conductors", (1, 100), mistakes);
    let stranding = form.choice("stranding", fields::STRANDINGS, mistakes);
    let material = form.choice("material", fields::MATERIALS, mistakes);
    let resistance_at = form.quantity("resistance_at", mistakes);
    let mut cable = plain(body.name, Size::Awg(18), 1);
    cable.stranding = stranding.map_or(Stranding::Stranded, |i| STRANDINGS[i]);
    cable.material = material.map_or(Material::Copper, |i| MATERIALS[i]);
    cable.shielded = form.flag("shielded", mistakes).unwrap_or(false);
    cable.resistance = form.quantity("resistance", mistakes);
    cable.resistance_at = resistance_at.unwrap_or(cable.resistance_at);
    cable.reactance = form.quantity("reactance", mistakes);
    cable.current = form.quantity("current", mistakes);
    cable.capacitance = form.quantity("capacitance", mistakes);
    cable.diameter = form.quantity("diameter", mistakes);
    cable.rated = words(&form, "rated", mistakes);
    cable.price = form.quantity("price", mistakes);
    let matters = [
        ("material", true),
        ("stranding", cable.resistance.is_none()),
        ("resistance_at", cable.resistance.is_some()),
    ];
    cable.silent = matters
        .iter()
        .filter(|(k, m)| *m && form.entry(k).is_none())
        .map(|(k, _)| *k)
        .collect();
    cable.spools = lengths(&form, "spools", mistakes);
    cable.colours = words(&form, "colours", mistakes).unwrap_or_default();
    if !is_jacket {
        cable.size = size?;
        cable.conductors = conductors?;
    }
    Some(cable)
}

fn lengths(form: &Form<'_, '_>, key: &str, mistakes: &mut Mistakes) -> Vec<Length> {
    let values = form.many(key).unwrap_or_default();
    values
        .into_iter()
        .filter_map(|v| quantity_of::<Length>(v, key, mistakes))
        .filter(|length| length.base() > 0.0)
        .collect()
}

fn words(form: &Form<'_, '_>, key: &str, mistakes: &mut Mistakes) -> Option<Vec<String>> {
    let values = form.many(key)?;
    let words = values.iter().filter_map(|v| text_of(v, key, mistakes));
    Some(words.map(str::to_owned).collect())
}

/// A cable of stranded bare copper without a shield.
fn plain(name: &str, size: Size, conductors: u32) -> Cable {
    Cable {
        name: name.to_owned(),
        size,
        conductors,
        stranding: Stranding::Stranded,
        material: Material::Copper,
        shielded: false,
        resistance: None,
        resistance_at: ThermodynamicTemperature::from_base(293.15),
        reactance: None,
        current: None,
        capacitance: None,
        diameter: None,
        rated: None,
        price: None,
        elements: Vec::new(),
        spools: Vec::new(),
        colours: Vec::new(),
        silent: Vec::new(),
    }
}

/// A built-in cable: a row of the cable table, or a name as `18/2`, `1.5mm2/2`, `24/8 solid`.
///
/// # Errors
/// What is wrong with the name, in words.
pub(crate) fn builtin(name: &str) -> Result<Cable, String> {
    if let Some(row) = tables::cable(name) {
        let mut cable = plain(name, row.gauge, row.conductors);
        cable.stranding = row.stranding;
        cable.material = row.material;
        cable.shielded = row.shielded;
        cable.capacitance = row.capacitance;
        cable.rated = Some(row.rated.clone());
        if let Some(stated) = &row.resistance {
            cable.resistance = Some(stated.per_length);
            cable.resistance_at = stated.at;
        }
        return Ok(cable);
    }
    by_gauge(name)
}

/// What may follow a gauge and a count.
const WORDS: [&str; 4] = ["solid", "fine", "tinned", "shielded"];

fn by_gauge(name: &str) -> Result<Cable, String> {
    let unknown = || format!("there is no cable '{name}'");
    let (gauge, rest) = name.rsplit_once('/').ok_or_else(unknown)?;
    let mut words = rest.split_whitespace();
    let count = words.next().ok_or_else(unknown)?;
    let conductors: u32 = count.parse().map_err(|_| unknown())?;
    if !(1..=100).contains(&conductors) {
        return Err(format!(
            "cable '{name}' has {count} conductors, not 1 to 100"
        ));
    }
    let gauge = gauge.trim();
    // The 0 of 1/0 to 4/0 says that it is a gauge, as a whole number does.
    let bare = gauge.strip_suffix("/0").unwrap_or(gauge);
    let size = match bare.parse::<u32>() {
        Ok(_) => units::read_size(&format!("{gauge} AWG")),
        Err(_) => units::read_size(gauge),
    }
    .map_err(|error| format!("cable '{name}': {error}"))?;
    let mut cable = plain(name, size, conductors);
    for word in words {
        match word {
            "solid" => cable.stranding = Stranding::Solid,
            "fine" => cable.stranding = Stranding::Fine,
            "tinned" => cable.material = Material::TinnedCopper,
            "shielded" => cable.shielded = true,
            _ => {
                let meant = nearest(word, WORDS)
                    .map_or_else(String::new, |word| format!("; did you mean '{word}'?"));
                return Err(format!(
                    "cable '{name}': '{word}' is none of {}{meant}",
                    WORDS.join(", ")
                ));
            }
        }
    }
    Ok(cable)
}
