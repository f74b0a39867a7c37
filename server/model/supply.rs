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
pub use economic::{OrderHint, economic_order, economic_order_with_breaks};
pub use error::SupplyError;
pub use fefo::{FefoPick, Lot, pick_first_expiring};
pub use lead::{LeadBelief, LeadPolicy, lead_belief};
pub use netting::{
    Dated, DatedNet, LotRule, NettingInput, NettingRecord, Release, net, net_by_date,
};
pub use order_date::{OrderCalendar, latest_order_date};
pub use target::line_target;
pub use unbooked::{JobsAhead, JobsPolicy, jobs_ahead};
pub use volume::VolumeDemand;
