//! What kit costs: stock by layers, cost heads, quotes, and the rounding they share.
//!
//! It serves the stock value, the cost of a job and the quote. Everything here is exact: a figure is
//! rounded once, where its doc says so, and never travels as a float. What cannot be reckoned exactly
//! is refused.

mod error;
mod fraction;
pub(crate) mod layers;
mod pricing;
pub(crate) mod quote;
mod rounding;
mod share;
mod terms;

pub(crate) use error::CostError;
use fraction::Fraction;
pub use layers::Receipt;
pub(crate) use layers::{MovingAverage, fifo_issue_cost};
pub(crate) use pricing::Pricing;
pub use quote::Quote;
pub(crate) use quote::{TaxedNet, total_up};
pub(crate) use rounding::quantise;
pub(crate) use share::allocate;
pub(crate) use terms::{CostTerm, WashLoad, for_time, head_cost};
