//! Which batteries a job emptied: as stated, or as picked.
//!
//! A battery that ran is empty by the book, whatever was left in it; what was left only tells how long a charge
//! lasts.

use super::start::Start;
use super::writer::{Writer, Written};
use crate::book::deed::{Deed, Flag};
use crate::decide::shares::in_proportion;
use crate::ground::ids::{Subject, Tag};
use crate::ready::batteries::{Drawn, drawn_really, rated_run_ms};
use crate::ready::pick::offer_batteries;
use crate::trade::job::Days;
use crate::trade::logged::ChargesTaken;
use crate::trade::take::Picked;

/// Thousandths of a whole charge.
const WHOLE_PERMILLE: i64 = 1_000;
/// Millionths in a thousandth.
const MICRO_PER_PERMILLE: i64 = 1_000;
/// Millionths in a whole.
const MICRO: i128 = 1_000_000;

/// A battery that ran.
struct Ran {
    tag: Tag,
    /// What its charge was rated for, ms.
    rated_ms: i64,
    /// What was taken of its charge, where a person said which ran.
    taken_permille: Option<i64>,
}

impl Writer<'_> {
    /// The batteries of the cordless machines, and what their use teaches.
    pub(super) fn batteries(&self, written: &mut Written) {
        let mut stated = self.log.batteries.clone();
        for one in drawn_really(self.scene.book, self.plan, self.ran) {
            let is_of = |tag: Tag| {
                let piece = self.scene.book.piece(tag);
                piece.is_some_and(|piece| one.takes(piece))
            };
            let mine: Vec<(Tag, i64)> = stated.extract_if(.., |(tag, _)| is_of(*tag)).collect();
            let ran = if mine.is_empty() {
                self.picked_batteries(&one, written)
            } else {
                let told = mine.into_iter().map(|(tag, left)| {
                    let taken = WHOLE_PERMILLE.saturating_sub(left).clamp(0, WHOLE_PERMILLE);
                    self.ran(tag, Some(taken))
                });
                told.collect()
            };
            self.empty(&one, &ran, written);
        }
        for (tag, left) in stated {
            written.flags.push(Flag {
                subject: Subject::Piece(tag),
                text: format!(
                    "{tag} fits no machine of this job by the book. See that it is the right battery, or say \
                     of its make which machines it fits."
                ),
                count: false,
            });
            let taken = WHOLE_PERMILLE.saturating_sub(left);
            written
                .deeds
                .push(self.used(&self.ran(tag, Some(taken)), 0));
        }
    }

    /// Those that were shown or taken for the job, else those that the book picks.
    fn picked_batteries(&self, drawn: &Drawn<'_>, written: &mut Written) -> Vec<Ran> {
        // What was taken for the whole job runs on its day: one of two takes what it needs of it.
        let is_whole = matches!(self.days, Days::All) || matches!(self.start, Start::Shown(_));
        let start = self
            .start
            .batteries(self.scene.book, drawn)
            .filter(|_| is_whole);
        let tags = start.unwrap_or_else(|| {
            let offer = offer_batteries(&self.scene, drawn);
            offer.go().iter().map(|choice| choice.piece.tag).collect()
        });
        let picked = tags.iter().map(|tag| Picked::of(*tag, None, 1));
        written.picked.extend(picked);
        tags.into_iter().map(|tag| self.ran(tag, None)).collect()
    }

    fn ran(&self, tag: Tag, taken_permille: Option<i64>) -> Ran {
        let book = self.scene.book;
        let rated_ms = book.piece(tag).and_then(|piece| rated_run_ms(book, piece));
        Ran {
            tag,
            rated_ms: rated_ms.unwrap_or_default(),
            taken_permille,
        }
    }

    /// Empties the batteries that ran, the time shared out by what each gave.
    fn empty(&self, drawn: &Drawn<'_>, ran: &[Ran], written: &mut Written) {
        let gave: Vec<i64> = ran
            .iter()
            .map(|one| {
                let taken = one.taken_permille.unwrap_or(WHOLE_PERMILLE);
                one.rated_ms.saturating_mul(taken)
            })
            .collect();
        let shares = in_proportion(drawn.time_ms, &gave);
        for (one, time_ms) in ran.iter().zip(shares) {
            written.deeds.push(self.used(one, time_ms));
            if let Some(taken) = one.taken_permille {
                self.learn(one, taken, time_ms, written);
            }
        }
    }

    /// Adds what a battery gave to what the log says of its make.
    fn learn(&self, one: &Ran, taken_permille: i64, time_ms: i64, written: &mut Written) {
        let Some(make) = self.make_of(one.tag).filter(|_| one.rated_ms > 0) else {
            return;
        };
        let planned = i128::from(time_ms).saturating_mul(MICRO);
        let planned = planned.checked_div(one.rated_ms.into()).unwrap_or_default();
        let planned_micro = i64::try_from(planned).unwrap_or(i64::MAX);
        let taken_micro = taken_permille.saturating_mul(MICRO_PER_PERMILLE);
        let charges = &mut written.logged.charges;
        match charges.iter_mut().find(|held| held.make == *make) {
            Some(held) => {
                held.planned_micro = held.planned_micro.saturating_add(planned_micro);
                held.taken_micro = held.taken_micro.saturating_add(taken_micro);
            }
            None => charges.push(ChargesTaken {
                make: make.clone(),
                planned_micro,
                taken_micro,
            }),
        }
    }

    fn used(&self, one: &Ran, time_ms: i64) -> Deed {
        Deed::BatteryUsed {
            tag: one.tag,
            within: self.within(None),
            time_ms,
            rated_ms: one.rated_ms,
            taken_permille: one.taken_permille,
        }
    }
}
