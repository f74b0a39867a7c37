//! What goes to a job: a few lines by sort, tags in ranges, amounts as a person measures them.
//!
//! It serves `take`. The flags of the entry and how to take it back stand below it.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{Entry, PickedPiece, Piece, Unit};

use crate::render::picks::{Goes, Sort};
use crate::render::screen::{Screen, several};
use crate::render::{amount, entry, picks};

/// A pick that was taken.
pub(crate) fn taken(
    screen: &Screen,
    recorded: &Entry,
    picked: &[PickedPiece],
    pieces: &[Piece],
) -> String {
    entry::summed_up(screen, recorded, &lines(screen, picked, pieces))
}

/// A pick that would be taken.
pub(crate) fn preview(
    screen: &Screen,
    seen: &Entry,
    picked: &[PickedPiece],
    pieces: &[Piece],
) -> String {
    let lines = lines(screen, picked, pieces);
    format!(
        "{lines}{}\nNothing was recorded.",
        entry::flags(screen, seen)
    )
}

/// The pieces, one line a sort.
fn lines(screen: &Screen, picked: &[PickedPiece], pieces: &[Piece]) -> String {
    if picked.is_empty() {
        return "What goes along only the shop can say.".to_owned();
    }
    let goes = picked.iter().map(|one| {
        let piece = pieces.iter().find(|piece| piece.tag == one.tag);
        let state = piece.and_then(|piece| piece.state.as_ref());
        let sort = sort(state);
        let name = piece.map_or("", |piece| &piece.make_name);
        Goes {
            tag: &one.tag,
            sort,
            step: &one.step,
            amount: amount_of(one, state),
            spare: one.spare,
            what: if sort == Sort::Sundries { name } else { "" },
        }
    });
    picks::lines(screen, &goes.collect::<Vec<_>>())
}

const fn sort(state: Option<&State>) -> Sort {
    match state {
        Some(State::Pad(_)) => Sort::Pads,
        Some(State::Plate(_)) => Sort::Plates,
        Some(State::Machine(_)) => Sort::Machines,
        Some(State::Bottle(_)) => Sort::Liquids,
        Some(State::Bundle(_)) => Sort::Towels,
        Some(State::Sundry(_)) => Sort::Sundries,
        Some(State::Tool(_)) => Sort::Tools,
        Some(State::Battery(_)) => Sort::Batteries,
        None => Sort::Others,
    }
}

/// How much of a piece goes along, where it is drawn on.
fn amount_of(picked: &PickedPiece, state: Option<&State>) -> Option<String> {
    match state? {
        State::Bottle(_) => Some(amount::rounded(picked.quantity, Unit::Microlitre)),
        State::Bundle(_) => Some(several(picked.quantity, "towel", "towels")),
        State::Sundry(sundry) => Some(amount::rounded(picked.quantity, sundry.unit())),
        State::Pad(_)
        | State::Plate(_)
        | State::Machine(_)
        | State::Tool(_)
        | State::Battery(_) => None,
    }
}
