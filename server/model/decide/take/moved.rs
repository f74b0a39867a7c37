//! What a take moves: the kit of a job away from the bench goes to its place with it.
//!
//! Nothing is moved silently away from another job that it was taken for at another place, nor back from where
//! others have brought it since: that is flagged, and stays where the book has it.

use super::went_elsewhere;
use crate::Book;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Subject, Tag};
use crate::ready::pick::{clashes, is_away, quantity_of};
use crate::trade::job::{Job, JobState};
use crate::trade::kept::Kept;
use crate::trade::kit::Piece;
use crate::trade::take::Picked;

/// The moves of the pieces that are picked for a job, and what stays although it is picked.
pub(super) fn moved(
    book: &Book,
    job: &Job,
    picked: &[Picked],
    kept: Option<&Kept>,
) -> (Vec<Deed>, Vec<Flag>) {
    let (mut deeds, mut flags) = (Vec::new(), Vec::new());
    if !is_away(&job.place) || job.state != JobState::Booked {
        return (deeds, flags);
    }
    let mut looked_at: Vec<Tag> = Vec::new();
    for one in picked {
        let tag = one.tag;
        let Some(piece) = book.piece(tag).filter(|_| !looked_at.contains(&tag)) else {
            continue;
        };
        looked_at.push(tag);
        let goes = piece.place != job.place && !piece.is_binned();
        if !goes || went_elsewhere(piece, job, kept).is_some() {
            continue;
        }
        match book.takers(tag).find(|other| is_elsewhere(other, job)) {
            None => deeds.push(Deed::Moved {
                tag,
                place: job.place.clone(),
            }),
            // That both have it at once is told by itself.
            Some(other) if clashes(piece, job, quantity_of(picked, tag), other) => {}
            Some(other) => flags.push(stays(piece, job, other)),
        }
    }
    (deeds, flags)
}

fn is_elsewhere(other: &Job, job: &Job) -> bool {
    other.id != job.id && other.place != job.place
}

fn stays(piece: &Piece, job: &Job, other: &Job) -> Flag {
    let (tag, place) = (piece.tag, &piece.place);
    Flag {
        subject: Subject::Piece(tag),
        text: format!(
            "{tag} stays at {place} in the book: it is taken for {} at {} too. Move it to {} when it goes there.",
            other.id, other.place, job.place
        ),
        count: false,
    }
}
