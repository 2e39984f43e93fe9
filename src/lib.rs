//! Far-end volts, return currents and cable sizes of low-voltage access-control wiring.

#![cfg_attr(test, allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly"))]

pub mod circuit;
pub mod diagnostic;
pub mod units;
