//! Findings and results as text: for people, for programs, for circuit simulators. Strings only;
//! writing them anywhere is somebody else's.

mod battery;
mod counted;
mod csv;
mod deck;
mod explain;
mod json;
mod plain;
mod readings;
mod record;
mod row;
mod schema;
mod sheets;
mod size;
mod states;
mod text;
mod xlsx;

pub use battery::battery_lines;
pub use counted::sheets_of_bid;
pub use csv::csv;
pub use deck::{deck, identifier};
pub use explain::{check_list, explain};
pub use json::{json, write_json};
pub use plain::plain;
pub use readings::{About, HEADS, ReadingRow, reading_rows};
pub use schema::schema;
pub use sheets::{Cell, SHEETS, Sheet, sheets};
pub use size::{cost_text, ladder_text, longest_text, size_json, size_text};
pub use text::{Pieces, Tone, badge, place, signed, text};
pub use xlsx::xlsx;
