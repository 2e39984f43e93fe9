//! What a conductor is: its size, how it is built and what it is made of.

use std::fmt;

use serde::Deserialize;
use uom::si::area::square_millimeter;
use uom::si::length::millimeter;

use crate::units::{Area, Length};

/// The size of a conductor.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq)]
pub enum Gauge {
    /// American wire gauge; 1/0 is 0, 2/0 is -1, 3/0 is -2, 4/0 is -3.
    #[serde(rename = "awg")]
    Awg(i32),
    /// Nominal section in square millimetres, over 0.
    #[serde(rename = "mm2")]
    Mm2(f64),
}

impl Gauge {
    /// Returns the diameter of a solid wire of this size.
    ///
    /// # Source
    /// ASTM B258: d = 0.127 mm x 92^((36 - n) / 39) for gauge n; a mm2 size is taken as a full circle.
    pub fn diameter(self) -> Length {
        match self {
            Gauge::Awg(n) => {
                let steps = f64::from(36 - n) / 39.0;
                Length::new::<millimeter>(0.127 * 92_f64.powf(steps))
            }
            Gauge::Mm2(area) => {
                Length::new::<millimeter>((area * 4.0 / std::f64::consts::PI).sqrt())
            }
        }
    }

    /// Returns the metal area: of a gauge by the diameter rule of ASTM B258, else as nominal.
    pub fn area(self) -> Area {
        match self {
            Gauge::Awg(_) => {
                let d = self.diameter();
                d * d * std::f64::consts::FRAC_PI_4
            }
            Gauge::Mm2(area) => Area::new::<square_millimeter>(area),
        }
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Gauge::Awg(n) if *n <= 0 => write!(f, "{}/0 AWG", 1 - n),
            Gauge::Awg(n) => write!(f, "{n} AWG"),
            Gauge::Mm2(area) => write!(f, "{area} mm2"),
        }
    }
}

/// How a conductor is built.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq, Hash)]
#[serde(rename_all = "lowercase")]
pub enum Stranding {
    /// One wire; class 1.
    Solid,
    /// Several wires; class 2.
    Stranded,
    /// Many thin wires, flexible; class 5, and stranded where a table knows no finer kind.
    Fine,
}

impl Stranding {
    /// Every stranding, as a person is offered them.
    pub const ALL: [Stranding; 3] = [Stranding::Solid, Stranding::Stranded, Stranding::Fine];

    /// Returns the word of the site file.
    pub const fn as_str(self) -> &'static str {
        match self {
            Stranding::Solid => "solid",
            Stranding::Stranded => "stranded",
            Stranding::Fine => "fine",
        }
    }
}

impl fmt::Display for Stranding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

/// What a conductor is made of.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq, Hash)]
pub enum Material {
    /// Bare annealed copper.
    #[serde(rename = "copper")]
    Copper,
    /// Copper with a coat of tin.
    #[serde(rename = "tinned copper")]
    TinnedCopper,
    /// Aluminum under a skin of copper, a tenth of the volume.
    #[serde(rename = "copper-clad aluminum")]
    CopperCladAluminum,
    /// Conductor aluminum, 61 % of copper's conductivity.
    #[serde(rename = "aluminum")]
    Aluminum,
}

impl Material {
    /// Every material, as a person is offered them.
    pub const ALL: [Material; 4] = [
        Material::Copper,
        Material::TinnedCopper,
        Material::CopperCladAluminum,
        Material::Aluminum,
    ];

    /// Returns the words of the site file.
    pub const fn as_str(self) -> &'static str {
        match self {
            Material::Copper => "copper",
            Material::TinnedCopper => "tinned copper",
            Material::CopperCladAluminum => "copper-clad aluminum",
            Material::Aluminum => "aluminum",
        }
    }
}

impl fmt::Display for Material {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}
