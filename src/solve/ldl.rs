//! Sparse L D Lᵀ of a symmetric matrix, column by column.
//!
//! With d the pivot of column k and l its entries below the diagonal over d, what is left of the
//! matrix loses d l lᵀ. All pivots are positive exactly when the matrix is positive definite,
//! which is what the caller wants to know as much as the solution.

use std::ops::Range;

use super::index;

/// Where the nonzeros of a factor are: by column, the rows below the diagonal, ascending.
#[derive(Debug)]
pub(super) struct Symbolic {
    pub(super) start: Vec<u32>,
    pub(super) row: Vec<u32>,
}

impl Symbolic {
    /// Takes the columns from an elimination order.
    pub(super) fn new(start: Vec<u32>, row: Vec<u32>) -> Self {
        Self { start, row }
    }

    /// Returns the number of rows.
    pub(super) fn rows(&self) -> usize {
        self.start.len() - 1
    }

    /// Returns the number of entries below the diagonal.
    pub(super) fn entries(&self) -> usize {
        self.row.len()
    }

    /// Returns which entries are in the columns of these rows.
    pub(super) fn entries_of(&self, rows: &Range<usize>) -> Range<usize> {
        self.start[rows.start] as usize..self.start[rows.end] as usize
    }

    /// Returns the index of the entry of two different rows that an edge joins.
    pub(super) fn slot(&self, a: u32, b: u32) -> u32 {
        let (column, row) = (a.min(b) as usize, a.max(b));
        let first = self.start[column];
        let rows = &self.row[span(&self.start, column)];
        first + index(rows.partition_point(|r| *r < row))
    }
}

pub(super) fn span(starts: &[u32], k: usize) -> Range<usize> {
    starts[k] as usize..starts[k + 1] as usize
}

/// The numbers of a matrix, and then of its factor.
#[derive(Debug, Default)]
pub(super) struct Factor {
    /// The diagonal, then the inverse pivots; one more for what concerns no row.
    pub(super) diagonal: Vec<f64>,
    /// Entries below the diagonal, by column; one more for what concerns no entry.
    pub(super) lower: Vec<f64>,
}

impl Factor {
    /// Makes room for a matrix of this pattern.
    pub(super) fn new(symbolic: &Symbolic) -> Self {
        Self {
            diagonal: vec![0.0; symbolic.rows() + 1],
            lower: vec![0.0; symbolic.entries() + 1],
        }
    }

    /// Factors a block of the matrix in place, and eliminates forward in the right-hand side.
    ///
    /// Returns the number of negative pivots, which is that of the matrix's negative eigenvalues;
    /// nothing, with no usable factor, if it is singular or they are more than `most`.
    pub(super) fn compute(
        &mut self,
        symbolic: &Symbolic,
        rows: &Range<usize>,
        rhs: &mut [f64],
        most: usize,
    ) -> Option<usize> {
        let (diagonal, lower) = (&mut self.diagonal[..], &mut self.lower[..]);
        let mut negative = 0;
        for column in rows.clone() {
            let pivot = diagonal[column];
            negative += usize::from(pivot < 0.0);
            if pivot == 0.0 || !pivot.is_finite() || negative > most {
                return None;
            }
            let inverse = pivot.recip();
            diagonal[column] = inverse;
            let own = rhs[column];
            let here = span(&symbolic.start, column);
            for at in here.clone() {
                let value = lower[at];
                let scaled = value * inverse;
                lower[at] = scaled;
                let row = symbolic.row[at] as usize;
                diagonal[row] -= scaled * value;
                rhs[row] -= scaled * own;
                // The rows further down this column all have entries in the column `row`.
                let mut target = symbolic.start[row] as usize;
                for below in at + 1..here.end {
                    while symbolic.row[target] != symbolic.row[below] {
                        target += 1;
                    }
                    lower[target] -= scaled * lower[below];
                    target += 1;
                }
            }
        }
        Some(negative)
    }

    /// Replaces a right-hand side by the solution in a block.
    pub(super) fn solve(&self, symbolic: &Symbolic, rows: &Range<usize>, rhs: &mut [f64]) {
        for column in rows.clone() {
            let value = rhs[column];
            for at in span(&symbolic.start, column) {
                rhs[symbolic.row[at] as usize] -= self.lower[at] * value;
            }
        }
        self.back(symbolic, rows, rhs);
    }

    /// Replaces a right-hand side that is eliminated forward by the solution in a block.
    pub(super) fn back(&self, symbolic: &Symbolic, rows: &Range<usize>, rhs: &mut [f64]) {
        for column in rows.clone().rev() {
            let mut value = rhs[column] * self.diagonal[column];
            for at in span(&symbolic.start, column) {
                value -= self.lower[at] * rhs[symbolic.row[at] as usize];
            }
            rhs[column] = value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::ordering::minimum_degree;

    fn factor_of(
        diagonal: &[f64],
        edges: &[(u32, u32)],
        values: &[f64],
        rhs: &mut [f64],
    ) -> Option<usize> {
        let order = minimum_degree(diagonal.len(), edges);
        let place = |node: u32| order.place[node as usize];
        let symbolic = Symbolic::new(order.start.clone(), order.around.clone());
        let mut factor = Factor::new(&symbolic);
        let mut permuted = vec![0.0; rhs.len()];
        for (node, value) in diagonal.iter().enumerate() {
            factor.diagonal[place(index(node)) as usize] = *value;
            permuted[place(index(node)) as usize] = rhs[node];
        }
        for (&(a, b), value) in edges.iter().zip(values) {
            factor.lower[symbolic.slot(place(a), place(b)) as usize] += value;
        }
        let (again, all) = (permuted.clone(), 0..rhs.len());
        let negative = factor.compute(&symbolic, &all, &mut permuted, 0)?;
        factor.back(&symbolic, &all, &mut permuted);
        let mut second = again;
        factor.solve(&symbolic, &all, &mut second);
        for (node, value) in rhs.iter_mut().enumerate() {
            *value = permuted[place(index(node)) as usize];
            approx::assert_abs_diff_eq!(
                *value,
                second[place(index(node)) as usize],
                epsilon = 1e-14
            );
        }
        Some(negative)
    }

    #[test]
    fn solves_a_ring_with_fill() {
        let edges = [(0, 1), (1, 2), (3, 2), (3, 0), (1, 0)];
        let mut rhs = [
            5.0 - 4.0 - 8.0,
            8.0 - 2.0 - 3.0,
            9.0 - 2.0 - 4.0,
            24.0 - 3.0 - 2.0,
        ];
        let values = [-1., -1., -1., -2., -1.];
        let negative = factor_of(&[5.0, 4.0, 3.0, 6.0], &edges, &values, &mut rhs);
        assert_eq!(negative, Some(0));
        for (got, want) in rhs.iter().zip([1.0, 2.0, 3.0, 4.0]) {
            approx::assert_abs_diff_eq!(*got, want, epsilon = 1e-14);
        }
    }

    #[test]
    fn refuses_an_indefinite_matrix() {
        assert!(factor_of(&[1.0, 1.0], &[(0, 1)], &[-2.0], &mut [0.0; 2]).is_none());
    }
}
