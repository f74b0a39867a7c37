//! Readings among others: a weigh-in or a count that is not the newest, or that another one contradicts,
//! said as flags.
//!
//! Serves whoever reads a bottle that others read too. The newest reading stands; nothing that was read is
//! ever left out in silence.

use fettlebook_quantity::Volume;

use super::Decision;
use crate::Book;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Subject, Tag};
use crate::trade::dose::volume_left;
use crate::trade::kept::{Kept, Told, met};
use crate::trade::kit::{Piece, State};
use crate::trade::make::{Figures, Unit};
use crate::trade::since::{Standing, When};

/// What is left of a piece, as it is read or held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Left {
    Liquid(Volume),
    Sundry(i64, Unit),
    /// Clean and soiled.
    Towels(i64, i64),
}

impl Left {
    fn told(self) -> String {
        match self {
            Self::Liquid(volume) => volume.to_string(),
            Self::Sundry(quantity, unit) => unit.show(quantity),
            Self::Towels(clean, soiled) => format!("{clean} clean and {soiled} soiled"),
        }
    }
}

/// When the deeds of a decision were done, among all that was done to a piece.
fn when_of(book: &Book, kept: Option<&Kept>, decision: &Decision) -> When {
    match kept {
        Some(kept) => When::kept(decision.done_at, &kept.by, kept.mark.number),
        None => When::at_once(decision.done_at, book.head().next()),
    }
}

/// Whether a decision changes a level from before something that the book has: by the time it was done,
/// where programs of the first formats went by when it was told.
pub(super) fn comes_late(book: &Book, kept: Option<&Kept>, decision: &Decision) -> bool {
    let when = when_of(book, kept, decision);
    let mut of_levels = decision.deeds.iter().filter(|deed| changes_level(deed));
    of_levels.any(|deed| {
        let Subject::Piece(tag) = deed.subject() else {
            return false;
        };
        let piece = book.piece(tag);
        piece.is_some_and(|piece| {
            piece.is_anything_after(&when) || soils_too_many(piece, kept, deed)
        })
    })
}

const fn changes_level(deed: &Deed) -> bool {
    matches!(
        deed,
        Deed::Weighed { .. }
            | Deed::GrossWeighed { .. }
            | Deed::VolumeRead { .. }
            | Deed::TowelsCounted { .. }
            | Deed::SundryCounted { .. }
            | Deed::LiquidUsed { .. }
            | Deed::PouredOut { .. }
            | Deed::PouredIn { .. }
            | Deed::SundryUsed { .. }
            | Deed::TowelsUsed { .. }
            | Deed::TowelsBinned { .. }
            | Deed::Washed { .. }
            | Deed::Dried { .. }
            | Deed::Binned { .. }
    )
}

/// Whether a device reports more towels used than there were clean, which earlier programs soiled.
fn soils_too_many(piece: &Piece, kept: Option<&Kept>, deed: &Deed) -> bool {
    let (Deed::TowelsUsed { used_count, .. }, Some(_)) = (deed, kept) else {
        return false;
    };
    let clean = piece.bundle().map(|bundle| bundle.clean_count);
    clean.is_some_and(|clean| clean < *used_count)
}

/// What the readings of a decision are among those of others, as flags.
pub(super) fn flag_readings(book: &Book, kept: Option<&Kept>, decision: &Decision) -> Vec<Flag> {
    let when = when_of(book, kept, decision);
    let readings = decision.deeds.iter().filter(|deed| is_reading(deed));
    let read = readings.filter_map(|deed| {
        let Subject::Piece(tag) = deed.subject() else {
            return None;
        };
        let piece = book.piece(tag)?;
        let found = found(book, piece, deed);
        let (text, count) = match piece.standing(&when)? {
            Standing::Older => (older(book, piece, found), false),
            Standing::CannotBeTold => (
                format!(
                    "So much was done to {tag} after this reading that it cannot be told what of it came \
                     before; its level is left as it was. Count it again."
                ),
                true,
            ),
            Standing::Newest => {
                let other = kept.and_then(|kept| {
                    met(piece.counted.as_ref(), &kept.by, kept.mark.seen)
                })?;
                (unlike(book, piece, found?, other, decision)?, false)
            }
        };
        Some(Flag {
            subject: Subject::Piece(tag),
            text,
            count,
        })
    });
    read.collect()
}

