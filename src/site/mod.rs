//! The site: its model, how a file becomes one, the document that keeps the person's own
//! spelling, and edits with undo.

mod edit;
pub mod fields;
mod form;
mod model;
mod project;
mod read;
mod value;

pub use edit::{Edit, fields_of};
pub use model::{
    Accepted, Alternate, Bid, Cable, CableRef, Carries, Case, Design, Device, DeviceRef, Earth,
    End, Exclusive, Fuse, Item, Junction, Leg, Output, Part, Place, Poe, Reading, Relay, Route,
    Run, ShieldBond, Site, Supply, SupplyKind, Temperatures, Thing, Throw, Tie, Whole, Wire,
};
pub use project::Project;
pub(crate) use read::builtin_cable;
pub use read::{MAX_BYTES, read};
