//! The pure model of a paint-correction practitioner's kit: the trade, and the book that is kept.
//!
//! It serves the desk, which feeds it commands and entries, and the edge, which reads it. It has no
//! clock, no I/O, no async and no randomness: the moment is always an argument, and the same
//! entries give the same [`Book`] on every machine. [`decide()`] may refuse and changes nothing;
//! [`Book::apply`] changes and cannot refuse.
#![cfg_attr(
    not(test),
    warn(
        clippy::arithmetic_side_effects,
        clippy::as_conversions,
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        clippy::cast_sign_loss,
        clippy::float_cmp
    )
)]

pub mod answers;
pub mod book;
pub mod decide;
pub mod ground;
pub mod maths;
pub mod ready;
pub mod trade;

// Short paths for who reads the model from outside.
pub use answers::{
    bottle_jobs, check, job_cost, job_quote, kit_budget, kit_wear, reorder, supply_life, today,
    wear_report,
};
pub use book::command::{Command, Past};
pub use book::deed::{BodyHash, Deed, Entry, Flag, Record};
pub use book::format::{Format, Unread};
pub use book::{Book, command, damage, deed, format, sums};
pub use decide::Decision;
pub use ground::ids::{Id, Place, Seq, Subject, Tag};
pub use ground::refusal::{Reason, Refusal};
pub use ground::{Moment, ids, money, refusal};
pub use maths::{chance, cost, life};
pub use ready::local_day::is_same_day;
pub use ready::stock_cost::book_currency;
pub use ready::{batteries, film_cut, lead, lives, pick, plan, real_use, times, towel_use};
pub use trade::{
    battery, car, cleaning, dose, film, hazard, job, kept, kit, logged, make, order, panel, plate,
    policy, reach, starter, supplier, take, tool, towel, wear,
};

/// Decides a command against a book at a moment.
///
/// # Errors
/// A [`Refusal`] that names the field, what was wrong and what to do. Nothing has changed then.
pub fn decide(book: &Book, command: &Command, now: Moment) -> Result<Decision, Refusal> {
    decide::decide(book, command, now, check::see)
}

#[cfg(test)]
#[path = "tests/published/main.rs"]
mod published;
#[cfg(test)]
#[path = "tests/statistics/main.rs"]
mod statistics;
