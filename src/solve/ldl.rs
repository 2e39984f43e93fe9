//! Sparse L D Lᵀ of a symmetric matrix, row by row.
//!
//! Row k of L follows from the rows before it: with y the solution of L(k) D(k) y = a(k), where
//! a(k) is the part of column k above the diagonal, `l_kj` = `y_j` and the pivot is
//! `d_k` = `a_kk` - Σ `l_kj`² `d_j`. All pivots are positive exactly when the matrix is positive
//! definite, which is what the caller wants to know as much as the solution.

use super::index;

const NONE: u32 = u32::MAX;

/// Where the nonzeros of a matrix and of its factor are.
#[derive(Debug)]
pub(super) struct Symbolic {
    /// Entries above the diagonal, by column: start of each column and row of each entry.
    upper_start: Vec<u32>,
    upper_row: Vec<u32>,
    /// Entries of L by row, ascending: start of each row and column of each entry.
    row_start: Vec<u32>,
    row_column: Vec<u32>,
    /// The same entries by column: start of each column and row of each entry.
    column_start: Vec<u32>,
    column_row: Vec<u32>,
}

impl Symbolic {
    /// Analyses the matrix with an entry for each of `edges` and a full diagonal.
    ///
    /// Also returns, for each edge, the index of its entry in the `upper` values of
    /// [`Factor::compute`]; `u32::MAX` for an edge from a row to itself.
    pub(super) fn new(rows: usize, edges: &[(u32, u32)]) -> (Self, Vec<u32>) {
        let (upper_start, upper_row, slots) = upper_pattern(rows, edges);
        let (row_start, row_column) = row_patterns(rows, &upper_start, &upper_row);
        let (column_start, column_row) = transpose(rows, &row_start, &row_column);
        let symbolic = Self {
            upper_start,
            upper_row,
            row_start,
            row_column,
            column_start,
            column_row,
        };
        (symbolic, slots)
    }

    /// Returns the number of rows.
    pub(super) fn rows(&self) -> usize {
        self.row_start.len() - 1
    }

    /// Returns the number of entries above the diagonal.
    pub(super) fn entries(&self) -> usize {
        self.upper_row.len()
    }
}

fn span(starts: &[u32], k: usize) -> std::ops::Range<usize> {
    starts[k] as usize..starts[k + 1] as usize
}

/// Turns counts into starts, in place; the last element becomes the total.
fn accumulate(counts: &mut [u32]) {
    let mut total = 0;
    for count in counts {
        total += std::mem::replace(count, total);
    }
}

fn upper_pattern(rows: usize, edges: &[(u32, u32)]) -> (Vec<u32>, Vec<u32>, Vec<u32>) {
    let mut start = vec![0; rows + 1];
    for &(a, b) in edges.iter().filter(|(a, b)| a != b) {
        start[a.max(b) as usize] += 1;
    }
    accumulate(&mut start);
    let mut by_column = vec![0; start[rows] as usize];
    let mut next = start.clone();
    for (k, &(a, b)) in edges.iter().enumerate().filter(|(_, (a, b))| a != b) {
        let place = &mut next[a.max(b) as usize];
        by_column[*place as usize] = index(k);
        *place += 1;
    }
    let mut slots = vec![NONE; edges.len()];
    let mut upper_start = vec![0];
    let mut upper_row: Vec<u32> = Vec::with_capacity(by_column.len());
    // Slot of the entry (row, current column); valid if at or after the column's first slot.
    let mut seen = vec![NONE; rows];
    for column in 0..rows {
        let first = index(upper_row.len());
        for &k in &by_column[span(&start, column)] {
            let (a, b) = edges[k as usize];
            let row = a.min(b);
            let known = seen[row as usize];
            if known == NONE || known < first {
                seen[row as usize] = index(upper_row.len());
                upper_row.push(row);
            }
            slots[k as usize] = seen[row as usize];
        }
        upper_start.push(index(upper_row.len()));
    }
    (upper_start, upper_row, slots)
}

/// Columns of each row of L: the ancestors, in the elimination tree, of the row's entries in A.
fn row_patterns(rows: usize, upper_start: &[u32], upper_row: &[u32]) -> (Vec<u32>, Vec<u32>) {
    let mut parent = vec![NONE; rows];
    let mut seen = vec![NONE; rows];
    let mut start = vec![0];
    let mut columns: Vec<u32> = Vec::with_capacity(upper_row.len() * 2);
    for row in 0..rows {
        let here = index(row);
        seen[row] = here;
        let first = columns.len();
        for &entry in &upper_row[span(upper_start, row)] {
            let mut at = entry;
            while seen[at as usize] != here {
                seen[at as usize] = here;
                columns.push(at);
                if parent[at as usize] == NONE {
                    parent[at as usize] = here;
                }
                at = parent[at as usize];
            }
        }
        columns[first..].sort_unstable();
        start.push(index(columns.len()));
    }
    (start, columns)
}

