//! The cheapest cables that pass, against every design tried one by one, another solver of the
//! same problems, and printed examples.

mod brute;
mod handbook;
mod highs;
#[path = "../../benches/instances.rs"]
mod instances;
mod lengths;
mod proofs;
mod random;
mod reasons;
