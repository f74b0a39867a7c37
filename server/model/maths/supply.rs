//! Supply: how much to keep, when to order it at the latest, and in what packs.
//!
//! It serves the reorder list. Statistics are floats and only ever decide a level or a day; money is
//! exact. Figures that make no sense are refused with a sentence, so that no level is ever no number.

pub(crate) mod basket;
mod count;
mod economic;
mod error;
mod fefo;
pub(crate) mod lead;
mod netting;
pub(crate) mod order_date;
mod target;
mod unbooked;
mod used_up;
mod volume;

pub use basket::Basket;
pub(crate) use count::CountDemand;
pub(crate) use economic::economic_order_with_breaks;
pub(crate) use error::SupplyError;
pub(crate) use fefo::{Lot, pick_first_expiring, take_in_order};
pub(crate) use netting::{Dated, Stock, net_by_date};
pub(crate) use order_date::OrderCalendar;
pub(crate) use target::line_target;
pub(crate) use unbooked::{JobsAhead, JobsPolicy, jobs_ahead};
pub(crate) use used_up::used_up;
pub(crate) use volume::VolumeDemand;
