//! What the trade knows beside numbers: questions for people, cautions, and where the code has a
//! subject. Everything defers to local code and licensed practice.

mod cautions;
mod code;
mod questions;
mod when;
mod wired;

pub use cautions::{Warned, cautions};
pub use code::{ASSUMED_CODE, cited, code_of, source};
pub use questions::{Asked, Subject, asked, asked_among, asked_of};
