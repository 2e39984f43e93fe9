//! Lines for what goes around the cable: raceways by the length; clamps at coils, resistors of
//! loops and buses and surge parts by the piece.

use std::collections::BTreeMap;

use super::Line;
use super::bill::rounded;
use crate::site::{Clamp, Raceway, Site};
use crate::units::{ElectricalResistance, Length, Measure, PricePerLength, System, spell};

/// Raceways of a stated length, one line a type and price; small parts, one line a kind.
pub(super) fn lines(site: &Site) -> Vec<Line> {
    let mut parts = Counted::default();
    clamps(site, &mut parts);
    resistors(site, &mut parts);
    surge_parts(site, &mut parts);
    raceways(site).into_iter().chain(parts.lines()).collect()
}

fn item(raceway: &Raceway) -> String {
    let words = [raceway.kind.map(|k| k.as_str()), raceway.size.as_deref()];
    let words: Vec<&str> = words.into_iter().flatten().collect();
    if words.is_empty() {
        format!("raceway {}", raceway.name)
    } else {
        format!("raceway {}", words.join(" "))
    }
}

fn raceways(site: &Site) -> Vec<Line> {
    let (unit, metres) = match site.units {
        System::Us => ("ft", 0.3048),
        System::Si => ("m", 1.0),
    };
    let mut lines: Vec<Line> = Vec::new();
    for raceway in &site.raceways {
        let Some(length) = raceway.length else {
            continue;
        };
        let price = raceway
            .price
            .map(|p: PricePerLength| rounded(p.of(Length::from_base(metres))));
        let (item, count) = (item(raceway), length.base() / metres);
        match lines
            .iter_mut()
            .find(|l| l.item == item && l.price == price)
        {
            Some(line) => {
                line.count = rounded(line.count + count);
                line.why += &format!(", {}", raceway.name);
            }
            None => lines.push(Line {
                item,
                place: None,
                count: rounded(count),
                unit,
                price,
                hours: None,
                why: format!("length as stated, without waste: {}", raceway.name),
            }),
        }
    }
    lines
}

/// Small parts that are counted: an item, and where each of it goes.
#[derive(Default)]
struct Counted(BTreeMap<String, Vec<String>>);

impl Counted {
    fn add(&mut self, item: String, at: String) {
        self.0.entry(item).or_default().push(at);
    }

    fn lines(self) -> impl Iterator<Item = Line> {
        self.0.into_iter().map(|(item, places)| Line {
            item,
            place: None,
            count: places.iter().map(|_| 1.0).sum(),
            unit: "each",
            price: None,
            hours: None,
            why: places.join(", "),
        })
    }
}

fn clamps(site: &Site, parts: &mut Counted) {
    for device in &site.devices {
        let word = match device.coil.clamp {
            Some(Clamp::Diode) => "diode",
            Some(Clamp::DiodeAndZener) => "diode and zener",
            Some(Clamp::Varistor) => "varistor",
            Some(Clamp::TwoWay) => "two-way",
            Some(Clamp::Rc) => "rc",
            Some(Clamp::None | Clamp::Unknown) | None => continue,
        };
        parts.add(format!("clamp, {word}"), format!("coil of {}", device.name));
    }
}

/// End and trip resistors of loops, terminators and bias of buses, as stated.
fn resistors(site: &Site, parts: &mut Counted) {
    let mut add = |ohms: Option<ElectricalResistance>, at: String| {
        if let Some(ohms) = ohms {
            parts.add(format!("resistor, {}", spell(ohms, "ohm")), at);
        }
    };
    for run in &site.runs {
        if let Some(input) = &run.input_loop {
            add(input.end, format!("end of {}", run.name));
            add(input.trip, format!("trip of {}", run.name));
        }
    }
    for bus in &site.buses {
        for device in bus.terminators.iter().flatten() {
            let at = format!("terminator at {}", site.devices[*device].name);
            add(bus.terminator, at);
        }
        for _ in 0..2 {
            add(bus.bias, format!("bias of {}", bus.name));
        }
    }
}

fn surge_parts(site: &Site, parts: &mut Counted) {
    for surge in &site.surges {
        let item = match surge.working {
            Some(volts) => format!("surge part, {} working", spell(volts, "V")),
            None => "surge part".to_owned(),
        };
        let line = &site.runs[surge.line].name;
        parts.add(item, format!("{} on {line}", surge.name));
    }
}

#[cfg(test)]
mod tests {
    use crate::site;
    use crate::takeoff::TakeOff;

    #[test]
    fn raceways_and_clamps_have_their_lines() {
        let text = "format = 1
[site]
units = \"us\"
[raceway.T1]
kind = \"pvc 40\"
size = \"3/4\"
length = \"60 ft\"
price = \"0.80 /ft\"
[raceway.T2]
kind = \"pvc 40\"
size = \"3/4 in\"
length = \"40 ft\"
price = \"0.80 /ft\"
[raceway.T3]
inside = \"1 in\"
[device.a]
clamp = \"diode\"
[device.b]
clamp = \"diode\"
[device.c]
clamp = \"none\"
";
        let site = site::read(text).unwrap();
        let lines = TakeOff::of(&site).lines;
        let line = |item: &str| lines.iter().find(|l| l.item == item);
        let raceway = line("raceway pvc 40 3/4").unwrap();
        assert!((raceway.count - 100.0).abs() < 1e-9 && raceway.unit == "ft");
        assert!((raceway.cost().unwrap() - 80.0).abs() < 1e-9);
        assert!(raceway.why.ends_with("T1, T2"));
        let clamp = line("clamp, diode").unwrap();
        assert!((clamp.count - 2.0).abs() < 1e-9 && clamp.price.is_none());
        assert!(
            lines
                .iter()
                .all(|l| !l.item.contains("T3") && !l.item.contains("none"))
        );
    }

    #[test]
    fn resistors_and_surge_parts_are_counted_where_they_sit() {
        let text = "format = 1
[device.hub]
[device.panel]
[run.L]
from = \"hub\"
to = \"panel\"
cable = \"22/4\"
length = \"60 ft\"
carries = [\"loop\", \"rs485\"]
bus = \"b\"
[run.L.loop]
end = \"2.2 kohm\"
trip = \"2.2 kohm\"
[bus.b]
terminators = [\"hub\", \"panel\"]
terminator = \"120 ohm\"
bias = \"560 ohm\"
[surge.S]
line = \"L\"
working = \"15 V\"
";
        let lines = TakeOff::of(&site::read(text).unwrap()).lines;
        let count = |item: &str| lines.iter().find(|l| l.item == item).unwrap().count;
        for item in ["2200 ohm", "120 ohm", "560 ohm"] {
            assert!(
                (count(&format!("resistor, {item}")) - 2.0).abs() < 1e-9,
                "{item}"
            );
        }
        assert!((count("surge part, 15 V working") - 1.0).abs() < 1e-9);
    }
}
