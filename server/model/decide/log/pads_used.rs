//! Who worked: the pads of each step, as picked, swapped and said.
//!
//! Serves the log of a job. Every swap and every word said of a pad must find its step; what finds
//! none is refused, never dropped.

use super::start::Start;
use super::writer::Writer;
use crate::book::command::PadUse;
use crate::ground::ids::list;
use crate::ground::ids::{Id, Tag};
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::pick::{JobPads, PadChoice, Scene, StepAsked, offer_pads};
use crate::ready::plan::{Plan, StepPlan};
use crate::trade::job::Routine;
use crate::trade::make::PadFigures;
use crate::trade::take::Picked;

/// The pads of a log, step by step.
pub(super) struct PadsUsed<'a> {
    scene: &'a Scene<'a>,
    /// How the job is worked, and what that needs.
    routine: &'a Routine,
    plan: &'a Plan,
    /// What the log starts from.
    start: Start<'a>,
    /// Pads that have a step, or were swapped out of one, among them.
    job_pads: JobPads,
    /// Pads that worked, in the order of the steps.
    worked: Vec<Tag>,
    /// The pads of all steps before any word of them.
    base: Vec<Picked>,
    /// Pads picked as spares, with their step.
    spares: Vec<(Tag, Id)>,
    /// Chance that the pads of each step should have.
    target: f64,
    /// Swaps that have not found their step: planned, used.
    swaps: Vec<(Tag, Tag)>,
    /// What was said of pads that have not found their step.
    said: Vec<PadUse>,
    /// Whether a swap whose planned pad is not picked finds another pad to give way.
    takes_all: bool,
    /// Swaps for which another pad gave way than the planned one.
    guessed: Vec<(Tag, Tag)>,
}

impl<'a> PadsUsed<'a> {
    /// What was said in a log, before any step.
    pub(super) fn of(writer: &'a Writer<'a>) -> Self {
        let Writer {
            scene,
            routine,
            plan,
            start,
            log,
            takes_all,
            ..
        } = writer;
        Self {
            scene,
            routine,
            plan,
            start: *start,
            job_pads: JobPads::default(),
            worked: Vec::new(),
            base: Vec::new(),
            spares: Vec::new(),
            target: plan.line_target(scene.policy()),
            swaps: log.swaps.clone(),
            said: log.pads.clone(),
            takes_all: *takes_all,
            guessed: Vec::new(),
        }
    }

    /// The pads of the next step: those picked, swapped as said, and further ones of its make as
    /// said, each with what was said of it. None when the kit has none and none was named.
    pub(super) fn next_step(&mut self, planned: &StepPlan, figures: &PadFigures) -> Vec<PadUse> {
        let asked = StepAsked {
            routine: self.routine,
            whole: self.plan,
            plan: planned,
            figures,
        };
        let mut tags = self.picked(&asked);
        let out = self.swap(&mut tags);
        if self.takes_all {
            self.swap_others(&asked, &mut tags);
        }
        tags.extend(self.further(&asked, &tags, &out));
        self.worked.extend(&tags);
        let pads = tags.iter().map(|tag| self.what_was_said(*tag)).collect();
        // Of a pad that was swapped out and did not work, only its fate was said.
        self.said.retain(|pad| !out.contains(&pad.tag));
        pads
    }

    fn picked(&mut self, asked: &StepAsked<'_>) -> Vec<Tag> {
        let step = asked.step();
        let (working, spares) = match self.start.pads(self.scene.book, step) {
            Some(pads) => pads,
            None => self.offered(asked),
        };
        self.base
            .extend(working.iter().map(|tag| Picked::whole(*tag, &step.name)));
        self.base
            .extend(spares.iter().map(|tag| Picked::spare(*tag, &step.name)));
        self.job_pads.take(self.scene, asked, (&working, &spares));
        self.spares
            .extend(spares.into_iter().map(|tag| (tag, step.name.clone())));
        working
    }

    /// What the kit offers for a step: pads that work, and spares.
    fn offered(&mut self, asked: &StepAsked<'_>) -> (Vec<Tag>, Vec<Tag>) {
        let offer = offer_pads(self.scene, asked, &mut self.job_pads, self.target);
        let tags = |pads: &[PadChoice<'_>]| pads.iter().map(|pad| pad.piece.tag).collect();
        (tags(&offer.working), tags(&offer.spares))
    }

    /// The pads that the log started from, before any word of them.
    pub(super) fn into_base(self) -> Vec<Picked> {
        self.base
    }

    /// Spares that did not work after all, with the step they went along for.
    pub(super) fn taken_along(&self) -> impl Iterator<Item = &(Tag, Id)> {
        self.spares
            .iter()
            .filter(|(tag, _)| !self.worked.contains(tag))
    }

    /// Whether a pad that was named for a step can have worked in it: it has no step yet, or is a
    /// spare.
    fn is_free(&self, tag: Tag) -> bool {
        let spare = self.spares.iter().any(|(spare, _)| *spare == tag);
        (spare && !self.worked.contains(&tag)) || !self.job_pads.taken.contains(&tag)
    }

    /// Swaps as said; returns the pads that gave way.
    fn swap(&mut self, tags: &mut [Tag]) -> Vec<Tag> {
        let mut out = Vec::new();
        for tag in tags.iter_mut() {
            if let Some(at) = self.swaps.iter().position(|(planned, _)| planned == tag) {
                let (planned, used) = self.swaps.remove(at);
                out.push(planned);
                *tag = used;
                self.job_pads.taken.insert(used);
            }
        }
        out.retain(|tag| !tags.contains(tag));
        out
    }

    /// Swaps of pads that do for the step and were not picked, because another device has used them
    /// meanwhile: the last pad that was picked gives way instead.
    fn swap_others(&mut self, asked: &StepAsked<'_>, tags: &mut [Tag]) {
        let book = self.scene.book;
        let is_of_step = |tag: Tag| {
            let piece = book.piece(tag);
            piece.is_some_and(|piece| asked.takes(book, &piece.make))
        };
        let free: Vec<Tag> = tags
            .iter()
            .copied()
            .filter(|tag| is_of_step(*tag))
            .collect();
        let mut free = free.into_iter().rev();
        let mine = self
            .swaps
            .extract_if(.., |(planned, _)| is_of_step(*planned));
        for (planned, used) in mine {
            let gives_way = free.next();
            if let Some(tag) = tags.iter_mut().find(|tag| Some(**tag) == gives_way) {
                *tag = used;
            }
            self.job_pads.taken.insert(used);
            self.guessed.push((planned, used));
        }
    }

    /// Swaps for which another pad gave way than the planned one: planned, used.
    pub(super) fn guessed(&self) -> impl Iterator<Item = (Tag, Tag)> {
        self.guessed.iter().copied()
    }

    /// Pads that do for the step and were named and not picked worked beside the others; one that was
    /// swapped out did so when sections are said of it.
    fn further(&mut self, asked: &StepAsked<'_>, tags: &[Tag], out: &[Tag]) -> Vec<Tag> {
        let book = self.scene.book;
        let is_of_make = |tag: Tag| {
            let piece = book.piece(tag);
            piece.is_some_and(|piece| asked.takes(book, &piece.make))
        };
        let further: Vec<Tag> = self
            .said
            .iter()
            .filter(|pad| {
                let worked_first =
                    out.contains(&pad.tag) && pad.section_count.is_some_and(|count| count > 0);
                worked_first || (is_of_make(pad.tag) && self.is_free(pad.tag))
            })
            .map(|pad| pad.tag)
            .filter(|tag| !tags.contains(tag))
            .collect();
        self.job_pads.taken.extend(&further);
        further
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
