//! What everything else stands on: ids, money, words, exact numbers, refusals, and the moment.
//!
//! It knows nothing of the trade.

pub(crate) mod currency;
pub(crate) mod exact;
pub mod ids;
pub mod money;
pub mod refusal;
pub(crate) mod word;

/// A moment, UTC. Always given from outside: the model has no clock.
pub type Moment = jiff::Timestamp;