/// A reading before the newest one, as a sentence.
fn older(book: &Book, piece: &Piece, found: Option<Left>) -> String {
    let tag = piece.tag;
    let this = found.map_or_else(String::new, |left| format!(" at {}", left.told()));
    let newest = piece.newest_reading().map_or_else(String::new, When::told);
    let now = left(book, piece).map_or_else(String::new, |left| left.told());
    format!(
        "{tag} was read{this}, and again later: the reading {newest} is the newest and stands, with {now} left \
         now. This one changes nothing."
    )
}

/// The newest reading, where another that its device had not seen makes it something else, as a sentence.
fn unlike(
    book: &Book,
    piece: &Piece,
    found: Left,
    other: &Told,
    decision: &Decision,
) -> Option<String> {
    let held = held_at(book, piece, decision).filter(|held| *held != found)?;
    let (tag, seq, by) = (piece.tag, other.seq, name(&other.by));
    Some(format!(
        "{tag} was found at {}, where the reading in entry {seq} by {by}, which this device had not seen, \
         makes it {}. This one is the newest and stands.",
        found.told(),
        held.told()
    ))
}

const fn is_reading(deed: &Deed) -> bool {
    matches!(
        deed,
        Deed::Weighed { .. }
            | Deed::GrossWeighed { .. }
            | Deed::VolumeRead { .. }
            | Deed::TowelsCounted { .. }
            | Deed::SundryCounted { .. }
    )
}

/// What a reading found; nothing of a weight that says nothing yet.
fn found(book: &Book, piece: &Piece, deed: &Deed) -> Option<Left> {
    let weighed = |gross, tare, density| volume_left(gross, tare, density).map(Left::Liquid);
    match deed {
        Deed::Weighed {
            gross_mg,
            tare_mg,
            density_mg_per_ml,
            ..
        }
        | Deed::GrossWeighed {
            gross_mg,
            density_mg_per_ml,
            tare_mg: Some(tare_mg),
            ..
        } => weighed(*gross_mg, *tare_mg, *density_mg_per_ml),
        Deed::VolumeRead { left_ul, .. } => Some(Left::Liquid(*left_ul)),
        Deed::SundryCounted { left_quantity, .. } => {
            Some(Left::Sundry(*left_quantity, unit_of(book, piece)))
        }
        Deed::TowelsCounted {
            clean_count,
            soiled_count,
            ..
        } => Some(Left::Towels(*clean_count, *soiled_count)),
        _ => None,
    }
}

/// What is left of a piece now.
fn left(book: &Book, piece: &Piece) -> Option<Left> {
    match &piece.state {
        State::Bottle(bottle) => Some(Left::Liquid(bottle.left_ul)),
        State::Sundry(sundry) => Some(Left::Sundry(sundry.left_quantity, unit_of(book, piece))),
        State::Bundle(bundle) => Some(Left::Towels(bundle.clean_once_dry(), bundle.soiled_count)),
        State::Pad(_)
        | State::Plate(_)
        | State::Machine(_)
        | State::Tool(_)
        | State::Battery(_) => None,
    }
}

/// What the book holds of a piece when a decision was done, after what that took of it itself.
fn held_at(book: &Book, piece: &Piece, decision: &Decision) -> Option<Left> {
    let at = decision.done_at;
    match &piece.state {
        State::Bottle(bottle) => {
            let taken = taken_ul(&decision.deeds, piece.tag);
            Some(Left::Liquid(bottle.left_at(at)?.saturating_sub(taken)))
        }
        State::Sundry(sundry) => Some(Left::Sundry(sundry.left_at(at)?, unit_of(book, piece))),
        State::Bundle(bundle) => {
            let pile = bundle.pile_at(at)?;
            let clean = pile.clean_count.saturating_add(pile.drying_count);
            Some(Left::Towels(clean, pile.soiled_count))
        }
        State::Pad(_)
        | State::Plate(_)
        | State::Machine(_)
        | State::Tool(_)
        | State::Battery(_) => None,
    }
}

/// What these deeds take of a bottle.
fn taken_ul(deeds: &[Deed], bottle: Tag) -> Volume {
    let taken = deeds.iter().filter_map(|deed| match deed {
        Deed::LiquidUsed { tag, volume_ul, .. } if *tag == bottle => Some(*volume_ul),
        _ => None,
    });
    taken.fold(Volume::ZERO, Volume::saturating_add)
}

fn unit_of(book: &Book, piece: &Piece) -> Unit {
    match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Sundry(sundry)) => sundry.unit,
        _ => Unit::Piece,
    }
}

/// The name of a device as it is said.
pub(super) fn name(by: &str) -> &str {
    if by.is_empty() { "another device" } else { by }
}
