//! Lives, chances, credibility, order quantities and cost layers: formulas with their sources.
//!
//! It knows no book and no kit: numbers go in and numbers come out.

pub mod chance;
pub mod cost;
pub mod credibility;
pub mod life;
pub(crate) mod mean;
pub(crate) mod moments;
mod root;
pub mod supply;
