//! Filling the baskets: what is needed, a make a line, from its supplier and in its packs; what is kept
//! beside it is a line of its own, which may be left out.
//!
//! Serves the reorder list. It adds up and words what the forecast and the levels found; it must never
//! count a pack for both, nor hide a make that nobody offers.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::fmt::strtime;
use rust_decimal::Decimal;

use super::level::Stage;
use super::packs::Packs;
use super::source::{self, Source};
use super::{Basket, Cause, ReorderLine, level, packs};
use crate::answers::ahead::Parcel;
use crate::answers::ahead::needs::Need;
use crate::ground::ids::Id;
use crate::ground::money::Money;
use crate::maths::supply::Dated;
use crate::ready::local_day::LocalDays;
use crate::trade::supplier::Supplier;
use crate::{Book, Moment};

/// Something that is wanted, before it is known from whom.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Want {
    /// Make.
    pub(super) make: Id,
    /// Pieces beyond what is there and on its way, by the day: pads, towels by the towel, bottles, sundry
    /// packs.
    pub(super) needs: Vec<Dated>,
    /// First day it is wanted.
    pub(super) on: Date,
    /// Jobs it is for.
    pub(super) jobs: Vec<Id>,
    /// Why.
    pub(super) cause: Cause,
    /// Why, a sentence.
    pub(super) reason: String,
}

impl Want {
    /// Pieces in all.
    pub(super) fn count(&self) -> i64 {
        let pieces = self.needs.iter().map(|need| need.quantity);
        pieces.fold(0, i64::saturating_add)
    }

    /// What is wanted beyond so many pieces that come anyway; `None` where that is nothing.
    fn without(mut self, pieces: i64) -> Option<Self> {
        let mut left = pieces.max(0);
        for need in &mut self.needs {
            let comes = left.min(need.quantity);
            need.quantity = need.quantity.saturating_sub(comes);
            left = left.saturating_sub(comes);
        }
        (self.count() > 0).then_some(self)
    }
}

/// What is to be ordered, and how it comes.
pub(super) struct Filled {
    /// One basket a supplier, the earliest last day to order first; what none offers comes last.
    pub(super) baskets: Vec<Basket>,
    /// What comes when all of it is ordered, and by the piece what was left out.
    pub(super) parcels: Vec<Parcel>,
}

/// Fills the baskets with what booked jobs need and what is missing to the kept levels as they leave the
/// book day by day, of one supplier alone where that is asked for.
pub(super) fn fill(
    book: &Book,
    needs: &[Need],
    stages: &[Stage],
    only: Option<&Supplier>,
    now: Moment,
) -> Filled {
    let today = LocalDays::of(book).day(now);
    let levels = level::look(book, stages, now, today);
    let mut parcels = Vec::new();
    let mut by_supplier: BTreeMap<Option<Id>, Vec<(Want, Option<Source>)>> = BTreeMap::new();
    let mut over: BTreeMap<Id, i64> = BTreeMap::new();
    let kept = levels.wants;
    for want in by_make(needs).into_iter().chain(kept) {
        let over_from_jobs = over.get(&want.make).copied().unwrap_or(0);
        let Some(want) = want.without(over_from_jobs) else {
            continue;
        };
        let source = source::of(book, &want, only, today);
        let id = source.as_ref().map(|source| source.supplier.id.clone());
        if let Some(source) = &source {
            over.insert(
                want.make.clone(),
                source.piece_count().saturating_sub(want.count()),
            );
        }
        if only.is_none() || id.is_some() {
            by_supplier.entry(id).or_default().push((want, source));
        } else if want.cause != Cause::KeepLevel {
            parcels.push(Parcel::of_pieces(book, &want.make, want.count(), want.on));
        }
    }
    let mut baskets: Vec<Basket> = by_supplier
        .into_values()
        .map(|wants| basket(book, wants, &levels.yearly_use, today))
        .collect();
    baskets.sort_by_key(|basket| (basket.supplier.is_none(), basket.order_by));
    // Whoever leaves out what is only kept has what the jobs need all the same.
    let lines = baskets.iter().flat_map(|basket| &basket.lines);
    let needed = lines.filter(|line| line.cause != Cause::KeepLevel);
    parcels.extend(needed.map(|line| Parcel {
        make: line.make.clone(),
        pack_count: line.pack_count,
        pieces_per_pack: line.pieces_per_pack,
        on: line.need_on,
    }));
    Filled { baskets, parcels }
}

