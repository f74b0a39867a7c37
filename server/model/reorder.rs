//! The reorder list: what to order, from whom and by when, so that booked jobs have their kit.
//!
//! Serves whoever buys. Every line says why, by when, how many packs, what it costs and what happens
//! if it is skipped. It reads the book and never changes it.

mod circle;
mod coming;
mod forecast;
mod level;
mod packs;
mod source;

use std::collections::BTreeMap;

use jiff::civil::Date;
use rust_decimal::Decimal;

use crate::ids::Id;
use crate::money::Money;
use crate::refusal::{Reason, Refusal};
use crate::stock_cost::book_currency;
use crate::supplier::Supplier;
use crate::{Book, Moment};
use forecast::{Need, day_of};
use source::Source;

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
}

/// Something that is wanted, before it is known from whom.
#[derive(Debug, Clone, PartialEq)]
struct Want {
    make: Id,
    /// Pieces: pads, towels by the towel, bottles, sundry packs.
    count: i64,
    on: Date,
    jobs: Vec<Id>,
    cause: Cause,
    reason: String,
}

/// What to order, from whom and by when.
///
/// Booked jobs up to and with `through`, all of them when open, are run one after the other on a copy
/// of the book with the check as the judge; what they lack and what the kept levels lack is looked up
/// in the price lists, of one supplier alone where `only` names it.
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
    let today = day_of(now);
    let forecast = forecast::run(book, through, now);
    let mut wants = by_make(&forecast.needs);
    let levels = level::look(book, &forecast.stages, now, today);
    for kept in levels.wants {
        match wants.iter_mut().find(|want| want.make == kept.make) {
            // One line a make: what is kept goes with what a job needs.
            Some(want) => {
                want.on = want.on.min(kept.on);
                if kept.count > 0 {
                    want.count = want.count.saturating_add(kept.count);
                    want.reason.push(' ');
                    want.reason.push_str(&kept.reason);
                }
            }
            None if kept.count > 0 => wants.push(kept),
            None => {}
        }
    }
    let mut by_supplier: BTreeMap<Option<Id>, Vec<(Want, Option<Source>)>> = BTreeMap::new();
    for want in wants {
        let source = source::of(book, &want, only, today);
        let id = source.as_ref().map(|source| source.supplier.id.clone());
        if only.is_none() || id.is_some() {
            by_supplier.entry(id).or_default().push((want, source));
        }
    }
    let mut baskets: Vec<Basket> = by_supplier
        .into_values()
        .map(|wants| basket(book, wants, &levels.yearly_use, today))
        .collect();
    baskets.sort_by_key(|basket| (basket.supplier.is_none(), basket.order_by));
    Ok(ReorderList {
        baskets,
        assumptions: assumptions(&forecast),
    })
}

/// What booked jobs need, a make at a time.
fn by_make(needs: &[Need]) -> Vec<Want> {
    let mut wants: Vec<Want> = Vec::new();
    for need in needs {
        match wants.iter_mut().find(|want| want.make == need.make) {
            Some(want) => {
                want.count = want.count.saturating_add(need.count);
                want.cause = want.cause.min(need.cause);
                if !want.jobs.contains(&need.job) {
                    want.jobs.push(need.job.clone());
                }
            }
            None => wants.push(Want {
                make: need.make.clone(),
                count: need.count,
                on: need.on,
                jobs: vec![need.job.clone()],
                cause: need.cause,
                reason: String::new(),
            }),
        }
    }
    for want in &mut wants {
        want.reason = match want.cause {
            Cause::BookedJob => format!("Short by {} for {}.", want.count, words(&want.jobs)),
            Cause::CarryChance => format!(
                "{} more {} {} to the chance you aim at.",
                want.count,
                if want.count == 1 { "brings" } else { "bring" },
                words(&want.jobs)
            ),
            Cause::KeepLevel => String::new(),
        };
    }
    wants
}

