//! The full-screen program: state, keys, views and the loop.

mod accept;
pub mod answers;
mod beside;
mod designs;
pub mod dialog;
mod fields;
mod form;
mod gauge;
mod group;
pub mod keys;
mod numbers;
mod over;
mod pages;
mod remove;
mod run;
mod search;
mod sizes;
mod state;
mod tables;
mod terminal;
mod theme;
mod tree;
mod typing;
mod update;
mod view;
mod work;
mod worker;

pub use dialog::Effect;
pub use pages::Page;
pub use run::run;
pub use state::{Panel, State};
pub use theme::Theme;
pub use view::draw;
