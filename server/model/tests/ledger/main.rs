//! Stories of the book without a service: commands in, entries out, the state that follows.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod check;
mod corrections;
mod diary;
mod inspections;
mod kit;
mod laws;
mod lives;
mod log;
mod notebook;
mod pick;
mod plan;
mod real_use;
mod refusals;
mod reversal;
mod shop;
mod upkeep;
mod wear_report;
