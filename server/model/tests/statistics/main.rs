//! Lives, chances and credibility against other ways to reckon them, and their laws for any figures.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod carry;
mod exact;
mod figures;
mod laws_of_chance;
mod laws_of_lives;
mod laws_of_use;
