//! What a mesh can lose at least and at most while the ohms of its conductors are anywhere
//! between their least and their most.
//!
//! Let Z be the matrix of a mesh that gives its volts from the amperes that enter. By Rayleigh's
//! principle (Doyle and Snell, Random Walks and Electric Networks, section 1.4) every quadratic
//! form w'Zw grows with every ohm, so Z lies between Z(least) and Z(most) in that order of
//! matrices. Write Z = M + X with M the mean of the two and -H <= X <= H, H half their difference.
//! Then for any u and v: |u'Xv| <= sqrt(u'Hu v'Hv) (Cauchy and Schwarz for the form of H + X and
//! of H - X). With u the step of the device across the mesh and v the amperes, that bounds the
//! volts lost on that step; where least and most meet, the bound is the loss itself.

use crate::size::shape::Mesh;

/// A mesh between two settings of its ohms.
#[derive(Debug)]
pub(crate) struct MeshBounds {
    /// Volts by node for a unit current into each, the last node being the reference, with the
    /// least ohms and with the most; row by row.
    least: Vec<f64>,
    most: Vec<f64>,
    size: usize,
}

/// A current that crosses a mesh: in at, out at, amperes at least and at most.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Crossing {
    pub(crate) into: usize,
    pub(crate) out: usize,
    pub(crate) least_a: f64,
    pub(crate) most_a: f64,
}

impl MeshBounds {
    /// Solves the mesh with the least and with the most ohms of each branch.
    pub(crate) fn of(mesh: &Mesh, range: impl Fn(usize) -> (f64, f64)) -> Self {
        let size = mesh.nodes.len() - 1;
        let with = |most: bool| {
            let mut siemens = vec![0.0; size * size];
            for (branch, a, b) in &mesh.branches {
                let (least_ohm, most_ohm) = range(*branch);
                let g = if most { most_ohm } else { least_ohm }.recip();
                for (x, y) in [(*a, *b), (*b, *a)] {
                    if x < size {
                        siemens[x * size + x] += g;
                        if y < size {
                            siemens[x * size + y] -= g;
                        }
                    }
                }
            }
            inverse(siemens, size)
        };
        Self {
            least: with(false),
            most: with(true),
            size,
        }
    }

    /// Volts lost from `into` to `out`, at least and at most, when some currents cross.
    pub(crate) fn loss(&self, into: usize, out: usize, currents: &[Crossing]) -> (f64, f64) {
        let same_way = currents
            .iter()
            .all(|c| c.least_a >= 0.0 && (c.into == into || c.out == out));
        if same_way && currents.iter().all(|c| c.most_a.is_finite()) {
            // All enter, or all leave, at one node: every unit of current lowers every other
            // node, so the least currents lose least.
            let few = self.injected(currents, |c| c.least_a);
            let many = self.injected(currents, |c| c.most_a);
            return (self.at(into, out, &few).0, self.at(into, out, &many).1);
        }
        let middle = self.injected(currents, |c| 0.5 * (c.least_a + c.most_a));
        let (low, high) = self.at(into, out, &middle);
        let own = self.form(&self.most, into, out).sqrt();
        let spread: f64 = currents
            .iter()
            .map(|c| {
                0.5 * (c.most_a - c.least_a) * own * self.form(&self.most, c.into, c.out).sqrt()
            })
            .sum();
        (low - spread, high + spread)
    }

    fn injected(&self, currents: &[Crossing], amps: impl Fn(&Crossing) -> f64) -> Vec<f64> {
        let mut node_a = vec![0.0; self.size + 1];
        for c in currents {
            node_a[c.into] += amps(c);
            node_a[c.out] -= amps(c);
        }
        node_a
    }

    /// Bounds of u'Zv: the mean of the two settings, less and plus the root of the differences.
    fn at(&self, into: usize, out: usize, node_a: &[f64]) -> (f64, f64) {
        let (few, most) = (
            self.volts(&self.least, node_a),
            self.volts(&self.most, node_a),
        );
        let across = |v: &[f64]| v[into] - v[out];
        let power = |v: &[f64]| v.iter().zip(node_a).map(|(v, a)| v * a).sum::<f64>();
        let own = self.form(&self.most, into, out) - self.form(&self.least, into, out);
        let all = power(&most) - power(&few);
        let mean = 0.5 * (across(&few) + across(&most));
        let root = 0.5 * (own.max(0.0) * all.max(0.0)).sqrt();
        (mean - root, mean + root)
    }

    fn volts(&self, z: &[f64], node_a: &[f64]) -> Vec<f64> {
        let row = |i: usize| {
            let row = &z[i * self.size..(i + 1) * self.size];
            row.iter().zip(node_a).map(|(z, a)| z * a).sum()
        };
        (0..self.size).map(row).chain([0.0]).collect()
    }

    /// u'Zu for the step from one node to another: its ohms as seen from there.
    fn form(&self, z: &[f64], a: usize, b: usize) -> f64 {
        let at = |x: usize, y: usize| {
            if x < self.size && y < self.size {
                z[x * self.size + y]
            } else {
                0.0
            }
        };
        (at(a, a) + at(b, b) - at(a, b) - at(b, a)).max(0.0)
    }
}

/// The inverse of a symmetric positive definite matrix, by Gauss and Jordan without pivoting.
fn inverse(mut a: Vec<f64>, n: usize) -> Vec<f64> {
    for k in 0..n {
        let pivot = a[k * n + k].recip();
        a[k * n + k] = 1.0;
        for j in 0..n {
            a[k * n + j] *= pivot;
        }
        for i in (0..n).filter(|i| *i != k) {
            let factor = std::mem::take(&mut a[i * n + k]);
            if factor != 0.0 {
                for j in 0..n {
                    a[i * n + j] -= factor * a[k * n + j];
                }
            }
        }
    }
    a
}
