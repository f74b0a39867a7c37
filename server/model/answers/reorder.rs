//! The reorder list: what to order, from whom and by when, so that booked jobs have their kit.
//!
//! Serves whoever buys. Every line says why, by when, how many packs, what it costs and what happens
//! if it is skipped. It reads the book and never changes it.

mod fill;
mod level;
mod packs;
mod source;
mod wash_loop;

use jiff::civil::Date;

use crate::answers::ahead::needs::{self, Forecast, Need};
use crate::answers::check::Verdict;
use crate::answers::coming::has_begun;
use crate::ground::ids::Id;
use crate::ground::money::Money;
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::stock_cost::book_currency;
use crate::trade::job::Job;
use crate::trade::policy::PolicyKey;
use crate::{Book, Moment};
use level::Stage;

/// Most times that a list is tried and added to.
const ROUNDS_MAX: usize = 6;

/// Why something is to be ordered, gravest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// A booked job would be short without it.
    BookedJob,
    /// A booked job would be carried with less than the chance aimed at.
    CarryChance,
    /// The kept level for jobs that are not booked yet would not be there.
    KeepLevel,
}

/// One thing to order.
#[derive(Debug, Clone, PartialEq)]
pub struct ReorderLine {
    /// Make.
    pub make: Id,
    /// Name of the make.
    pub make_name: String,
    /// Why.
    pub cause: Cause,
    /// Pieces needed beyond what is there and on its way.
    pub need_count: i64,
    /// Packs to order.
    pub pack_count: i64,
    /// Pieces in a pack.
    pub pieces_per_pack: i64,
    /// Price of a pack at that quantity; `None` when no supplier offers it.
    pub price: Option<Money>,
    /// Cost of the line without freight.
    pub cost: Option<Money>,
    /// Last day to order.
    pub order_by: Date,
    /// That day has passed.
    pub is_late: bool,
    /// Day it is needed.
    pub need_on: Date,
    /// Jobs it is for.
    pub jobs: Vec<Id>,
    /// Why, a sentence.
    pub reason: String,
    /// What happens if it is skipped, a sentence.
    pub if_skipped: String,
    /// What can be done in its place where it cannot come in time, a sentence; empty where it can.
    pub instead: String,
    /// Quantity that would be cheapest each time at a steady use, pieces; a hint.
    pub economic_count: Option<i64>,
}

/// What to order from one supplier.
#[derive(Debug, Clone, PartialEq)]
pub struct Basket {
    /// Supplier; `None` for what none offers.
    pub supplier: Option<Id>,
    /// Its name.
    pub supplier_name: String,
    /// Lines, late ones first.
    pub lines: Vec<ReorderLine>,
    /// Goods.
    pub goods: Option<Money>,
    /// Freight.
    pub freight: Option<Money>,
    /// Goods and freight.
    pub total: Option<Money>,
    /// Missing to free delivery.
    pub to_free_delivery: Option<Money>,
    /// Missing to the least order.
    pub to_min_order: Option<Money>,
    /// Earliest last day to order among the lines.
    pub order_by: Option<Date>,
}

/// The reorder list.
#[derive(Debug, Clone, PartialEq)]
pub struct ReorderList {
    /// One basket a supplier, the earliest last day to order first; what none offers comes last.
    pub baskets: Vec<Basket>,
    /// What the list takes for granted, a sentence each.
    pub assumptions: Vec<String>,
    /// Booked jobs that were looked at.
    pub job_count: i64,
}

/// What to order, from whom and by when.
///
/// Booked jobs up to and with `through`, all of them when open, are run one after the other on the kit
/// ahead; what the check of each says to buy, and beside it what the kept levels lack once the book is old
/// enough, is looked up in the price lists, of one supplier alone where `only` names it. The list is tried by running the jobs
/// again with what it brings, and added to until nothing is short.
///
/// # Errors
/// When the supplier is unknown, or prices in two currencies meet.
pub fn reorder_list(
    book: &Book,
    through: Option<Date>,
    only: Option<&Id>,
    now: Moment,
) -> Result<ReorderList, Refusal> {
    let only = only
        .map(|id| {
            let supplier = book.supplier(id).map(AsRef::as_ref);
            supplier
                .ok_or_else(|| Refusal::no_id(Reason::SupplierUnknown, "supplier", "supplier", id))
        })
        .transpose()?;
    book_currency(book)?;
    let jobs: Vec<&Job> = book
        .booked_jobs()
        .map(AsRef::as_ref)
        .filter(|job| job.starts_at >= now)
        .filter(|job| through.is_none_or(|through| job.local_day() <= through))
        .collect();
    let (mut needs, mut forecast) = needs::of_jobs(book, &jobs, now);
    let fill = |needs: &[Need], stages: &[Stage]| fill::fill(book, needs, stages, only, now);
    let mut filled = fill(&needs, &forecast.stages);
    for _ in 0..ROUNDS_MAX {
        if filled.parcels.is_empty() {
            break;
        }
        // What comes in packs may go otherwise than by the piece: a job takes what is there, and towels are
        // washed by the bundle. What is only kept may be left out.
        let mut tried = needs::run(book, &jobs, &filled.parcels, now, Some(&forecast));
        if tried.needs.is_empty() {
            break;
        }
        needs.append(&mut tried.needs);
        forecast = tried;
        filled = fill(&needs, &forecast.stages);
    }
    Ok(ReorderList {
        baskets: filled.baskets,
        assumptions: assumptions(book, &forecast, now),
        job_count: i64::try_from(jobs.len()).unwrap_or(i64::MAX),
    })
}

fn assumptions(book: &Book, forecast: &Forecast, now: Moment) -> Vec<String> {
    let mut said = vec![
        "What is soiled is washed today, and after each job.".to_owned(),
        "What is set aside stays aside, and orders on their way come on their day.".to_owned(),
    ];
    let (has_begun, done) = has_begun(book, now);
    if !has_begun {
        let policy = book.policy();
        said.push(format!(
            "Nothing is kept for jobs that are not booked before {} jobs are done and {} days have passed \
             since the first; {done} so far.",
            policy.value(PolicyKey::UnbookedFromJobs),
            policy.value(PolicyKey::UnbookedFromDays),
        ));
    }
    for (job, why) in &forecast.left_out {
        said.push(format!("{job} is left out: {why}"));
    }
    for check in &forecast.checks {
        let stops = check.lines.iter();
        for line in stops.filter(|line| line.verdict == Verdict::Stop) {
            said.push(format!(
                "{} stops on {}, which is not bought by this list: {}",
                check.job.id, line.what, line.reason
            ));
        }
    }
    said
}
