//! Linear equations by Gaussian elimination with row exchange: dense, slow, plain.

/// Solves `a x = b` for several right-hand sides, given as columns; also the determinant's sign.
/// `None` where the matrix is singular.
pub(crate) fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<Vec<f64>>) -> Option<(Vec<Vec<f64>>, f64)> {
    let n = a.len();
    let mut sign = 1.0;
    for k in 0..n {
        let pivot = (k..n).max_by(|i, j| a[*i][k].abs().total_cmp(&a[*j][k].abs()))?;
        if a[pivot][k] == 0.0 || !a[pivot][k].is_finite() {
            return None;
        }
        if pivot != k {
            a.swap(pivot, k);
            b.iter_mut().for_each(|column| column.swap(pivot, k));
            sign = -sign;
        }
        sign *= a[k][k].signum();
        let (above, below) = a.split_at_mut(k + 1);
        let row = &above[k];
        for (i, other) in below.iter_mut().enumerate().filter(|(_, r)| r[k] != 0.0) {
            let factor = other[k] / row[k];
            for (x, y) in other[k..].iter_mut().zip(&row[k..]) {
                *x -= factor * y;
            }
            for column in &mut b {
                column[k + 1 + i] -= factor * column[k];
            }
        }
    }
    for column in &mut b {
        for k in (0..n).rev() {
            let known: f64 = (k + 1..n).map(|j| a[k][j] * column[j]).sum();
            column[k] = (column[k] - known) / a[k][k];
        }
    }
    Some((b, sign))
}

/// The elimination against a library's LU factorization.
#[test]
fn elimination_meets_a_factorization() {
    let mut random = super::random::Random::new(7);
    for n in 1..20 {
        let a: Vec<Vec<f64>> = (0..n)
            .map(|_| (0..n).map(|_| random.number(-1.0, 1.0)).collect())
            .collect();
        let b: Vec<f64> = (0..n).map(|_| random.number(-1.0, 1.0)).collect();
        let matrix = nalgebra::DMatrix::from_fn(n, n, |i, j| a[i][j]);
        let lu = matrix.lu();
        let expected = lu.solve(&nalgebra::DVector::from_vec(b.clone())).unwrap();
        let (found, sign) = solve(a, vec![b]).unwrap();
        for (x, y) in found[0].iter().zip(expected.iter()) {
            assert!((x - y).abs() <= 1e-9 * (1.0 + y.abs()));
        }
        assert!(sign * lu.determinant() > 0.0);
    }
}
