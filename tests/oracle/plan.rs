//! A site as plain structures, and the same site as the text of a site file.

use std::fmt::Write as _;

#[derive(Clone, Default)]
pub(crate) struct Plan {
    pub(crate) design: Design,
    pub(crate) cables: Vec<Cable>,
    pub(crate) supplies: Vec<Supply>,
    pub(crate) devices: Vec<Device>,
    pub(crate) junctions: Vec<Junction>,
    pub(crate) fuses: Vec<(String, Option<f64>)>,
    pub(crate) earths: Vec<(String, Option<f64>)>,
    pub(crate) runs: Vec<Run>,
    pub(crate) cases: Vec<Case>,
    /// Lists of states, as thing and state, that never stand together.
    pub(crate) exclusive: Vec<Vec<(String, String)>>,
}

/// Degrees Celsius in the corner nominal, in low, in high and heavy; where stated.
pub(crate) type Degrees = [Option<f64>; 3];

#[derive(Clone, Default)]
pub(crate) struct Design {
    pub(crate) degrees: Degrees,
    pub(crate) draw_tolerance: Option<f64>,
    pub(crate) splice: Option<f64>,
    pub(crate) routes: Vec<(&'static str, Degrees)>,
}

#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Size {
    Awg(i32),
    Mm2(f64),
}

#[derive(Clone)]
pub(crate) struct Cable {
    pub(crate) name: String,
    /// Whether it stands in a table of its own; else its name says everything.
    pub(crate) own: bool,
    pub(crate) size: Size,
    pub(crate) stranding: &'static str,
    pub(crate) material: &'static str,
    /// Ohms per kilometre and where they were measured.
    pub(crate) resistance: Option<(f64, Option<f64>)>,
}

#[derive(Clone, Default)]
pub(crate) struct Supply {
    pub(crate) name: String,
    pub(crate) volts: f64,
    pub(crate) tolerance: Option<f64>,
    pub(crate) window: Option<(f64, f64)>,
    pub(crate) resistance: Option<f64>,
    pub(crate) loaded: Option<(f64, f64)>,
    pub(crate) negative_earthed: bool,
    pub(crate) fed_by: Option<String>,
    pub(crate) efficiency: Option<f64>,
    pub(crate) isolated: bool,
    pub(crate) on: Option<String>,
    pub(crate) outputs: Vec<(String, Option<f64>)>,
}

#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Draw {
    Amps(f64),
    Watts(f64),
    Ohms(f64),
    AmpsAt(f64, f64),
    WattsAt(f64, f64),
    Off,
}

#[derive(Clone)]
pub(crate) enum Tie {
    Ohms(f64),
    Isolated,
}

#[derive(Clone, Default)]
pub(crate) struct Device {
    pub(crate) name: String,
    pub(crate) lowest: Option<f64>,
    pub(crate) negative_earthed: bool,
    pub(crate) on: Option<String>,
    pub(crate) draw: Vec<(String, Draw)>,
    pub(crate) relays: Vec<(String, Option<f64>)>,
    pub(crate) tie: Option<Tie>,
}

#[derive(Clone, Default)]
pub(crate) struct Junction {
    pub(crate) name: String,
    pub(crate) on: Option<String>,
}

#[derive(Clone, Default)]
pub(crate) struct Run {
    pub(crate) name: String,
    pub(crate) from: String,
    pub(crate) to: String,
    /// Cable (index) and metres; or ohms of each leg.
    pub(crate) cable: Option<(usize, f64)>,
    pub(crate) feet: bool,
    pub(crate) ohms: f64,
    pub(crate) carries: Vec<&'static str>,
    pub(crate) parallel: Option<u32>,
    pub(crate) minus_parallel: Option<u32>,
    pub(crate) through: Vec<String>,
    pub(crate) splices: u32,
    pub(crate) splice: Option<f64>,
    pub(crate) common: Option<bool>,
    pub(crate) degrees: Degrees,
    pub(crate) route: Option<&'static str>,
    /// Ohms per kilometre of a shield that is bonded at both ends.
    pub(crate) shield: Option<f64>,
    pub(crate) unfitted: bool,
}

