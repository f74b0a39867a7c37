//! Supply: how much to keep, when to order it at the latest, and in what packs.
//!
//! It serves the reorder list. Statistics are floats and only ever decide a level or a day; money is
//! exact. Figures that make no sense are refused with a sentence, so that no level is ever no number.

pub mod basket;
pub mod count;
pub mod economic;
mod error;
pub mod fefo;
pub mod intermittent;
pub mod lead;
pub mod netting;
pub mod newsvendor;
pub mod order_date;
pub mod reorder_point;
pub mod target;
pub mod unbooked;
pub mod volume;

pub use basket::{Basket, BasketLine, BasketTerms, Choice, Search, choose_packs};
pub use count::CountDemand;
pub use economic::{OrderHint, PackHint, economic_order, economic_order_with_breaks, whole_packs};
pub use error::SupplyError;
pub use fefo::{FefoPick, Lot, pick_first_expiring};
pub use intermittent::{Intermittent, Tsb, intermittent, tsb};
pub use lead::{LeadBelief, LeadPolicy, lead_belief};
pub use netting::{
    Dated, DatedNet, LotRule, NettingInput, NettingRecord, Release, net, net_by_date,
};
pub use newsvendor::{BaseStock, ReorderPolicy, StockCosts};
pub use order_date::{OrderCalendar, latest_order_date};
pub use reorder_point::{LeadDemand, ReorderPoint, normal_deviate};
pub use target::line_target;
pub use unbooked::{JobsAhead, JobsPolicy, jobs_ahead};
pub use volume::VolumeDemand;
