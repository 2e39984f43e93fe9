//! Findings and results as text: for people, for programs, for circuit simulators. Strings only;
//! writing them anywhere is somebody else's.

mod json;
mod text;

pub use json::json;
pub use text::text;
