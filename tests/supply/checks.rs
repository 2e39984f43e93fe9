//! Fuses, devices that give up, terminals and charging: both sides of every limit.

use approx::assert_abs_diff_eq;
use farend::diagnostic::Severity;
use rstest::rstest;

use super::Simple;

const FUSED: &str = "resistance = \"1 ohm\"\nthrough = \"F1\"";

fn fused(supply: &str, draw: &str, fuse: &str) -> Simple {
    let device = format!("draw = {{ idle = \"{draw}\" }}");
    Simple::new(supply, &device)
        .leg(FUSED)
        .more(&format!("[fuse.F1]\n{fuse}\n"))
}

// A short at the hub: 24 V / (1 + 1 + 1) ohm = 8 A.
#[rstest]
#[case("", "current = \"3.99 A\"", None)]
#[case("", "current = \"4.01 A\"", Some(8.0))]
#[case("", "current = \"7.99 A\"\nkind = \"electronic\"", None)]
#[case("", "current = \"8.01 A\"\nkind = \"electronic\"", Some(8.0))]
#[case("tolerance = \"10 %\"", "current = \"3.61 A\"", Some(7.2))]
// A limiter of 5 A lets a fuse of 2.49 A blow and one of 2.51 A stand.
#[case(
    "limit = \"hard\"\nlimit_current = \"5 A\"",
    "current = \"2.49 A\"",
    None
)]
#[case(
    "limit = \"hard\"\nlimit_current = \"5 A\"",
    "current = \"2.51 A\"",
    Some(5.0)
)]
// Folding at 5 A, knee 19 V: I = 5/3 + (10/3) 2 I / 19, so 95/37 = 2.568 A into 2 ohm.
#[case(
    "limit = \"foldback\"\nlimit_current = \"5 A\"",
    "current = \"1.28 A\"",
    None
)]
#[case("limit = \"foldback\"\nlimit_current = \"5 A\"", "current = \"1.29 A\"", Some(95.0 / 37.0))]
fn a_far_short_blows_the_fuse(#[case] supply: &str, #[case] fuse: &str, #[case] amps: Option<f64>) {
    let supply = format!("resistance = \"1 ohm\"\n{supply}");
    let found = fused(&supply, "1 W", fuse).finding("fuse-short");
    assert_eq!(
        found.as_ref().map(|f| f.severity),
        amps.map(|_| Severity::Fail)
    );
    if let (Some(found), Some(amps)) = (found, amps) {
        assert_eq!(found.subject, "F1");
        // A leg's fuse of no ohms is solved as 0.1 microohm.
        assert_abs_diff_eq!(found.value.unwrap(), amps, epsilon = 1e-5);
    }
}

// 18 AWG carries 7 A.
#[rstest]
#[case("7 A", false)]
#[case("7.01 A", true)]
fn the_fuse_protects_the_conductor(#[case] amps: &str, #[case] fails: bool) {
    let cable = "cable = \"thin\"\nlength = \"10 ft\"\nthrough = \"F1\"";
    let more = format!(
        "[fuse.F1]\ncurrent = \"{amps}\"\n[cable.thin]\nsize = \"18 AWG\"\nconductors = 2\ncurrent = \"7 A\"\n"
    );
    let simple = Simple::new("", "draw = { idle = \"1 W\" }")
        .leg(cable)
        .more(&more);
    let found = simple.finding("fuse-conductor");
    assert_eq!(found.map(|f| f.severity), fails.then_some(Severity::Fail));
}

// 1.5 A for good: 0.75 x 2 A. At 50 C a resettable fuse of 2 A holds 2 x (1 - 0.0075 x 30) = 1.55 A.
#[rstest]
#[case("1.49 A", "fuse", None)]
#[case("1.51 A", "fuse", Some("fuse-load"))]
#[case("1.51 A", "electronic", None)]
#[case("1.54 A", "resettable", None)]
#[case("1.56 A", "resettable", Some("resettable-heat"))]
fn a_fuse_carries_its_load(#[case] draw: &str, #[case] kind: &str, #[case] code: Option<&str>) {
    let fuse = format!("current = \"2 A\"\nkind = \"{kind}\"");
    let simple = fused("", draw, &fuse);
    for known in ["fuse-load", "resettable-heat"] {
        let found = simple.finding(known);
        let wanted = (code == Some(known)).then_some(Severity::Warn);
        assert_eq!(found.map(|f| f.severity), wanted, "{known}");
    }
}

