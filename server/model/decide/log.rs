//! Logging a job: the plan with the kit that the check picks, and the corrections that were given.
//!
//! What happened is taken in. It is refused only when it cannot be understood: a tag that does not
//! exist, a swap of a pad that was not in the job, a step whose pads nobody knows.

use std::collections::BTreeSet;

use fettlebook_quantity::Volume;

use super::diary::find;
use super::flags::flag_uses;
use super::shares::shares;
use super::upkeep::{sort, weighed};
use super::{Decision, done_at, note, within};
use crate::check::liquid_needs;
use crate::command::{JobLog, LiquidAmount, PadUse, Weighing};
use crate::deed::{Deed, Flag, Within};
use crate::ids::{Id, Subject, Tag};
use crate::job::{Job, JobState, Routine, Step};
use crate::kit::Piece;
use crate::pick::{
    Scene, offer_bottles, offer_bundles, offer_machines, offer_pads, offer_plates, offer_sundries,
    take_count, take_volume,
};
use crate::plan::{Plan, StepPlan, plan, step_makes};
use crate::plate::SpeedFit;
use crate::policy::{Policy, PolicyKey};
use crate::refusal::{Reason, Refusal};
use crate::{Book, Moment};

/// Most corrections of one kind in a log.
const LINES_MAX: usize = 200;

pub(super) fn log_job(book: &Book, log: &JobLog, now: Moment) -> Result<Decision, Refusal> {
    let done = done_at(&log.said, now)?;
    note(&log.said.note)?;
    let id = log
        .job
        .as_ref()
        .ok_or_else(|| Refusal::missing("job", "Name the job that was done."))?;
    let job = find(book, "job", id)?;
    if let JobState::Done(_) = job.state {
        return Err(Refusal::new(
            Reason::JobState,
            "job",
            format!("The job {id} is logged already, in entry {}.", job.last_seq),
            "Reverse that entry first if it was wrong.",
        ));
    }
    let mut decision = log_from(book, job, log, done)?;
    if job.state == JobState::CalledOff {
        decision.flags.push(Flag {
            subject: Subject::Job(id.clone()),
            text: format!("The job {id} was called off in the book."),
            count: false,
        });
    }
    Ok(decision)
}

/// The use of a job exactly as planned, at its start: what a check of later jobs imagines.
///
/// # Errors
/// When the job cannot be planned, or no pad can be picked for a step.
pub fn log_as_planned(book: &Book, job: &Job) -> Result<Decision, Refusal> {
    log_from(book, job, &JobLog::default(), job.starts_at)
}

fn log_from(book: &Book, job: &Job, log: &JobLog, done: Moment) -> Result<Decision, Refusal> {
    let car = book
        .car(&job.car)
        .ok_or_else(|| Refusal::no_id(Reason::CarUnknown, "job.car", "car", &job.car))?;
    let routine = book.routine(&job.routine).ok_or_else(|| {
        Refusal::no_id(
            Reason::RoutineUnknown,
            "job.routine",
            "routine",
            &job.routine,
        )
    })?;
    understood(book, log)?;
    let mut left_out = job.left_out.clone();
    left_out.extend(
        log.left_out
            .iter()
            .filter(|panel| !job.left_out.contains(panel)),
    );
    let plan = plan(book, car, routine, &left_out)?;
    let scene = Scene::looking_back(book, job);
    let writer = Writer {
        scene,
        job,
        log,
        routine,
        plan: &plan,
    };
    let mut deeds = writer.steps()?;
    deeds.extend(writer.liquids());
    deeds.extend(writer.towels());
    deeds.extend(writer.sundries());
    let mut flags = Vec::new();
    for weighing in &log.weighings {
        let (deed, flag) = weighed(book, *weighing, done)?;
        deeds.push(deed);
        flags.extend(flag);
    }
    flags.extend(flag_uses(book, &deeds, done));
    deeds.extend(fates(&log.pads));
    deeds.push(Deed::JobDone {
        job: job.id.clone(),
        left_out,
    });
    Ok(Decision {
        deeds,
        flags,
        done_at: done,
        note: log.said.note.clone(),
    })
}

/// What was worked with in one step: pads in order, each with what was said of it.
type StepPads = Vec<PadUse>;

/// Turns a plan, a pick and corrections into deeds.
struct Writer<'a> {
    scene: Scene<'a>,
    job: &'a Job,
    log: &'a JobLog,
    routine: &'a Routine,
    plan: &'a Plan,
}

