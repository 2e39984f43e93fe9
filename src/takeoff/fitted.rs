//! Lines for what goes around the cable: raceways by the length, clamps at coils.

use std::collections::BTreeMap;

use super::Line;
use super::bill::rounded;
use crate::site::{Clamp, Raceway, Site};
use crate::units::{Length, Measure, PricePerLength, System};

/// Raceways of a stated length, one line a type and price, and clamps by kind.
pub(super) fn lines(site: &Site) -> Vec<Line> {
    let mut lines = raceways(site);
    lines.extend(clamps(site));
    lines
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

fn clamps(site: &Site) -> Vec<Line> {
    let mut by_kind: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for device in &site.devices {
        let word = match device.coil.clamp {
            Some(Clamp::Diode) => "diode",
            Some(Clamp::DiodeAndZener) => "diode and zener",
            Some(Clamp::Varistor) => "varistor",
            Some(Clamp::TwoWay) => "two-way",
            Some(Clamp::Rc) => "rc",
            Some(Clamp::None | Clamp::Unknown) | None => continue,
        };
        by_kind.entry(word).or_default().push(&device.name);
    }
    by_kind
        .into_iter()
        .map(|(word, devices)| Line {
            item: format!("clamp, {word}"),
            place: None,
            count: devices.iter().map(|_| 1.0).sum(),
            unit: "each",
            price: None,
            hours: None,
            why: format!("at the coils of {}", devices.join(", ")),
        })
        .collect()
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
}
