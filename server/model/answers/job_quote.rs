//! A quote for the materials of a job, as it is handed to a customer.
//!
//! Serves whoever prices. Lines are rounded once and sum to the total to the cent; markup and margin
//! are both named, for they differ. Labour is quoted along where its price was given; it is not marked up.

mod labour;

use jiff::ToSpan as _;
use jiff::civil::Date;
use jiff::tz::Offset;
use rust_decimal::Decimal;

use crate::answers::job_cost::{CostKind, CostLine, CostRecord, CostSheet, job_cost};
use crate::ground::exact::ceil_div;
use crate::ground::ids::Id;
use crate::ground::money::{Currency, Money};
use crate::ground::refusal::Refusal;
use crate::maths::cost::{CostError, Pricing, TaxedNet, total_up};
use crate::trade::job::Job;
use crate::trade::policy::PolicyKey;
use crate::{Book, Moment};

pub use labour::Labour;

/// What a quote is asked for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct QuoteAsk {
    /// Markup on cost, thousandths.
    pub markup_permille: Option<i64>,
    /// Margin on price, thousandths.
    pub margin_permille: Option<i64>,
    /// Tax rate, thousandths of a per cent; the policy's when open.
    pub tax_milli_percent: Option<i64>,
    /// Days it holds; the policy's when open.
    pub valid_days: Option<i64>,
    /// Labour that is quoted along; the typical hours at the shop's rate when open, where it has one.
    pub labour: Option<Labour>,
    /// No labour is quoted along, whatever the shop's rate.
    pub is_without_labour: bool,
    /// All materials in one line.
    pub is_one_line: bool,
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
    /// Tax rate, thousandths of a per cent.
    pub tax_milli_percent: i64,
    /// Tax on the sum.
    pub tax: Money,
    /// Net and tax.
    pub gross: Money,
    /// Markup that was asked for.
    pub markup_permille: Option<i64>,
    /// Margin that was asked for.
    pub margin_permille: Option<i64>,
    /// Net price of the labour, the first of the lines; nothing where it is quoted apart.
    pub labour: Option<Money>,
    /// What it costs inside.
    pub cost: CostSheet,
}

/// Makes a quote for the materials of a job, from the entries that [`job_cost`] asks for.
///
/// # Errors
/// When markup and margin are both asked for, a figure is out of its range, or the job cannot be
/// costed.
pub fn quote_job(
    book: &Book,
    job: &Job,
    ask: QuoteAsk,
    record: CostRecord<'_>,
    now: Moment,
) -> Result<JobQuote, Refusal> {
    let pricing = pricing(book, ask)?;
    let policy = book.policy();
    let tax_milli_percent = ask
        .tax_milli_percent
        .unwrap_or_else(|| policy.tax_milli_percent());
    let valid_days = ask
        .valid_days
        .unwrap_or_else(|| policy.value(PolicyKey::QuoteValidDays));
    let cost = job_cost(book, job, record)?;
    let places = cost.typical.currency.places();
    let currency = cost.typical.currency;
    let labour = labour_of(ask, &cost);
    let labour = labour.map(|labour| labour.line(currency)).transpose()?;
    let labour_net = labour.as_ref().map(|line| line.net);
    let mut lines = Vec::from_iter(labour);
    let materials = materials(book, &cost, pricing)?;
    if ask.is_one_line {
        lines.push(in_one_line(&materials, currency)?);
    } else {
        lines.extend(materials);
    }
    let tax_percent = Decimal::new(tax_milli_percent, 3);
    let nets: Vec<TaxedNet> = lines
        .iter()
        .map(|line| TaxedNet {
            net: line.net.amount,
            tax_percent,
        })
        .collect();
    let sums = total_up(&nets, places).map_err(|error| refused(&error))?;
    let money = |amount| Money { amount, currency };
    let date = Offset::from_seconds(job.utc_offset_s)
        .unwrap_or(Offset::UTC)
        .to_datetime(now)
        .date();
    Ok(JobQuote {
        job: job.id.clone(),
        car: book.car(&job.car).map_or_else(
            || job.car.to_string(),
            |car| {
                let class = car.class.as_str().replace('-', " ");
                match car.note.as_str() {
                    "" => class,
                    note => format!("{class}, {note}"),
                }
            },
        ),
        routine: book
            .routine(&job.routine)
            .map_or_else(|| job.routine.to_string(), |routine| routine.name.clone()),
        date,
        valid_until: date.checked_add(valid_days.days()).unwrap_or(Date::MAX),
        lines,
        net: money(sums.net),
        tax_milli_percent,
        tax: money(sums.tax),
        gross: money(sums.gross),
        markup_permille: ask.markup_permille,
        margin_permille: ask.margin_permille,
        labour: labour_net,
        cost,
    })
}

