//! Invented sites of any size: a supply for every twenty devices; constant current, power,
//! resistance and labels in turn.

use std::fmt::{Display, Write as _};
use std::str::FromStr;

/// Devices of one supply.
const FAMILY: usize = 20;
/// Draws in turn; none of them inrushes.
const DRAWS: [&str; 4] = [
    "{ idle = \"20 mA\", active = \"45 mA\" }",
    "{ idle = \"0.5 W\", active = \"1.1 W\" }",
    "{ idle = \"900 ohm\", active = \"480 ohm\" }",
    "{ idle = \"off\", active = \"0.05 A at 24 V\" }",
];

/// How the devices hang together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shape {
    /// Each supply on its own, every three devices on the one before them.
    Tree,
    /// The same, and for every twenty devices one run more, to a device of the next supply.
    Mesh,
    /// One supply, and a run of its own to every device.
    Homes,
}

impl Display for Shape {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Tree => "tree",
            Self::Mesh => "mesh",
            Self::Homes => "homes",
        })
    }
}

impl FromStr for Shape {
    type Err = String;

    fn from_str(name: &str) -> Result<Self, String> {
        [Self::Tree, Self::Mesh, Self::Homes]
            .into_iter()
            .find(|shape| shape.to_string() == name)
            .ok_or_else(|| format!("no shape is called '{name}'"))
    }
}

/// The text of a site of a shape with so many devices.
pub(crate) fn text(shape: Shape, devices: usize) -> String {
    let mut text =
        String::from("format = 1\n# Invented.\n[site]\nname = \"Many\"\nunits = \"us\"\n");
    for i in 0..devices {
        let (family, k) = (i / FAMILY, i % FAMILY);
        let homes = shape == Shape::Homes;
        if k == 0 && (i == 0 || !homes) {
            let ohms = if homes { "1 mohm" } else { "0.2 ohm" };
            put(
                &mut text,
                format_args!(
                    "[supply.S{family}]\nvoltage = \"24 V\"\ntolerance = \"5 %\"\nresistance = \"{ohms}\"\ncurrent = \"2 A\"\n"
                ),
            );
        }
        let from = match k {
            _ if homes => "S0".to_owned(),
            0 => format!("S{family}"),
            _ => format!("D{}", family * FAMILY + (k - 1) / 3),
        };
        let draw = DRAWS[i % DRAWS.len()];
        put(
            &mut text,
            format_args!(
                "[device.D{i}]\nkind = \"sensor\"\nlowest = \"18 V\"\nhighest = \"27 V\"\ndraw = {draw}\n"
            ),
        );
        run(&mut text, ('W', i), &from, &format!("D{i}"));
        if shape == Shape::Mesh && k == FAMILY - 1 && i + FAMILY < devices {
            run(
                &mut text,
                ('X', i),
                &format!("D{i}"),
                &format!("D{}", i + FAMILY),
            );
        }
    }
    text
}

fn run(text: &mut String, (letter, i): (char, usize), from: &str, to: &str) {
    let feet = 10 + i % 37;
    put(
        text,
        format_args!(
            "[run.{letter}{i}]\nfrom = \"{from}\"\nto = \"{to}\"\ncable = \"18/2\"\nlength = \"{feet} ft\"\n"
        ),
    );
}

fn put(text: &mut String, part: std::fmt::Arguments<'_>) {
    // Writing to a String cannot fail.
    let _ = text.write_fmt(part);
}
