//! The kit that a command names by tag: that it exists, is of the right sort, and is named once.
//!
//! Serves every command about kit. It refuses only what cannot be understood; a piece the book
//! thinks binned is understood, and flagged where it is reported.

use std::collections::BTreeSet;

use crate::Book;
use crate::book::deed::Flag;
use crate::ground::ids::{Subject, Tag};
use crate::ground::refusal::Refusal;
use crate::trade::kit::{Piece, State};

/// Most pieces in one command.
const TAGS_MAX: usize = 500;

/// The piece behind a tag.
pub(super) fn piece<'a>(book: &'a Book, field: &str, tag: Tag) -> Result<&'a Piece, Refusal> {
    book.piece(tag)
        .map(AsRef::as_ref)
        .ok_or_else(|| Refusal::no_tag(field, tag))
}

/// What a piece holds as the sort of thing that is needed.
pub(super) fn part<'a, T>(
    book: &'a Book,
    field: &str,
    tag: Tag,
    needs: &str,
    of: impl Fn(&'a Piece) -> Option<T>,
) -> Result<T, Refusal> {
    let piece = piece(book, field, tag)?;
    of(piece).ok_or_else(|| wrong_sort(field, piece, needs))
}

/// The pieces behind tags: known, named once, at least one.
pub(super) fn pieces<'a>(book: &'a Book, tags: &[Tag]) -> Result<Vec<&'a Piece>, Refusal> {
    if tags.is_empty() {
        return Err(Refusal::missing(
            "tags",
            "Name at least one tag, such as P-07.",
        ));
    }
    if tags.len() > TAGS_MAX {
        return Err(Refusal::invalid(
            "tags",
            format!("More than {TAGS_MAX} tags."),
            "Split the command.",
        ));
    }
    once("tags", tags.iter().copied())?;
    tags.iter().map(|tag| piece(book, "tags", *tag)).collect()
}

/// Refuses a tag that is named twice.
pub(super) fn once(field: &str, tags: impl IntoIterator<Item = Tag>) -> Result<(), Refusal> {
    let mut seen = BTreeSet::new();
    match tags.into_iter().find(|tag| !seen.insert(*tag)) {
        None => Ok(()),
        Some(tag) => Err(Refusal::invalid(
            field,
            format!("{tag} is named twice."),
            "Name it once.",
        )),
    }
}

/// The refusal of a piece of another sort than is needed.
pub(super) fn wrong_sort(field: &str, piece: &Piece, needs: &str) -> Refusal {
    let is = match piece.state {
        State::Pad(_) => "pad",
        State::Plate(_) => "backing plate",
        State::Machine(_) => "machine",
        State::Bundle(_) => "bundle of towels",
        State::Bottle(_) => "bottle",
        State::Sundry(_) => "sundry",
        State::Tool(_) => "tool",
        State::Battery(_) => "battery",
    };
    Refusal::wrong_sort(field, piece.tag, is, needs)
}

/// Flags what is reported of pieces that the book thinks binned.
pub(super) fn flag_binned(pieces: &[&Piece]) -> Vec<Flag> {
    pieces
        .iter()
        .filter(|piece| piece.is_binned())
        .map(|piece| Flag {
            subject: Subject::Piece(piece.tag),
            text: format!("{} is binned in the book.", piece.tag),
            count: false,
        })
        .collect()
}
