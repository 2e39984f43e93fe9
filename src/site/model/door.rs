//! Doors and gates as people use them: whether they are ways out, and what lets people out.

use crate::units::{Length, Time};

/// What a lock does without power.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WithoutPower {
    /// It lets go.
    Unlocked,
    /// It stays locked.
    Locked,
    /// Somebody looked and could not tell.
    Unknown,
}

/// Whom a door or gate is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DoorFor {
    /// People on foot.
    People,
    /// Vehicles.
    Vehicles,
}

/// What a fire alarm does to the supply of a lock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FireRelease {
    /// Nothing cuts it.
    No,
    /// Somebody says that the alarm cuts it in hardware.
    Said,
    /// This relay of the alarm cuts it, as device and relay: followed through the network.
    By(usize, usize),
}

/// `[door.X]`: a door or gate. It changes no solution.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Door {
    /// Its name.
    pub name: String,
    /// Whom it is for.
    pub used_by: Option<DoorFor>,
    /// People may have to leave by it; silent: it counts as one.
    pub way_out: Option<bool>,
    /// A handle or bar on the inside opens it by hand alone.
    pub hand_release: Option<bool>,
    /// A sensor on the inside unlocks it for whoever comes near.
    pub sensor: Option<bool>,
    /// A button beside it cuts the lock's power by itself.
    pub button: Option<bool>,
    /// Height of the button over the floor.
    pub button_height: Option<Length>,
    /// Way from the door to the button.
    pub button_distance: Option<Length>,
    /// How long the button keeps it unlocked.
    pub button_holds: Option<Time>,
    /// Whether a fire alarm cuts the lock's supply in hardware.
    pub fire_release: Option<FireRelease>,
    /// Way from what moves to the nearest control.
    pub control_distance: Option<Length>,
}
