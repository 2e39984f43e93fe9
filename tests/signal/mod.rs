//! Signal lines: Wiegand data, two-wire buses, supervised loops, shields; and what protects people.

mod bias;
mod bus;
mod bus_levels;
mod edge;
mod edits;
mod fixes;
mod supervised;
mod wiegand;
mod wires;
