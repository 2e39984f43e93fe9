//! What a bid needs beside the network: labour, parts as entered, wires as marked, alternates.

use super::{Leg, Thing};
use crate::units::{PriceEach, PricePerHour, Time};

/// One line of `[[part]]`: an item that the person enters.
///
/// With a count it is a line of the take-off by itself. Without one its price and hours are those
/// of the lines that the take-off counts and that have the same item name.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// What it is.
    pub item: String,
    /// How many; silent: as many as the take-off counts.
    pub count: Option<u32>,
    /// Where it goes.
    pub place: Option<String>,
    /// Price of one.
    pub price: Option<PriceEach>,
    /// Work on one.
    pub hours: Option<Time>,
}

/// One conductor of a run as the person marks it; what is silent is filled in.
#[derive(Clone, Debug, PartialEq)]
pub struct Wire {
    /// What the conductor does, for instance `plus`.
    pub function: String,
    /// Colour of its insulation.
    pub colour: Option<String>,
    /// Terminal at the `from` end.
    pub from: Option<String>,
    /// Terminal at the other end.
    pub to: Option<String>,
    /// Mark at both ends.
    pub label: Option<String>,
}

/// Another design of the same site: values that differ.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternate {
    /// Its name.
    pub name: String,
    /// Things, their keys and the values as typed.
    pub set: Vec<(Thing, String, String)>,
    /// Conductors that are open in every case of it.
    pub broken: Vec<(usize, Leg)>,
    /// Runs that it connects.
    pub fitted: Vec<usize>,
}

/// Everything that only a bid asks for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bid {
    /// Price of an hour of work.
    pub rate: Option<PricePerHour>,
    /// Items as entered, in file order.
    pub items: Vec<Item>,
    /// Other designs, in file order.
    pub alternates: Vec<Alternate>,
}
