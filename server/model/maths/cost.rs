//! What kit costs: stock by layers, cost heads, quotes, and the rounding they share.
//!
//! It serves the stock value, the cost of a job and the quote. Everything here is exact: a figure is
//! rounded once, where its doc says so, and never travels as a float. What cannot be reckoned exactly
//! is refused.

mod error;
mod fraction;
pub mod layers;
pub mod pricing;
pub mod quote;
pub mod rounding;
pub mod share;
pub mod terms;

pub use error::CostError;
pub(crate) use fraction::Fraction;
pub use layers::{FifoLayers, MovingAverage, Receipt, fifo_issue_cost};
pub use pricing::Pricing;
pub use quote::{Quote, TaxSum, TaxedNet, total_up};
pub use rounding::{minor_unit_places, quantise};
pub use share::allocate;
pub use terms::{CostTerm, WashLoad, head_cost};
