//! The cheapest cables that pass, against every design tried one by one.

mod brute;
mod random;
