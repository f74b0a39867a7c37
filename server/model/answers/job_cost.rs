//! What the materials of a job cost: a forecast with its range, and what they did cost.
//!
//! Serves the quote and the look back. Money is exact; only the range rests on statistics. A price
//! that is not known is said to be missing, never taken as nothing without a word.

mod amounts;
mod hours;
mod prices;
mod used;
mod words;

use rust_decimal::Decimal;

use crate::Book;
use crate::book::deed::Entry;
use crate::ground::ids::{Id, Subject, Tag};
use crate::ground::money::Money;
use crate::ground::refusal::Refusal;
use crate::ready::plan::{Plan, plan_job};
use crate::ready::stock_cost::costed;
use crate::trade::job::{Job, JobState};
use crate::trade::make::Figures;
use amounts::{Amount, Spread};
pub(super) use amounts::{MILLIONTHS, plate_life};
pub use hours::{HoursCost, JobHours};
use prices::Prices;
pub(super) use used::measured_share;

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
    /// Time by hand, s.
    pub hand_time_s: i64,
    /// How long machines and hands work, and what that costs, apart from the materials.
    pub hours: JobHours,
    /// What to keep in mind.
    pub caveats: Vec<String>,
}

/// The entries that costs rest on, each oldest first.
#[derive(Debug, Clone, Copy)]
pub struct CostRecord<'a> {
    /// About the job; they are looked at once it is done.
    pub job: &'a [Entry],
    /// About the pieces of [`costed_pieces`].
    pub stock: &'a [Entry],
}

/// Pieces whose entries the cost of a job rests on: of the liquids and sundries that its routine names or
/// that its own entries took, what has a cost.
pub fn costed_pieces(book: &Book, job: &Job, about_job: &[Entry]) -> Vec<Tag> {
    let named = book.routine(&job.routine).into_iter();
    let named = named.flat_map(|routine| routine.makes());
    let deeds = about_job.iter().flat_map(|entry| &entry.deeds);
    let taken = deeds.filter_map(|deed| match deed.subject() {
        Subject::Piece(tag) => Some(&book.piece(tag)?.make),
        _ => None,
    });
    let of_stock = |id: &&Id| {
        let figures = book.make(id).map(|make| &make.figures);
        matches!(figures, Some(Figures::Liquid(_) | Figures::Sundry(_)))
    };
    let makes = named.chain(taken).filter(of_stock).collect();
    costed(book, &makes).map(|piece| piece.tag).collect()
}

/// What the materials of a job cost.
///
/// # Errors
/// When the job cannot be planned, or the book has no price at all, or prices in several currencies.
pub fn job_cost(book: &Book, job: &Job, record: CostRecord<'_>) -> Result<CostSheet, Refusal> {
    let mut prices = Prices::of(book, record.stock)?;
    let plan = plan_job(book, job)?;
    let expected = amounts::expected(book, job, &plan)?;
    let done = match job.state {
        JobState::Done(at) => {
            let used = used::used(book, record.job);
            prices = prices.before(at, &used);
            Some(used)
        }
        JobState::Booked | JobState::CalledOff => None,
    };
    let mut lines = Vec::new();
    for one in &expected {
        lines.push(line(book, &prices, one, done.as_deref())?);
    }
    for one in done.iter().flatten() {
        // What was used and not expected has a line of its own.
        if !expected
            .iter()
            .any(|other| one.is_of(other.kind, &other.make))
        {
            let none = Spread::none(one.kind, &one.make);
            lines.push(line(book, &prices, &none, done.as_deref())?);
        }
    }
    lines.sort_by_key(|line| line.kind);
    let hours = hours::of_job(book, job, &plan, &prices)?;
    sheet(&prices, job, lines, &plan, hours)
}

/// The line of one make: what is expected of it and, once done, what was used.
fn line(
    book: &Book,
    prices: &Prices<'_>,
    expected: &Spread,
    done: Option<&[Amount]>,
) -> Result<CostLine, Refusal> {
    let (kind, make) = (expected.kind, &expected.make);
    let cost = |quantity| prices.cost(kind, make, quantity);
    let used = done.map(|done| {
        let same = done.iter().find(|one| one.is_of(kind, make));
        same.cloned().unwrap_or_else(|| Amount::none(kind, make))
    });
    let actual = used.as_ref().map(|used| cost(used.quantity)).transpose()?;
    Ok(CostLine {
        kind,
        make: make.clone(),
        text: words::text(book, kind, make, expected.typical),
        low: prices.money(cost(expected.low)?),
        typical: prices.money(cost(expected.typical)?),
        high: prices.money(cost(expected.high)?),
        actual: actual.map(|cost| prices.money(cost)),
        difference: used
            .map(|used| words::difference(book, expected, &used))
            .unwrap_or_default(),
        is_price_missing: !prices.knows(kind, make),
    })
}

fn sheet(
    prices: &Prices<'_>,
    job: &Job,
    lines: Vec<CostLine>,
    plan: &Plan,
    hours: JobHours,
) -> Result<CostSheet, Refusal> {
    let sum = |of: &dyn Fn(&CostLine) -> Option<Money>| {
        lines
            .iter()
            .filter_map(of)
            .try_fold(Decimal::ZERO, |sum, money| sum.checked_add(money.amount))
            .ok_or_else(prices::too_much)
    };
    let typical = sum(&|line| Some(line.typical))?;
    let actual = lines
        .iter()
        .any(|line| line.actual.is_some())
        .then(|| sum(&|line| line.actual))
        .transpose()?;
    let (low, high) = amounts::joint_range(&lines, typical, prices.places());
    let mut caveats = Vec::new();
    let missing: Vec<&str> = lines
        .iter()
        .filter(|line| line.is_price_missing)
        .map(|line| line.make.as_str())
        .collect();
    if !missing.is_empty() {
        caveats.push(format!(
            "No price is known of {}; it counts as nothing here.",
            missing.join(", ")
        ));
    }
    let hand_ms = plan.hand_ms();
    if hours.cost.is_some() {
        caveats.push(hours::WITHIN.to_owned());
    } else {
        caveats.push("Machine time is told and not priced.".to_owned());
        if hand_ms > 0 {
            caveats.push("Time by hand is told and not priced.".to_owned());
        }
    }
    Ok(CostSheet {
        job: job.id.clone(),
        low: prices.money(low),
        typical: prices.money(typical),
        high: prices.money(high),
        actual: actual.map(|actual| prices.money(actual)),
        lines,
        machine_time_s: plan.machine_ms().div_euclid(1_000),
        hand_time_s: hand_ms.div_euclid(1_000),
        hours,
        caveats,
    })
}
