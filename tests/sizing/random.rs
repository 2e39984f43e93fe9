//! Random small sites with choices, as text.

use std::fmt::Write as _;

use crate::solver::random::Random;

/// What a site has beside a plain tree.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Kind {
    /// Constant power draws.
    pub(super) power: bool,
    /// Resistive draws.
    pub(super) resistive: bool,
    /// Loops of power runs.
    pub(super) mesh: bool,
    /// Several named cases.
    pub(super) cases: bool,
    /// A second supply, on the same network, of its own or fed by a device.
    pub(super) supplies: bool,
    /// Ratings, contacts, data commons, stated ohms and upper limits.
    pub(super) parts: bool,
    /// Pipes that not all cables go into.
    pub(super) raceways: bool,
    /// Prices so round that designs often cost the same.
    pub(super) ties: bool,
    /// Every run goes out from the supply, or from the first device.
    pub(super) hub: bool,
    /// Diodes and limiters at the supplies.
    pub(super) restrained: bool,
}

/// Writes the site of a seed with up to `open` runs to choose for.
#[expect(
    clippy::too_many_lines,
    reason = "one random site, written from top to bottom"
)]
pub(super) fn site(seed: u64, kind: Kind, open: u32) -> String {
    let mut r = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5157);
    r.below(7);
    let mut text = String::from("format = 1\n# Invented by chance.\n[design]\n");
    writeln!(
        text,
        "draw_tolerance = \"{} %\"",
        [0, 0, 10][r.below(3) as usize]
    )
    .unwrap();
    let cables = 2 + r.below(if kind.mesh { 2 } else { 3 });
    let mut names = Vec::new();
    let gauges = [24, 22, 20, 18, 16, 14, 12];
    let first = r.below(3);
    let priced = kind.ties || r.part() < 0.8;
    for c in 0..cables {
        let gauge = gauges[(first + c) as usize];
        let price = if kind.ties {
            f64::from(1 + c / 2)
        } else {
            (10.0 * (1.0 + f64::from(c)) * (0.6 + 0.8 * r.part())).round() / 100.0
        };
        let name = format!("c{gauge}");
        writeln!(
            text,
            "[cable.{name}]\nsize = \"{gauge} AWG\"\nconductors = {}",
            2 + 2 * r.below(2)
        )
        .unwrap();
        if priced || r.part() < 0.5 {
            writeln!(text, "price = \"{price} /ft\"").unwrap();
        }
        if kind.parts && r.part() < 0.3 {
            writeln!(text, "current = \"{:.2} A\"", 0.2 + 2.0 * r.part()).unwrap();
        }
        if kind.raceways && r.part() < 0.9 {
            // Not every thicker cable has the thicker jacket.
            let thick = 3.0 + f64::from(c) + 2.0 * r.part();
            writeln!(text, "diameter = \"{thick:.2} mm\"").unwrap();
        }
        names.push(name);
    }
    let ohm = |r: &mut Random| if r.part() < 0.4 { 0.0 } else { 0.6 * r.part() };
    let rated = |r: &mut Random, kind: Kind| {
        if kind.parts {
            0.5 + 3.0 * r.part()
        } else {
            50.0
        }
    };
    for s in 0..1 + u32::from(kind.supplies) {
        let volts = if s == 1 && r.part() < 0.5 { 12 } else { 24 };
        writeln!(text, "[supply.S{s}]\nvoltage = \"{volts} V\"\ntolerance = \"{} %\"\nresistance = \"{:.3} ohm\"\ncurrent = \"{:.3} A\"", r.below(6), ohm(&mut r), rated(&mut r, kind)).unwrap();
        if kind.restrained {
            if r.part() < 0.6 {
                writeln!(text, "one_way = \"{:.1} V\"", 0.3 + 0.5 * r.part()).unwrap();
            }
            let limit = ["none", "hard", "foldback", "hiccup"][r.below(4) as usize];
            let amps = 0.3 + 1.2 * r.part();
            writeln!(text, "limit = \"{limit}\"\nlimit_current = \"{amps:.2} A\"").unwrap();
        }
        if s == 1 {
            match r.below(3) {
                0 => writeln!(text, "fed_by = \"D0\"\nefficiency = \"85 %\"").unwrap(),
                1 => writeln!(
                    text,
                    "output.o1 = {{ current = \"{:.2} A\", resistance = \"0.1 ohm\" }}",
                    0.3 + 2.0 * r.part()
                )
                .unwrap(),
                _ => {}
            }
        }
    }
    let devices = open.max(2);
    let mut lists = [vec!["S0".to_owned()], vec!["S1".to_owned()]];
    for d in 0..devices {
        let second = kind.supplies && d > 0 && r.part() < 0.4;
        let list = &mut lists[usize::from(second)];
        let volts = if second { 10.0 } else { 24.0 };
        device(&mut text, &mut r, kind, d, volts);
        let mut from = list[r.below(u32::try_from(list.len()).unwrap()) as usize].clone();
        if kind.hub {
            let hub = if seed.is_multiple_of(2) {
                0
            } else {
                list.len() - 1
            };
            from = list[hub.min(1)].clone();
        }
        let through = if kind.parts && d > 0 && r.part() < 0.2 {
            "through = \"D0.k1.nc\"\n"
        } else {
            ""
        };
        let lies = if kind.raceways && r.part() < 0.7 {
            format!("raceway = \"T{}\"\n", r.below(2))
        } else {
            String::new()
        };
        let plain = kind.parts && r.part() < 0.15;
        let what = if plain {
            format!("resistance = \"{:.2} ohm\"", 0.5 * r.part())
        } else {
            format!(
                "cable = \"{}\"\nlength = \"{} ft\"",
                names[0],
                if kind.ties {
                    100
                } else {
                    20 + 10 * r.below(40)
                }
            )
        };
        writeln!(
            text,
            "[run.W{d}]\nfrom = \"{from}\"\nto = \"D{d}\"\n{what}\n{through}{lies}"
        )
        .unwrap();
        list.push(format!("D{d}"));
    }
    if kind.raceways {
        for t in 0..2 {
            let inside = 8.0 + 5.0 * r.part();
            writeln!(text, "[raceway.T{t}]\ninside = \"{inside:.1} mm\"").unwrap();
        }
    }
    if kind.mesh {
        for m in 0..1 + r.below(2) {
            let (a, b) = (r.below(devices), r.below(devices));
            if a != b {
                let fixed = if r.part() < 0.5 {
                    format!("choices = [\"{}\"]\n", names[0])
                } else {
                    String::new()
                };
                writeln!(text, "[run.M{m}]\nfrom = \"D{a}\"\nto = \"D{b}\"\ncable = \"{}\"\nlength = \"{} ft\"\n{fixed}", names[0], 30 + 10 * r.below(20)).unwrap();
            }
        }
    }
    if kind.parts && devices > 1 && r.part() < 0.5 {
        writeln!(text, "[run.X]\nfrom = \"D0\"\nto = \"D1\"\ncable = \"22/6\"\nlength = \"80 ft\"\ncarries = \"wiegand\"").unwrap();
    }
    if kind.cases {
        for c in 0..1 + r.below(3) {
            let states: Vec<String> = (0..devices)
                .filter_map(|d| match r.below(4) {
                    0 => Some(format!("D{d} = \"active\"")),
                    1 => Some(format!("D{d} = \"inrush\"")),
                    2 if kind.parts && r.part() < 0.4 => Some(format!("D{d} = \"off\"")),
                    _ => None,
                })
                .collect();
            let pulled = if kind.parts && r.part() < 0.5 {
                ", \"D0.k1\" = \"pulled\""
            } else {
                ""
            };
            let states = format!("{}{pulled}", states.join(", "));
            writeln!(
                text,
                "[case.\"case {c}\"]\nstates = {{ {} }}",
                states.trim_start_matches(", ")
            )
            .unwrap();
        }
    }
    writeln!(text, "[sizing]\nchoices = {names:?}").unwrap();
    text
}

