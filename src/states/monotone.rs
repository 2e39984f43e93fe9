//! What may be said of a network of ports whatever its loads are.

use crate::states::dense;

/// The part of a number that is rounding.
const ROUNDING: f64 = 1e-9;

/// The ports of an impedance matrix that have an impedance, those at the same terminals once, and
/// the inverse of their impedances; `None` where it has none.
fn admittances(z: &[f64], n: usize) -> Option<(Vec<usize>, Vec<f64>)> {
    let mut kept: Vec<usize> = Vec::new();
    for k in 0..n {
        let own = z[k * n + k];
        let same = |j: &usize| {
            let near = ROUNDING * own;
            (z[j * n + j] - own).abs() <= near && (z[j * n + k] - own).abs() <= near
        };
        if own > 0.0 && !kept.iter().any(same) {
            kept.push(k);
        }
    }
    let small = kept
        .iter()
        .flat_map(|j| kept.iter().map(|k| z[*j * n + *k]));
    let y = dense::inverse(small.collect(), kept.len())?;
    Some((kept, y))
}

/// Whether more current at any port means less volts at every port, whatever draws besides.
///
/// So it is where the inverse of the impedances has no entry over 0 off its diagonal: with any
/// slopes of the loads on the diagonal it stays such a matrix, and while it is positive definite
/// its inverse has no negative entry.
///
/// # Source
/// Berman and Plemmons, Nonnegative Matrices in the Mathematical Sciences, chapter 6 (conditions
/// for a nonsingular M-matrix), from memory.
pub(super) fn takes_from_all(z: &[f64], n: usize) -> bool {
    let Some((kept, y)) = admittances(z, n) else {
        return false;
    };
    let m = kept.len();
    (0..m).all(|j| {
        (0..m).all(|k| {
            let near = ROUNDING * (y[j * m + j] * y[k * m + k]).abs().sqrt();
            j == k || y[j * m + k] <= near
        })
    })
}

/// Whether less volts at any port of a network mean no less amps from a source of fixed volts,
/// whatever draws; `amps` is what the source gives for an ampere at each port.
///
/// Its amps are a constant less a sum over the volts of the ports, with `amps` times the inverse
/// of the impedances as factors, which must not be negative. A port without impedance is at the
/// source itself: there an ampere is an ampere.
pub(super) fn takes_more(z: &[f64], amps: &[f64]) -> bool {
    let n = amps.len();
    let Some((kept, y)) = admittances(z, n) else {
        return false;
    };
    let m = kept.len();
    let firm = (0..n).filter(|k| z[k * n + k] <= 0.0);
    firm.into_iter().all(|k| amps[k] >= -ROUNDING)
        && (0..m).all(|k| {
            let terms = (0..m).map(|j| amps[kept[j]] * y[j * m + k]);
            let size: f64 = terms.clone().map(f64::abs).sum();
            terms.sum::<f64>() >= -ROUNDING * size
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two loads along one wire of 1 ohm a piece: 1 ohm to the first, 2 to the second.
    const WIRE: [f64; 4] = [1.0, 1.0, 1.0, 2.0];

    #[test]
    fn along_a_wire_every_ampere_takes_volts_from_all() {
        assert!(takes_from_all(&WIRE, 2));
        assert!(takes_more(&WIRE, &[1.0, 1.0]));
    }

    #[test]
    fn a_port_whose_amperes_come_from_elsewhere_proves_nothing() {
        // The volts of the second fall, and the source of the first gives less.
        assert!(!takes_more(&WIRE, &[0.0, -1.0]));
        // Across the wire's own end, where an ampere raises the volts of the other.
        assert!(!takes_from_all(&[1.0, -0.5, -0.5, 2.0], 2));
    }

    #[test]
    fn at_the_source_itself_an_ampere_is_an_ampere() {
        assert!(takes_more(&[0.0, 0.0, 0.0, 1.0], &[1.0, 1.0]));
        assert!(!takes_more(&[0.0, 0.0, 0.0, 1.0], &[-1.0, 1.0]));
    }
}
