//! What a reported use contradicts in the book, said as flags.

use std::collections::BTreeMap;

use fettlebook_quantity::Volume;

use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Subject, Tag};
use crate::trade::kit::{Piece, Readiness, State};
use crate::trade::make::Figures;
use crate::{Book, Moment};

/// Flags what the uses among these deeds contradict. Bottles that are weighed in the same breath
/// need no further count.
pub(super) fn flag_uses(book: &Book, deeds: &[Deed], done: Moment) -> Vec<Flag> {
    let settled: Vec<Tag> = deeds
        .iter()
        .filter_map(|deed| match deed {
            Deed::Weighed { tag, .. } => Some(*tag),
            Deed::GrossWeighed { tag, .. } if says_what_is_left(book, deeds, *tag) => Some(*tag),
            _ => None,
        })
        .collect();
    let mut used = Used::default();
    deeds
        .iter()
        .filter_map(|deed| flag_use(book, deed, used.before(deed), &settled, done))
        .collect()
}

/// What these deeds took of each piece so far: one that is named twice may hold either part, and not
/// both.
#[derive(Default)]
struct Used(BTreeMap<Tag, i64>);

impl Used {
    /// What was taken of a deed's piece before it; its own part is counted from then on.
    fn before(&mut self, deed: &Deed) -> i64 {
        let (tag, part) = match deed {
            Deed::LiquidUsed { tag, volume_ul, .. } => (tag, volume_ul.ul()),
            Deed::TowelsUsed {
                tag, used_count, ..
            } => (tag, *used_count),
            Deed::SundryUsed { tag, quantity, .. } => (tag, *quantity),
            _ => return 0,
        };
        let sum = self.0.entry(*tag).or_insert(0);
        let before = *sum;
        *sum = sum.saturating_add(part);
        before
    }
}

/// Whether what is left of a bottle follows from its weight: its tare was worked out before, or is now.
fn says_what_is_left(book: &Book, deeds: &[Deed], bottle: Tag) -> bool {
    let held = book.piece(bottle).and_then(|piece| piece.bottle());
    let found = |deed: &Deed| matches!(deed, Deed::TareFound { tag, .. } if *tag == bottle);
    held.is_some_and(|held| held.known_tare().is_some()) || deeds.iter().any(found)
}

fn flag_use(book: &Book, deed: &Deed, before: i64, settled: &[Tag], done: Moment) -> Option<Flag> {
    let (tag, text, count) = match deed {
        Deed::PadUsed { tag, .. } | Deed::PlateUsed { tag, .. } | Deed::MachineUsed { tag, .. } => {
            (*tag, not_ready(book.piece(*tag)?, done)?, false)
        }
        Deed::BatteryUsed { tag, .. } => {
            let piece = book.piece(*tag)?;
            let text = not_ready(piece, done).or_else(|| was_empty(piece, done))?;
            (*tag, text, false)
        }
        Deed::LiquidUsed { tag, volume_ul, .. } => {
            let piece = book.piece(*tag)?;
            let used = volume_ul.saturating_add(Volume::from_ul(before));
            match piece.bottle()?.left_at(done) {
                Some(left) if used > left.max(Volume::ZERO) && !settled.contains(tag) => (
                    *tag,
                    format!("{tag} held {left} in the book, less than the {used} used."),
                    true,
                ),
                _ => (*tag, not_ready(piece, done)?, false),
            }
        }
        Deed::TowelsUsed {
            tag, used_count, ..
        } => {
            let piece = book.piece(*tag)?;
            let used = used_count.saturating_add(before);
            if let Some(text) = not_ready_towels(piece) {
                (*tag, text, false)
            } else if let Some(clean) = clean_at(piece, done)
                && used > clean
            {
                let towels = if clean == 1 { "towel" } else { "towels" };
                (
                    *tag,
                    format!(
                        "{tag} had {clean} clean {towels} in the book, fewer than the {used} used."
                    ),
                    true,
                )
            } else {
                return None;
            }
        }
        Deed::SundryUsed { tag, quantity, .. } => {
            let piece = book.piece(*tag)?;
            let State::Sundry(sundry) = &piece.state else {
                return None;
            };
            let left = sundry.left_at(done)?;
            let used = quantity.saturating_add(before);
            if used <= left.max(0) {
                return None;
            }
            let unit = match book.make(&piece.make).map(|make| &make.figures) {
                Some(Figures::Sundry(sundry)) => sundry.unit,
                _ => return None,
            };
            let (left, used) = (unit.show(left), unit.show(used));
            (
                *tag,
                format!("{tag} held {left} in the book, less than the {used} used."),
                true,
            )
        }
        _ => return None,
    };
    Some(Flag {
        subject: Subject::Piece(tag),
        text,
        count,
    })
}

/// A battery that was not on the charger since it ran last.
fn was_empty(piece: &Piece, done: Moment) -> Option<String> {
    let (tag, battery) = (piece.tag, piece.battery()?);
    let is_known = battery.turned_at.is_none_or(|turned| turned <= done);
    (is_known && battery.full_at.is_none()).then(|| {
        format!("{tag} was empty in the book: say when it is put on the charger, so that its charges count.")
    })
}

/// Towels of a bundle that were clean and dry; nothing where they were counted since.
fn clean_at(piece: &Piece, done: Moment) -> Option<i64> {
    let pile = piece.bundle()?.pile_at(done)?;
    Some(pile.clean_count.max(0))
}

pub(super) fn not_ready(piece: &Piece, done: Moment) -> Option<String> {
    let tag = piece.tag;
    // What turned after the use says nothing of how it was then.
    if piece.since > done && !piece.is_binned() {
        return None;
    }
    match piece.readiness.at(done) {
        Readiness::Ready => None,
        Readiness::Soiled => Some(format!("{tag} was soiled in the book.")),
        Readiness::Drying(_) => Some(format!("{tag} was not dry in the book.")),
        Readiness::Aside(reason) => Some(format!("{tag} was aside in the book: {reason}.")),
        Readiness::Binned(reason) => Some(format!("{tag} was binned in the book: {reason}.")),
    }
}

fn not_ready_towels(piece: &Piece) -> Option<String> {
    match piece.readiness {
        Readiness::Aside(_) | Readiness::Binned(_) => not_ready(piece, Moment::MAX),
        Readiness::Ready | Readiness::Soiled | Readiness::Drying(_) => None,
    }
}
