//! Tests of the main job.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod oracle;
mod tables;
