//! Lives, chances, credibility, supply and costs against other ways to reckon them, and their laws for
//! any figures.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod carry;
mod exact;
mod figures;
mod laws_of_baskets;
mod laws_of_chance;
mod laws_of_costs;
mod laws_of_lives;
mod laws_of_supply;
mod laws_of_use;
