//! Turns a plan, a pick and corrections into deeds.
//!
//! Serves the log of a job. What was said replaces the plan for that piece or make; the rest is
//! taken as planned and marked so, never as if somebody had seen it.

use fettlebook_quantity::{Area, Volume};
use jiff::civil::Date;

use super::pads_used::PadsUsed;
use super::start::Start;
use super::volume_of;
use crate::book::command::{JobLog, PadUse};
use crate::book::deed::{Deed, Flag, Within};
use crate::decide::shares::{in_proportion, shares};
use crate::ground::ids::{Id, Subject, Tag};
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::pick::{
    Holding, Scene, draw, draw_whole, offer_bottles, offer_bundles, offer_machines, offer_plates,
};
use crate::ready::plan::{Plan, StepMakes, StepPlan, step_makes};
use crate::ready::real_use::{PLAN_RULES, RealUse};
use crate::ready::towel_use::TowelUse;
use crate::trade::job::{Days, Job, Routine, Step};
use crate::trade::logged::{Logged, Ran};
use crate::trade::plate::SpeedFit;
use crate::trade::take::Picked;
use crate::trade::towel::TowelGrade;

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
    /// How long machines ran that its log tells of.
    pub(super) ran: &'a [Ran],
    /// What it starts from.
    pub(super) start: Start<'a>,
    /// The days that it tells of.
    pub(super) days: Days,
    /// Whether nothing that the kit contradicts is refused, because the job is only imagined or its
    /// log was kept by a device: a step without a pad to pick is then left without.
    pub(super) takes_all: bool,
    /// Whether the job is only imagined: it then uses up what there is, and nothing that is not there.
    pub(super) is_imagined: bool,
}

/// What a job used.
#[derive(Default)]
pub(super) struct Written {
    /// What it did to the kit.
    pub(super) deeds: Vec<Deed>,
    /// What of it is not sure.
    pub(super) flags: Vec<Flag>,
    /// The pick that it started from.
    pub(super) picked: Vec<Picked>,
    /// What it teaches of the machines.
    pub(super) logged: Logged,
}

