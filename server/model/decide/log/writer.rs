//! Turns a plan, a pick and corrections into deeds.
//!
//! Serves the log of a job. What was said replaces the plan for that piece or make; the rest is
//! taken as planned and marked so, never as if somebody had seen it.

use fettlebook_quantity::Volume;

use super::pads_used::PadsUsed;
use super::volume_of;
use crate::book::command::{JobLog, PadUse};
use crate::book::deed::{Deed, Flag, Within};
use crate::decide::shares::{in_proportion, shares};
use crate::ground::ids::{Id, Subject, Tag};
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::pick::{
    Holding, Scene, draw_whole, offer_bottles, offer_bundles, offer_machines, offer_plates,
    offer_sundries,
};
use crate::ready::plan::{Plan, StepMakes, StepPlan, step_makes};
use crate::ready::real_use::RealUse;
use crate::trade::job::{Job, Routine, Step};
use crate::trade::plate::SpeedFit;

/// What a job's deeds are written from.
pub(super) struct Writer<'a> {
    /// The circumstances, looking back at the job.
    pub(super) scene: Scene<'a>,
    /// The job.
    pub(super) job: &'a Job,
    /// What was said of it.
    pub(super) log: &'a JobLog,
    /// Its routine.
    pub(super) routine: &'a Routine,
    /// What it was planned to need, without the panels that were left out.
    pub(super) plan: &'a Plan,
    /// Whether nothing that the kit contradicts is refused, because the job is only imagined or its
    /// log was kept by a device: a step without a pad to pick is then left without.
    pub(super) takes_all: bool,
}

