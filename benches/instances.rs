//! Invented sites to size, the same every time: shape, number of runs and a seed say it all.

#![allow(dead_code, reason = "benchmark and test each use a part")]

use std::fmt::Write as _;

/// Gauges to choose from and their prices by the foot.
const GAUGES: [(u32, f64); 8] = [
    (24, 0.11),
    (22, 0.14),
    (20, 0.19),
    (18, 0.26),
    (16, 0.39),
    (14, 0.58),
    (12, 0.87),
    (10, 1.35),
];

/// How the runs hang together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shape {
    /// A feed to a hub, and from there a run to each device.
    Home,
    /// Each device hangs on one that came before.
    Tree,
    /// One after the other.
    Chain,
}

impl Shape {
    /// All shapes.
    pub(crate) const ALL: [Self; 3] = [Self::Home, Self::Tree, Self::Chain];

    /// Its word.
    pub(crate) const fn as_str(self) -> &'static str {
        match self {
            Self::Home => "home",
            Self::Tree => "tree",
            Self::Chain => "chain",
        }
    }
}

/// What a site has beside constant currents in one case.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Mix {
    /// Half of the draws of constant power, a quarter resistive.
    pub(crate) laws: bool,
    /// Cases beside the first.
    pub(crate) cases: u32,
    /// Runs that close loops.
    pub(crate) loops: u32,
}

/// Whole numbers below some end (Knuth's MMIX generator).
struct Chance(u64);

impl Chance {
    fn below(&mut self, end: u32) -> u32 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        u32::try_from(((self.0 >> 32) * u64::from(end)) >> 32).unwrap_or(0)
    }
}

/// The text of a site of some runs.
pub(crate) fn site(shape: Shape, runs: u32, seed: u64, mix: Mix) -> String {
    let mut chance = Chance(seed ^ u64::from(runs) << 8);
    for _ in 0..4 {
        chance.below(2);
    }
    let ohm = 0.5 / f64::from(runs);
    let mut text = format!(
        "format = 1\n# Invented.\n[supply.S]\nvoltage = \"24 V\"\ntolerance = \"5 %\"\nresistance = \"{ohm:.6} ohm\"\ncurrent = \"1000 A\"\n",
    );
    for (gauge, price) in GAUGES {
        write!(text, "[cable.c{gauge}]\nsize = \"{gauge} AWG\"\nconductors = 2\ncurrent = \"1000 A\"\nprice = \"{price} /ft\"\n").ok();
    }
    let depth = match shape {
        Shape::Home => 2.0,
        Shape::Tree => 2.0 * f64::from(runs).ln(),
        Shape::Chain => f64::from(runs),
    };
    // Feet and milliamperes, so that the far end has some choices that just pass.
    let load = 18_000.0 / f64::from(runs) / depth;
    for d in 0..runs {
        let above = match shape {
            Shape::Home => 0,
            Shape::Tree => chance.below(d.max(1)),
            Shape::Chain => d.saturating_sub(1),
        };
        let from = if d == 0 {
            "S".to_owned()
        } else {
            format!("D{above}")
        };
        let (feet, amps) = if shape == Shape::Home && d > 0 {
            let feet = 60 + chance.below(400);
            (feet, (60.0 + f64::from(chance.below(240))) / 1000.0)
        } else {
            let feet = 20 + chance.below(60);
            let amps = load * (0.5 + f64::from(chance.below(1000)) / 1000.0);
            let hub = shape == Shape::Home;
            (
                if hub { 1 + 900 / runs } else { feet },
                if hub { 0.3 } else { amps / 1000.0 },
            )
        };
        let draw = |amps: f64, kind: u32| match kind {
            0 | 1 if mix.laws => format!("{:.4} W", amps * 22.0),
            2 if mix.laws => format!("{:.2} ohm", 22.0 / amps),
            _ => format!("{amps:.5} A"),
        };
        let lowest = 19.0 + f64::from(chance.below(180)) / 100.0;
        let kind = chance.below(4);
        let (idle, active) = (draw(amps, kind), draw(amps * 1.6, kind));
        write!(text, "[device.D{d}]\nkind = \"sensor\"\nlowest = \"{lowest:.2} V\"\nhighest = \"27 V\"\ndraw = {{ idle = \"{idle}\", active = \"{active}\" }}\n[run.W{d}]\nfrom = \"{from}\"\nto = \"D{d}\"\ncable = \"c18\"\nlength = \"{feet} ft\"\n").ok();
    }
    for l in 0..mix.loops {
        let (a, b) = (chance.below(runs), chance.below(runs));
        if a != b {
            write!(
                text,
                "[run.L{l}]\nfrom = \"D{a}\"\nto = \"D{b}\"\ncable = \"c18\"\nlength = \"{} ft\"\n",
                50 + chance.below(100)
            )
            .ok();
        }
    }
    let mut case = |name: &str, active: u32| {
        write!(text, "[case.{name}]\nstates = {{ ").ok();
        let some = (0..runs).filter(|_| active > 0 && chance.below(4) < active);
        let states: Vec<String> = some.map(|d| format!("D{d} = \"active\"")).collect();
        writeln!(text, "{} }}", states.join(", ")).ok();
    };
    case("first", 0);
    for c in 0..mix.cases {
        case(&format!("c{c}"), 1);
    }
    let names: Vec<String> = GAUGES.iter().map(|(g, _)| format!("c{g}")).collect();
    writeln!(text, "[sizing]\nchoices = {names:?}").ok();
    text
}