fn device(text: &mut String, r: &mut Random, kind: Kind, d: u32, volts: f64) {
    let share = if r.part() < 0.5 {
        0.7 + 0.27 * r.part()
    } else {
        0.82 + 0.15 * r.part()
    };
    let lowest = if r.part() < 0.9 {
        format!("lowest = \"{:.2} V\"\n", volts * share)
    } else {
        String::new()
    };
    let top = if kind.parts && r.part() < 0.3 {
        1.0 + 0.06 * r.part()
    } else {
        1.2
    };
    writeln!(
        text,
        "[device.D{d}]\nkind = \"other\"\n{lowest}highest = \"{:.2} V\"",
        volts.max(24.0) * top
    )
    .unwrap();
    let draw = |r: &mut Random| {
        let amps = 0.02 + 0.35 * r.part() * r.part();
        match r.below(4) {
            0 if kind.power => format!("\"{:.2} W\"", amps * volts),
            1 if kind.resistive => format!("\"{:.1} ohm\"", volts / amps),
            2 if kind.resistive && kind.power => format!("\"{amps:.3} A at {volts} V\""),
            3 if kind.power => format!("\"{:.2} W\"", amps * volts),
            _ => format!("\"{amps:.3} A\""),
        }
    };
    let (idle, active) = (draw(r), draw(r));
    let rush = if r.part() < 0.3 {
        format!(", inrush = {}", draw(r))
    } else {
        String::new()
    };
    writeln!(text, "draw = {{ idle = {idle}, active = {active}{rush} }}").unwrap();
    if kind.parts && d == 0 {
        writeln!(
            text,
            "relay.k1 = {{ resistance = \"50 mohm\", current = \"1 A\", contact = \"changeover\" }}"
        )
        .unwrap();
    }
}
