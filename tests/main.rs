//! Tests of the main job.

#![allow(
    clippy::approx_constant,
    reason = "3.14 ohm/kft is 14 AWG stranded in NEC Chapter 9 Table 8"
)]
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may fail loudly, also in its helpers"
)]

mod ac;
mod again;
mod architecture;
mod battery;
mod bid;
mod broken;
mod cli;
mod demo_findings;
mod demo_sites;
mod ethernet;
mod golden;
mod ground;
mod judged;
mod oracle;
mod poe;
mod practice;
mod readings;
mod readme;
mod rules;
mod schema;
mod screens;
mod signal;
mod simulator;
mod sizing;
mod solver;
mod states;
mod supply;
mod tables;
mod terminal;