fn transpose(rows: usize, row_start: &[u32], row_column: &[u32]) -> (Vec<u32>, Vec<u32>) {
    let mut start = vec![0; rows + 1];
    for &column in row_column {
        start[column as usize] += 1;
    }
    accumulate(&mut start);
    let mut next = start.clone();
    let mut column_row = vec![0; row_column.len()];
    for row in 0..rows {
        for &column in &row_column[span(row_start, row)] {
            let place = &mut next[column as usize];
            column_row[*place as usize] = index(row);
            *place += 1;
        }
    }
    (start, column_row)
}

/// The numbers of a factor.
#[derive(Debug)]
pub(super) struct Factor {
    /// Values of L by column.
    lower: Vec<f64>,
    inverse_pivot: Vec<f64>,
    filled: Vec<u32>,
    work: Vec<f64>,
}

impl Factor {
    /// Makes room for the factor of a matrix of this pattern.
    pub(super) fn new(symbolic: &Symbolic) -> Self {
        let rows = symbolic.rows();
        Self {
            lower: vec![0.0; symbolic.column_row.len()],
            inverse_pivot: vec![0.0; rows],
            filled: vec![0; rows],
            work: vec![0.0; rows],
        }
    }

    /// Factors the matrix and returns the number of negative pivots, which is that of its negative
    /// eigenvalues; nothing, with no usable factor, if it is singular or they are more than `most`.
    pub(super) fn compute(
        &mut self,
        symbolic: &Symbolic,
        diagonal: &[f64],
        upper: &[f64],
        most: usize,
    ) -> Option<usize> {
        let mut negative = 0;
        let rows = symbolic.rows();
        self.filled.copy_from_slice(&symbolic.column_start[..rows]);
        self.work.fill(0.0);
        for (row, &own) in diagonal.iter().enumerate() {
            for slot in span(&symbolic.upper_start, row) {
                self.work[symbolic.upper_row[slot] as usize] = upper[slot];
            }
            let mut pivot = own;
            for &column in &symbolic.row_column[span(&symbolic.row_start, row)] {
                let column = column as usize;
                let value = std::mem::take(&mut self.work[column]);
                let done = symbolic.column_start[column] as usize..self.filled[column] as usize;
                for entry in done {
                    self.work[symbolic.column_row[entry] as usize] -= self.lower[entry] * value;
                }
                let scaled = value * self.inverse_pivot[column];
                pivot -= scaled * value;
                self.lower[self.filled[column] as usize] = scaled;
                self.filled[column] += 1;
            }
            negative += usize::from(pivot < 0.0);
            if pivot == 0.0 || !pivot.is_finite() || negative > most {
                return None;
            }
            self.inverse_pivot[row] = pivot.recip();
        }
        Some(negative)
    }

    /// Replaces the right-hand side by the solution.
    pub(super) fn solve(&self, symbolic: &Symbolic, rhs: &mut [f64]) {
        for column in 0..rhs.len() {
            let value = rhs[column];
            for entry in span(&symbolic.column_start, column) {
                rhs[symbolic.column_row[entry] as usize] -= self.lower[entry] * value;
            }
        }
        for column in (0..rhs.len()).rev() {
            let mut value = rhs[column] * self.inverse_pivot[column];
            for entry in span(&symbolic.column_start, column) {
                value -= self.lower[entry] * rhs[symbolic.column_row[entry] as usize];
            }
            rhs[column] = value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factor_of(
        diagonal: &[f64],
        edges: &[(u32, u32)],
        values: &[f64],
    ) -> (Symbolic, Option<Factor>) {
        let (symbolic, slots) = Symbolic::new(diagonal.len(), edges);
        let mut upper = vec![0.0; symbolic.entries()];
        for (&slot, value) in slots.iter().zip(values) {
            upper[slot as usize] += value;
        }
        let mut factor = Factor::new(&symbolic);
        let positive = factor.compute(&symbolic, diagonal, &upper, 0);
        (symbolic, positive.map(|_| factor))
    }

    #[test]
    fn solves_a_ring_with_fill() {
        let edges = [(0, 1), (1, 2), (3, 2), (3, 0), (1, 0)];
        let (symbolic, factor) =
            factor_of(&[5.0, 4.0, 3.0, 6.0], &edges, &[-1., -1., -1., -2., -1.]);
        let mut rhs = [
            5.0 - 4.0 - 8.0,
            8.0 - 2.0 - 3.0,
            9.0 - 2.0 - 4.0,
            24.0 - 3.0 - 2.0,
        ];
        factor.unwrap().solve(&symbolic, &mut rhs);
        for (got, want) in rhs.iter().zip([1.0, 2.0, 3.0, 4.0]) {
            approx::assert_abs_diff_eq!(*got, want, epsilon = 1e-14);
        }
    }

    #[test]
    fn refuses_an_indefinite_matrix() {
        assert!(factor_of(&[1.0, 1.0], &[(0, 1)], &[-2.0]).1.is_none());
    }
}
