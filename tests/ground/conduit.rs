//! Metal pipe between two negatives that are both earthed.

use approx::assert_abs_diff_eq;
use rstest::rstest;

use crate::judged::{finding, message, severity, solved, value};

/// 1 A through a pipe, by so many ohms of negative.
fn pipe(ohm: &str, psu: bool, hub: bool, raceway: &str) -> String {
    format!(
        "[supply.psu]
voltage = \"12 V\"
negative_earthed = {psu}
[device.hub]
kind = \"hub\"
negative_earthed = {hub}
draw = {{ idle = \"1 A\" }}
[raceway.T1]
{raceway}
[run.W1]
from = \"psu\"
to = \"hub\"
resistance = \"{ohm}\"
raceway = \"T1\"
"
    )
}

// Worked by hand: 1.2 / (1.2 + 0.3) = 80 % of 1 A; under 0.3 x 0.05 / 0.95 = 0.01579 ohm less than
// 5 % goes astray.
#[rstest]
#[case("1.2 ohm", true, true, "kind = \"emt\"", Some(0.8))]
#[case("0.0159 ohm", true, true, "kind = \"emt\"", Some(0.0159 / 0.3159))]
#[case("0.0157 ohm", true, true, "kind = \"emt\"", None)]
#[case("1.2 ohm", true, false, "kind = \"emt\"", None)]
#[case("1.2 ohm", false, true, "kind = \"emt\"", None)]
#[case("1.2 ohm", true, true, "kind = \"pvc 40\"", None)]
#[case("1.2 ohm", true, true, "kind = \"emt\"\nbonded = false", None)]
fn a_pipe_that_carries_return(
    #[case] ohm: &str,
    #[case] psu: bool,
    #[case] hub: bool,
    #[case] raceway: &str,
    #[case] amps: Option<f64>,
) {
    let json = solved(&pipe(ohm, psu, hub, raceway));
    let expected = amps.map(|_| "warn");
    assert_eq!(severity(&json, "conduit-return", "T1").as_deref(), expected);
    if let Some(amps) = amps {
        assert_abs_diff_eq!(value(&json, "conduit-return", "T1"), amps, epsilon = 1e-6);
        assert!(message(&json, "conduit-return", "T1").contains("leave the pipe bonded"));
    }
}

/// Where both bonds are drawn, the loop itself is solved and told.
#[test]
fn what_is_drawn_is_told_as_a_loop() {
    let bonds = "[earth.pipe]
kind = \"metal\"
[run.F1]
from = \"psu\"
to = \"pipe\"
carries = \"bond\"
resistance = \"0.15 ohm\"
[run.F2]
from = \"hub\"
to = \"pipe\"
carries = \"bond\"
resistance = \"0.15 ohm\"
";
    let json = solved(&(pipe("1.2 ohm", true, true, "kind = \"emt\"") + bonds));
    assert_eq!(finding(&json, "conduit-return", "T1"), None);
    let loops = json["findings"].as_array().unwrap().iter();
    let told: Vec<_> = loops.filter(|f| f["code"] == "ground-loop").collect();
    let text = told[0]["message"].as_str().unwrap();
    assert!(text.contains("80.0 %"), "{text}");
    // No fuse and no isolator is offered for metal.
    let hidden = message(&json, "hidden-return", "W1");
    assert!(hidden.contains("no fuse into metal"), "{hidden}");
}
