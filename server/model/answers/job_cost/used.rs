//! What a job did use, by make, as its entries and the weigh-ins after it say.
//!
//! Serves the cost sheet of a job that is done. A pad that fails in a job costs it the rest of its life;
//! nothing is counted twice, and no price is looked at here.

use fettlebook_quantity::round_to_i64;

use super::CostKind;
use super::amounts::{Amount, MILLIONTHS, plate_part};
use crate::book::damage::damage_of;
use crate::book::deed::{Deed, Entry};
use crate::ground::ids::Tag;
use crate::ready::lives::pad_figures;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::wear::{BinReason, damage};
use crate::{Book, Moment};

/// What the entries about a job say was used, reversed ones left out.
pub(super) fn used(book: &Book, entries: &[Entry]) -> Vec<Amount> {
    let mut all: Vec<Amount> = Vec::new();
    let standing = entries
        .iter()
        .filter(|entry| book.reversed_by(entry.seq).is_none());
    for entry in standing {
        for deed in &entry.deeds {
            let Some(amount) = of_deed(book, entry, deed) else {
                continue;
            };
            match all.iter_mut().find(|one| amount.is_of(one.kind, &one.make)) {
                Some(one) => {
                    one.quantity = one.quantity.saturating_add(amount.quantity);
                    one.lost.extend(amount.lost);
                }
                None => all.push(amount),
            }
        }
    }
    all
}

/// What one deed of a job's log used.
fn of_deed(book: &Book, entry: &Entry, deed: &Deed) -> Option<Amount> {
    deed.within().filter(|within| within.job.is_some())?;
    let piece = |tag: &Tag| book.piece(*tag);
    let amount = |piece: &Piece, kind, quantity| Amount {
        quantity,
        ..Amount::none(kind, &piece.make)
    };
    match deed {
        Deed::LiquidUsed {
            tag,
            volume_ul,
            planned_ul,
            ..
        } => {
            let piece = piece(tag)?;
            let weighed = measured_share(piece, planned_ul.ul(), entry.done_at);
            Some(amount(
                piece,
                CostKind::Liquid,
                weighed.unwrap_or(volume_ul.ul()),
            ))
        }
        Deed::PadUsed { tag, work, .. } => {
            let piece = piece(tag)?;
            let figures = pad_figures(book.make(&piece.make)?)?;
            let life = damage(
                work.work(),
                figures.rated_work_sections.unwrap_or(0),
                // One that is binned after it is not washed again.
                i64::from(binned_with(entry, *tag).is_none()),
                figures.rated_wash_count.unwrap_or(0),
            );
            let lost = lost_life(book, piece, entry);
            let quantity = round_to_i64(life * MILLIONTHS).saturating_add(lost.unwrap_or(0));
            Some(Amount {
                lost: lost.map(|lost| (*tag, lost)).into_iter().collect(),
                ..amount(piece, CostKind::Pads, quantity)
            })
        }
        Deed::PlateUsed {
            tag,
            time_ms,
            change_count,
            ..
        } => {
            let piece = piece(tag)?;
            let life = plate_part(book, &piece.make, *time_ms, *change_count)?;
            Some(amount(piece, CostKind::Plates, life))
        }
        Deed::TowelsUsed {
            tag, used_count, ..
        } => Some(amount(piece(tag)?, CostKind::Towels, *used_count)),
        Deed::SundryUsed {
            tag,
            quantity,
            planned_quantity,
            ..
        } => {
            let piece = piece(tag)?;
            let planned = planned_quantity.unwrap_or_default();
            let counted = measured_share(piece, planned, entry.done_at);
            let quantity = counted.unwrap_or(*quantity);
            Some(amount(piece, CostKind::Sundries, quantity))
        }
        _ => None,
    }
}

/// A job's share, by plan, of what was gone from a piece when it was next weighed or counted; `None` when it
/// was not, and of what no plan was for.
pub(in crate::answers) fn measured_share(
    piece: &Piece,
    planned: i64,
    done_at: Moment,
) -> Option<i64> {
    let mut stretches = piece.tally().filter(|_| planned > 0)?.stretches.iter();
    let stretch = stretches.find(|stretch| {
        stretch.from.is_none_or(|from| from <= done_at) && done_at <= stretch.until
    })?;
    let share = i128::from(stretch.actual_quantity)
        .checked_mul(planned.into())?
        .checked_div(stretch.planned_quantity.into())?;
    i64::try_from(share).ok()
}

/// What is left of the rated life of a pad that this entry says failed, in millionths.
fn lost_life(book: &Book, piece: &Piece, entry: &Entry) -> Option<i64> {
    let failed_here = binned_with(entry, piece.tag)?.is_failure();
    let stands = matches!(piece.readiness, Readiness::Binned(_));
    let left = 1.0 - damage_of(book, piece)?;
    (failed_here && stands && left > 0.0).then(|| round_to_i64(left * MILLIONTHS))
}

/// Why a piece was binned with this entry, if it was.
fn binned_with(entry: &Entry, piece: Tag) -> Option<BinReason> {
    entry.deeds.iter().find_map(|deed| match deed {
        Deed::Binned { tag, reason } if *tag == piece => Some(*reason),
        _ => None,
    })
}
