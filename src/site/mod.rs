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
pub(crate) use form::nearest;
pub use model::{
    AVERAGE, Accepted, Alternate, Answers, Battery, Bid, Bus, Cable, CableRef, Carries, Case,
    Chemistry, DcSide, Design, Device, DeviceRef, Earth, End, EndAt, Exclusive, Fuse, InputLoop,
    Item, Junction, Leg, LoopLayout, LoopState, Nameplate, Output, Part, Place, Poe, PostFuse,
    Reading, Rectifier, Relay, Route, Run, ShieldBond, Site, Solar, Supply, SupplyKind, Surge,
    Temperatures, Thing, Throw, Tie, WhichEnd, Whole, Wiegand, Wire,
};
pub use project::Project;
pub(crate) use read::builtin_cable;
pub use read::{MAX_BYTES, read};
