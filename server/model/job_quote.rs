//! A quote for the materials of a job, as it is handed to a customer.
//!
//! Serves whoever prices. Lines are rounded once and sum to the total to the cent; markup and margin
//! are both named, for they differ.

use jiff::civil::Date;

use crate::ids::Id;
use crate::job_cost::CostSheet;
use crate::money::Money;

/// What a quote is asked for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct QuoteAsk {
    /// Markup on cost, thousandths.
    pub markup_permille: Option<i64>,
    /// Margin on price, thousandths.
    pub margin_permille: Option<i64>,
    /// Tax rate, thousandths; the policy's when open.
    pub tax_permille: Option<i64>,
    /// Days it holds; the policy's when open.
    pub valid_days: Option<i64>,
}

/// One line of a quote.
#[derive(Debug, Clone, PartialEq)]
pub struct QuotedLine {
    /// What.
    pub text: String,
    /// Net price.
    pub net: Money,
}

/// A quote for a job's materials.
#[derive(Debug, Clone, PartialEq)]
pub struct JobQuote {
    /// Job.
    pub job: Id,
    /// Car, in words.
    pub car: String,
    /// Routine, in words.
    pub routine: String,
    /// Day it is made.
    pub date: Date,
    /// Last day it holds.
    pub valid_until: Date,
    /// Lines.
    pub lines: Vec<QuotedLine>,
    /// Sum of the lines.
    pub net: Money,
    /// Tax rate, thousandths.
    pub tax_permille: i64,
    /// Tax on the sum.
    pub tax: Money,
    /// Net and tax.
    pub gross: Money,
    /// Markup that was asked for.
    pub markup_permille: Option<i64>,
    /// Margin that was asked for.
    pub margin_permille: Option<i64>,
    /// What it costs inside.
    pub cost: CostSheet,
}
