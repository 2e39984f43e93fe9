//! Small dense matrices, row by row in one list.

/// The inverse of a matrix, by elimination with exchange of rows; `None` where it is singular.
pub(super) fn inverse(mut a: Vec<f64>, n: usize) -> Option<Vec<f64>> {
    let mut inverse = identity(n);
    for k in 0..n {
        let size = |row: &usize| a[row * n + k].abs();
        let pivot = (k..n).max_by(|p, q| size(p).total_cmp(&size(q)))?;
        let value = a[pivot * n + k];
        if value == 0.0 || !value.is_finite() {
            return None;
        }
        for c in 0..n {
            a.swap(k * n + c, pivot * n + c);
            inverse.swap(k * n + c, pivot * n + c);
        }
        for c in 0..n {
            a[k * n + c] /= value;
            inverse[k * n + c] /= value;
        }
        for row in (0..n).filter(|row| *row != k) {
            let factor = a[row * n + k];
            if factor != 0.0 {
                for c in 0..n {
                    a[row * n + c] -= factor * a[k * n + c];
                    inverse[row * n + c] -= factor * inverse[k * n + c];
                }
            }
        }
    }
    Some(inverse)
}

/// Solves a x = b in place, by elimination with exchange of rows; false where a is singular.
pub(super) fn solve(a: &mut [f64], b: &mut [f64]) -> bool {
    let n = b.len();
    for k in 0..n {
        let mut pivot = k;
        for row in k + 1..n {
            if a[row * n + k].abs() > a[pivot * n + k].abs() {
                pivot = row;
            }
        }
        let value = a[pivot * n + k];
        if value == 0.0 || !value.is_finite() {
            return false;
        }
        if pivot != k {
            for c in k..n {
                a.swap(k * n + c, pivot * n + c);
            }
            b.swap(k, pivot);
        }
        for row in k + 1..n {
            let factor = a[row * n + k] / value;
            if factor != 0.0 {
                for c in k + 1..n {
                    a[row * n + c] -= factor * a[k * n + c];
                }
                b[row] -= factor * b[k];
            }
        }
    }
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|c| a[k * n + c] * b[c]).sum();
        b[k] = (b[k] - known) / a[k * n + k];
    }
    true
}

/// The lower triangle L with L Lᵀ = a, for a symmetric matrix without negative eigenvalues.
///
/// A pivot that is nothing but rounding leaves a column of zeros.
pub(super) fn root(a: &[f64], n: usize) -> Vec<f64> {
    let mut l = vec![0.0; n * n];
    for k in 0..n {
        let pivot = a[k * n + k] - (0..k).map(|c| l[k * n + c] * l[k * n + c]).sum::<f64>();
        if pivot <= 1e-13 * a[k * n + k].abs() {
            continue;
        }
        let pivot = pivot.sqrt();
        l[k * n + k] = pivot;
        for row in k + 1..n {
            let known: f64 = (0..k).map(|c| l[row * n + c] * l[k * n + c]).sum();
            l[row * n + k] = (a[row * n + k] - known) / pivot;
        }
    }
    l
}

/// Whether I + Lᵀ D L has positive eigenvalues alone, for a lower triangle L and a diagonal D.
pub(super) fn is_positive(l: &[f64], d: &[f64]) -> bool {
    let n = d.len();
    let mut s = vec![0.0; n * n];
    for row in 0..n {
        for column in 0..=row {
            // Column c of L starts at row c.
            let sum: f64 = (row..n)
                .map(|k| l[k * n + row] * d[k] * l[k * n + column])
                .sum();
            s[row * n + column] = sum + if row == column { 1.0 } else { 0.0 };
        }
    }
    for k in 0..n {
        let pivot = s[k * n + k];
        if pivot.is_nan() || pivot <= 0.0 {
            return false;
        }
        for row in k + 1..n {
            let factor = s[row * n + k] / pivot;
            for column in k + 1..=row {
                s[row * n + column] -= factor * s[column * n + k];
            }
        }
    }
    true
}

fn identity(n: usize) -> Vec<f64> {
    let mut identity = vec![0.0; n * n];
    (0..n).for_each(|k| identity[k * n + k] = 1.0);
    identity
}

#[cfg(test)]
mod tests {
    use nalgebra::{DMatrix, DVector, SymmetricEigen};

    use super::*;

    /// Every function against a general library, on matrices of a reproducible series.
    #[test]
    fn a_library_finds_the_same() {
        let mut seed = 3_u64;
        let mut random = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 11) as f64 / (1_u64 << 53) as f64 * 2.0 - 1.0
        };
        let (mut positive, mut other) = (0, 0);
        for n in (1..9).cycle().take(200) {
            let a: Vec<f64> = (0..n * n).map(|_| random()).collect();
            let b: Vec<f64> = (0..n).map(|_| random()).collect();
            let matrix = DMatrix::from_row_slice(n, n, &a);
            let expected = matrix
                .clone()
                .lu()
                .solve(&DVector::from_vec(b.clone()))
                .unwrap();
            let mut found = b.clone();
            assert!(solve(&mut a.clone(), &mut found));
            let inverse = DMatrix::from_row_slice(n, n, &inverse(a, n).unwrap());
            let by_inverse = inverse * DVector::from_vec(b.clone());
            for k in 0..n {
                let near = 1e-6 * (1.0 + expected[k].abs());
                assert!((found[k] - expected[k]).abs() < near);
                assert!((by_inverse[k] - expected[k]).abs() < near);
            }
            let square = &matrix * matrix.transpose();
            let l = root(square.as_slice(), n);
            let d: Vec<f64> = b.iter().map(|b| 2.0 * b).collect();
            let lower = DMatrix::from_row_slice(n, n, &l);
            assert!((&lower * lower.transpose() - square).abs().max() < 1e-9);
            let s = DMatrix::identity(n, n)
                + lower.transpose() * DMatrix::from_diagonal(&DVector::from_vec(d.clone())) * lower;
            let least = SymmetricEigen::new(s).eigenvalues.min();
            assert_eq!(is_positive(&l, &d), least > 0.0);
            if least > 0.0 {
                positive += 1;
            } else {
                other += 1;
            }
        }
        assert!(positive > 20 && other > 20);
    }
}
