//! Ground paths: loops at zero volts, breaks that hide, earths and bonds, surge parts.

mod conduit;
mod earths;
mod loops;
mod shared;
mod surge;
