//! Site to circuit, circuit to solution, site to study.

use divan::Bencher;
use farend::circuit::{Circuit, Corner, Template, cases};
use farend::site::{Site, read};
use farend::solve::{Bench, Solver};
use farend::study::Study;

use crate::sites::{Shape, text};

/// Every size for every shape.
const ALL: [(Shape, usize); 15] = [
    (Shape::Tree, 10),
    (Shape::Tree, 100),
    (Shape::Tree, 1_000),
    (Shape::Tree, 10_000),
    (Shape::Tree, 100_000),
    (Shape::Mesh, 10),
    (Shape::Mesh, 100),
    (Shape::Mesh, 1_000),
    (Shape::Mesh, 10_000),
    (Shape::Mesh, 100_000),
    (Shape::Homes, 10),
    (Shape::Homes, 100),
    (Shape::Homes, 1_000),
    (Shape::Homes, 10_000),
    (Shape::Homes, 100_000),
];
const TREES: [usize; 5] = [10, 100, 1_000, 10_000, 100_000];

fn site(shape: Shape, devices: usize) -> Site {
    read(&text(shape, devices)).unwrap()
}

/// The circuit of all devices active, in the corner low.
fn circuit(site: &Site) -> Circuit {
    let cases = cases(site);
    let template = Template::of(site);
    let live = template.live(site, &cases[1]);
    template.circuit(site, &cases[1], Corner::Low, &live)
}

/// From text to site.
#[divan::bench(args = TREES)]
fn reading(bencher: Bencher<'_, '_>, devices: usize) {
    let text = text(Shape::Tree, devices);
    bencher.bench(|| read(&text).unwrap());
}

/// From site to the circuit of one case and corner.
#[divan::bench(args = TREES)]
fn lower(bencher: Bencher<'_, '_>, devices: usize) {
    let site = site(Shape::Tree, devices);
    bencher.bench(|| circuit(&site));
}

/// One case and corner by a solver that has seen nothing.
#[divan::bench(args = ALL)]
fn solve_cold(bencher: Bencher<'_, '_>, (shape, devices): (Shape, usize)) {
    let circuit = circuit(&site(shape, devices));
    bencher.bench(|| Solver::new().solve(&circuit));
}

/// One case and corner after the length of one run has changed, from the last solution.
#[divan::bench(args = ALL)]
fn solve_again(bencher: Bencher<'_, '_>, (shape, devices): (Shape, usize)) {
    let mut bench = Bench::new(circuit(&site(shape, devices)));
    bench.solve();
    let branch = bench.circuit.branches.len() / 2;
    bencher.bench_local(|| {
        let ohms = &mut bench.circuit.branches[branch].resistance_ohm;
        *ohms = if *ohms > 0.2 { 0.1 } else { 0.3 };
        bench.solve()
    });
}

/// All cases, corners and checks by a solver that has seen nothing.
#[divan::bench(args = TREES)]
fn study(bencher: Bencher<'_, '_>, devices: usize) {
    let site = site(Shape::Tree, devices);
    bencher.bench(|| Study::of(&site, &mut Solver::new()));
}
