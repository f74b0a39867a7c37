//! What a step asks of the kit's pads, beside the other steps of its job.
//!
//! Serves the pick of pads: which other makes do for the step's, and how many pads of its make are to
//! stay for the steps after it, none of which should go short so that this one has a spare.

use crate::Book;
use crate::ground::ids::Id;
use crate::ready::plan::{Plan, StepPlan};
use crate::trade::job::{Routine, Step};
use crate::trade::make::{Figures, MachineFigures, PadFigures};
use crate::trade::policy::PolicyKey;

/// A step of a job, as its pads are asked for.
#[derive(Debug, Clone, Copy)]
pub struct StepAsked<'a> {
    /// The routine it is of.
    pub routine: &'a Routine,
    /// What the whole job needs.
    pub whole: &'a Plan,
    /// The step or the share of it, and what it needs.
    pub plan: &'a StepPlan,
    /// Figures of its pad make.
    pub figures: &'a PadFigures,
}

impl<'a> StepAsked<'a> {
    /// How it is worked.
    pub const fn step(&self) -> &'a Step {
        &self.plan.step
    }

    /// Pads that work in it.
    pub(super) fn need(&self) -> usize {
        usize::try_from(self.plan.pad_count).unwrap_or(usize::MAX)
    }

    /// Other makes whose pads do for its own: of the same material, grade and size, and named by no step
    /// of the routine, which needs them itself.
    pub(super) fn makes_that_do(&self, book: &'a Book) -> Vec<(&'a Id, &'a PadFigures)> {
        let others = book.makes().filter_map(|make| match &make.figures {
            Figures::Pad(figures) if self.does(&make.id, figures) => Some((&make.id, figures)),
            _ => None,
        });
        others.collect()
    }

    /// Whether a make does for the step's without being it.
    fn does(&self, make: &Id, figures: &PadFigures) -> bool {
        figures.does_for(self.figures) && !self.routine.parts().any(|step| step.pad_make == *make)
    }

    /// Whether pads of a make may work in it.
    pub(crate) fn takes(&self, book: &Book, make: &Id) -> bool {
        *make == self.step().pad_make
            || match book.make(make).map(|make| &make.figures) {
                Some(Figures::Pad(figures)) => self.does(make, figures),
                _ => false,
            }
    }

    /// Whether its pads are so narrow that they follow contours.
    pub(super) fn follows_contours(&self, book: &Book) -> bool {
        self.figures.face_mm.mm() <= book.policy().value(PolicyKey::ContourFaceMm)
    }

    /// Most spares it may take of so many pads of its make: none of a pad that follows contours, none that
    /// a later step needs to work with, and none for a small machine where a big one is still to be given
    /// its own. Basis: common practice, no source.
    pub(super) fn spares_most(&self, book: &Book, pad_count: usize) -> usize {
        if self.follows_contours(book) {
            return 0;
        }
        let later = self.whole.steps.iter();
        let later = later
            .skip_while(|planned| planned.name != self.plan.name)
            .skip(1)
            .filter(|planned| planned.step.pad_make == self.step().pad_make);
        let mut needed = self.need();
        for planned in later {
            if is_small(book, self.step()) && !is_small(book, &planned.step) {
                return 0;
            }
            let need = usize::try_from(planned.pad_count).unwrap_or(usize::MAX);
            needed = needed.saturating_add(need);
        }
        pad_count.saturating_sub(needed)
    }
}

/// Whether a step is worked with a spot machine, or by hand.
fn is_small(book: &Book, step: &Step) -> bool {
    let machine = step.machine_make.as_ref().and_then(|id| book.make(id));
    match machine.map(|make| &make.figures) {
        Some(Figures::Machine(MachineFigures { spot, .. })) => *spot,
        _ => true,
    }
}
