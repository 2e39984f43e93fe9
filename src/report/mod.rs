//! Findings and results as text: for people, for programs, for circuit simulators. Strings only;
//! writing them anywhere is somebody else's.

mod deck;
mod json;
mod text;

pub use deck::{deck, identifier};
pub use json::json;
pub use text::{Pieces, Tone, badge, place, text};
