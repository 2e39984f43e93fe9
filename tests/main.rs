//! Tests of the main job.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may fail loudly, also in its helpers"
)]

mod solver;