// 24 V, 2 ohm: 22 W leave the hub 22 V at 1 A, and 24 V when it is off.
#[rstest]
#[case("cutoff = \"21.9 V\"", None)]
#[case("cutoff = \"22.1 V\"", Some("reboot-loop"))]
#[case("cutoff = \"22.1 V\"\nrestart = \"23.9 V\"", Some("reboot-loop"))]
#[case("cutoff = \"22.1 V\"\nrestart = \"24.1 V\"", Some("stays-off"))]
fn a_device_that_gives_up(#[case] wake: &str, #[case] code: Option<&str>) {
    let device = format!("{wake}\ndraw = {{ idle = \"22 W\" }}");
    let simple = Simple::new("", &device);
    for known in ["reboot-loop", "stays-off"] {
        let found = simple.finding(known);
        assert_eq!(found.as_ref().map(|f| f.code), code.filter(|c| *c == known));
        if let Some(found) = found {
            assert_abs_diff_eq!(found.value.unwrap(), 22.0, epsilon = 1e-9);
            assert_eq!(found.limit, Some(22.1));
        }
    }
}

/// While a hub starts, its outputs are off, and so is what hangs on them: 24 V less 2 x 1 ohm x
/// 0.5 A are 23 V, whatever the camera and what it feeds take.
#[rstest]
#[case("22.9 V", false)]
#[case("23.1 V", true)]
fn what_hangs_on_outputs_is_off_while_their_feeder_starts(
    #[case] cutoff: &str,
    #[case] fails: bool,
) {
    let device = format!("cutoff = \"{cutoff}\"\ndraw = {{ idle = \"off\", boot = \"0.5 A\" }}");
    let more = r#"
[supply.out]
voltage = "12 V"
fed_by = "hub"
[device.camera]
draw = { idle = "0.01 A" }
[run.W2]
from = "out"
to = "camera"
resistance = "1 ohm"
[supply.lamps]
voltage = "12 V"
fed_by = "camera"
[device.lamp]
draw = { idle = "0.01 A" }
[run.W3]
from = "lamps"
to = "lamp"
resistance = "1 ohm"
"#;
    let found = Simple::new("", &device).more(more).finding("boot-volts");
    assert_eq!(found.is_some(), fails, "{found:?}");
}

#[test]
fn a_device_that_no_volts_serve_reboots_too() {
    // 72 W is the most that 24 V behind 2 ohm give.
    let simple = Simple::new("", "cutoff = \"9 V\"\ndraw = { idle = \"73 W\" }");
    let found = simple.finding("reboot-loop").unwrap();
    assert_eq!((found.value, found.severity), (None, Severity::Fail));
}

#[rstest]
#[case("cutoff = \"21.9 V\"", None)]
#[case("cutoff = \"22.1 V\"", Some("it tries again for ever"))]
#[case("lowest = \"22.1 V\"", Some("under its lowest"))]
fn a_device_gets_through_its_start(#[case] limit: &str, #[case] says: Option<&str>) {
    let device = format!("{limit}\ndraw = {{ idle = \"1 W\", boot = \"22 W\" }}");
    let found = Simple::new("", &device).finding("boot-volts");
    assert_eq!(found.is_some(), says.is_some());
    if let (Some(found), Some(says)) = (found, says) {
        assert!(found.message().contains(says), "{}", found.message());
    }
}

#[rstest]
#[case("16 AWG", true)]
#[case("14 AWG", false)]
#[case("2.08 mm2", true)]
#[case("2.5 mm2", false)]
fn a_conductor_goes_into_its_terminal(#[case] most: &str, #[case] fails: bool) {
    let device = format!("max_gauge = \"{most}\"\ndraw = {{ idle = \"1 W\" }}");
    let simple = Simple::new("", &device).leg("cable = \"14/2\"\nlength = \"10 ft\"");
    let found = simple.finding("terminal-gauge");
    assert_eq!(found.map(|f| f.severity), fails.then_some(Severity::Fail));
}

