//! What a step draws down: bottles, bundles and sundries, and how much comes from which.
//!
//! Serves the check and the log, which draw the same amounts from the same pieces: what is at the place
//! before anything that is to be brought. It must never draw on a bottle past its date, plan with its heel,
//! nor put towels on paint that should have gone down a grade.

use std::cmp::Reverse;
use std::sync::Arc;

use fettlebook_quantity::Volume;
use jiff::tz::Offset;

use super::Scene;
use crate::ground::exact::{half_up, product};
use crate::ground::ids::{Id, Tag};
use crate::maths::supply::{Lot, pick_first_expiring, take_in_order};
use crate::trade::kit::{BottleState, Piece, Readiness};
use crate::trade::make::Figures;
use crate::trade::policy::{Policy, PolicyKey};
use crate::trade::towel::TowelGrade;
use crate::{Book, Moment};

/// A piece that can be drawn on, and what it holds.
#[derive(Debug, Clone)]
pub struct Holding {
    /// The piece.
    pub piece: Arc<Piece>,
    /// What it holds by the book: µL of a liquid without its heel, clean towels, or a sundry in its unit.
    /// Not above zero when more use was reported than there was, or only the heel is left.
    pub quantity: i64,
}

/// Bottles of a make.
#[derive(Debug, Clone, Default)]
pub(crate) struct BottleOffer {
    /// Those that may be used on the day, in the order they should be taken.
    pub usable: Vec<Holding>,
    /// Those past their date on the day.
    pub expired: Vec<Tag>,
    /// Those that may be used and hold no more than their heel.
    pub heels: Vec<Tag>,
}

/// Bottles of a make on the day of the job, at the place first, by `pick_first_expiring`.
pub(crate) fn offer_bottles(scene: &Scene<'_>, make: &Id) -> BottleOffer {
    let (mut expired, mut heels) = (Vec::new(), Vec::new());
    let mut lots = Vec::new();
    let free = scene.free(|piece| piece.make == *make);
    for piece in scene.book.pieces_of(make) {
        let Some(bottle) = piece.bottle() else {
            continue;
        };
        if bottle.expiry.is_some_and(|last| last < scene.last_day) {
            expired.push(piece.tag);
        } else if piece.readiness == Readiness::Ready && free.has(piece) {
            let heel_ul = heel_ul(scene.policy(), bottle);
            let quantity = bottle.left_ul.ul().saturating_sub(heel_ul);
            if quantity <= 0 && bottle.left_ul > Volume::ZERO {
                heels.push(piece.tag);
            }
            lots.push(Lot {
                tag: piece.tag,
                quantity: free.left(piece.tag, quantity),
                expires: bottle.expiry,
                is_opened: bottle.opened_at.is_some(),
                is_at_hand: piece.place == *scene.place,
                received: piece.received_at,
            });
        }
    }
    let usable = pick_first_expiring(lots, scene.last_day).into_iter();
    let held = usable.filter_map(|lot| {
        Some(Holding {
            piece: Arc::clone(scene.book.piece(lot.tag)?),
            quantity: lot.quantity,
        })
    });
    let mut usable: Vec<Holding> = held.collect();
    // Nobody is sent for an opened bottle where a full one is at hand.
    usable.sort_by_key(|held| scene.reach(&held.piece));
    BottleOffer {
        usable,
        expired,
        heels,
    }
}

/// The last of a bottle, which clings to it and is not planned with, µL: a part of its size. Basis: common
/// practice, no source.
pub(crate) fn heel_ul(policy: &Policy, bottle: &BottleState) -> i64 {
    let permille = policy.value(PolicyKey::HeelPermille);
    half_up(product([bottle.full_ul.ul(), permille]), 1_000)
}

/// Why a bottle without a date is old.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Old {
    /// It was opened so many days ago, or more.
    Opened(i64),
    /// It came so many days ago, or more.
    Received(i64),
}

