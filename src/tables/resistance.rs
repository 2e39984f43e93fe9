//! Ohms per length of a conductor, from its published row or from its area.

use uom::si::area::square_millimeter;
use uom::si::electrical_resistance::ohm;
use uom::si::length::{foot, kilometer, meter};
use uom::si::thermodynamic_temperature::degree_celsius;

use super::figures::{IEC_60228, MATERIALS, TABLE_8};
use super::{Material, Stranding};
use crate::units::{
    ElectricalResistance, Length, LinearResistance, Size, ThermodynamicTemperature,
};

/// Temperature of NEC Chapter 9 Table 8, in degrees Celsius.
const TABLE_8_C: f64 = 75.0;
/// Temperature of IEC 60228 and of the resistivities, in degrees Celsius.
const STANDARD_C: f64 = 20.0;

/// Resistance per length of one conductor, and how it was found.
#[derive(Clone, Debug, PartialEq)]
pub struct PerLength {
    /// At the temperature asked for.
    pub resistance: LinearResistance,
    /// The row or rule behind `reference`, with its figure, such as
    /// "NEC Chapter 9 Table 8, 18 AWG stranded, 7.95 ohm/kft at 75 C".
    pub source: String,
    /// Temperature of `reference`.
    pub at: ThermodynamicTemperature,
    /// As published or computed, before the change of temperature.
    pub reference: LinearResistance,
    /// How `resistance` follows from `reference`; T is the temperature asked for.
    pub formula: &'static str,
}

/// Returns the resistance per length of one conductor at a temperature; cheap, builds no text.
///
/// AWG 18 and larger have the row of NEC Chapter 9 Table 8 where there is one for the stranding
/// (fine counts as stranded), and its printed coefficients. Other gauges have their ASTM B258 area,
/// annealed copper's resistivity, 1.02 where stranded and 1.06 where tinned. A mm2 size has the
/// maximum of IEC 60228, or 1.02 times the resistivity over its area. Copper-clad aluminum is bare
/// copper's value over 0.63.
///
/// # Units
/// Any temperature over the conductor's inferred zero; the area must be over 0.
///
/// # Source
/// The `tables/` files nec-chapter9-table8, iec-60228 and materials.
pub fn ohms(
    gauge: Size,
    material: Material,
    stranding: Stranding,
    at: ThermodynamicTemperature,
) -> LinearResistance {
    reference(gauge, material, stranding).at(at)
}

/// Returns what [`ohms`] does, with its source and formula in words.
pub fn explain(
    gauge: Size,
    material: Material,
    stranding: Stranding,
    at: ThermodynamicTemperature,
) -> PerLength {
    let found = reference(gauge, material, stranding);
    PerLength {
        resistance: found.at(at),
        source: found.origin.describe(gauge, material, stranding),
        at: ThermodynamicTemperature::new::<degree_celsius>(found.at_c),
        reference: found.value,
        formula: found.law.formula(),
    }
}

/// Returns whether a published table has a row for this conductor, so that no area rule is needed.
///
/// Always true of copper-clad aluminum where it is true of bare copper; never true of a mm2 size in aluminum.
pub fn has_published_row(gauge: Size, material: Material, stranding: Stranding) -> bool {
    !matches!(
        reference(gauge, material, stranding).origin,
        Origin::Area { .. }
    )
}

/// Returns a stated resistance per length, known at `from`, at the temperature `to`.
///
/// R = Rref (K + T) / (K + Tref), T in degrees Celsius, with K of [`temperature_ratio`].
pub fn at_temperature(
    stated: LinearResistance,
    material: Material,
    from: ThermodynamicTemperature,
    to: ThermodynamicTemperature,
) -> LinearResistance {
    stated * temperature_ratio(material, from, to)
}

/// Returns the factor by which a conductor's resistance changes between two temperatures.
///
/// (K + T) / (K + Tref), with K 234.5 for copper and tinned copper, 228.1 for aluminum and 230 for
/// copper-clad aluminum, T in degrees Celsius.
///
/// # Source
/// NBS Handbook 100: resistance over temperature is a straight line through the inferred zero.
pub fn temperature_ratio(
    material: Material,
    from: ThermodynamicTemperature,
    to: ThermodynamicTemperature,
) -> f64 {
    let zero_c = inferred_zero_c(material);
    (to.get::<degree_celsius>() - zero_c) / (from.get::<degree_celsius>() - zero_c)
}

