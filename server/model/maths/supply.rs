//! Supply: how much to keep, when to order it at the latest, and in what packs.
//!
//! It serves the reorder list. Statistics are floats and only ever decide a level or a day; money is
//! exact. Figures that make no sense are refused with a sentence, so that no level is ever no number.

pub mod basket;
pub mod count;
pub mod economic;
mod error;
pub mod fefo;
pub mod lead;
pub mod netting;
pub mod order_date;
pub mod target;
pub mod unbooked;
pub mod volume;

pub use basket::{Basket, BasketLine, BasketTerms, Choice, Search, choose_packs};
pub use count::CountDemand;
pub(crate) use economic::economic_order_with_breaks;
pub use error::SupplyError;
pub(crate) use fefo::{Lot, pick_first_expiring, take_in_order};
pub use lead::{LeadBelief, LeadPolicy, lead_belief};
pub(crate) use netting::{Dated, Stock, net_by_date};
pub use order_date::{OrderCalendar, latest_order_date};
pub use target::line_target;
pub use unbooked::{JobsAhead, JobsPolicy, jobs_ahead};
pub use volume::VolumeDemand;
