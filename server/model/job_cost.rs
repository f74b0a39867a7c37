//! What the materials of a job cost: a forecast with its range, and what they did cost.
//!
//! Serves the quote and the look back. Money is exact; only the range rests on statistics. A price
//! that is not known is said to be missing, never taken as nothing without a word.

use crate::ids::Id;
use crate::money::Money;

/// What a cost is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CostKind {
    /// Liquid.
    Liquid,
    /// Wear of pads.
    Pads,
    /// Wear of backing plates.
    Plates,
    /// Towels and their washing.
    Towels,
    /// Sundries.
    Sundries,
}

/// One cost of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct CostLine {
    /// What it is for.
    pub kind: CostKind,
    /// Make.
    pub make: Id,
    /// What, in words.
    pub text: String,
    /// Nine jobs in ten cost more than this.
    pub low: Money,
    /// Half of the jobs cost more than this.
    pub typical: Money,
    /// One job in ten costs more than this.
    pub high: Money,
    /// What it did cost; `None` before the job is done.
    pub actual: Option<Money>,
    /// Why that differs from what was expected; empty when it does not.
    pub difference: String,
    /// A price was missing and counted as nothing.
    pub is_price_missing: bool,
}

/// What a job's materials cost.
#[derive(Debug, Clone, PartialEq)]
pub struct CostSheet {
    /// Job.
    pub job: Id,
    /// Costs.
    pub lines: Vec<CostLine>,
    /// Nine jobs in ten cost more than this.
    pub low: Money,
    /// The sum of the typical costs.
    pub typical: Money,
    /// One job in ten costs more than this.
    pub high: Money,
    /// What it did cost; `None` before the job is done.
    pub actual: Option<Money>,
    /// Machine time, s.
    pub machine_time_s: i64,
    /// What to keep in mind.
    pub caveats: Vec<String>,
}
