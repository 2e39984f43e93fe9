//! Tests of the main job.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod screens;
mod tables;
#[cfg(unix)]
mod terminal;
