//! What the log of a job starts from: the pick that a person was shown, the one that was taken, or what the
//! book picks now.
//!
//! What was shown or taken is never picked anew: the pieces are the ones that were in the hand, and what
//! contradicts the book is flagged.

use crate::Book;
use crate::book::command::JobLog;
use crate::decide::named_kit::piece;
use crate::ground::ids::{Id, Tag};
use crate::ground::refusal::Refusal;
use crate::ready::batteries::Drawn;
use crate::trade::job::{Job, Routine, Step};
use crate::trade::kit::{Piece, State};
use crate::trade::take::Picked;

/// Most pieces of a pick.
const PICKED_MAX: usize = 500;

/// What a log starts from.
#[derive(Clone, Copy)]
pub(super) enum Start<'a> {
    /// What the book picks now.
    Book,
    /// What was taken for the job; what it has nothing of is picked now.
    Taken(&'a [Picked]),
    /// What was shown.
    Shown(&'a [Picked]),
}

impl<'a> Start<'a> {
    /// What this log starts from.
    pub(super) fn of(book: &Book, job: &'a Job, log: &'a JobLog) -> Result<Self, Refusal> {
        understood(book, &log.picked)?;
        Ok(match &job.taken {
            _ if !log.picked.is_empty() => Self::Shown(&log.picked),
            Some(take) => Self::Taken(&take.picked),
            None => Self::Book,
        })
    }

    /// What was shown or taken; none where the book picks.
    const fn picked(self) -> Option<&'a [Picked]> {
        match self {
            Self::Book => None,
            Self::Taken(picked) | Self::Shown(picked) => Some(picked),
        }
    }

    /// What was found in a pick; none where it was taken and has nothing of that.
    fn unless_lacking<T>(self, found: T, has_some: impl Fn(&T) -> bool) -> Option<T> {
        (matches!(self, Self::Shown(_)) || has_some(&found)).then_some(found)
    }

    /// The pads of a step, those that work and the spares; none where the book picks.
    pub(super) fn pads(self, book: &Book, step: &Step) -> Option<(Vec<Tag>, Vec<Tag>)> {
        let of_step = of_step(book, self.picked()?, &step.name, |piece| {
            piece.pad().is_some()
        });
        let (spares, working): (Vec<_>, Vec<_>) = of_step.partition(|(_, spare)| *spare);
        let tags = |pads: Vec<(Tag, bool)>| pads.into_iter().map(|(tag, _)| tag).collect();
        self.unless_lacking(
            (tags(working), tags(spares)),
            |(working, _): &(Vec<Tag>, _)| !working.is_empty(),
        )
    }

    /// The machine of a step; the outer none where the book picks.
    pub(super) fn machine(self, book: &Book, step: &Id) -> Option<Option<Tag>> {
        self.whole(book, step, |piece| matches!(piece.state, State::Machine(_)))
    }

    /// The plate of a step; the outer none where the book picks.
    pub(super) fn plate(self, book: &Book, step: &Id) -> Option<Option<Tag>> {
        self.whole(book, step, |piece| matches!(piece.state, State::Plate(_)))
    }

    fn whole(self, book: &Book, step: &Id, is: fn(&Piece) -> bool) -> Option<Option<Tag>> {
        let mut of_step = of_step(book, self.picked()?, step, is);
        let first = of_step.next().map(|(tag, _)| tag);
        self.unless_lacking(first, Option::is_some)
    }

    /// How much of which pieces of a make, each once, so that all that was taken of it is held against
    /// what was there; none where the book picks, from the pieces that were taken where some were.
    pub(super) fn amounts(self, book: &Book, make: &Id) -> Option<Vec<(Tag, i64)>> {
        matches!(self, Self::Shown(_))
            .then(|| self.of_make(book, make))
            .flatten()
    }

    /// The batteries for machines that share them; none where the book picks.
    pub(super) fn batteries(self, book: &Book, drawn: &Drawn<'_>) -> Option<Vec<Tag>> {
        let is_theirs = |tag: &Tag| book.piece(*tag).is_some_and(|piece| drawn.takes(piece));
        let picked = self.picked()?.iter().map(|picked| picked.tag);
        let tags: Vec<Tag> = picked.filter(is_theirs).collect();
        self.unless_lacking(tags, |tags| !tags.is_empty())
    }

    /// How much of which pieces of a make was shown or taken.
    pub(super) fn of_make(self, book: &Book, make: &Id) -> Option<Vec<(Tag, i64)>> {
        let picked = self.picked()?;
        let is_of_make = |picked: &&Picked| {
            let piece = book.piece(picked.tag);
            piece.is_some_and(|piece| piece.make == *make)
        };
        let mut amounts: Vec<(Tag, i64)> = Vec::new();
        for picked in picked.iter().filter(is_of_make) {
            match amounts.iter_mut().find(|(tag, _)| *tag == picked.tag) {
                Some((_, amount)) => *amount = amount.saturating_add(picked.quantity),
                None => amounts.push((picked.tag, picked.quantity)),
            }
        }
        Some(amounts)
    }

    /// Pieces that were shown for steps that the routine has no more.
    pub(super) fn without_step<'b>(
        self,
        routine: &'b Routine,
    ) -> impl Iterator<Item = &'a Picked> + use<'a, 'b> {
        let picked = match self {
            Self::Book | Self::Taken(_) => &[],
            Self::Shown(picked) => picked,
        };
        picked.iter().filter(move |picked| {
            let of = |name: &Id| routine.parts().any(|step| step.name == *name);
            picked.step.as_ref().is_some_and(|name| !of(name))
        })
    }
}

/// The pieces of a sort that were picked for a step, each with whether it is a spare.
fn of_step<'b>(
    book: &'b Book,
    picked: &'b [Picked],
    step: &'b Id,
    is: impl Fn(&Piece) -> bool + 'b,
) -> impl Iterator<Item = (Tag, bool)> + 'b {
    let of_step = picked
        .iter()
        .filter(move |picked| picked.step.as_ref() == Some(step));
    of_step
        .filter(move |picked| book.piece(picked.tag).is_some_and(|piece| is(piece)))
        .map(|picked| (picked.tag, picked.spare))
}

/// Refuses a pick that cannot be understood: tags that no piece has.
pub(in crate::decide) fn understood(book: &Book, picked: &[Picked]) -> Result<(), Refusal> {
    if picked.len() > PICKED_MAX {
        return Err(Refusal::invalid(
            "picked",
            format!("More than {PICKED_MAX} pieces."),
            "Send the pieces of one job.",
        ));
    }
    for one in picked {
        piece(book, "picked.tag", one.tag)?;
    }
    Ok(())
}
