//! Findings and results as text: for people, for programs, for circuit simulators. Strings only;
//! writing them anywhere is somebody else's.

mod deck;
mod json;
mod size;
mod text;

pub use deck::{deck, identifier};
pub use json::json;
pub use size::{cost_text, ladder_text, longest_text, size_json, size_text};
pub use text::{Pieces, Tone, badge, place, text};
