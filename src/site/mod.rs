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
    AVERAGE, Accepted, Alternate, Battery, Bid, Cable, CableRef, Carries, Case, Chemistry, DcSide,
    Design, Device, DeviceRef, Earth, End, Exclusive, Fuse, Item, Junction, Leg, Nameplate, Output,
    Part, Place, Poe, PostFuse, Reading, Rectifier, Relay, Route, Run, ShieldBond, Site, Solar,
    Supply, SupplyKind, Temperatures, Thing, Throw, Tie, Whole, Wire,
};
pub use project::Project;
pub(crate) use read::builtin_cable;
pub use read::{MAX_BYTES, read};