/// A resistance at its reference temperature, and how it changes from there.
struct Reference {
    value: LinearResistance,
    at_c: f64,
    law: Law,
    origin: Origin,
}

impl Reference {
    fn at(&self, temperature: ThermodynamicTemperature) -> LinearResistance {
        let t_c = temperature.get::<degree_celsius>();
        let factor = match self.law {
            Law::Printed(_, per_c) => 1.0 + per_c * (t_c - self.at_c),
            Law::Inferred(_, zero_c) => (t_c - zero_c) / (self.at_c - zero_c),
        };
        self.value * factor
    }
}

/// How resistance changes with temperature; the material gives the formula its words.
#[derive(Clone, Copy)]
enum Law {
    /// By the printed coefficient per degree about the reference temperature.
    Printed(Material, f64),
    /// By the straight line through the inferred zero in degrees Celsius.
    Inferred(Material, f64),
}

impl Law {
    fn of_inferred_zero(material: Material) -> Self {
        Law::Inferred(material, inferred_zero_c(material))
    }

    /// Texts of the tables' own numbers; a test holds the two together.
    fn formula(self) -> &'static str {
        match self {
            Law::Printed(Material::Aluminum, _) => "R = R75 (1 + 0.0033 (T - 75 C))",
            Law::Printed(..) => "R = R75 (1 + 0.00323 (T - 75 C))",
            Law::Inferred(Material::Aluminum, _) => "R = Rref (228.1 + T) / (228.1 + Tref)",
            Law::Inferred(Material::CopperCladAluminum, _) => "R = Rref (230 + T) / (230 + Tref)",
            Law::Inferred(..) => "R = Rref (234.5 + T) / (234.5 + Tref)",
        }
    }
}

/// Returns where a material's straight line of resistance meets nought, in degrees Celsius.
fn inferred_zero_c(material: Material) -> f64 {
    let m = &*MATERIALS;
    match material {
        Material::Copper | Material::TinnedCopper => m.copper.inferred_zero_c,
        Material::Aluminum => m.aluminum.inferred_zero_c,
        Material::CopperCladAluminum => m.copper_clad_aluminum.inferred_zero_c,
    }
}

/// Where a reference value comes from, with the figure as printed.
#[derive(Clone, Copy)]
enum Origin {
    Table8 { ohm_per_kft: f64 },
    Iec60228 { ohm_per_km: f64 },
    Area { tinned: bool, stranded: bool },
}

impl Origin {
    fn describe(self, gauge: Size, material: Material, stranding: Stranding) -> String {
        let m = &*MATERIALS;
        let mut text = match self {
            Origin::Table8 { ohm_per_kft } => format!(
                "NEC Chapter 9 Table 8, {gauge} {}{}, {ohm_per_kft} ohm/kft at 75 C",
                if stranding == Stranding::Solid {
                    "solid"
                } else {
                    "stranded"
                },
                column_name(material),
            ),
            Origin::Iec60228 { ohm_per_km } => format!(
                "IEC 60228, {gauge} class {}{}, {ohm_per_km} ohm/km at 20 C",
                class(stranding),
                column_name(material),
            ),
            Origin::Area { tinned, stranded } => area_rule(gauge, material, stranded, tinned),
        };
        if material == Material::CopperCladAluminum {
            text += &format!(
                ", / {} copper-clad (ASTM B566)",
                m.copper_clad_aluminum.of_copper
            );
        }
        text
    }
}

/// Returns the words for resistivity over area with the factors that were used.
fn area_rule(gauge: Size, material: Material, stranded: bool, tinned: bool) -> String {
    let m = &*MATERIALS;
    let mut rule = gauge.to_string();
    if let Size::Awg(_) = gauge {
        let area = gauge.area().get::<square_millimeter>();
        rule += &format!(", area {area:.4} mm2 by ASTM B258");
    }
    let conductivity = m.copper.conductivity_m_per_ohm_mm2;
    rule += &format!(", copper {conductivity} m/(ohm mm2) at 20 C (IEC 60028)");
    if material == Material::Aluminum {
        rule += &format!(" x {} for aluminum", m.aluminum.of_copper);
    }
    if stranded {
        rule += &format!(", ohms x {} stranding", m.stranding.factor);
    }
    if tinned {
        rule += &format!(", ohms x {} tinning", m.tinning.factor);
    }
    rule
}