#[derive(Clone, Default)]
pub(crate) struct Case {
    pub(crate) name: String,
    pub(crate) states: Vec<(String, String)>,
    pub(crate) broken: Vec<String>,
    pub(crate) fitted: Vec<String>,
    pub(crate) temperature: Option<f64>,
}

fn quantity(text: &mut String, key: &str, value: Option<f64>, unit: &str) {
    if let Some(value) = value {
        let _ = writeln!(text, "{key} = \"{value} {unit}\"");
    }
}

fn word(text: &mut String, key: &str, value: Option<&str>) {
    if let Some(value) = value {
        let _ = writeln!(text, "{key} = \"{value}\"");
    }
}

fn flag(text: &mut String, key: &str, value: bool) {
    if value {
        let _ = writeln!(text, "{key} = true");
    }
}

fn list<T: AsRef<str>>(text: &mut String, key: &str, values: &[T]) {
    if !values.is_empty() {
        let values: Vec<String> = values
            .iter()
            .map(|v| format!("\"{}\"", v.as_ref()))
            .collect();
        let _ = writeln!(text, "{key} = [{}]", values.join(", "));
    }
}

fn degrees(text: &mut String, values: Degrees) {
    for (key, value) in ["temperature", "hot", "cold"].into_iter().zip(values) {
        quantity(text, key, value, "C");
    }
}

impl Plan {
    /// The site file.
    pub(crate) fn text(&self) -> String {
        let mut text = String::from("format = 1\n[site]\nname = \"random\"\n[design]\n");
        degrees(&mut text, self.design.degrees);
        quantity(&mut text, "draw_tolerance", self.design.draw_tolerance, "%");
        quantity(&mut text, "splice", self.design.splice, "ohm");
        for (route, values) in &self.design.routes {
            let _ = writeln!(text, "[design.route.{route}]");
            degrees(&mut text, *values);
        }
        self.cables.iter().for_each(|c| c.write(&mut text));
        self.supplies.iter().for_each(|s| s.write(&mut text));
        self.devices.iter().for_each(|d| d.write(&mut text));
        for junction in &self.junctions {
            let _ = writeln!(text, "[junction.\"{}\"]", junction.name);
            word(&mut text, "on", junction.on.as_deref());
        }
        for (table, rows) in [("fuse", &self.fuses), ("earth", &self.earths)] {
            for (name, ohms) in rows {
                let _ = writeln!(text, "[{table}.\"{name}\"]");
                quantity(&mut text, "resistance", *ohms, "ohm");
            }
        }
        for run in &self.runs {
            run.write(&self.cables, &mut text);
        }
        self.cases.iter().for_each(|c| c.write(&mut text));
        for states in &self.exclusive {
            let states = states
                .iter()
                .map(|(thing, state)| format!("{thing}.{state}"));
            text.push_str("[[exclusive]]\n");
            list(&mut text, "states", &states.collect::<Vec<_>>());
        }
        text
    }
}

impl Cable {
    fn write(&self, text: &mut String) {
        if !self.own {
            return;
        }
        let size = match self.size {
            Size::Awg(gauge) => awg(gauge),
            Size::Mm2(area) => format!("{area} mm2"),
        };
        let _ = writeln!(
            text,
            "[cable.\"{}\"]\nsize = \"{size}\"\nconductors = 4",
            self.name
        );
        word(text, "stranding", Some(self.stranding));
        word(text, "material", Some(self.material));
        if let Some((ohms, at)) = self.resistance {
            quantity(text, "resistance", Some(ohms), "ohm/km");
            quantity(text, "resistance_at", at, "C");
        }
    }
}

/// `18 AWG`, `4/0 AWG`.
pub(crate) fn awg(gauge: i32) -> String {
    if gauge > 0 {
        format!("{gauge} AWG")
    } else {
        format!("{}/0 AWG", 1 - gauge)
    }
}

