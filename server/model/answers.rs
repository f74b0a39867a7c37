//! What a person asks: does the kit carry the job, what to order, what it costs, how worn it is.
//!
//! It reads a book and changes nothing.

pub(crate) mod ahead;
pub mod bottle_jobs;
pub mod check;
mod coming;
pub mod job_cost;
pub mod job_quote;
mod job_takes;
mod jobs_left;
pub mod kit_budget;
pub mod kit_wear;
pub mod reorder;
pub mod supply_life;
pub mod today;
pub mod wear_report;