/// Returns the words for the column that a material has in a table, empty for bare copper.
fn column_name(material: Material) -> &'static str {
    match material {
        Material::Copper | Material::CopperCladAluminum => "",
        Material::TinnedCopper => " coated",
        Material::Aluminum => " aluminum",
    }
}

/// Returns the class of IEC 60228 that a stranding is.
fn class(stranding: Stranding) -> u8 {
    match stranding {
        Stranding::Solid => 1,
        Stranding::Stranded => 2,
        Stranding::Fine => 5,
    }
}

fn reference(gauge: Size, material: Material, stranding: Stranding) -> Reference {
    if material == Material::CopperCladAluminum {
        let copper = reference(gauge, Material::Copper, stranding);
        return Reference {
            value: copper.value / MATERIALS.copper_clad_aluminum.of_copper,
            law: Law::of_inferred_zero(material),
            ..copper
        };
    }
    let row = match gauge {
        Size::Awg(n) => from_table_8(n, material, stranding),
        Size::Mm2(area_mm2) => from_iec_60228(area_mm2, material, stranding),
    };
    row.unwrap_or_else(|| from_area(gauge, material, stranding))
}

fn from_table_8(awg: i32, material: Material, stranding: Stranding) -> Option<Reference> {
    let table = &*TABLE_8;
    let solid = stranding == Stranding::Solid;
    let row = table
        .rows()
        .find(|row| row.awg == awg && (row.strands == 1) == solid)?;
    let (ohm_per_kft, per_c) = match material {
        Material::Aluminum => (row.aluminum_ohm_per_kft, table.coefficient.aluminum_per_c),
        Material::TinnedCopper => (row.coated_ohm_per_kft, table.coefficient.copper_per_c),
        Material::Copper | Material::CopperCladAluminum => {
            (row.copper_ohm_per_kft, table.coefficient.copper_per_c)
        }
    };
    Some(Reference {
        value: ElectricalResistance::new::<ohm>(ohm_per_kft) / Length::new::<foot>(1000.0),
        at_c: TABLE_8_C,
        law: Law::Printed(material, per_c),
        origin: Origin::Table8 { ohm_per_kft },
    })
}

fn from_iec_60228(area_mm2: f64, material: Material, stranding: Stranding) -> Option<Reference> {
    if material == Material::Aluminum {
        return None;
    }
    let row = (IEC_60228.sizes.row.iter())
        .find(|row| (row.area_mm2 - area_mm2).abs() <= 1e-9 * row.area_mm2)?;
    let ohm_per_km = match (material, stranding) {
        (Material::TinnedCopper, Stranding::Fine) => row.fine_coated_ohm_per_km,
        (Material::TinnedCopper, _) => row.coated_ohm_per_km,
        (_, Stranding::Fine) => row.fine_plain_ohm_per_km,
        _ => row.plain_ohm_per_km,
    };
    Some(Reference {
        value: ElectricalResistance::new::<ohm>(ohm_per_km) / Length::new::<kilometer>(1.0),
        at_c: STANDARD_C,
        law: Law::of_inferred_zero(material),
        origin: Origin::Iec60228 { ohm_per_km },
    })
}

/// Resistivity over area. A mm2 size has the stranding factor however it is built, and no tinning
/// factor: its nominal section is a name, not a measure.
fn from_area(gauge: Size, material: Material, stranding: Stranding) -> Reference {
    let m = &*MATERIALS;
    let (tinned, stranded) = match gauge {
        Size::Awg(_) => (
            material == Material::TinnedCopper,
            stranding != Stranding::Solid,
        ),
        Size::Mm2(_) => (false, true),
    };
    let mut conductivity = m.copper.conductivity_m_per_ohm_mm2;
    if material == Material::Aluminum {
        conductivity *= m.aluminum.of_copper;
    }
    let area_mm2 = gauge.area().get::<square_millimeter>();
    let strands = if stranded { m.stranding.factor } else { 1.0 };
    let tin = if tinned { m.tinning.factor } else { 1.0 };
    let ohm_per_m = strands * tin / (conductivity * area_mm2);
    Reference {
        value: ElectricalResistance::new::<ohm>(ohm_per_m) / Length::new::<meter>(1.0),
        at_c: STANDARD_C,
        law: Law::of_inferred_zero(material),
        origin: Origin::Area { tinned, stranded },
    }
}
