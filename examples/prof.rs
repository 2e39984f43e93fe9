#![allow(warnings)]
#[path = "../benches/speed/sites.rs"]
mod sites;
use farend::circuit::*;
use farend::solve::*;
use farend::study::Study;
use std::time::Instant;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let (what, shape, n, it) = (
        &a[1],
        a[2].parse().unwrap(),
        a[3].parse().unwrap(),
        a[4].parse::<usize>().unwrap(),
    );
    let text = sites::text(shape, n);
    let site = farend::site::read(&text).unwrap();
    let cs = cases(&site);
    let t = Template::of(&site);
    let live = t.live(&site, &cs[1]);
    let circuit = t.circuit(&site, &cs[1], Corner::Low, &live);
    let mut bench = Bench::new(circuit.clone());
    bench.solve();
    let mut times = vec![];
    let mut solver = Solver::new();
    let mut last = Study::of(&site, &mut solver);
    for k in 0..it {
        let s = Instant::now();
        match what.as_str() {
            "none" => {}
            "cold" => {
                std::hint::black_box(Solver::new().solve(&circuit));
            }
            "again" => {
                let b = circuit.branches.len() / 2;
                bench.circuit.branches[b].resistance_ohm = if k % 2 == 0 { 0.1 } else { 0.3 };
                std::hint::black_box(bench.solve());
            }
            "study" => {
                std::hint::black_box(Study::of(&site, &mut solver));
            }
            "read" => {
                std::hint::black_box(farend::site::read(&text).unwrap());
            }
            _ => panic!(),
        }
        times.push(s.elapsed().as_secs_f64() * 1e6);
    }
    times.sort_by(f64::total_cmp);
    if it > 0 {
        println!(
            "{what} {n}: min {:.1} us, median {:.1} us",
            times[0],
            times[it / 2]
        );
    }
}
