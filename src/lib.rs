//! Far-end volts, return currents and cable sizes of low-voltage access-control wiring.
//!
//! A site file becomes a [`site::Site`]; each case and corner of it becomes a
//! [`circuit::Circuit`]; the [`solve::Solver`] finds its volts and amps; [`checks`] judge them;
//! and [`study::Study`] is the one door to all of that. The command line and the screen stand on
//! the study.

#![cfg_attr(
    test,
    allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")
)]

pub mod alternates;
pub mod battery;
pub mod checks;
pub mod circuit;
pub mod cli;
pub mod demo;
pub mod diagnostic;
mod grouped;

pub mod joined;
pub mod practice;
pub mod readings;
pub mod report;
pub mod results;
pub mod site;
pub mod size;
pub mod solve;
pub mod states;
pub mod store;
pub mod study;
pub mod tables;
pub mod takeoff;
mod threads;
pub mod tui;
pub mod units;
