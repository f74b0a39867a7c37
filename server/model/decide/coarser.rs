//! Liquids that a pad should not carry after one another, said as flags before and after a use.
//!
//! A log that is only looked at shows them before anything is recorded.

use crate::book::deed::{Deed, Flag};
use crate::ground::ids::Subject;
use crate::trade::make::Figures;
use crate::{Book, Moment};

/// Flags pads among these deeds that carry a liquid coarser than they are kept for, and those that come
/// with a coarser one that was not washed out.
pub(super) fn flag_liquids(book: &Book, deeds: &[Deed], done: Moment) -> Vec<Flag> {
    deeds
        .iter()
        .filter_map(|deed| flag_liquid(book, deed, done))
        .collect()
}

fn flag_liquid(book: &Book, deed: &Deed, done: Moment) -> Option<Flag> {
    let Deed::PadUsed { tag, work, .. } = deed else {
        return None;
    };
    // What was on it after the use says nothing of how it was then.
    let piece = book.piece(*tag).filter(|piece| piece.since <= done)?;
    let pad = piece.pad()?;
    let Figures::Pad(figures) = &book.make(&piece.make)?.figures else {
        return None;
    };
    let liquid = work.liquid;
    let text = match pad.unwashed_liquid().filter(|carried| *carried < liquid) {
        Some(carried) => format!(
            "{tag} carried a {} liquid and was not washed since, in the book: a {} one on it can leave \
             marks. Look at the paint, and wash it.",
            carried.word(),
            liquid.word()
        ),
        None if pad.is_kept_for_finer(figures.grade, liquid) => format!(
            "{tag} is kept for {} and carries a {} liquid: wash it before it goes to a finer one, and look \
             for leftovers.",
            figures.grade.word(),
            liquid.word()
        ),
        None => return None,
    };
    Some(Flag {
        subject: Subject::Piece(*tag),
        text,
        count: false,
    })
}
