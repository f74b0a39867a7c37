//! What goes to a job: a few lines by sort, tags in ranges, amounts as a person measures them.
//!
//! It serves `take`. What has to be brought from elsewhere is told with by when. The flags of the entry and how to take it back stand below it.

use std::collections::BTreeMap;

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{DeedKind, Entry, PickedPiece, Piece, Unit};
use prost_types::Timestamp;

use crate::render::picks::{Goes, Sort};
use crate::render::screen::{Screen, several};
use crate::render::{amount, entry, picks, tags};

/// The place of whoever names none.
const BENCH: &str = "bench";

/// A pick that was taken.
pub(crate) fn taken(
    screen: &Screen,
    recorded: &Entry,
    by: Option<&Timestamp>,
    picked: &[PickedPiece],
    pieces: &[Piece],
) -> String {
    let goes = lines(screen, picked, pieces) + &brought(screen, recorded, by, pieces);
    entry::summed_up(screen, recorded, &goes)
}

/// A pick that would be taken.
pub(crate) fn preview(
    screen: &Screen,
    seen: &Entry,
    by: Option<&Timestamp>,
    picked: &[PickedPiece],
    pieces: &[Piece],
) -> String {
    let lines = lines(screen, picked, pieces) + &brought(screen, seen, by, pieces);
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

/// What the take moves, by where it comes from, each on a line of its own; empty where it moves nothing. The
/// pieces are as they were before.
fn brought(screen: &Screen, entry: &Entry, by: Option<&Timestamp>, pieces: &[Piece]) -> String {
    let moved = entry
        .deeds
        .iter()
        .filter(|deed| deed.kind() == DeedKind::Moved);
    let mut by_place: BTreeMap<(&str, &str), Vec<&str>> = BTreeMap::new();
    for deed in moved {
        let from = pieces.iter().find(|piece| piece.tag == deed.subject);
        let from = from.map_or("", |piece| piece.place.as_str());
        let tags = by_place.entry((from, &deed.place)).or_default();
        tags.push(&deed.subject);
    }
    let by = by.map_or_else(String::new, |by| format!(", by {}", screen.near_moment(by)));
    let lines = by_place.into_iter().map(|((from, to), tags)| {
        let told = format!("From {from} to {to}{by}: {}", tags::ranges(&tags));
        format!("\n{}", screen.hung("", "  ", &told))
    });
    lines.collect()
}

/// Where what was taken for a job is after it was given back; empty where all of it is at the bench.
pub(crate) fn left_at(tags: &[String], pieces: &[Piece]) -> String {
    let mut by_place: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for piece in pieces.iter().filter(|piece| tags.contains(&piece.tag)) {
        by_place.entry(&piece.place).or_default().push(&piece.tag);
    }
    let away = by_place.into_iter().filter(|(place, _)| *place != BENCH);
    let said = away.map(|(place, tags)| {
        let tags = tags::ranges(&tags);
        format!("Still at {place}: {tags}. 'fettle move' says where it goes.")
    });
    said.collect::<Vec<_>>().join("\n")
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
