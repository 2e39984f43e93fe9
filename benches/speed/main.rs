//! How long the steps from a site to its study take, and a key up to the painted picture.
//!
//! `cargo bench` runs all, `cargo bench -- solve` those of that name. `cargo bench -- --site mesh
//! 1000` prints the text of a site instead.

#![allow(clippy::unwrap_used, reason = "a benchmark may fail loudly")]

mod keystroke;
mod sites;
mod steps;

/// The program's own.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    let words: Vec<String> = std::env::args().collect();
    match words.iter().position(|word| word == "--site") {
        Some(at) => {
            let (shape, devices) = (
                words[at + 1].parse().unwrap(),
                words[at + 2].parse().unwrap(),
            );
            print!("{}", sites::text(shape, devices));
        }
        None => divan::main(),
    }
}