/// What booked jobs need, a make at a time.
fn by_make(needs: &[Need]) -> Vec<Want> {
    let mut wants: Vec<Want> = Vec::new();
    for need in needs {
        let cause = if need.bought.is_short {
            Cause::BookedJob
        } else {
            Cause::CarryChance
        };
        match wants.iter_mut().find(|want| want.make == need.bought.make) {
            Some(want) => {
                want.needs.push(dated(need));
                want.on = want.on.min(need.on);
                want.cause = want.cause.min(cause);
                if !want.jobs.contains(&need.job) {
                    want.jobs.push(need.job.clone());
                }
            }
            None => wants.push(Want {
                make: need.bought.make.clone(),
                needs: vec![dated(need)],
                on: need.on,
                jobs: vec![need.job.clone()],
                cause,
                reason: String::new(),
            }),
        }
    }
    for want in &mut wants {
        let count = want.count();
        want.reason = match want.cause {
            Cause::BookedJob => format!("Short by {count} for {}.", words(&want.jobs)),
            Cause::CarryChance => format!(
                "{count} more {} {} to the chance you aim at.",
                if count == 1 { "brings" } else { "bring" },
                words(&want.jobs)
            ),
            Cause::KeepLevel => String::new(),
        };
    }
    wants
}

fn dated(need: &Need) -> Dated {
    Dated {
        date: need.on,
        quantity: need.bought.count,
    }
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
                ..line(book, want, source.as_ref(), packs, today)
            }
        })
        .collect();
    lines.sort_by(|a, b| {
        a.order_by
            .cmp(&b.order_by)
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
    source: Option<&Source>,
    packs: Packs,
    today: Date,
) -> ReorderLine {
    let pack_count = packs.count;
    let make_name = book
        .make(&want.make)
        .map_or_else(|| want.make.to_string(), |make| make.name.clone());
    let price = source.and_then(|source| source.offer.price_at(packs.of_make));
    let cost = price.and_then(|price| {
        let amount = price.amount.checked_mul(pack_count.into())?;
        Some(Money { amount, ..price })
    });
    let order_by = source.map_or(want.on, |source| source.order_by);
    let late = source.filter(|source| source.is_late);
    ReorderLine {
        instead: late.map_or_else(String::new, |source| instead(book, &want, source, today)),
        if_skipped: if_skipped(&want),
        make_name,
        cause: want.cause,
        need_count: want.count(),
        pack_count,
        pieces_per_pack: source.map_or(1, |source| source.offer.pack_count),
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

/// What can be done where a supplier cannot deliver before the job.
fn instead(book: &Book, want: &Want, source: &Source, today: Date) -> String {
    let there_on = source::first_day(book, &source.supplier, today);
    let there_on = strtime::format("%a %-d %b %Y", there_on).unwrap_or_default();
    let job = want.jobs.first().map_or("the job", Id::as_str);
    format!(
        "It cannot come before {job}. Move {job} to {there_on} or later, take it from another place, or buy \
         it nearer."
    )
}

fn if_skipped(want: &Want) -> String {
    match want.cause {
        Cause::BookedJob => format!("The check of {} is short of it.", words(&want.jobs)),
        Cause::CarryChance => format!("The check of {} says watch.", words(&want.jobs)),
        Cause::KeepLevel => "A job that comes unbooked may find too little.".to_owned(),
    }
}