impl Writer<'_> {
    /// Everything the job used, and what of it is not sure.
    pub(super) fn deeds(&self) -> Result<(Vec<Deed>, Vec<Flag>), Refusal> {
        let (mut deeds, flags) = self.steps()?;
        deeds.extend(self.liquids());
        deeds.extend(self.towels());
        deeds.extend(self.sundries());
        Ok((deeds, flags))
    }

    fn steps(&self) -> Result<(Vec<Deed>, Vec<Flag>), Refusal> {
        let target = self.plan.line_target(self.scene.policy(), self.routine);
        let mut pads_used = PadsUsed::of(&self.scene, self.log, target, self.takes_all);
        let (mut deeds, mut flags) = (Vec::new(), Vec::new());
        for (planned, step) in self.plan.with_steps(self.routine) {
            let makes = step_makes(self.scene.book, step, "routine.steps")?;
            let pads = pads_used.next_step(step, planned, makes.pad);
            if pads.is_empty() && !self.takes_all {
                return Err(nobody_knows_the_pads(step));
            }
            if pads.is_empty() {
                flags.push(self.flag_without_pads(step));
            }
            deeds.extend(self.worked(step, planned, makes, &pads));
        }
        pads_used.all_placed()?;
        deeds.extend(pads_used.taken_along().map(|(tag, step)| Deed::TakenAlong {
            tag: *tag,
            within: self.within(Some(step)),
            day: self.scene.day,
        }));
        flags.extend(pads_used.guessed().map(flag_guessed));
        Ok((deeds, flags))
    }

    fn flag_without_pads(&self, step: &Step) -> Flag {
        let (name, make) = (&step.name, &step.pad_make);
        Flag {
            subject: Subject::Job(self.job.id.clone()),
            text: format!(
                "The book had no ready pad of {make} for the step {name}, so that no pad is worn by \
                 it. Log those that worked as a loose use."
            ),
            count: false,
        }
    }

    /// What a step did to machine, plate and pads.
    fn worked(
        &self,
        step: &Step,
        planned: &StepPlan,
        makes: StepMakes<'_>,
        pads: &[PadUse],
    ) -> Vec<Deed> {
        let within = self.within(Some(&step.name));
        let time_ms = planned.time_ms;
        let mut deeds = Vec::new();
        if let Some(machine) = offer_machines(&self.scene, &step.machine_make).first() {
            deeds.push(Deed::MachineUsed {
                tag: machine.tag,
                within: within.clone(),
                time_ms,
            });
        }
        let plates = offer_plates(&self.scene, makes.machine, makes.pad.face_mm);
        let plate = plates
            .first()
            .filter(|plate| !matches!(plate.speed, SpeedFit::Refused { .. }));
        if let Some(plate) = plate {
            deeds.push(Deed::PlateUsed {
                tag: plate.piece.tag,
                within: within.clone(),
                time_ms,
                change_count: i64::try_from(pads.len()).unwrap_or(i64::MAX),
            });
        }
        let given: Vec<Option<i64>> = pads.iter().map(|pad| pad.section_count).collect();
        for (pad, sections) in pads.iter().zip(shares(planned.section_count, &given)) {
            deeds.push(Deed::PadUsed {
                tag: pad.tag,
                within: within.clone(),
                work: planned.share(sections),
            });
        }
        deeds
    }

    /// Liquid by make: as stated of its bottles, or as planned from those the check picks.
    fn liquids(&self) -> Vec<Deed> {
        let mut deeds = Vec::new();
        let mut stated = self.log.bottles.clone();
        for (make, step, need) in self.plan.liquid_needs(self.routine) {
            let within = self.within(Some(step));
            let mut pour = |tag, volume_ul, planned_ul, stated| {
                deeds.push(Deed::LiquidUsed {
                    tag,
                    within: within.clone(),
                    volume_ul,
                    planned_ul,
                    stated,
                });
            };
            let mine: Vec<_> = stated
                .extract_if(.., |(tag, _)| self.make_of(*tag) == Some(make))
                .collect();
            if mine.is_empty() {
                let usable = offer_bottles(&self.scene, make).usable;
                let likely = RealUse::of(self.scene.book, make, need)
                    .of_job(need)
                    .expected;
                let drawn = draw_whole(&usable, likely.ul());
                let parts: Vec<i64> = drawn.iter().map(|drawn| drawn.quantity).collect();
                for (drawn, planned) in drawn.iter().zip(in_proportion(need.ul(), &parts)) {
                    let volume = Volume::from_ul(drawn.quantity);
                    pour(drawn.piece.tag, volume, Volume::from_ul(planned), false);
                }
            }
            let stated: Vec<(Tag, Volume)> = mine
                .into_iter()
                .map(|(tag, amount)| (tag, volume_of(amount, self.scene.policy())))
                .collect();
            let parts: Vec<i64> = stated.iter().map(|(_, volume)| volume.ul()).collect();
            for ((tag, volume), planned) in stated.iter().zip(in_proportion(need.ul(), &parts)) {
                pour(*tag, *volume, Volume::from_ul(planned), true);
            }
        }
        deeds.extend(stated.into_iter().map(|(tag, amount)| Deed::LiquidUsed {
            tag,
            within: self.within(None),
            volume_ul: volume_of(amount, self.scene.policy()),
            planned_ul: Volume::ZERO,
            stated: true,
        }));
        deeds
    }

    /// Towels as stated, or as planned with those that fell.
    fn towels(&self) -> Vec<Deed> {
        let dropped = self.log.dropped_towel_count;
        let used = match &self.routine.towel_make {
            Some(make) if self.log.bundles.is_empty() => {
                let need = self.plan.towel_count.saturating_add(dropped);
                drawn(&offer_bundles(&self.scene, make), need)
            }
            _ => self.log.bundles.clone(),
        };
        // Those that fell stand with the first bundle.
        let fell = std::iter::once(dropped).chain(std::iter::repeat(0));
        used.into_iter()
            .zip(fell)
            .map(|((tag, used_count), dropped_count)| Deed::TowelsUsed {
                tag,
                within: self.within(None),
                used_count,
                dropped_count,
            })
            .collect()
    }

    /// Sundries as stated, and as planned for the makes of which nothing was.
    fn sundries(&self) -> Vec<Deed> {
        let stated = &self.log.sundries;
        let mut used = stated.clone();
        for (make, need) in &self.plan.sundries {
            if !stated
                .iter()
                .any(|(tag, _)| self.make_of(*tag) == Some(make))
            {
                let held = offer_sundries(&self.scene, make);
                used.extend(drawn(&held, *need));
            }
        }
        used.into_iter()
            .map(|(tag, quantity)| Deed::SundryUsed {
                tag,
                within: self.within(None),
                quantity,
            })
            .collect()
    }

    fn within(&self, step: Option<&Id>) -> Within {
        Within {
            job: Some(self.job.id.clone()),
            step: step.cloned(),
        }
    }

    fn make_of(&self, tag: Tag) -> Option<&Id> {
        self.scene.book.piece(tag).map(|piece| &piece.make)
    }
}

fn flag_guessed((planned, used): (Tag, Tag)) -> Flag {
    Flag {
        subject: Subject::Piece(used),
        text: format!(
            "{used} worked for {planned}, which the book would not have picked; it is taken to have \
             worked for another pad of that make."
        ),
        count: false,
    }
}

fn nobody_knows_the_pads(step: &Step) -> Refusal {
    Refusal::new(
        Reason::NoPick,
        "pads",
        format!(
            "No ready pad of {} could be picked for the step {}.",
            step.pad_make, step.name
        ),
        "Say which pads worked, such as P-07.",
    )
}

/// The whole need by tag, from what is held.
fn drawn(held: &[Holding], need: i64) -> Vec<(Tag, i64)> {
    draw_whole(held, need)
        .into_iter()
        .map(|drawn| (drawn.piece.tag, drawn.quantity))
        .collect()
}
