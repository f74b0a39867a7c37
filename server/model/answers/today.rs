//! Where the shop stands now: what to log, what comes next, what to wash, to order and to wait for.
//!
//! It says of each thing no more than what to do about it; check and reorder list say why. It reads the
//! book and never changes it.

mod bring;

use std::collections::BTreeMap;
use std::sync::Arc;

use fettlebook_quantity::Seconds;
use jiff::civil::Date;
use jiff::{SignedDuration, ToSpan as _};

use crate::answers::check::{JobCheck, check_jobs, dry_time, is_empty, is_soiled};
use crate::answers::reorder::{ReorderLine, reorder_list};
use crate::ground::ids::{Place, Tag};
use crate::ground::refusal::Refusal;
use crate::ready::batteries::{charge_time, drawn};
use crate::ready::hours::ends_at;
use crate::ready::local_day::LocalDays;
use crate::ready::plan::{plan_job, plan_to_come};
use crate::trade::job::Job;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::order::Order;
use crate::{Book, Moment};

pub use bring::ToBring;

/// Booked jobs up to so many days ahead are looked at for what to order. Basis: ours; longer than the lead
/// times of the trade's suppliers, and short enough to be found while somebody waits.
const DAYS_LOOKED_AHEAD: i64 = 14;

/// What is soiled at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToWash {
    /// Where it is.
    pub place: Place,
    /// Pads and bundles, by tag.
    pub tags: Vec<Tag>,
    /// Soiled towels in those bundles.
    pub towel_count: i64,
    /// When all of it would be dry, washed now.
    pub dry_at: Moment,
    /// When it has to be washed to be dry for the next job there; `None` without one, and where that
    /// moment has passed.
    pub wash_by: Option<Moment>,
}

/// Batteries that are empty at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToCharge {
    /// Where they are.
    pub place: Place,
    /// Batteries, by tag.
    pub tags: Vec<Tag>,
    /// When all of them would be full, put on the charger now.
    pub full_at: Moment,
    /// When they have to be on the charger to be full for the next job there that runs on them; `None`
    /// without one, and where that moment has passed.
    pub charge_by: Option<Moment>,
}

/// What dries at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drying {
    /// Where it is.
    pub place: Place,
    /// Pieces, by tag.
    pub tags: Vec<Tag>,
    /// When the last of them is dry.
    pub until: Moment,
}

/// The next booked job.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    /// The job.
    pub job: Job,
    /// Its check, or why there is none.
    pub check: Result<JobCheck, Refusal>,
}

/// An order on its way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnItsWay {
    /// The order.
    pub order: Order,
    /// Whether it should have come by now.
    pub is_late: bool,
}

/// Where the shop stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Today {
    /// Booked jobs that have ended and are not logged, by start; those at the place first where it is told.
    pub unlogged: Vec<Job>,
    /// The next booked job, at the place where it is told if one is booked there; `None` where none is booked.
    pub next: Option<Next>,
    /// What is to be brought to the next jobs away from the bench, by start.
    pub to_bring: Vec<ToBring>,
    /// What is soiled, by place.
    pub to_wash: Vec<ToWash>,
    /// Batteries that are empty, by place.
    pub to_charge: Vec<ToCharge>,
    /// What to order, the earliest last day first, or why nothing can be said of it.
    pub to_order: Result<Vec<ReorderLine>, Refusal>,
    /// What dries, by place and moment.
    pub drying: Vec<Drying>,
    /// Orders on their way, the earliest due first.
    pub on_their_way: Vec<OnItsWay>,
}

/// Where the shop of a book stands at a moment, as told at a place: what is there comes first, and of the jobs
/// ahead the next one there.
pub fn today(book: &Book, here: Option<&Place>, now: Moment) -> Today {
    let (mut unlogged, ahead): (Vec<&Job>, Vec<&Job>) = book
        .booked_jobs()
        .map(AsRef::as_ref)
        .partition(|job| has_ended(book, job, now));
    let day = LocalDays::of(book).day(now);
    let is_elsewhere = |place: &Place| here.is_some_and(|here| here != place);
    let next_here = ahead.iter().find(|job| !is_elsewhere(&job.place));
    let next_job = next_here.or_else(|| ahead.first());
    let mut to_bring = bring::to_bring(book, &ahead, now);
    let mut to_wash = to_wash(book, &ahead, now);
    let mut to_charge = to_charge(book, &ahead, now);
    let mut drying = drying(book, now);
    // These sorts keep the order of what is at one place.
    unlogged.sort_by_key(|job| is_elsewhere(&job.place));
    to_bring.sort_by_key(|bring| is_elsewhere(&bring.place));
    to_wash.sort_by_key(|soiled| is_elsewhere(&soiled.place));
    to_charge.sort_by_key(|empty| is_elsewhere(&empty.place));
    drying.sort_by_key(|dries| is_elsewhere(&dries.place));
    Today {
        unlogged: unlogged.into_iter().cloned().collect(),
        next: next_job.and_then(|job| next(book, job, now)),
        to_bring,
        to_wash,
        to_charge,
        to_order: to_order(book, day, now),
        drying,
        on_their_way: on_their_way(book, day),
    }
}

