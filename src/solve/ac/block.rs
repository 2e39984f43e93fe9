//! Sparse L U of a matrix of 2 x 2 blocks with a symmetric pattern.
//!
//! A phasor is two numbers, and its equation two rows; what does not pair them, the square of a
//! draw's volts, keeps the matrix from being complex. Pattern and order are those of the real
//! network (`ldl`). No rows are exchanged: without draws the matrix has a positive definite
//! symmetric part, for which elimination in any order is stable (N. J. Higham, Accuracy and
//! Stability of Numerical Algorithms, 2nd ed., section 10.4), and each Newton step corrects the
//! rounding of the one before.

use crate::solve::ldl::{Symbolic, span};

/// A 2 x 2 block, row by row.
pub(super) type Block = [f64; 4];

/// Rows of the equations and of the unknowns.
pub(super) type Pair = [f64; 2];

pub(super) const NOTHING: Block = [0.0; 4];
pub(super) const ONE: Block = [1.0, 0.0, 0.0, 1.0];

fn times(a: &Block, b: &Block) -> Block {
    [
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
    ]
}

pub(super) fn apply(a: &Block, x: Pair) -> Pair {
    [a[0] * x[0] + a[1] * x[1], a[2] * x[0] + a[3] * x[1]]
}

pub(super) fn plus(a: &mut Block, b: &Block, sign: f64) {
    for (a, b) in a.iter_mut().zip(b) {
        *a += sign * b;
    }
}

fn less(a: &mut Pair, b: Pair) {
    a[0] -= b[0];
    a[1] -= b[1];
}

/// The numbers of a matrix, and then of its factor.
#[derive(Debug)]
pub(super) struct Matrix {
    /// The diagonal, then the inverse pivots; one more for what concerns no row.
    pub(super) diagonal: Vec<Block>,
    /// Entries below the diagonal, by column, and their mirror images above it, by row; one more
    /// for what concerns no entry.
    pub(super) lower: Vec<Block>,
    pub(super) upper: Vec<Block>,
}

impl Matrix {
    /// Makes room for a matrix of this pattern.
    pub(super) fn new(symbolic: &Symbolic) -> Self {
        Self {
            diagonal: vec![NOTHING; symbolic.rows() + 1],
            lower: vec![NOTHING; symbolic.entries() + 1],
            upper: vec![NOTHING; symbolic.entries() + 1],
        }
    }

    pub(super) fn clear(&mut self) {
        self.diagonal.fill(NOTHING);
        self.lower.fill(NOTHING);
        self.upper.fill(NOTHING);
    }

    /// Factors the matrix in place and returns whether its determinant is over 0; nothing if it is
    /// singular.
    pub(super) fn factor(&mut self, symbolic: &Symbolic) -> Option<bool> {
        let mut positive = true;
        for column in 0..symbolic.rows() {
            let pivot = self.diagonal[column];
            let determinant = pivot[0] * pivot[3] - pivot[1] * pivot[2];
            if determinant == 0.0 || !determinant.is_finite() {
                return None;
            }
            positive ^= determinant < 0.0;
            let inverse = [pivot[3], -pivot[1], -pivot[2], pivot[0]].map(|a| a / determinant);
            self.diagonal[column] = inverse;
            let here = span(&symbolic.start, column);
            for entry in here.clone() {
                self.lower[entry] = times(&self.lower[entry], &inverse);
            }
            for entry in here.clone() {
                let row = symbolic.row[entry] as usize;
                let (left, above) = (self.lower[entry], self.upper[entry]);
                plus(&mut self.diagonal[row], &times(&left, &above), -1.0);
                // The rows further down this column all have entries in the column `row`.
                let mut target = symbolic.start[row] as usize;
                for below in entry + 1..here.end {
                    while symbolic.row[target] != symbolic.row[below] {
                        target += 1;
                    }
                    let (lower, upper) = (self.lower[below], self.upper[below]);
                    plus(&mut self.lower[target], &times(&lower, &above), -1.0);
                    plus(&mut self.upper[target], &times(&left, &upper), -1.0);
                    target += 1;
                }
            }
        }
        Some(positive)
    }

    /// Replaces the right-hand side by the solution of a matrix that is factored.
    pub(super) fn solve(&self, symbolic: &Symbolic, rhs: &mut [Pair]) {
        for at in 0..symbolic.rows() {
            let value = rhs[at];
            for entry in span(&symbolic.start, at) {
                let row = symbolic.row[entry] as usize;
                less(&mut rhs[row], apply(&self.lower[entry], value));
            }
        }
        for at in (0..symbolic.rows()).rev() {
            let mut value = rhs[at];
            for entry in span(&symbolic.start, at) {
                let row = symbolic.row[entry] as usize;
                less(&mut value, apply(&self.upper[entry], rhs[row]));
            }
            rhs[at] = apply(&self.diagonal[at], value);
        }
    }
}