/// Whether a bottle that bears no date is older than such a one keeps, on the day of the job. Basis: from
/// memory.
pub(crate) fn is_old(scene: &Scene<'_>, piece: &Piece) -> Option<Old> {
    let bottle = piece.bottle().filter(|bottle| bottle.expiry.is_none())?;
    let policy = scene.policy();
    let (opened, received) = (
        policy.value(PolicyKey::OpenedKeepsDays),
        policy.value(PolicyKey::ShelfLifeDays),
    );
    let days_since = |moment: Moment| {
        let offset = Offset::from_seconds(scene.utc_offset_s).unwrap_or(Offset::UTC);
        let then = offset.to_datetime(moment).date();
        then.until(scene.day)
            .map_or(0, |span| i64::from(span.get_days()))
    };
    let is_past = |moment, days| days_since(moment) > days;
    if bottle.opened_at.is_some_and(|at| is_past(at, opened)) {
        Some(Old::Opened(opened))
    } else {
        is_past(piece.received_at, received).then_some(Old::Received(received))
    }
}

/// Bundles of a make and grade that may still go on paint, with their clean towels at the start: at the
/// place first, most washed first so that the newest keep their nap.
pub(crate) fn offer_bundles(scene: &Scene<'_>, make: &Id, grade: TowelGrade) -> Vec<Holding> {
    let free = scene.free(|piece| piece.make == *make);
    let mut bundles: Vec<_> = scene
        .book
        .pieces_of(make)
        .filter_map(|piece| piece.bundle().map(|bundle| (piece, bundle)))
        .filter(|(_, bundle)| bundle.grade == grade)
        .filter(|(piece, _)| !is_demotable(scene.book, piece))
        .filter(|(piece, _)| free.has(piece))
        .collect();
    bundles
        .sort_by_key(|(piece, bundle)| (scene.reach(piece), Reverse(bundle.wash_count), piece.tag));
    bundles
        .into_iter()
        .map(|(piece, bundle)| Holding {
            piece: Arc::clone(piece),
            quantity: free.left(piece.tag, bundle.clean_at(piece.readiness, scene.starts_at)),
        })
        .collect()
}

/// Whether a bundle has had so many washes that it should go down a grade.
pub fn is_demotable(book: &Book, piece: &Piece) -> bool {
    let limit = match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Towel(towel)) => towel.demote_wash_count,
        _ => None,
    };
    let washes = piece.bundle().map_or(0, |bundle| bundle.wash_count);
    limit.is_some_and(|limit| washes >= limit)
}

/// Sundries of a make, at the place first, least left first.
pub(crate) fn offer_sundries(scene: &Scene<'_>, make: &Id) -> Vec<Holding> {
    let free = scene.free(|piece| piece.make == *make);
    let mut held: Vec<Holding> = scene
        .book
        .pieces_of(make)
        .filter(|piece| piece.readiness == Readiness::Ready && free.has(piece))
        .filter_map(|piece| {
            Some(Holding {
                piece: Arc::clone(piece),
                quantity: free.left(piece.tag, piece.sundry_left()?),
            })
        })
        .collect();
    held.sort_by_key(|held| (scene.reach(&held.piece), held.quantity, held.piece.tag));
    held
}

/// What was drawn from holdings.
#[derive(Debug, Clone)]
pub struct Draw {
    /// From which pieces, and how much, in order.
    pub from: Vec<Holding>,
    /// What they do not hold.
    pub open: i64,
}

/// Draws a quantity from holdings in order, each as far as it goes.
pub fn draw(holdings: &[Holding], need: i64) -> Draw {
    let lots = holdings.iter().map(|held| (&held.piece, held.quantity));
    let (taken, open) = take_in_order(lots, need);
    let from = taken.into_iter().map(|(piece, quantity)| Holding {
        piece: Arc::clone(piece),
        quantity,
    });
    Draw {
        from: from.collect(),
        open,
    }
}

/// Draws the whole quantity: what the holdings do not hold by the book is put on the last one
/// drawn on, for it was used all the same. Nothing without any holding.
pub(crate) fn draw_whole(holdings: &[Holding], need: i64) -> Vec<Holding> {
    let Draw { mut from, open } = draw(holdings, need);
    if open > 0 {
        if let Some(last) = from.last_mut() {
            last.quantity = last.quantity.saturating_add(open);
        } else if let Some(first) = holdings.first() {
            from.push(Holding {
                piece: Arc::clone(&first.piece),
                quantity: open,
            });
        }
    }
    from
}