/// Ids as a person lists them.
fn words(ids: &[Id]) -> String {
    let ids: Vec<&str> = ids.iter().map(Id::as_str).collect();
    match ids.split_last() {
        None => String::new(),
        Some((only, [])) => (*only).to_owned(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

/// The basket of one supplier, or of what none lists.
fn basket(
    book: &Book,
    wants: Vec<(Want, Option<Source>)>,
    yearly_use: &BTreeMap<Id, f64>,
    today: Date,
) -> Basket {
    let supplier: Option<Supplier> = wants
        .first()
        .and_then(|(_, source)| source.as_ref())
        .map(|source| Supplier::clone(&source.supplier));
    let packs = packs::choose(book, supplier.as_ref(), &wants, yearly_use);
    let mut lines: Vec<ReorderLine> = wants
        .into_iter()
        .zip(packs)
        .map(|((want, source), packs)| {
            let economic = source
                .as_ref()
                .and_then(|source| packs::economic(book, source, *yearly_use.get(&want.make)?));
            ReorderLine {
                economic_count: economic,
                ..line(book, want, source, packs, today)
            }
        })
        .collect();
    lines.sort_by(|a, b| {
        b.is_late
            .cmp(&a.is_late)
            .then(a.order_by.cmp(&b.order_by))
            .then(a.cause.cmp(&b.cause))
            .then(a.make.cmp(&b.make))
    });
    let goods = sum(lines.iter().filter_map(|line| line.cost));
    let freight = supplier.as_ref().zip(goods).and_then(|(supplier, goods)| {
        let freight = supplier.freight?;
        let free = supplier.free_delivery_from;
        free.is_none_or(|free| goods.amount < free.amount)
            .then_some(freight)
    });
    let missing = |to: Option<Money>| {
        let (to, goods) = to.zip(goods)?;
        let amount = to.amount.checked_sub(goods.amount)?;
        (amount > Decimal::ZERO).then_some(Money { amount, ..to })
    };
    Basket {
        supplier_name: supplier
            .as_ref()
            .map(|supplier| supplier.name.clone())
            .unwrap_or_default(),
        to_free_delivery: supplier
            .as_ref()
            .and_then(|supplier| missing(supplier.free_delivery_from)),
        to_min_order: supplier
            .as_ref()
            .and_then(|supplier| missing(supplier.min_order)),
        supplier: supplier.map(|supplier| supplier.id),
        order_by: lines.iter().map(|line| line.order_by).min(),
        total: sum(goods.into_iter().chain(freight)),
        goods,
        freight,
        lines,
    }
}

fn sum(moneys: impl Iterator<Item = Money>) -> Option<Money> {
    moneys.fold(None, |sum: Option<Money>, money| match sum {
        None => Some(money),
        Some(sum) => Some(Money {
            amount: sum.amount.saturating_add(money.amount),
            ..sum
        }),
    })
}

fn line(
    book: &Book,
    want: Want,
    source: Option<Source>,
    pack_count: i64,
    today: Date,
) -> ReorderLine {
    let make_name = book
        .make(&want.make)
        .map_or_else(|| want.make.to_string(), |make| make.name.clone());
    let price = source
        .as_ref()
        .and_then(|source| source.offer.price_at(pack_count));
    let cost = price.and_then(|price| {
        let amount = price.amount.checked_mul(pack_count.into())?;
        Some(Money { amount, ..price })
    });
    let order_by = source.as_ref().map_or(want.on, |source| source.order_by);
    ReorderLine {
        if_skipped: if_skipped(&want),
        make_name,
        cause: want.cause,
        need_count: want.count,
        pack_count,
        pieces_per_pack: source.as_ref().map_or(1, |source| source.offer.pack_count),
        price,
        cost,
        order_by,
        is_late: order_by < today,
        need_on: want.on,
        jobs: want.jobs,
        reason: want.reason,
        economic_count: None,
        make: want.make,
    }
}

fn if_skipped(want: &Want) -> String {
    match want.cause {
        Cause::BookedJob => format!("The check of {} says stop.", words(&want.jobs)),
        Cause::CarryChance => format!("The check of {} says watch.", words(&want.jobs)),
        Cause::KeepLevel => "A job that comes unbooked may find too little.".to_owned(),
    }
}

fn assumptions(forecast: &forecast::Forecast) -> Vec<String> {
    let mut said = vec![
        "What is soiled is washed today, and after each job.".to_owned(),
        "What is set aside stays aside, and orders on their way come on their day.".to_owned(),
    ];
    for (job, why) in &forecast.left_out {
        said.push(format!("{job} is left out: {why}"));
    }
    said.extend(forecast.other_stops.iter().cloned());
    said
}
