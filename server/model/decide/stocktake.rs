//! Finding out what is left: weighing bottles, reading levels, counting towels and sundries.
//!
//! Serves the shelf round and the weigh-in after a job. A figure that cannot be is refused; one that
//! contradicts the book is taken in and flagged, for it is the book that may be wrong.

use fettlebook_quantity::{Mass, Volume};

use super::Decision;
use super::bounds::within;
use super::named_kit::{flag_binned, once, part, piece, wrong_sort};
use crate::book::command::{Counted, Said, Weighing};
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Subject, Tag};
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::pick::scale_figures;
use crate::trade::dose::volume_left;
use crate::trade::kit::{BottleState, Piece, State};
use crate::{Book, Moment};

pub(super) fn weigh(
    book: &Book,
    said: &Said,
    weighings: &[Weighing],
    now: Moment,
) -> Result<Decision, Refusal> {
    let mut decision = Decision::of(said, now)?;
    if weighings.is_empty() {
        return Err(Refusal::missing(
            "weighings",
            "Give at least one, such as B-03=412g.",
        ));
    }
    weigh_in(book, weighings, &mut decision)?;
    Ok(decision)
}

/// Adds weigh-ins to what is decided, each with a flag where it contradicts the book.
pub(super) fn weigh_in(
    book: &Book,
    weighings: &[Weighing],
    decision: &mut Decision,
) -> Result<(), Refusal> {
    once(
        "weighings.bottle",
        weighings.iter().map(|weighing| weighing.tag),
    )?;
    for weighing in weighings {
        let bottle = part(
            book,
            "weighings.bottle",
            weighing.tag,
            "bottle",
            Piece::bottle,
        )?;
        let (tare, density) = scale(book, weighing)?;
        let left = left_by_weight(weighing, tare, density)?;
        decision
            .flags
            .extend(flag_weighing(bottle, weighing, left, decision.done_at));
        let weighed = piece(book, "weighings.bottle", weighing.tag)?;
        decision.flags.extend(flag_binned(&[weighed]));
        decision.deeds.push(Deed::Weighed {
            tag: weighing.tag,
            gross_mg: weighing.gross_mg,
            tare_mg: tare,
            density_mg_per_ml: density,
        });
    }
    Ok(())
}

/// The tare and density a bottle is weighed by.
fn scale(book: &Book, weighing: &Weighing) -> Result<(Mass, i64), Refusal> {
    let (tag, gross_mg) = (weighing.tag, weighing.gross_mg.mg());
    within("weighings.gross_mg", gross_mg, 0, 1_000_000_000, "mg")?;
    let piece = piece(book, "weighings.bottle", tag)?;
    let figures = book
        .make(&piece.make)
        .and_then(|make| scale_figures(piece, make));
    figures.ok_or_else(|| {
        Refusal::new(
            Reason::FieldMissing,
            "tare_mg",
            format!("The empty weight of {tag} is not known, so a weight says nothing."),
            "Enter the make's tare, or read the volume off and count it instead.",
        )
    })
}

fn left_by_weight(weighing: &Weighing, tare: Mass, density: i64) -> Result<Volume, Refusal> {
    let Weighing { tag, gross_mg } = weighing;
    volume_left(*gross_mg, tare, density).ok_or_else(|| {
        Refusal::quantity(
            "weighings.gross_mg",
            format!("{tag} at {gross_mg} is lighter than empty, {tare}."),
            "Weigh it again with its cap, or correct the tare.",
        )
    })
}

/// What a weigh-in contradicts: a bottle fuller than full, or something later in the book.
fn flag_weighing(
    bottle: &BottleState,
    weighing: &Weighing,
    left: Volume,
    done: Moment,
) -> Option<Flag> {
    let Weighing { tag, gross_mg } = weighing;
    // A bottle holds a little more than its label says.
    let full_ul = bottle.full_ul.ul();
    let brim = Volume::from_ul(full_ul.saturating_add(full_ul.div_euclid(10)));
    let stale = bottle.used_at.is_some_and(|used| used > done)
        || bottle.measured_at.is_some_and(|seen| seen > done);
    let text = if left > brim {
        format!("{tag} at {gross_mg} would hold {left}, more than a full bottle.")
    } else if stale {
        format!("{tag} was used or measured after this weigh-in; its level is left as it was.")
    } else {
        return None;
    };
    Some(Flag {
        subject: Subject::Piece(*tag),
        text,
        count: true,
    })
}

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
        State::Pad(_) | State::Plate(_) | State::Machine(_) => {
            let needs = "bottle, a bundle of towels or a sundry";
            return Err(wrong_sort("tag", piece, needs));
        }
    };
    Ok(decision.with(vec![deed], flag_binned(&[piece])))
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
    within(
        "quantity",
        left_quantity,
        0,
        1_000_000_000_000,
        "of its unit",
    )?;
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
    within("clean_count", clean_count, 0, 10_000, "towels")?;
    within("soiled_count", soiled_count, 0, 10_000, "towels")?;
    Ok(Deed::TowelsCounted {
        tag,
        clean_count,
        soiled_count,
        seen: None,
        seen_drying: None,
    })
}
