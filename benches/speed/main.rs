//! How long the steps from a site to its study take, and a key up to the painted picture.
//!
//! `cargo bench` runs all; `cargo bench -- solve` those of that name, `cargo bench -- 1000` those
//! of that size.

#![allow(clippy::unwrap_used, reason = "a benchmark may fail loudly")]

mod keystroke;
mod sites;
mod steps;

fn main() {
    divan::main();
}