/// The next job with its check.
fn next(book: &Book, job: &Job, now: Moment) -> Option<Next> {
    let ids = [job.id.clone()];
    let check = match check_jobs(book, &ids, now) {
        Ok(checks) => Ok(checks.into_iter().next()?),
        Err(refusal) => Err(refusal),
    };
    Some(Next {
        job: job.clone(),
        check,
    })
}

/// Orders on their way, the earliest due first.
fn on_their_way(book: &Book, day: Date) -> Vec<OnItsWay> {
    let orders = book.orders().filter(|order| order.is_on_its_way());
    let mut orders: Vec<OnItsWay> = orders
        .map(|order| OnItsWay {
            order: order.as_ref().clone(),
            is_late: order.due_on.is_some_and(|due| due < day),
        })
        .collect();
    orders.sort_by_key(|one| (one.order.due_on, one.order.id.clone()));
    orders
}

/// Whether the time of a job is over; of one that cannot be planned once its start is.
fn has_ended(book: &Book, job: &Job, now: Moment) -> bool {
    let ends = plan_job(book, job).map_or(job.starts_at, |plan| ends_at(book, job, &plan));
    ends <= now
}

/// What to order for the days ahead, the earliest last day first.
fn to_order(book: &Book, day: Date, now: Moment) -> Result<Vec<ReorderLine>, Refusal> {
    let through = day.saturating_add(DAYS_LOOKED_AHEAD.days());
    let list = reorder_list(book, Some(through), None, now)?;
    let baskets = list.baskets.into_iter();
    let mut lines: Vec<ReorderLine> = baskets.flat_map(|basket| basket.lines).collect();
    lines.sort_by_key(|line| (line.order_by, line.make.clone()));
    Ok(lines)
}

/// What is soiled at each place, and by when to wash it for the next job there.
fn to_wash(book: &Book, ahead: &[&Job], now: Moment) -> Vec<ToWash> {
    let mut by_place: BTreeMap<&Place, (ToWash, Seconds)> = BTreeMap::new();
    for piece in book.pieces().filter(|piece| is_soiled(piece)) {
        let Some(dry) = dry_time(book, piece) else {
            continue;
        };
        let (soiled, longest) = by_place.entry(&piece.place).or_insert_with(|| {
            let soiled = ToWash {
                place: piece.place.clone(),
                tags: Vec::new(),
                towel_count: 0,
                dry_at: now,
                wash_by: None,
            };
            (soiled, dry)
        });
        soiled.tags.push(piece.tag);
        let towels = piece.bundle().map_or(0, |bundle| bundle.soiled_there());
        soiled.towel_count = soiled.towel_count.saturating_add(towels);
        *longest = dry.max(*longest);
    }
    let soiled = by_place.into_values().map(|(soiled, longest)| {
        let next = ahead.iter().find(|job| job.place == soiled.place);
        let longest = SignedDuration::from_secs(longest.s());
        let next_start = next.and_then(|job| {
            let first = job.next_start();
            let mut starts = job.starts().filter(|start| *start >= first);
            starts.find(|start| *start > now).or(Some(first))
        });
        let wash_by = next_start.and_then(|start| start.checked_sub(longest).ok());
        ToWash {
            dry_at: now.checked_add(longest).unwrap_or(now),
            wash_by: wash_by.filter(|by| *by >= now),
            ..soiled
        }
    });
    soiled.collect()
}

/// Batteries that are empty at each place, and by when to charge them for the next job there that runs on
/// them.
fn to_charge(book: &Book, ahead: &[&Job], now: Moment) -> Vec<ToCharge> {
    let mut by_place: BTreeMap<&Place, Vec<&Arc<Piece>>> = BTreeMap::new();
    for piece in book.pieces().filter(|piece| is_empty(piece)) {
        by_place.entry(&piece.place).or_default().push(piece);
    }
    let empty = by_place.into_iter().map(|(place, pieces)| {
        let longest = pieces
            .iter()
            .map(|piece| charge_time(book, piece).s())
            .max();
        let longest = SignedDuration::from_secs(longest.unwrap_or_default());
        let next = ahead
            .iter()
            .find(|job| job.place == *place && runs_on(book, job, &pieces));
        let charge_by = next.and_then(|job| job.starts_at.checked_sub(longest).ok());
        ToCharge {
            place: place.clone(),
            tags: pieces.iter().map(|piece| piece.tag).collect(),
            full_at: now.checked_add(longest).unwrap_or(now),
            charge_by: charge_by.filter(|by| *by >= now),
        }
    });
    empty.collect()
}

/// Whether a job has machines that some of these batteries fit.
fn runs_on(book: &Book, job: &Job, batteries: &[&Arc<Piece>]) -> bool {
    let Ok(plan) = plan_to_come(book, job) else {
        return false;
    };
    let mut all = drawn(book, &plan).into_iter();
    all.any(|one| batteries.iter().any(|piece| one.takes(piece)))
}

/// What dries at each place, by the moment it is dry.
fn drying(book: &Book, now: Moment) -> Vec<Drying> {
    let mut by_moment: BTreeMap<(Moment, &Place), Vec<Tag>> = BTreeMap::new();
    for piece in book.pieces() {
        if let Readiness::Drying(until) = piece.readiness.at(now) {
            let tags = by_moment.entry((until, &piece.place)).or_default();
            tags.push(piece.tag);
        }
    }
    let drying = by_moment.into_iter().map(|((until, place), tags)| Drying {
        place: place.clone(),
        tags,
        until,
    });
    drying.collect()
}