impl Writer<'_> {
    /// Everything the job used.
    pub(super) fn deeds(&self) -> Result<Written, Refusal> {
        let mut written = Written::default();
        self.steps(&mut written)?;
        self.liquids(&mut written);
        self.towels(&mut written);
        self.sundries(&mut written);
        self.batteries(&mut written);
        Ok(written)
    }

    fn steps(&self, written: &mut Written) -> Result<(), Refusal> {
        let mut pads_used = PadsUsed::of(self);
        let Written {
            deeds,
            flags,
            picked,
            ..
        } = written;
        for planned in &self.plan.steps {
            let step = &planned.step;
            let makes = step_makes(self.scene.book, step, "routine.steps")?;
            let pads = pads_used.next_step(planned, makes.pad);
            if pads.is_empty() && !self.takes_all {
                return Err(nobody_knows_the_pads(step));
            }
            if pads.is_empty() {
                flags.push(self.flag_without_pads(step));
            }
            deeds.extend(self.worked(planned, makes, &pads, picked));
        }
        pads_used.all_placed()?;
        deeds.extend(pads_used.taken_along().map(|(tag, step)| Deed::TakenAlong {
            tag: *tag,
            within: self.within(Some(step)),
            day: self.day_of(step),
        }));
        flags.extend(pads_used.guessed().map(flag_guessed));
        let without_step = self.start.without_step(self.routine);
        flags.extend(without_step.map(flag_without_step));
        picked.extend(pads_used.into_base());
        Ok(())
    }

    /// The day on which a step was worked.
    fn day_of(&self, step: &Id) -> Date {
        let mut parts = self.plan.steps.iter();
        let planned = parts.find(|part| part.name == *step);
        planned.map_or(self.scene.day, |part| self.scene.of_step(part).day)
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
        planned: &StepPlan,
        makes: StepMakes<'_>,
        pads: &[PadUse],
        picked: &mut Vec<Picked>,
    ) -> Vec<Deed> {
        let step = &planned.step;
        let within = self.within(Some(&step.name));
        let time_ms = planned.time_ms;
        let mut deeds = Vec::new();
        let machine = self.machine(step);
        picked.extend(machine.map(|tag| Picked::whole(tag, &step.name)));
        let ran = self.machines_said(step);
        let ran = if ran.is_empty() {
            machine.map(|tag| (tag, 1)).into_iter().collect()
        } else {
            ran
        };
        let parts: Vec<i64> = ran.iter().map(|(_, time_s)| *time_s).collect();
        for ((tag, _), time_ms) in ran.iter().zip(in_proportion(time_ms, &parts)) {
            deeds.push(Deed::MachineUsed {
                tag: *tag,
                within: within.clone(),
                time_ms,
            });
        }
        if let Some(tag) = self.plate(step, makes) {
            picked.push(Picked::whole(tag, &step.name));
            deeds.push(Deed::PlateUsed {
                tag,
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

    fn machine(&self, step: &Step) -> Option<Tag> {
        let make = step.machine_make.as_ref()?;
        let start = self.start.machine(self.scene.book, &step.name);
        start.unwrap_or_else(|| {
            let offered = offer_machines(&self.scene, make);
            offered.first().map(|machine| machine.tag)
        })
    }

    /// The machines of a step's make of which somebody said how long they ran, each with its time.
    fn machines_said(&self, step: &Step) -> Vec<(Tag, i64)> {
        let said = self.log.machine_times.iter().copied();
        said.filter(|(tag, _)| {
            step.machine_make.is_some() && self.make_of(*tag) == step.machine_make.as_ref()
        })
        .collect()
    }

    fn plate(&self, step: &Step, makes: StepMakes<'_>) -> Option<Tag> {
        let machine = makes.machine?;
        let start = self.start.plate(self.scene.book, &step.name);
        start.unwrap_or_else(|| {
            let offered = offer_plates(&self.scene, machine, makes.pad.face_mm);
            let mut first = offered.iter().take(1);
            first
                .find(|plate| !matches!(plate.speed, SpeedFit::Refused { .. }))
                .map(|plate| plate.piece.tag)
        })
    }

    /// Liquid by make: as stated of its bottles, or as planned from those the check picks.
    fn liquids(&self, written: &mut Written) {
        let Written { deeds, picked, .. } = written;
        let mut stated = self.log.bottles.clone();
        for (make, step, need) in self.plan.liquid_needs() {
            let within = self.within(Some(step));
            let mut pour = |tag, volume_ul, planned_ul, stated| {
                deeds.push(Deed::LiquidUsed {
                    tag,
                    within: within.clone(),
                    volume_ul,
                    planned_ul,
                    stated,
                    rules: PLAN_RULES,
                });
            };
            let mine: Vec<_> = stated
                .extract_if(.., |(tag, _)| self.make_of(*tag) == Some(make))
                .collect();
            if mine.is_empty() {
                let drawn = self.bottles(make, need);
                let parts: Vec<i64> = drawn.iter().map(|(_, quantity)| *quantity).collect();
                for ((tag, quantity), planned) in drawn.iter().zip(in_proportion(need.ul(), &parts))
                {
                    picked.push(Picked::of(*tag, Some(step), *quantity));
                    let volume = Volume::from_ul(*quantity);
                    pour(*tag, volume, Volume::from_ul(planned), false);
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
            rules: PLAN_RULES,
        }));
    }

    /// How much of which bottles a job takes of a make.
    fn bottles(&self, make: &Id, need: Volume) -> Vec<(Tag, i64)> {
        if let Some(start) = self.start.amounts(self.scene.book, make) {
            return start;
        }
        let likely = RealUse::of(self.scene.book, make, need.ul()).of_job(need.ul());
        let usable = offer_bottles(&self.scene, make).usable;
        self.drawn(&usable, likely.expected, make)
    }

    /// Towels as stated, with the share of the area that each bundle wiped, or as planned with those
    /// that fell.
    fn towels(&self, written: &mut Written) {
        let dropped = self.log.dropped_towel_count;
        let mut stated = self.log.bundles.clone();
        self.wipe_downs(written, &mut stated);
        let (used, wiped) = match &self.routine.towel_make {
            Some(make) if stated.is_empty() => {
                let likely = TowelUse::of(self.scene.book, self.routine, self.plan).count();
                let need = likely.saturating_add(dropped);
                let start = self.start.amounts(self.scene.book, make);
                let used = start.unwrap_or_else(|| {
                    let held = offer_bundles(&self.scene, make, TowelGrade::Residue);
                    self.drawn(&held, need, make)
                });
                written.picked.extend(for_the_whole_job(&used));
                let unsaid = vec![None; used.len()];
                (used, unsaid)
            }
            _ => {
                let wiped = wiped_shares(self.plan.wiped, &stated);
                (stated, wiped)
            }
        };
        // Those that fell stand with the first bundle.
        let fell = std::iter::once(dropped).chain(std::iter::repeat(0));
        let deeds = used.into_iter().zip(wiped).zip(fell);
        written.deeds.extend(
            deeds.map(
                |(((tag, used_count), wiped_mm2), dropped_count)| Deed::TowelsUsed {
                    tag,
                    within: self.within(None),
                    used_count,
                    dropped_count,
                    wiped_mm2,
                },
            ),
        );
    }

    /// The need of a make by tag: all of it, for it was used, or what there is where the job is only
    /// imagined. Where nothing can be drawn on, it is what was taken.
    pub(super) fn drawn(&self, held: &[Holding], need: i64, make: &Id) -> Vec<(Tag, i64)> {
        if held.is_empty() && !self.is_imagined {
            let taken = self.start.of_make(self.scene.book, make);
            return taken.unwrap_or_default();
        }
        let drawn = if self.is_imagined {
            draw(held, need).from
        } else {
            draw_whole(held, need)
        };
        drawn
            .into_iter()
            .map(|drawn| (drawn.piece.tag, drawn.quantity))
            .collect()
    }

    /// Towels of the wipe-downs: of each make as stated, or as planned. What was stated of them is taken
    /// out of what is left for the residue.
    fn wipe_downs(&self, written: &mut Written, stated: &mut Vec<(Tag, i64)>) {
        for wipe in &self.plan.wipe_downs {
            let mine: Vec<(Tag, i64)> = stated
                .extract_if(.., |(tag, _)| self.make_of(*tag) == Some(&wipe.make))
                .collect();
            let used = if mine.is_empty() {
                let make = &wipe.make;
                let start = self.start.amounts(self.scene.book, make);
                let held = offer_bundles(&self.scene, make, TowelGrade::Final);
                let used = start.unwrap_or_else(|| self.drawn(&held, wipe.towel_count, make));
                written.picked.extend(for_the_whole_job(&used));
                used
            } else {
                mine
            };
            let within = self.within(Some(&wipe.after));
            written
                .deeds
                .extend(used.into_iter().map(|(tag, used_count)| Deed::TowelsUsed {
                    tag,
                    within: within.clone(),
                    used_count,
                    dropped_count: 0,
                    wiped_mm2: None,
                }));
        }
    }

    pub(super) fn within(&self, step: Option<&Id>) -> Within {
        Within {
            job: Some(self.job.id.clone()),
            step: step.cloned(),
        }
    }

    pub(super) fn make_of(&self, tag: Tag) -> Option<&Id> {
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

fn flag_without_step(picked: &Picked) -> Flag {
    let step = picked.step.as_ref().map(Id::as_str).unwrap_or_default();
    let tag = picked.tag;
    Flag {
        subject: Subject::Piece(tag),
        text: format!(
            "{tag} was shown for the step {step}, which the routine has no more. If it worked, log it \
             as a loose use."
        ),
        count: false,
    }
}

/// Pieces that are for no step alone.
pub(super) fn for_the_whole_job(used: &[(Tag, i64)]) -> impl Iterator<Item = Picked> {
    used.iter()
        .map(|(tag, quantity)| Picked::of(*tag, None, *quantity))
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

/// The area wiped, in proportion to the towels of each bundle.
fn wiped_shares(wiped: Area, bundles: &[(Tag, i64)]) -> Vec<Option<Area>> {
    let counts: Vec<i64> = bundles.iter().map(|(_, count)| *count).collect();
    in_proportion(wiped.mm2(), &counts)
        .into_iter()
        .map(|share| (share > 0).then(|| Area::from_mm2(share)))
        .collect()
}
