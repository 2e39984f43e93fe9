//! Where a design is proven to be the cheapest, beside plain dc and constant currents.

use farend::site::read;
use farend::size::{self, Sizing, Watch};
use rstest::rstest;

use super::instances::{Mix, Shape, site};

fn sized(text: &str) -> Sizing {
    let site = read(text).unwrap_or_else(|e| panic!("{e:?}\n{text}"));
    size::size(&site, &Watch::NOBODY)
}

/// Watts and ohms at thirty home runs: all that ties them is what they leave the hub.
#[rstest]
fn thirty_home_runs_are_proven_whatever_they_draw(
    #[values(1, 2, 3)] seed: u64,
    #[values(0, 2)] cases: u32,
) {
    let mix = Mix {
        laws: true,
        cases,
        ..Mix::default()
    };
    let sizing = sized(&site(Shape::Home, 30, seed, mix));
    assert!(sizing.optimal && sizing.cost == sizing.bound, "{sizing:?}");
}

/// Watts and ohms along a chain and in a tree: what each run carries follows from all others.
#[rstest]
fn thirty_runs_in_a_row_are_proven_whatever_they_draw(
    #[values(Shape::Tree, Shape::Chain)] shape: Shape,
    #[values(0, 3)] cases: u32,
) {
    let mix = Mix {
        laws: true,
        cases,
        ..Mix::default()
    };
    let sizing = sized(&site(shape, 30, 3, mix));
    assert!(sizing.optimal && sizing.cost == sizing.bound, "{sizing:?}");
}

/// Two runs from one supply, described by a line of it and one of the devices.
fn two_runs(supply: &str, device: &str) -> Sizing {
    let mut text = format!("format = 1\n[supply.S]\ncurrent = \"4 A\"\n{supply}\n");
    for (gauge, price) in [(22, 0.1), (18, 0.2), (14, 0.5)] {
        text += &format!(
            "[cable.c{gauge}]\nsize = \"{gauge} AWG\"\nconductors = 2\nprice = \"{price} /ft\"\n"
        );
    }
    for (d, above) in [("D0", "S"), ("D1", "D0")] {
        text += &format!(
            "[device.{d}]\nkind = \"other\"\nlowest = \"20 V\"\nhighest = \"28 V\"\n{device}\n[run.W{d}]\nfrom = \"{above}\"\nto = \"{d}\"\ncable = \"c22\"\nlength = \"150 ft\"\n"
        );
    }
    sized(&(text + "[sizing]\nchoices = [\"c22\", \"c18\", \"c14\"]\n"))
}

const WATTS: &str = "draw = { idle = \"9 W\" }";

/// With rms volts and amperes in phase, ac is the same arithmetic as dc.
#[test]
fn ac_without_angles_is_proven_as_dc_is() {
    let volts = "voltage = \"24 V\"";
    let on_ac = format!("{volts}\nkind = \"ac\"");
    let (dc, ac) = (two_runs(volts, WATTS), two_runs(&on_ac, WATTS));
    assert!(dc.optimal && ac.optimal);
    assert_eq!((ac.cost, ac.bound), (dc.cost, dc.cost));
    let lagging = two_runs(&on_ac, &format!("{WATTS}\npower_factor = 0.7"));
    assert!(lagging.cost.is_some() && !lagging.optimal && lagging.bound.is_none());
}

/// A diode that nothing can block is so many volts less, and a limiter that is never reached is
/// nothing.
#[test]
fn a_diode_that_always_conducts_is_proven() {
    let exact = "tolerance = \"0 %\"\nvoltage";
    let plain = two_runs(&format!("{exact} = \"22 V\""), WATTS);
    let restrained = "one_way = \"2 V\"\nlimit = \"hard\"\nlimit_current = \"3 A\"";
    let behind = two_runs(&format!("{exact} = \"24 V\"\n{restrained}"), WATTS);
    let free = two_runs(&format!("{exact} = \"24 V\""), WATTS);
    assert!(plain.optimal && behind.optimal);
    assert_eq!((behind.cost, behind.bound), (plain.cost, plain.cost));
    assert!(free.cost < behind.cost, "the diode decides nothing here");
}
