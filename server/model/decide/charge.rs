//! Putting batteries on the charger.
//!
//! What was done is taken in; a battery that was full already is flagged, for the charge counts as one.

use super::Decision;
use super::named_kit::{flag_binned, pieces, wrong_sort};
use crate::book::command::Said;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Subject, Tag};
use crate::ground::refusal::Refusal;
use crate::ready::batteries::charge_time;
use crate::{Book, Moment};

pub(super) fn charge(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let held = pieces(book, tags)?;
    let mut flags = flag_binned(&held);
    let mut deeds = Vec::with_capacity(held.len());
    for piece in &held {
        let battery = piece
            .battery()
            .ok_or_else(|| wrong_sort("tags", piece, "battery"))?;
        let is_on_charger = battery.full_at.is_some();
        let is_news = battery
            .turned_at
            .is_none_or(|turned| turned <= decision.done_at);
        if is_on_charger && is_news {
            flags.push(Flag {
                subject: Subject::Piece(piece.tag),
                text: format!(
                    "{} was charged already in the book, and no job has used it since.",
                    piece.tag
                ),
                count: false,
            });
        }
        deeds.push(Deed::Charged {
            tag: piece.tag,
            charge_s: charge_time(book, piece),
        });
    }
    Ok(decision.with(deeds, flags))
}