#[rstest]
#[case(1, 1, true)]
#[case(2, 1, false)]
#[case(2, 2, true)]
#[case(3, 2, false)]
fn conductors_go_under_one_screw(#[case] most: u32, #[case] parallel: u32, #[case] warns: bool) {
    let supply = format!("wires_per_terminal = {most}");
    let second = "[run.W2]\nfrom = \"psu\"\nto = \"reader\"\ncable = \"18/2\"\nlength = \"1 ft\"\n[device.reader]\n";
    let first = if parallel == 1 {
        "cable = \"18/2\"\nlength = \"10 ft\""
    } else {
        "cable = \"18/4\"\nlength = \"10 ft\"\nparallel = 2"
    };
    let simple = Simple::new(&supply, "draw = { idle = \"1 W\" }")
        .leg(first)
        .more(second);
    let found = simple.finding("terminal-wires");
    assert_eq!(found.map(|f| f.severity), warns.then_some(Severity::Warn));
}

#[test]
fn a_cable_too_thick_for_its_terminal_is_no_choice() {
    let device = "lowest = \"20 V\"\nmax_gauge = \"16 AWG\"\ndraw = { idle = \"1 W\" }";
    let site = Simple::new("", device)
        .leg("cable = \"16/2\"\nlength = \"10 ft\"")
        .more("[sizing]\nchoices = [\"14/2\", \"12/2\"]\n")
        .site();
    let watch = farend::size::Watch {
        tell: &|_| {},
        goes_on: &|| true,
    };
    let sizing = farend::size::size(&site, &watch);
    assert_eq!(sizing.cost, None);
    assert!(
        sizing.unsized_runs[0]
            .reason
            .contains("take 16 AWG at most")
    );
}

// 24 V behind 1 + 0.5 ohm and 2200 uF: 16 A, tau 3.3 ms, I2t = 24^2 x 2.2e-3 / 3 = 0.4224 A2s.
#[rstest]
#[case("current = \"16.1 A\"", Severity::Note)]
#[case("current = \"15.9 A\"", Severity::Warn)]
fn a_capacitor_charges_in_a_pulse(#[case] supply: &str, #[case] severity: Severity) {
    let supply = format!("resistance = \"0.5 ohm\"\n{supply}");
    let simple = Simple::new(
        &supply,
        "reservoir = \"2200 uF\"\ndraw = { idle = \"1 W\" }",
    )
    .leg("resistance = \"0.5 ohm\"");
    let found = simple.finding("charging-pulse").unwrap();
    assert_eq!(found.severity, severity);
    assert_abs_diff_eq!(found.value.unwrap(), 16.0, epsilon = 1e-9);
    assert!(found.worked().contains("tau = 3.300 ms; I2t = 0.4224 A2s"));
}

// 2200 uF x 24 V / (1 A - 0.2 A) = 66 ms.
#[rstest]
#[case("hard", "0.2 A", "slow-start", Severity::Note, 0.066)]
#[case("hiccup", "0.2 A", "slow-start", Severity::Ask, 0.066)]
#[case("hard", "0.99 A", "slow-start", Severity::Note, 5.28)]
#[case("hard", "1.01 A", "never-starts", Severity::Fail, 1.01)]
#[case("foldback", "0.34 A", "never-starts", Severity::Fail, 0.34)]
#[case("foldback", "0.2 A", "slow-start", Severity::Note, 0.396)]
fn a_limited_supply_charges_slowly(
    #[case] limit: &str,
    #[case] draw: &str,
    #[case] code: &str,
    #[case] severity: Severity,
    #[case] value: f64,
) {
    let supply = format!("limit = \"{limit}\"\nlimit_current = \"1 A\"");
    let other = format!("[device.light]\non = \"psu\"\ndraw = {{ idle = \"{draw}\" }}\n");
    let simple = Simple::new(&supply, "reservoir = \"2200 uF\"\ndraw = {}").more(&other);
    let found = simple.finding(code).unwrap();
    assert_eq!(found.severity, severity);
    assert_abs_diff_eq!(found.value.unwrap(), value, epsilon = 1e-9);
}
