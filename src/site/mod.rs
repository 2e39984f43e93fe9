//! The site: its model, how a file becomes one, the document that keeps the person's own
//! spelling, and edits with undo.

mod differs;
mod edit;
pub mod fields;
mod form;
mod layout;
mod model;
mod project;
mod read;
mod scope;
mod value;

pub use differs::{Difference, Differs, differences};
pub use edit::{Edit, fields_of};
pub(crate) use form::nearest;
pub use model::{
    AVERAGE, Accepted, Accuracy, Alternate, Answers, AtBoot, Battery, Bid, Bus, Cable, CableRef,
    Carries, Case, Chemistry, Clamp, ClampAt, Coil, CoilKind, ContactMaterial, DcSide, Design,
    Device, DeviceRef, Does, Door, DoorFor, Earth, End, EndAt, Exclusive, FireRelease, Found, Fuse,
    Input, InputLoop, Item, Junction, Leg, Limiting, LoopLayout, LoopState, Meter, MeterOf,
    Nameplate, Output, Part, Place, Poe, PostFuse, Raceway, Reading, Rectifier, Relay, Restrained,
    Route, Run, ShieldBond, Site, Solar, Spot, Supply, SupplyKind, Surge, Temperatures,
    TerminalFit, Thing, Throw, Tie, Wake, WhichEnd, Whole, Wiegand, Wire, WithoutPower,
};
pub use project::{Project, Touched};
pub(crate) use read::builtin_cable;
pub use read::{MAX_BYTES, read};
pub use scope::Scope;