impl Supply {
    fn write(&self, text: &mut String) {
        let _ = writeln!(text, "[supply.\"{}\"]", self.name);
        quantity(text, "voltage", Some(self.volts), "V");
        quantity(text, "tolerance", self.tolerance, "%");
        quantity(text, "lowest", self.window.map(|w| w.0), "V");
        quantity(text, "highest", self.window.map(|w| w.1), "V");
        quantity(text, "resistance", self.resistance, "ohm");
        if let Some((volts, amps)) = self.loaded {
            let _ = writeln!(text, "loaded = [\"{volts} V\", \"{amps} A\"]");
        }
        flag(text, "negative_earthed", self.negative_earthed);
        word(text, "fed_by", self.fed_by.as_deref());
        quantity(text, "efficiency", self.efficiency, "%");
        flag(text, "isolated", self.isolated);
        word(text, "on", self.on.as_deref());
        for (output, ohms) in &self.outputs {
            let _ = writeln!(text, "[supply.\"{}\".output.\"{output}\"]", self.name);
            quantity(text, "resistance", *ohms, "ohm");
        }
    }
}

impl Draw {
    fn text(self) -> String {
        match self {
            Self::Amps(amps) => format!("{amps} A"),
            Self::Watts(watts) => format!("{watts} W"),
            Self::Ohms(ohms) => format!("{ohms} ohm"),
            Self::AmpsAt(amps, volts) => format!("{amps} A at {volts} V"),
            Self::WattsAt(watts, volts) => format!("{watts} W at {volts} V"),
            Self::Off => "off".to_owned(),
        }
    }
}

impl Device {
    fn write(&self, text: &mut String) {
        let _ = writeln!(text, "[device.\"{}\"]\nkind = \"other\"", self.name);
        quantity(text, "lowest", self.lowest, "V");
        flag(text, "negative_earthed", self.negative_earthed);
        word(text, "on", self.on.as_deref());
        match self.tie {
            Some(Tie::Ohms(ohms)) => quantity(text, "tie", Some(ohms), "ohm"),
            Some(Tie::Isolated) => word(text, "tie", Some("isolated")),
            None => {}
        }
        if !self.draw.is_empty() {
            let draws: Vec<String> = self
                .draw
                .iter()
                .map(|(state, draw)| format!("{state} = \"{}\"", draw.text()))
                .collect();
            let _ = writeln!(text, "draw = {{ {} }}", draws.join(", "));
        }
        for (relay, ohms) in &self.relays {
            let ohms = ohms.map_or(String::new(), |o| format!(", resistance = \"{o} ohm\""));
            let _ = writeln!(text, "relay.{relay} = {{ contact = \"changeover\"{ohms} }}");
        }
    }
}

impl Run {
    fn write(&self, cables: &[Cable], text: &mut String) {
        let _ = writeln!(text, "[run.\"{}\"]", self.name);
        word(text, "from", Some(&self.from));
        word(text, "to", Some(&self.to));
        if let Some((cable, metres)) = self.cable {
            word(text, "cable", Some(&cables[cable].name));
            if self.feet {
                quantity(text, "length", Some(metres / 0.3048), "ft");
            } else {
                quantity(text, "length", Some(metres), "m");
            }
        } else {
            quantity(text, "resistance", Some(self.ohms), "ohm");
        }
        if self.carries != ["power"] {
            list(text, "carries", &self.carries);
        }
        for (key, count) in [
            ("parallel", self.parallel),
            ("minus_parallel", self.minus_parallel),
        ] {
            if let Some(count) = count {
                let _ = writeln!(text, "{key} = {count}");
            }
        }
        list(text, "through", &self.through);
        if self.splices > 0 {
            let _ = writeln!(text, "splices = {}", self.splices);
        }
        quantity(text, "splice", self.splice, "ohm");
        if let Some(common) = self.common {
            let _ = writeln!(text, "common = {common}");
        }
        degrees(text, self.degrees);
        word(text, "route", self.route);
        word(text, "shield", self.shield.map(|_| "both"));
        quantity(text, "shield_resistance", self.shield, "ohm/km");
        if self.unfitted {
            text.push_str("fitted = false\n");
        }
    }
}

impl Case {
    fn write(&self, text: &mut String) {
        let states: Vec<String> = self
            .states
            .iter()
            .map(|(thing, state)| format!("\"{thing}\" = \"{state}\""))
            .collect();
        let _ = writeln!(
            text,
            "[case.\"{}\"]\nstates = {{ {} }}",
            self.name,
            states.join(", ")
        );
        list(text, "broken", &self.broken);
        list(text, "fitted", &self.fitted);
        quantity(text, "temperature", self.temperature, "C");
    }
}