/// Labour as it was asked for, else the typical hours at the shop's rate, to the whole minute up.
fn labour_of(ask: QuoteAsk, cost: &CostSheet) -> Option<Labour> {
    const MINUTE_S: i64 = 60;
    if ask.is_without_labour {
        return None;
    }
    ask.labour.or_else(|| {
        let hours = cost.hours.cost.as_ref()?;
        let minutes = ceil_div(cost.hours.typical_s.into(), MINUTE_S.into());
        Some(Labour::Timed {
            time_s: minutes.saturating_mul(MINUTE_S),
            rate: hours.rate,
        })
    })
}

fn refused(error: &CostError) -> Refusal {
    Refusal::quantity("job", error.to_string(), "Look at the prices of its makes.")
}

/// The materials, a line for each cost, each rounded once.
fn materials(book: &Book, cost: &CostSheet, pricing: Pricing) -> Result<Vec<QuotedLine>, Refusal> {
    let lines = cost.lines.iter().map(|line| {
        let currency = line.typical.currency;
        let price = pricing.price(line.typical.amount, currency.places());
        Ok(QuotedLine {
            text: customer_text(book, line),
            net: Money {
                amount: price.map_err(|error| refused(&error))?,
                currency,
            },
        })
    });
    lines.collect()
}

/// The materials in one line: the sum of what their lines would be, so that both ways come to the same.
fn in_one_line(materials: &[QuotedLine], currency: Currency) -> Result<QuotedLine, Refusal> {
    let nets: Vec<TaxedNet> = materials
        .iter()
        .map(|line| TaxedNet {
            net: line.net.amount,
            tax_percent: Decimal::ZERO,
        })
        .collect();
    let sum = total_up(&nets, currency.places()).map_err(|error| refused(&error))?;
    Ok(QuotedLine {
        text: "materials".to_owned(),
        net: Money {
            amount: sum.net,
            currency,
        },
    })
}

/// A line as the customer reads it: what is used up by the amount, what only wears by that word.
fn customer_text(book: &Book, line: &CostLine) -> String {
    let name = book
        .make(&line.make)
        .map_or_else(|| line.make.to_string(), |make| make.name.clone());
    match line.kind {
        CostKind::Pads | CostKind::Plates => format!("{name}, wear"),
        CostKind::Towels => format!("{name}, wear and washing"),
        CostKind::Liquid | CostKind::Sundries => line.text.clone(),
    }
}

/// How a cost becomes a price: as asked, else by the policy's markup.
fn pricing(book: &Book, ask: QuoteAsk) -> Result<Pricing, Refusal> {
    match (ask.markup_permille, ask.margin_permille) {
        (Some(_), Some(_)) => Err(Refusal::invalid(
            "margin_permille",
            "Markup and margin are both given; they are two ways to say one thing.",
            "Give one of them.",
        )),
        (None, Some(margin)) => Ok(Pricing::Margin(Decimal::new(margin, 3))),
        (markup, None) => {
            let markup = markup.unwrap_or_else(|| book.policy().value(PolicyKey::MarkupPermille));
            Ok(Pricing::Markup(Decimal::new(markup, 3)))
        }
    }
}
