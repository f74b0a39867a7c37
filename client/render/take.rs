//! What goes to a job: a few lines by sort, tags in ranges, amounts as a person measures them.
//!
//! It serves `take`. The flags of the entry and how to take it back stand below it.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{Entry, PickedPiece, Piece, Unit};

use crate::render::screen::{Screen, several};
use crate::render::table::{Column, table};
use crate::render::{amount, entry, tags};

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

/// What is one line of a pick: the make and the step it is for.
struct Line<'a> {
    make: &'a str,
    step: &'a str,
    pieces: Vec<(&'a PickedPiece, Option<&'a Piece>)>,
}

fn lines(screen: &Screen, picked: &[PickedPiece], pieces: &[Piece]) -> String {
    if picked.is_empty() {
        return "What goes along only the shop can say.".to_owned();
    }
    let mut lines: Vec<Line<'_>> = Vec::new();
    for one in picked {
        let piece = pieces.iter().find(|piece| piece.tag == one.tag);
        let make = piece.map_or("", |piece| &piece.make_name);
        match lines
            .iter_mut()
            .find(|line| line.make == make && line.step == one.step)
        {
            Some(line) => line.pieces.push((one, piece)),
            None => lines.push(Line {
                make,
                step: &one.step,
                pieces: vec![(one, piece)],
            }),
        }
    }
    table(
        screen,
        &[
            ("Take", Column::Text),
            ("What", Column::Text),
            ("For", Column::Text),
        ],
        lines.iter().map(|line| {
            vec![
                line.told(),
                line.make.to_owned(),
                if line.step.is_empty() {
                    "the whole job".to_owned()
                } else {
                    line.step.to_owned()
                },
            ]
        }),
    )
}

impl Line<'_> {
    /// Tags in ranges, spares apart; of what is drawn on how much of each.
    fn told(&self) -> String {
        let measured = |piece: &&(&PickedPiece, Option<&Piece>)| amount_of(piece).is_some();
        let mut parts: Vec<String> = self
            .pieces
            .iter()
            .filter(measured)
            .map(|piece| {
                let amount = amount_of(piece).unwrap_or_default();
                format!("{} {amount}", piece.0.tag)
            })
            .collect();
        let whole = |spare: bool| {
            let whole = self.pieces.iter().filter(|piece| !measured(piece));
            let tags: Vec<&str> = whole
                .filter(|(picked, _)| picked.spare == spare)
                .map(|(picked, _)| picked.tag.as_str())
                .collect();
            tags::ranges(&tags)
        };
        parts.extend(Some(whole(false)).filter(|tags| !tags.is_empty()));
        let mut told = parts.join(", ");
        let spares = whole(true);
        if !spares.is_empty() {
            let gap = if told.is_empty() { "" } else { "; " };
            told.push_str(&format!("{gap}spare {spares}"));
        }
        told
    }
}

/// How much of a piece goes along, where it is drawn on.
fn amount_of((picked, piece): &(&PickedPiece, Option<&Piece>)) -> Option<String> {
    match piece.and_then(|piece| piece.state.as_ref())? {
        State::Bottle(_) => Some(amount::rounded(picked.quantity, Unit::Microlitre)),
        State::Bundle(_) => Some(several(picked.quantity, "towel", "towels")),
        State::Sundry(sundry) => Some(amount::rounded(picked.quantity, sundry.unit())),
        State::Pad(_) | State::Plate(_) | State::Machine(_) | State::Tool(_) => None,
    }
}
