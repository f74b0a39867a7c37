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

pub mod book;
pub mod car;
pub mod chance;
mod change;
pub mod check;
pub mod command;
pub mod cost;
pub mod credibility;
pub mod damage;
pub mod decide;
pub mod deed;
pub mod dose;
mod exact;
pub mod exposure;
pub mod film;
pub mod format;
pub mod hazard;
pub mod ids;
pub mod job;
pub mod job_cost;
pub mod job_quote;
pub mod kept;
pub mod kit;
pub mod lead;
pub mod life;
pub mod lives;
pub mod make;
pub mod money;
pub mod order;
pub mod panel;
pub mod pick;
pub mod plan;
pub mod plate;
pub mod policy;
pub mod real_use;
pub mod refusal;
pub mod reorder;
mod root;
mod stock_cost;
pub mod stroke;
pub mod sums;
pub mod supplier;
pub mod supply;
pub mod tally;
pub mod towel;
pub mod wear;
pub mod wear_report;
mod without_prices;
mod word;

pub use book::Book;
pub use command::{Command, Past};
pub use decide::{Decision, decide};
pub use deed::{BodyHash, Deed, Entry, Flag, Record};
pub use format::{Format, Unread};
pub use ids::{Id, Place, Seq, Subject, Tag};
pub use refusal::{Reason, Refusal};

/// A moment, UTC. Always given from outside: the model has no clock.
pub type Moment = jiff::Timestamp;

#[cfg(test)]
#[path = "tests/published/main.rs"]
mod published;
#[cfg(test)]
#[path = "tests/statistics/main.rs"]
mod statistics;
