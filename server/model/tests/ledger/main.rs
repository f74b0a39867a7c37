//! Stories of the book without a service: commands in, entries out, the state that follows.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod check;
mod kit;
mod log;
mod refusals;
mod reversal;
mod shop;
