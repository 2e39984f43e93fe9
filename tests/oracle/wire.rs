//! Ohms per kilometre of a conductor, by the rules of the format, with figures typed anew.

use super::plan::{Cable, Size};

/// NEC Chapter 9 Table 8, ohm/kft at 75 C: gauge, solid?, copper, coated copper, aluminum.
const TABLE_8: [(i32, bool, f64, f64, f64); 21] = [
    (18, true, 7.77, 8.08, 12.8),
    (18, false, 7.95, 8.45, 13.1),
    (16, true, 4.89, 5.08, 8.05),
    (16, false, 4.99, 5.29, 8.21),
    (14, true, 3.07, 3.19, 5.06),
    (14, false, 3.14, 3.26, 5.17),
    (12, true, 1.93, 2.01, 3.18),
    (12, false, 1.98, 2.05, 3.25),
    (10, true, 1.21, 1.26, 2.00),
    (10, false, 1.24, 1.29, 2.04),
    (8, true, 0.764, 0.786, 1.26),
    (8, false, 0.778, 0.809, 1.28),
    (6, false, 0.491, 0.510, 0.808),
    (4, false, 0.308, 0.321, 0.508),
    (3, false, 0.245, 0.254, 0.403),
    (2, false, 0.194, 0.201, 0.319),
    (1, false, 0.154, 0.160, 0.253),
    (0, false, 0.122, 0.127, 0.201),
    (-1, false, 0.0967, 0.101, 0.159),
    (-2, false, 0.0766, 0.0797, 0.126),
    (-3, false, 0.0608, 0.0626, 0.100),
];

/// IEC 60228, ohm/km at 20 C: mm2, classes 1 and 2 plain and coated, class 5 plain and coated.
const IEC: [(f64, f64, f64, f64, f64); 10] = [
    (0.5, 36.0, 36.7, 39.0, 40.1),
    (0.75, 24.5, 24.8, 26.0, 26.7),
    (1.0, 18.1, 18.2, 19.5, 20.0),
    (1.5, 12.1, 12.2, 13.3, 13.7),
    (2.5, 7.41, 7.56, 7.98, 8.21),
    (4.0, 4.61, 4.70, 4.95, 5.09),
    (6.0, 3.08, 3.11, 3.30, 3.39),
    (10.0, 1.83, 1.84, 1.91, 1.95),
    (16.0, 1.15, 1.16, 1.21, 1.24),
    (25.0, 0.727, 0.734, 0.780, 0.795),
];

/// Ohms per kilometre of one conductor at `t` degrees Celsius.
pub(crate) fn ohm_per_km(cable: &Cable, t: f64) -> f64 {
    let k = match cable.material {
        "aluminum" => 228.1,
        "copper-clad aluminum" => 230.0,
        _ => 234.5,
    };
    let moved = |ohms: f64, at: f64| ohms * (k + t) / (k + at);
    if let Some((ohms, at)) = cable.resistance {
        return moved(ohms, at.unwrap_or(20.0));
    }
    let clad = if cable.material == "copper-clad aluminum" {
        1.0 / 0.63
    } else {
        1.0
    };
    let tinned = cable.material == "tinned copper";
    let solid = cable.stranding == "solid";
    match cable.size {
        Size::Awg(gauge) => {
            if let Some(row) = TABLE_8.iter().find(|r| r.0 == gauge && r.1 == solid) {
                let per_km = |per_kft: f64| per_kft / 0.3048;
                return match cable.material {
                    "aluminum" => per_km(row.4) * (1.0 + 0.00330 * (t - 75.0)),
                    "tinned copper" => per_km(row.3) * (1.0 + 0.00323 * (t - 75.0)),
                    "copper" => per_km(row.2) * (1.0 + 0.00323 * (t - 75.0)),
                    _ => moved(per_km(row.2) * clad, 75.0),
                };
            }
            // ASTM B258: 36 AWG is 5 mil, 4/0 is 460 mil, 39 equal ratios between them.
            let inch = 0.005 * 92_f64.powf(f64::from(36 - gauge) / 39.0);
            let area = std::f64::consts::FRAC_PI_4 * (inch * 25.4).powi(2);
            let stranded = if solid { 1.0 } else { 1.02 };
            let coated = if tinned { 1.06 } else { 1.0 };
            moved(1000.0 / 58.0 / area * stranded * coated * clad, 20.0)
        }
        Size::Mm2(area) => {
            let row = IEC.iter().find(|r| (r.0 - area).abs() < 1e-9);
            let ohms = match (row, cable.stranding == "fine", tinned) {
                (Some(r), false, false) => r.1,
                (Some(r), false, true) => r.2,
                (Some(r), true, false) => r.3,
                (Some(r), true, true) => r.4,
                (None, _, _) => 1000.0 / 58.0 / area * 1.02,
            };
            moved(ohms * clad, 20.0)
        }
    }
}
