//! Stories of the book without a service: commands in, entries out, the state that follows.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod batteries;
mod both_days;
mod buy;
mod by_hand;
mod cars;
mod check;
mod corrections;
mod cost;
mod days;
mod diary;
mod doubts;
mod either;
mod fill;
mod film;
mod format;
mod hours;
mod inspections;
mod keep_levels;
mod kept;
mod kit;
mod kit_budget;
mod kit_wear;
mod labels;
mod laws;
mod lives;
mod log;
mod notebook;
mod pick;
mod plan;
mod quote;
mod ratings;
mod real_use;
mod refusals;
mod reorder;
mod reversal;
mod shared;
mod shop;
mod situations;
mod start;
mod sums;
mod sundry_use;
mod supply;
mod supply_life;
mod take;
mod tare;
mod today;
mod tools;
mod towels;
mod upkeep;
mod wear_report;
