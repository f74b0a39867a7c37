//! Pads that work on both days of a job: washed in the evening of its first day, and dry by its second.
//!
//! Serves the pick of pads. What a pad did on the first day counts on the second: its wear, and the liquid it
//! carried. One that cannot be dry by then is not offered again, and a pad of another make that only made up the
//! number is not either.

use std::collections::BTreeMap;

use fettlebook_quantity::Seconds;

use super::Scene;
use super::asked::StepAsked;
use super::pads::{added_damage, work_damage};
use crate::Moment;
use crate::book::Book;
use crate::book::change::later;
use crate::ground::ids::Tag;
use crate::ready::hours::first_day_ends;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::make::Grade;

/// What a pad does on the first day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Worked {
    /// Damage that its work adds.
    pub(crate) more: f64,
    /// Damage that the wash after it adds.
    pub(crate) washed: f64,
    /// The liquid it carries.
    pub(crate) liquid: Grade,
}

impl Worked {
    /// What each of so many pads does in a step.
    pub(super) fn of(asked: &StepAsked<'_>, pad_count: usize) -> Self {
        let pad_count = i64::try_from(pad_count.max(1)).unwrap_or(i64::MAX);
        let (plan, figures) = (asked.plan, asked.figures);
        let more = work_damage(plan, figures, pad_count);
        Self {
            more,
            washed: added_damage(plan, figures, pad_count) - more,
            liquid: plan.whole.liquid,
        }
    }

    /// A spare is asked for what is left of another's share, which is half of it on average.
    pub(super) fn as_spare(self) -> Self {
        Self {
            more: self.more / 2.0,
            ..self
        }
    }

    /// All the damage it adds.
    pub(crate) fn damage(&self) -> f64 {
        self.more + self.washed
    }
}

/// Whether a pad that has a step of the first day may have one of the second.
pub(super) enum Again {
    /// It may, after what it did.
    Free(Worked),
    /// Washed in the evening it would not be dry before this moment.
    NotDry(Moment),
    /// It may not.
    Never,
}

/// What the first day of a job does to its pads.
#[derive(Debug, Default)]
pub(super) struct FirstDay {
    worked: BTreeMap<Tag, Worked>,
    ends_at: Option<Moment>,
}

impl FirstDay {
    /// A pad works in a step of the first day; only one of the step's own make works again.
    pub(super) fn worked(&mut self, book: &Book, asked: &StepAsked<'_>, tag: Tag, worked: Worked) {
        let make = book.piece(tag).map(|piece| &piece.make);
        if make == Some(&asked.step().pad_make) {
            self.worked.insert(tag, worked);
        }
    }

    /// A pad has a step of the second day, and goes to no other of it.
    pub(super) fn works_again(&mut self, tag: Tag) {
        self.worked.remove(&tag);
    }

    /// When the first day ends, where some pad works on it; worked out once.
    pub(super) fn look_ahead(&mut self, scene: &Scene<'_>, asked: &StepAsked<'_>) {
        if asked.plan.second_day && self.ends_at.is_none() && !self.worked.is_empty() {
            self.ends_at = Some(first_day_ends(scene.book, scene.job, asked.whole));
        }
    }

    /// Whether a pad that is taken may work in a step all the same.
    pub(super) fn again(
        &self,
        scene: &Scene<'_>,
        asked: &StepAsked<'_>,
        piece: &Piece,
        dry: Seconds,
    ) -> Again {
        let is_own = piece.make == asked.step().pad_make && asked.plan.second_day;
        let (Some(worked), Some(ends_at)) = (self.worked.get(&piece.tag), self.ends_at) else {
            return Again::Never;
        };
        if !is_own {
            return Again::Never;
        }
        let was_washed = !scene.looking_back && piece.since > scene.job.starts_at;
        let dry_at = match piece.readiness {
            Readiness::Ready if was_washed => piece.since,
            Readiness::Drying(until) if was_washed => until,
            _ if scene.looking_back => later(ends_at, dry),
            _ => later(ends_at.max(scene.now), dry),
        };
        if dry_at <= scene.starts_at {
            Again::Free(*worked)
        } else {
            Again::NotDry(dry_at)
        }
    }
}
