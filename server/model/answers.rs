//! What a person asks: does the kit carry the job, what to order, what it costs, how worn it is.
//!
//! It reads a book and changes nothing.

pub(crate) mod ahead;
pub mod bottle_jobs;
pub mod check;
pub mod job_cost;
pub mod job_quote;
pub mod reorder;
pub mod today;
pub mod wear_report;
