//! What of the kit has to be replaced in the weeks ahead, and what that costs: the shop's budget.
//!
//! Serves whoever plans what to spend. It counts what wears out and what is used up by booked jobs and by as many
//! more as usually come, each piece replaced by one like it, so that the kit stays as it is; what a booked job
//! lacks today is the reorder list's. A price that is not known is told to be missing, never taken as nothing.

mod ends;
mod usual;
mod words;

use std::collections::BTreeMap;

use jiff::civil::Date;
use rust_decimal::Decimal;

use self::ends::Ends;
use self::usual::Usual;
use super::job_takes::{Takes, takes_of, towels_a_bundle};
use crate::ground::ids::Id;
use crate::ground::money::{Currency, Money};
use crate::ground::refusal::Refusal;
use crate::maths::cost::quantise;
use crate::maths::moments::Moments;
use crate::ready::local_day::LocalDays;
use crate::ready::piece_price::PackPrice;
use crate::ready::stock_cost::book_currency;
use crate::trade::job::Job;
use crate::trade::make::{Figures, Make};
use crate::{Book, Moment};

/// Weeks ahead that are looked at.
const WEEKS: [i64; 3] = [4, 8, 12];
const DAYS_A_WEEK: i64 = 7;
const S_A_DAY: i64 = 86_400;
/// Pieces below which a make has no line.
const COUNT_LEAST: f64 = 0.005;

/// The budget.
#[derive(Debug, Clone, PartialEq)]
pub struct KitBudget {
    /// All of the kit, by weeks ahead.
    pub totals: Vec<BudgetTotal>,
    /// Each make that something has to be replaced of, by weeks ahead and make.
    pub lines: Vec<BudgetLine>,
    /// Which jobs it rests on, a sentence.
    pub rests_on: String,
    /// What to keep in mind, a sentence each.
    pub caveats: Vec<String>,
}

/// What all of the kit costs to keep as it is over some weeks.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetTotal {
    /// Weeks from now.
    pub weeks: i64,
    /// The last day of them.
    pub until: Date,
    /// Booked jobs in them.
    pub booked_job_count: i64,
    /// Further jobs that usually come.
    pub usual_job_count: f64,
    /// Pieces to replace.
    pub count: Spread,
    /// What those with a known price cost; `None` where no price is known.
    pub cost: Option<CostSpread>,
    /// Makes without a known price among them.
    pub unpriced: Vec<Id>,
}

/// What has to be replaced of one make over some weeks.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetLine {
    /// Weeks from now.
    pub weeks: i64,
    /// Make.
    pub make: Id,
    /// Its name.
    pub make_name: String,
    /// Pieces to replace; bundles of towels.
    pub count: Spread,
    /// What they cost; `None` where the make has no known price.
    pub cost: Option<CostSpread>,
}

/// A figure that is not known for sure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Its mean.
    pub mean: f64,
    /// Nine times in ten it is more.
    pub low: f64,
    /// One time in ten it is more.
    pub high: f64,
}

/// A cost that is not known for sure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CostSpread {
    /// Its mean.
    pub mean: Money,
    /// Nine times in ten it is more.
    pub low: Money,
    /// One time in ten it is more.
    pub high: Money,
}

