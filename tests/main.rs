//! Tests of the main job.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may fail loudly, also in its helpers"
)]

mod broken;
mod cli;
mod demo_sites;
mod golden;
mod readme;
mod solver;
mod tables;
