//! Who worked: the pads of each step, as picked, swapped and said.
//!
//! Serves the log of a job. Every swap and every word said of a pad must find its step; what finds
//! none is refused, never dropped.

use std::collections::BTreeSet;

use crate::check::list;
use crate::command::{JobLog, PadUse};
use crate::ids::Tag;
use crate::job::Step;
use crate::make::PadFigures;
use crate::pick::{Scene, offer_pads};
use crate::plan::StepPlan;
use crate::refusal::{Reason, Refusal};

/// The pads of a log, step by step.
pub(super) struct Roster<'a> {
    scene: &'a Scene<'a>,
    /// Pads that have a step, or were swapped out of one.
    taken: BTreeSet<Tag>,
    /// Pads that worked, in the order of the steps.
    worked: Vec<Tag>,
    /// Swaps that have not found their step: planned, used.
    swaps: Vec<(Tag, Tag)>,
    /// What was said of pads that have not found their step.
    said: Vec<PadUse>,
}

impl<'a> Roster<'a> {
    /// What was said in a log, before any step.
    pub(super) fn of(scene: &'a Scene<'a>, log: &JobLog) -> Self {
        Self {
            scene,
            taken: BTreeSet::new(),
            worked: Vec::new(),
            swaps: log.swaps.clone(),
            said: log.pads.clone(),
        }
    }

    /// The pads of the next step: those picked, swapped as said, and further ones of its make as
    /// said, each with what was said of it.
    ///
    /// # Errors
    /// When there is none.
    pub(super) fn next_step(
        &mut self,
        step: &Step,
        planned: &StepPlan,
        figures: &PadFigures,
    ) -> Result<Vec<PadUse>, Refusal> {
        let mut tags = self.picked(step, planned, figures);
        self.swap(&mut tags);
        tags.extend(self.further(step));
        if tags.is_empty() {
            return Err(Refusal::new(
                Reason::NoPick,
                "pads",
                format!(
                    "No ready pad of {} could be picked for the step {}.",
                    step.pad_make, step.name
                ),
                "Say which pads worked, such as P-07.",
            ));
        }
        self.worked.extend(&tags);
        Ok(tags
            .into_iter()
            .map(|tag| self.what_was_said(tag))
            .collect())
    }

    fn picked(&mut self, step: &Step, planned: &StepPlan, figures: &PadFigures) -> Vec<Tag> {
        let working = usize::try_from(planned.pad_count).unwrap_or(usize::MAX);
        let tags: Vec<Tag> = offer_pads(self.scene, step, planned, figures, &self.taken)
            .choices
            .iter()
            .take(working)
            .map(|choice| choice.piece.tag)
            .collect();
        self.taken.extend(&tags);
        tags
    }

    fn swap(&mut self, tags: &mut [Tag]) {
        for tag in tags {
            if let Some(at) = self.swaps.iter().position(|(planned, _)| planned == tag) {
                let (_, used) = self.swaps.remove(at);
                *tag = used;
                self.taken.insert(used);
            }
        }
    }

    /// Pads that were named and not picked worked beside the others, if they are of the step's make.
    fn further(&mut self, step: &Step) -> Vec<Tag> {
        let is_of_make = |tag: Tag| {
            let piece = self.scene.book.piece(tag);
            piece.is_some_and(|piece| piece.make == step.pad_make)
        };
        let tags: Vec<Tag> = self
            .said
            .iter()
            .map(|pad| pad.tag)
            .filter(|tag| is_of_make(*tag) && !self.taken.contains(tag))
            .collect();
        self.taken.extend(&tags);
        tags
    }

    fn what_was_said(&mut self, tag: Tag) -> PadUse {
        match self.said.iter().position(|pad| pad.tag == tag) {
            Some(at) => self.said.remove(at),
            None => PadUse {
                tag,
                section_count: None,
                found: None,
                aside: None,
            },
        }
    }

    /// After the last step: refuses swaps and words that found none.
    pub(super) fn all_placed(&self) -> Result<(), Refusal> {
        if let Some((planned, _)) = self.swaps.first() {
            return Err(Refusal::new(
                Reason::NoPick,
                "swaps.planned",
                format!(
                    "{planned} is not among the pads of this job: {}.",
                    list(&self.worked)
                ),
                "Swap one of those, or name the pad that worked without swapping.",
            ));
        }
        if let Some(stray) = self.said.first() {
            return Err(Refusal::new(
                Reason::NoPick,
                "pads.tag",
                format!("No step of this job works with a pad like {}.", stray.tag),
                "Leave it out, or log it as a loose use.",
            ));
        }
        Ok(())
    }
}
