//! What a conductor is: its size, how it is built and what it is made of.

use std::fmt;

use serde::Deserialize;

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
