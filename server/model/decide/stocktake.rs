//! Finding out what is left: reading levels, counting towels and sundries.
//!
//! Serves the shelf round. A figure that cannot be is refused; one that contradicts the book is taken
//! in, for it is the book that may be wrong.

use fettlebook_quantity::Volume;

use super::Decision;
use super::bounds::within;
use super::doubts::doubt_count;
use super::named_kit::{flag_binned, piece, wrong_sort};
use crate::book::command::{Counted, Said};
use crate::book::deed::Deed;
use crate::ground::ids::Tag;
use crate::ground::refusal::Refusal;
use crate::trade::kit::{BottleState, State};
use crate::{Book, Moment};

pub(super) fn count(
    book: &Book,
    said: &Said,
    tag: Tag,
    count: Counted,
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let piece = piece(book, "tag", tag)?;
    let deed = match &piece.state {
        State::Bottle(bottle) => read_volume(tag, bottle, count)?,
        State::Sundry(_) => count_sundry(tag, count)?,
        State::Bundle(_) => count_towels(tag, count)?,
        State::Pad(_)
        | State::Plate(_)
        | State::Machine(_)
        | State::Tool(_)
        | State::Battery(_) => {
            let needs = "bottle, a bundle of towels or a sundry";
            return Err(wrong_sort("tag", piece, needs));
        }
    };
    let mut flags = flag_binned(&[piece]);
    let make = book.make(&piece.make);
    if let (Some(make), Deed::SundryCounted { left_quantity, .. }) = (make, &deed) {
        flags.extend(doubt_count(piece, make, *left_quantity, decision.done_at));
    }
    Ok(decision.with(vec![deed], flags))
}

fn read_volume(tag: Tag, bottle: &BottleState, count: Counted) -> Result<Deed, Refusal> {
    let left = count
        .quantity
        .ok_or_else(|| Refusal::missing("quantity", "Give the volume left."))?;
    let full = bottle.full_ul.ul();
    within("quantity", left, 0, full, "µL, the size of the bottle")?;
    Ok(Deed::VolumeRead {
        tag,
        left_ul: Volume::from_ul(left),
        seen_ul: None,
    })
}

fn count_sundry(tag: Tag, count: Counted) -> Result<Deed, Refusal> {
    let left_quantity = count
        .quantity
        .ok_or_else(|| Refusal::missing("quantity", "Give what is left."))?;
    Ok(Deed::SundryCounted {
        tag,
        left_quantity,
        seen_quantity: None,
    })
}

fn count_towels(tag: Tag, count: Counted) -> Result<Deed, Refusal> {
    let (Some(clean_count), Some(soiled_count)) = (count.clean_count, count.soiled_count) else {
        return Err(Refusal::missing(
            "clean_count",
            "Give clean and soiled towels, both.",
        ));
    };
    Ok(Deed::TowelsCounted {
        tag,
        clean_count,
        soiled_count,
        seen: None,
        seen_drying: None,
    })
}
