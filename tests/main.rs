//! Tests of the main job.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod architecture;
mod oracle;
mod simulator;
mod tables;