/// What of the kit has to be replaced in the next 4, 8 and 12 weeks, and what that costs.
///
/// # Errors
/// When prices in two currencies meet.
pub fn kit_budget(book: &Book, now: Moment) -> Result<KitBudget, Refusal> {
    let currency = book_currency(book)?;
    let usual = Usual::of(book, now);
    let booked = booked(book);
    let kit = kit(book, &usual, &booked);
    let today = LocalDays::of(book).day(now);
    let (mut totals, mut lines) = (Vec::new(), Vec::new());
    for weeks in WEEKS {
        let days = weeks.saturating_mul(DAYS_A_WEEK);
        let end = now.saturating_add(jiff::SignedDuration::from_secs(
            days.saturating_mul(S_A_DAY),
        ));
        let end = end.unwrap_or(Moment::MAX);
        let near: Vec<&Takes> = booked
            .iter()
            .filter(|(job, _)| job.starts_at < end)
            .map(|(_, takes)| takes)
            .collect();
        let ahead = Ahead {
            near: &near,
            nodes: usual.over(book, days),
        };
        let of_kit: Vec<(&Worn<'_>, Vec<Moments>)> = kit
            .iter()
            .map(|worn| (worn, ahead.used_up(worn)))
            .filter(|(_, counts)| Moments::one_of(counts).mean >= COUNT_LEAST)
            .collect();
        for (worn, counts) in &of_kit {
            let count = Moments::one_of(counts);
            let cost = currency.zip(worn.price);
            lines.push(BudgetLine {
                weeks,
                make: worn.make.id.clone(),
                make_name: worn.make.name.clone(),
                count: Spread::of(count),
                cost: cost.and_then(|(currency, price)| {
                    CostSpread::of(count.scaled(f64::try_from(price).ok()?), currency)
                }),
            });
        }
        totals.push(BudgetTotal {
            weeks,
            until: today.saturating_add(jiff::Span::new().days(days)),
            booked_job_count: i64::try_from(near.len()).unwrap_or(i64::MAX),
            usual_job_count: usual.mean_over(book, days),
            count: Spread::of(together(&of_kit, |_| Some(1.0))),
            cost: currency
                .filter(|_| of_kit.is_empty() || of_kit.iter().any(is_priced))
                .and_then(|currency| {
                    let price = |worn: &Worn<'_>| f64::try_from(worn.price?).ok();
                    CostSpread::of(together(&of_kit, price), currency)
                }),
            unpriced: of_kit
                .iter()
                .filter(|(worn, _)| worn.price.is_none())
                .map(|(worn, _)| worn.make.id.clone())
                .collect(),
        });
    }
    Ok(KitBudget {
        rests_on: words::rests_on(book, &totals, &usual),
        caveats: words::caveats(book, &totals),
        totals,
        lines,
    })
}

fn is_priced((worn, _): &(&Worn<'_>, Vec<Moments>)) -> bool {
    worn.price.is_some()
}

/// Booked jobs with what each takes; those that cannot be planned are left out.
fn booked(book: &Book) -> Vec<(&Job, Takes)> {
    let jobs = book.booked_jobs().map(AsRef::as_ref);
    jobs.filter_map(|job| Some((job, takes_of(book, job)?)))
        .collect()
}

/// A make of the kit that comes to an end.
struct Worn<'a> {
    make: &'a Make,
    ends: Ends,
    /// Price of a piece, of a bundle for towels.
    price: Option<Decimal>,
}

/// What of the kit comes to an end by such jobs, by make.
fn kit<'a>(book: &'a Book, usual: &Usual<'_>, booked: &[(&Job, Takes)]) -> Vec<Worn<'a>> {
    let booked = booked.iter().map(|(_, takes)| takes);
    let takes: Vec<&Takes> = booked.chain(usual.takes()).collect();
    let is_taken = |make: &Make| takes.iter().any(|takes| takes.contains_key(&make.id));
    let makes = book.makes().map(AsRef::as_ref);
    makes
        .filter(|make| {
            is_taken(make) || matches!(make.figures, Figures::Towel(_) | Figures::Plate(_))
        })
        .filter_map(|make| {
            Some(Worn {
                make,
                ends: Ends::of(book, make)?,
                price: price_of_piece(book, make),
            })
        })
        .collect()
}

/// Price of a piece of a make, of a bundle for towels.
fn price_of_piece(book: &Book, make: &Make) -> Option<Decimal> {
    let price = PackPrice::of(book, &make.id)?.of_piece()?;
    let pieces = match &make.figures {
        Figures::Towel(_) => towels_a_bundle(book, &make.id).unwrap_or(1),
        _ => 1,
    };
    price.checked_mul(pieces.into())
}

/// The jobs of some weeks.
struct Ahead<'a> {
    /// What those that are booked take.
    near: &'a [&'a Takes],
    /// What the others take together, in stretches from the quietest to the busiest that are as likely.
    nodes: Vec<Takes>,
}

impl Ahead<'_> {
    /// Pieces of a make that come to their end, in each of the stretches.
    fn used_up(&self, worn: &Worn<'_>) -> Vec<Moments> {
        let of = |takes: &Takes| takes.get(&worn.make.id).copied().unwrap_or_default();
        let near = self.near.iter().map(|takes| of(takes));
        let near = near.fold(Moments::NONE, Moments::plus);
        let nodes = self.nodes.iter();
        nodes
            .map(|usual| worn.ends.by(near.plus(of(usual))))
            .collect()
    }
}

/// The sum over makes of their counts times a factor: in a busy stretch of weeks all of them are more.
fn together(
    of_kit: &[(&Worn<'_>, Vec<Moments>)],
    factor: impl Fn(&Worn<'_>) -> Option<f64>,
) -> Moments {
    let mut stretches: BTreeMap<usize, Moments> = BTreeMap::new();
    for (worn, counts) in of_kit {
        let Some(factor) = factor(worn) else { continue };
        for (at, count) in counts.iter().enumerate() {
            let sum = stretches.entry(at).or_default();
            *sum = sum.plus(count.scaled(factor));
        }
    }
    Moments::one_of(&stretches.into_values().collect::<Vec<_>>())
}

impl Spread {
    fn of(moments: Moments) -> Self {
        Self {
            mean: moments.mean,
            low: moments.quantile(0.1),
            high: moments.quantile(0.9),
        }
    }
}

impl CostSpread {
    fn of(moments: Moments, currency: Currency) -> Option<Self> {
        let money = |value: f64| {
            let exact = Decimal::from_f64_retain(value)?;
            let amount = quantise(exact, currency.places()).ok()?;
            Some(Money { amount, currency })
        };
        let spread = Spread::of(moments);
        Some(Self {
            mean: money(spread.mean)?,
            low: money(spread.low)?,
            high: money(spread.high)?,
        })
    }
}
