//! Netting: what the needs leave of the stock, period by period, and what must be ordered when.
//!
//! It serves the reorder list with the record of material requirements planning. Quantities are whole
//! numbers of the line's unit, pieces or microlitres. Nothing is ever ordered for a need that stock or
//! a delivery covers.

mod dated;
mod record;

pub use dated::{Dated, DatedNet, net_by_date};
pub use record::{LotRule, NettingInput, NettingRecord, PERIODS_MOST, QUANTITY_MOST, Release, net};