impl<'a> Writer<'a> {
    fn within(&self, step: Option<&Id>) -> Within {
        Within {
            job: Some(self.job.id.clone()),
            step: step.cloned(),
        }
    }

    fn step_of(&self, planned: &StepPlan) -> Option<&'a Step> {
        self.routine
            .steps
            .iter()
            .find(|step| step.name == planned.name)
    }

    fn steps(&self) -> Result<Vec<Deed>, Refusal> {
        let mut deeds = Vec::new();
        let mut swaps: Vec<(Tag, Tag)> = self.log.swaps.clone();
        let mut said: Vec<PadUse> = self.log.pads.clone();
        let mut taken = BTreeSet::new();
        let mut picked = Vec::new();
        for planned in &self.plan.steps {
            let Some(step) = self.step_of(planned) else {
                continue;
            };
            let pads = self.pads(step, planned, &mut taken, &mut swaps, &mut said)?;
            picked.extend(pads.iter().map(|pad| pad.tag));
            deeds.extend(self.worked(step, planned, &pads)?);
        }
        if let Some((planned, _)) = swaps.first() {
            return Err(Refusal::new(
                Reason::NoPick,
                "swaps.planned",
                format!(
                    "{planned} is not among the pads of this job: {}.",
                    crate::check::list(&picked)
                ),
                "Swap one of those, or name the pad that worked without swapping.",
            ));
        }
        if let Some(stray) = said.first() {
            return Err(Refusal::new(
                Reason::NoPick,
                "pads.tag",
                format!("No step of this job works with a pad like {}.", stray.tag),
                "Leave it out, or log it as a loose use.",
            ));
        }
        Ok(deeds)
    }

    /// The pads of a step: those picked, swapped as said, and further ones of its make as said.
    fn pads(
        &self,
        step: &Step,
        planned: &StepPlan,
        taken: &mut BTreeSet<Tag>,
        swaps: &mut Vec<(Tag, Tag)>,
        said: &mut Vec<PadUse>,
    ) -> Result<StepPads, Refusal> {
        let makes = step_makes(self.scene.book, step, "routine.steps")?;
        let offer = offer_pads(&self.scene, step, planned, makes.pad, taken);
        let working = usize::try_from(planned.pad_count).unwrap_or(usize::MAX);
        let mut tags: Vec<Tag> = offer
            .choices
            .iter()
            .take(working)
            .map(|choice| choice.piece.tag)
            .collect();
        taken.extend(
            offer
                .choices
                .iter()
                .take(working)
                .map(|choice| choice.piece.tag),
        );
        for tag in &mut tags {
            if let Some(at) = swaps.iter().position(|(planned, _)| planned == tag) {
                let (_, used) = swaps.remove(at);
                *tag = used;
                taken.insert(used);
            }
        }
        // A pad that was named and not picked worked beside the others, if it is of this step's make.
        for pad in said.iter() {
            let fits = self
                .scene
                .book
                .piece(pad.tag)
                .is_some_and(|piece| piece.make == step.pad_make);
            if fits && !taken.contains(&pad.tag) {
                tags.push(pad.tag);
                taken.insert(pad.tag);
            }
        }
        let pads: StepPads = tags
            .into_iter()
            .map(|tag| match said.iter().position(|pad| pad.tag == tag) {
                Some(at) => said.remove(at),
                None => PadUse {
                    tag,
                    section_count: None,
                    found: None,
                    aside: None,
                },
            })
            .collect();
        if pads.is_empty() {
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
        Ok(pads)
    }

    fn worked(
        &self,
        step: &Step,
        planned: &StepPlan,
        pads: &StepPads,
    ) -> Result<Vec<Deed>, Refusal> {
        let makes = step_makes(self.scene.book, step, "routine.steps")?;
        let within = self.within(Some(&step.name));
        let mut deeds = Vec::new();
        if let Some(machine) = offer_machines(&self.scene, &step.machine_make).first() {
            let (tag, time_ms) = (machine.tag, planned.time_ms);
            deeds.push(Deed::MachineUsed {
                tag,
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
                time_ms: planned.time_ms,
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
        Ok(deeds)
    }

    fn liquids(&self) -> Vec<Deed> {
        let book = self.scene.book;
        let mut deeds = Vec::new();
        for (make, step, need) in liquid_needs(self.routine, self.plan) {
            let within = self.within(Some(step));
            let stated: Vec<(Tag, Volume)> = self
                .log
                .bottles
                .iter()
                .filter(|(tag, _)| book.piece(*tag).is_some_and(|piece| piece.make == *make))
                .map(|(tag, amount)| (*tag, volume_of(*amount, book.policy())))
                .collect();
            let is_stated = !stated.is_empty();
            let poured = if is_stated {
                stated
            } else {
                self.planned_pour(make, need)
            };
            for (at, (tag, volume_ul)) in poured.into_iter().enumerate() {
                let planned_ul = match (is_stated, at) {
                    (false, _) => volume_ul,
                    (true, 0) => need,
                    (true, _) => Volume::ZERO,
                };
                deeds.push(Deed::LiquidUsed {
                    tag,
                    within: within.clone(),
                    volume_ul,
                    planned_ul,
                    stated: is_stated,
                });
            }
        }
        for (tag, amount) in &self.log.bottles {
            let planned = self.routine.steps.iter().any(|step| {
                book.piece(*tag)
                    .is_some_and(|piece| piece.make == step.liquid_make)
            });
            if !planned {
                let volume_ul = volume_of(*amount, book.policy());
                let within = self.within(None);
                deeds.push(Deed::LiquidUsed {
                    tag: *tag,
                    within,
                    volume_ul,
                    planned_ul: Volume::ZERO,
                    stated: true,
                });
            }
        }
        deeds
    }

    /// Where the plan pours from; what the bottles do not hold in the book is put on the last one.
    fn planned_pour(&self, make: &Id, need: Volume) -> Vec<(Tag, Volume)> {
        let (bottles, _) = offer_bottles(&self.scene, make);
        let (mut taken, open) = take_volume(&bottles, need);
        if open > Volume::ZERO {
            match (taken.last_mut(), bottles.first()) {
                (Some((_, volume)), _) => *volume = volume.saturating_add(open),
                (None, Some((piece, _))) => taken.push((piece.tag, open)),
                (None, None) => {}
            }
        }
        taken
    }

    fn towels(&self) -> Vec<Deed> {
        let Some(make) = &self.routine.towel_make else {
            return Vec::new();
        };
        let dropped = self.log.dropped_towel_count;
        let need = self.plan.towel_count.saturating_add(dropped);
        let used = if self.log.bundles.is_empty() {
            let offers = offer_bundles(&self.scene, make);
            fill(&offers, need)
        } else {
            self.log.bundles.clone()
        };
        used.into_iter()
            .enumerate()
            .map(|(at, (tag, used_count))| Deed::TowelsUsed {
                tag,
                within: self.within(None),
                used_count,
                dropped_count: if at == 0 { dropped } else { 0 },
            })
            .collect()
    }

    fn sundries(&self) -> Vec<Deed> {
        let book = self.scene.book;
        let make_of = |tag: Tag| book.piece(tag).map(|piece| &piece.make);
        let mut used: Vec<(Tag, i64)> = self.log.sundries.clone();
        for (make, need) in &self.plan.sundries {
            if !self
                .log
                .sundries
                .iter()
                .any(|(tag, _)| make_of(*tag) == Some(make))
            {
                used.extend(fill(&offer_sundries(&self.scene, make), *need));
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
}

/// Takes a count from pieces in order; what they do not hold in the book is put on the last one.
fn fill(offers: &[(std::sync::Arc<Piece>, i64)], need: i64) -> Vec<(Tag, i64)> {
    let (mut taken, open) = take_count(offers, need);
    if open > 0 {
        match (taken.last_mut(), offers.first()) {
            (Some((_, count)), _) => *count = count.saturating_add(open),
            (None, Some((piece, _))) => taken.push((piece.tag, open)),
            (None, None) => {}
        }
    }
    taken
}

/// What becomes of pads after the use.
pub(super) fn fates(pads: &[PadUse]) -> Vec<Deed> {
    pads.iter()
        .filter_map(|pad| match (pad.found, pad.aside) {
            (Some(reason), _) => Some(Deed::Binned {
                tag: pad.tag,
                reason,
            }),
            (None, Some(reason)) => Some(Deed::SetAside {
                tag: pad.tag,
                reason,
            }),
            (None, None) => None,
        })
        .collect()
}

/// A liquid amount as a volume, dots by the book's dot.
pub(super) fn volume_of(amount: LiquidAmount, policy: &Policy) -> Volume {
    match amount {
        LiquidAmount::Volume(volume) => volume,
        LiquidAmount::Dots(dots) => {
            Volume::from_ul(dots.get().saturating_mul(policy.value(PolicyKey::DotUl)))
        }
    }
}

/// Refuses corrections that cannot be understood: unknown tags, wrong sorts, absurd figures.
fn understood(book: &Book, log: &JobLog) -> Result<(), Refusal> {
    for (field, count) in [
        ("pads", log.pads.len()),
        ("swaps", log.swaps.len()),
        ("bundles", log.bundles.len()),
        ("bottles", log.bottles.len()),
        ("sundries", log.sundries.len()),
        ("weighings", log.weighings.len()),
    ] {
        if count > LINES_MAX {
            return Err(Refusal::invalid(
                field,
                format!("More than {LINES_MAX} lines."),
                "Split the log.",
            ));
        }
    }
    for (planned, used) in &log.swaps {
        pad_piece(book, "swaps.planned", *planned)?;
        pad_piece(book, "swaps.used", *used)?;
    }
    within(
        "dropped_towel_count",
        log.dropped_towel_count,
        0,
        1_000,
        "towels",
    )?;
    parts_understood(book, &log.pads, &log.bottles, &log.bundles, &log.sundries)?;
    once(
        "weighings.bottle",
        log.weighings.iter().map(|weighing: &Weighing| weighing.tag),
    )
}

/// Refuses parts of a use that cannot be understood, in a job or outside any.
pub(super) fn parts_understood(
    book: &Book,
    pads: &[PadUse],
    bottles: &[(Tag, LiquidAmount)],
    bundles: &[(Tag, i64)],
    sundries: &[(Tag, i64)],
) -> Result<(), Refusal> {
    for pad in pads {
        pad_piece(book, "pads.tag", pad.tag)?;
        within(
            "pads.section_count",
            pad.section_count.unwrap_or(0),
            0,
            100_000,
            "sections",
        )?;
    }
    once("pads.tag", pads.iter().map(|pad| pad.tag))?;
    for (tag, amount) in bottles {
        let piece = book
            .piece(*tag)
            .ok_or_else(|| Refusal::no_tag("bottles.bottle", *tag))?;
        let Some(bottle) = piece.bottle() else {
            return Err(Refusal::wrong_sort(
                "bottles.bottle",
                *tag,
                sort(piece),
                "bottle",
            ));
        };
        let volume = volume_of(*amount, book.policy()).ul();
        let full = bottle.full_ul.ul();
        within(
            "bottles.amount",
            volume,
            0,
            full,
            "µL, what a full bottle holds",
        )?;
    }
    once("bottles.bottle", bottles.iter().map(|(tag, _)| *tag))?;
    for (tag, count) in bundles {
        let piece = book
            .piece(*tag)
            .ok_or_else(|| Refusal::no_tag("bundles.bundle", *tag))?;
        if piece.bundle().is_none() {
            return Err(Refusal::wrong_sort(
                "bundles.bundle",
                *tag,
                sort(piece),
                "bundle of towels",
            ));
        }
        within("bundles.used_count", *count, 0, 1_000, "towels")?;
    }
    once("bundles.bundle", bundles.iter().map(|(tag, _)| *tag))?;
    for (tag, quantity) in sundries {
        let piece = book
            .piece(*tag)
            .ok_or_else(|| Refusal::no_tag("sundries.tag", *tag))?;
        if piece.sundry_left().is_none() {
            return Err(Refusal::wrong_sort(
                "sundries.tag",
                *tag,
                sort(piece),
                "sundry",
            ));
        }
        within(
            "sundries.quantity",
            *quantity,
            0,
            1_000_000_000,
            "of its unit",
        )?;
    }
    once("sundries.tag", sundries.iter().map(|(tag, _)| *tag))
}

fn pad_piece(book: &Book, field: &str, tag: Tag) -> Result<(), Refusal> {
    let piece = book.piece(tag).ok_or_else(|| Refusal::no_tag(field, tag))?;
    if piece.pad().is_none() {
        return Err(Refusal::wrong_sort(field, tag, sort(piece), "pad"));
    }
    Ok(())
}

/// Refuses a tag that is named twice.
pub(super) fn once(field: &str, tags: impl Iterator<Item = Tag>) -> Result<(), Refusal> {
    let mut seen = BTreeSet::new();
    for tag in tags {
        if !seen.insert(tag) {
            return Err(Refusal::invalid(
                field,
                format!("{tag} is named twice."),
                "Name it once.",
            ));
        }
    }
    Ok(())
}
