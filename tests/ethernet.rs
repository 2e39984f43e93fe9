//! Network cables between buildings, from injectors, beside a second supply, in bundles.

use rstest::rstest;

use crate::judged::{finding, message, severity, solved, value};

/// A port of 50 V, a device, and the network cable between them.
fn link(port: &str, device: &str, run: &str, more: &str) -> String {
    format!(
        "[supply.port]
voltage = \"50 V\"
{port}
[device.cam]
kind = \"camera\"
lowest = \"37 V\"
draw = {{ idle = \"5 W\" }}
{device}
[run.N1]
from = \"port\"
to = \"cam\"
cable = \"24/8 solid\"
length = \"10 m\"
carries = [\"ethernet\", \"power\"]
parallel = 2
{run}
{more}"
    )
}

const PORT: &str = "poe = { class = 3 }\nplace = \"shed\"";
const CAM: &str = "poe_class = 3\nplace = \"gate\"";

#[rstest]
#[case("A", "A", "", None)]
#[case("A", "B", "", Some("warn"))]
#[case("A", "A", "route = \"buried\"", Some("warn"))]
fn copper_between_buildings(
    #[case] shed: &str,
    #[case] gate: &str,
    #[case] run: &str,
    #[case] expected: Option<&str>,
) {
    let places =
        format!("[place.shed]\nbuilding = \"{shed}\"\n[place.gate]\nbuilding = \"{gate}\"\n");
    let json = solved(&link(PORT, CAM, run, &places));
    assert_eq!(
        severity(&json, "copper-between-earths", "N1").as_deref(),
        expected
    );
    // A surge part at each end, led to earth, is what the other end of the rule asks for.
    let parts = "[earth.rod]\nkind = \"rod\"\nresistance = \"25 ohm\"\n[surge.S1]\nline = \"N1\"\nend = \"from\"\nearth = \"rod\"\n[surge.S2]\nline = \"N1\"\nend = \"to\"\nearth = \"rod\"\n";
    let json = solved(&link(PORT, CAM, run, &format!("{places}{parts}")));
    assert_eq!(finding(&json, "copper-between-earths", "N1"), None);
}

// A port states its class; anything else gives without asking. 44 V to 57 V is what a port has.
#[rstest]
#[case("poe = { class = 3 }", "50 V", "poe_class = 3", None)]
#[case("", "24 V", "poe_class = 3", Some("stop"))]
#[case("", "50 V", "poe_class = 3", Some("warn"))]
#[case("", "24 V", "", Some("warn"))]
#[case("", "50 V", "", None)]
fn an_injector_that_does_not_ask(
    #[case] port: &str,
    #[case] volts: &str,
    #[case] device: &str,
    #[case] expected: Option<&str>,
) {
    let text = link(port, device, "", "").replace("\"50 V\"", &format!("\"{volts}\""));
    let json = solved(&text);
    assert_eq!(severity(&json, "plain-injector", "N1").as_deref(), expected);
}

#[test]
fn two_feeds_of_one_device() {
    let other = "[supply.aux]\nvoltage = \"12 V\"\n[run.P]\nfrom = \"aux\"\nto = \"cam\"\ncable = \"18/2\"\nlength = \"1 m\"\n";
    let json = solved(&link(PORT, CAM, "", other));
    assert_eq!(severity(&json, "two-feeds", "cam").as_deref(), Some("warn"));
    let json = solved(&link(PORT, CAM, "", ""));
    assert_eq!(finding(&json, "two-feeds", "cam"), None);
}

/// Cables of power in one pipe: 24 are no bundle, 25 are (common practice, no source).
#[rstest]
#[case(24, 6, "", None)]
#[case(25, 6, "", Some("note"))]
#[case(25, 4, "", None)]
#[case(25, 6, "temperature = \"40 C\"", None)]
fn a_bundle_of_more_than_24(
    #[case] cables: usize,
    #[case] class: u8,
    #[case] run: &str,
    #[case] expected: Option<&str>,
) {
    let mut more = String::from("[raceway.T1]\nkind = \"emt\"\n");
    for i in 2..=cables {
        more += &format!(
            "[run.N{i}]\nfrom = \"port\"\nto = \"cam\"\ncable = \"24/8 solid\"\nlength = \"10 m\"\ncarries = [\"ethernet\", \"power\"]\nparallel = 2\nraceway = \"T1\"\n"
        );
    }
    let device = CAM.replace("= 3", &format!("= {class}"));
    let json = solved(&link(
        PORT,
        &device,
        &format!("raceway = \"T1\"\n{run}"),
        &more,
    ));
    assert_eq!(severity(&json, "bundle-heat", "cam").as_deref(), expected);
    if expected.is_some() {
        assert!((value(&json, "bundle-heat", "cam") - 25.0).abs() < 1e-9);
    }
}

/// Where nobody says how the cables lie, one note for the site.
#[test]
fn how_cables_lie_is_said_once() {
    let more = "[device.two]\nkind = \"camera\"\npoe_class = 6\ndraw = { idle = \"5 W\" }\n[run.N2]\nfrom = \"port\"\nto = \"two\"\ncable = \"24/8 solid\"\nlength = \"10 m\"\ncarries = [\"ethernet\", \"power\"]\nparallel = 4\n";
    let json = solved(&link(PORT, &CAM.replace("= 3", "= 6"), "", more));
    assert!(message(&json, "bundle-heat", "cam").contains("(and 1 more)"));
    assert_eq!(finding(&json, "bundle-heat", "two"), None);
}

// IEEE 802.3: 44 V - 15.4 W / 44 V x 20 ohm = 37 V, 50 V - 30 W / 50 V x 12.5 ohm = 42.5 V. A draw of
// 0.5 A behind 26 ohm or 15 ohm in all leaves just that of 50 V; worked by hand.
#[rstest]
#[case(1, 13.0, None)]
#[case(3, 13.0, None)]
#[case(3, 13.001, Some(37.0))]
#[case(4, 7.5, None)]
#[case(4, 7.501, Some(42.5))]
fn a_device_has_the_volts_of_its_class(
    #[case] class: u8,
    #[case] leg_ohm: f64,
    #[case] limit: Option<f64>,
) {
    let text = format!(
        "[supply.port]
voltage = \"50 V\"
poe = {{ class = {class} }}
[device.cam]
kind = \"camera\"
poe_class = {class}
draw = {{ idle = \"0.5 A\" }}
[run.N1]
from = \"port\"
to = \"cam\"
resistance = \"{leg_ohm} ohm\"
carries = [\"ethernet\", \"power\"]
parallel = 2
"
    );
    let json = solved(&text);
    let found = finding(&json, "poe-volts", "cam");
    assert_eq!(
        found.map(|f| f["severity"].as_str().unwrap()),
        limit.map(|_| "fail")
    );
    if let (Some(found), Some(limit)) = (found, limit) {
        assert!((found["limit"].as_f64().unwrap() - limit).abs() < 1e-9);
        assert!((found["value"].as_f64().unwrap() - (50.0 - leg_ohm)).abs() < 1e-6);
    }
    // Its own lowest wins, and is judged as with any device.
    let own = text.replace("kind = \"camera\"", "kind = \"camera\"\nlowest = \"20 V\"");
    assert_eq!(finding(&solved(&own), "poe-volts", "cam"), None);
}
