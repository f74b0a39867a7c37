//! Taking a job: its pick is fixed and kept for it, or given back.
//!
//! A wish, and a fact once it was kept by a device: then it is recorded, and what the book says otherwise
//! is flagged. What the check stops goes only where a person says despite what; plate, film and vibration
//! never go. What goes to a job away from the bench is moved there with it.

mod moved;

use std::collections::BTreeMap;

use self::moved::moved;
use super::Decision;
use super::bounds::reason;
use super::diary::find;
use super::flags::not_ready;
use super::log::start::understood;
use crate::book::command::JobTake;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Subject, Tag};
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::pick::{clashes, quantity_of};
use crate::ready::plan::plan_job;
use crate::trade::job::{Job, JobState, SecondDay};
use crate::trade::kept::Kept;
use crate::trade::kit::{Piece, State};
use crate::trade::take::{Despite, Picked};
use crate::{Book, Moment};

/// A line of the check that says stop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Stop {
    /// What is stopped and why, a sentence.
    pub what: String,
    /// What ends it, a sentence each.
    pub ends: Vec<String>,
    /// Whether nobody passes it.
    pub is_never_passed: bool,
}

/// What the check says of a job with a pick.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Seen {
    /// The pick.
    pub picked: Vec<Picked>,
    /// Its lines that say stop.
    pub stops: Vec<Stop>,
}

/// The check of a booked job at a moment: with these pieces, or where there are none with what it picks.
pub(crate) type See = fn(&Book, &Job, &[Picked], Moment) -> Result<Seen, Refusal>;

pub(super) fn take_job(
    book: &Book,
    take: &JobTake,
    now: Moment,
    see: See,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(&take.said, now)?;
    reason("despite", &take.despite)?;
    understood(book, &take.picked)?;
    let job = find(book, "job", &take.job)?;
    let kept = take.said.kept.as_ref();
    if kept.is_none() {
        once_a_day(book, job, &take.picked)?;
    }
    let is_booked = job.state == JobState::Booked;
    if !is_booked && kept.is_none() {
        return Err(Refusal::new(
            Reason::JobState,
            "job",
            format!(
                "The job {} is {}; only a booked job is taken.",
                job.id,
                job.state.word()
            ),
            "Book another job.",
        ));
    }
    if take.is_released {
        return give_back(job, kept, decision);
    }
    let seen = see(book, job, &take.picked, decision.done_at);
    let seen = match (seen, kept) {
        (Ok(seen), _) => seen,
        (Err(refused), None) => return Err(refused),
        // What was kept is recorded as said, whatever the book says of the job by now.
        (Err(_), Some(_)) => Seen {
            picked: take.picked.clone(),
            stops: Vec::new(),
        },
    };
    let saw_all = kept.is_none_or(|kept| kept.mark.seen >= book.head());
    if saw_all {
        may_go(&seen.stops, &take.despite)?;
    }
    let passed: Vec<&Stop> = seen
        .stops
        .iter()
        .filter(|stop| !stop.is_never_passed && !take.despite.is_empty())
        .collect();
    let mut flags = against_the_book(book, job, &seen.picked, kept, decision.done_at);
    let left = seen.stops.iter().filter(|stop| !passed.contains(stop));
    flags.extend(left.map(|stop| stop_unseen(job, stop)));
    let is_passed = !passed.is_empty() || (kept.is_some() && !take.despite.is_empty());
    let despite = is_passed.then(|| Despite {
        why: take.despite.clone(),
        passed: passed.into_iter().map(|stop| stop.what.clone()).collect(),
    });
    flags.extend(despite.iter().map(|despite| Flag {
        subject: Subject::Job(job.id.clone()),
        text: despite.sentence(&job.id),
        count: false,
    }));
    let (moves, stay) = moved(book, job, &seen.picked, kept);
    flags.extend(stay);
    let mut deeds = vec![Deed::JobTaken {
        job: job.id.clone(),
        picked: seen.picked.clone(),
        despite,
    }];
    deeds.extend(moves);
    Ok(Decision {
        picked: seen.picked,
        ..decision.with(deeds, flags)
    })
}

/// Refuses a pad in two steps of one day: it works in one, and on each day of a job that takes two.
fn once_a_day(book: &Book, job: &Job, picked: &[Picked]) -> Result<(), Refusal> {
    let Ok(plan) = plan_job(book, job) else {
        return Ok(());
    };
    let is_pad = |tag: Tag| book.piece(tag).is_some_and(|piece| piece.pad().is_some());
    let mut seen = BTreeMap::new();
    for one in picked.iter().filter(|one| is_pad(one.tag)) {
        let mut parts = plan.steps.iter();
        let part = parts.find(|part| one.step.as_ref() == Some(&part.name));
        let Some(part) = part else { continue };
        let other = seen.insert((one.tag, part.second_day), &part.name);
        if let Some(other) = other.filter(|other| **other != part.name) {
            return Err(Refusal::invalid(
                "picked.tag",
                format!(
                    "{} is picked for {other} and for {}, on one day.",
                    one.tag, part.name
                ),
                "Name each pad for one step a day.",
            ));
        }
    }
    Ok(())
}

/// Refuses what the check stops and nobody passed.
fn may_go(stops: &[Stop], despite: &str) -> Result<(), Refusal> {
    let (never, others): (Vec<&Stop>, Vec<&Stop>) =
        stops.iter().partition(|stop| stop.is_never_passed);
    let told = |stops: &[&Stop]| {
        let what: Vec<&str> = stops.iter().map(|stop| stop.what.as_str()).collect();
        format!("The check says stop. {}", what.join(" "))
    };
    let ends = |stops: &[&Stop]| {
        let ends: Vec<&str> = stops
            .iter()
            .flat_map(|stop| stop.ends.iter().map(String::as_str))
            .collect();
        ends.join(" ")
    };
    if !never.is_empty() {
        return Err(Refusal::new(
            Reason::NeverPassed,
            "job",
            told(&never),
            format!("This is never passed; it ends so: {}", ends(&never)),
        ));
    }
    if !others.is_empty() && despite.is_empty() {
        return Err(Refusal::new(
            Reason::CheckStops,
            "despite",
            told(&others),
            format!(
                "It ends so: {} Or say in a sentence why the job goes despite that; it is recorded.",
                ends(&others)
            ),
        ));
    }
    Ok(())
}

fn give_back(job: &Job, kept: Option<&Kept>, decision: Decision) -> Result<Decision, Refusal> {
    let id = &job.id;
    let deeds = vec![Deed::JobReleased { job: id.clone() }];
    if job.taken.is_some() {
        let flags = kept.and_then(|kept| met(job, kept));
        return Ok(decision.with(deeds, flags.into_iter().collect()));
    }
    if kept.is_none() {
        return Err(Refusal::new(
            Reason::JobState,
            "job",
            format!("Nothing is taken for the job {id}, so nothing can be given back."),
            "Look at the job.",
        ));
    }
    let flag = Flag {
        subject: Subject::Job(id.clone()),
        text: format!("Nothing was taken for the job {id} in the book, so nothing is given back."),
        count: false,
    };
    Ok(decision.with(deeds, vec![flag]))
}

/// What the book says otherwise of a job and of the pieces that are taken for it.
fn against_the_book(
    book: &Book,
    job: &Job,
    picked: &[Picked],
    kept: Option<&Kept>,
    at: Moment,
) -> Vec<Flag> {
    let mut flags: Vec<Flag> = kept.and_then(|kept| met(job, kept)).into_iter().collect();
    if job.state != JobState::Booked {
        flags.push(Flag {
            subject: Subject::Job(job.id.clone()),
            text: format!("The job {} is {} in the book.", job.id, job.state.word()),
            count: false,
        });
    }
    let mut looked_at: Vec<Tag> = Vec::new();
    for one in picked {
        if looked_at.contains(&one.tag) {
            continue;
        }
        looked_at.push(one.tag);
        let Some(piece) = book.piece(one.tag) else {
            continue;
        };
        let ready_at = at.max(start_of(book, job, one));
        let texts = [
            has_one_readiness(piece)
                .then(|| not_ready(piece, ready_at))
                .flatten(),
            went_elsewhere(piece, job, kept),
            taken_twice(book, piece, job, quantity_of(picked, one.tag)),
        ];
        flags.extend(texts.into_iter().flatten().map(|text| Flag {
            subject: Subject::Piece(one.tag),
            text,
            count: false,
        }));
    }
    flags
}

/// When the work starts that a piece is picked for: on the second day that of its step.
fn start_of(book: &Book, job: &Job, picked: &Picked) -> Moment {
    let works = |second: &SecondDay| {
        let plan = plan_job(book, job).ok()?;
        let mut parts = plan.steps.iter();
        let part = parts.find(|part| picked.step.as_ref() == Some(&part.name))?;
        part.second_day.then_some(second.starts_at)
    };
    let second = job.second_day.as_ref();
    second.and_then(works).unwrap_or(job.starts_at)
}

/// Whether its readiness says all of a piece: of a bundle some may be clean while the rest is soiled.
const fn has_one_readiness(piece: &Piece) -> bool {
    !matches!(piece.state, State::Bundle(_)) || piece.is_binned()
}

/// A piece that went elsewhere after what the device had seen.
fn went_elsewhere(piece: &Piece, job: &Job, kept: Option<&Kept>) -> Option<String> {
    let is_news = kept.is_some_and(|kept| piece.last_seq > kept.mark.seen);
    if !is_news || piece.place == job.place || piece.is_binned() {
        return None;
    }
    let (tag, place) = (piece.tag, &piece.place);
    Some(format!(
        "{tag} is at {place} in the book and the job {} at {}, which this device had not seen. Move it \
         if it is there.",
        job.id, job.place
    ))
}

/// A piece that is taken for another job as well: both stand.
fn taken_twice(book: &Book, piece: &Piece, job: &Job, quantity: i64) -> Option<String> {
    let other = book
        .takers(piece.tag)
        .find(|other| other.id != job.id && clashes(piece, job, quantity, other))?;
    let told = &other.taken.as_ref()?.told;
    let by = if told.by.is_empty() {
        String::new()
    } else {
        format!(" by {}", told.by)
    };
    Some(format!(
        "{} is taken for {} too, in entry {}{by}. Both stand: give it back in one, or take that job anew.",
        piece.tag, other.id, told.seq
    ))
}

/// A job that somebody else took or changed while the device had no signal.
fn met(job: &Job, kept: &Kept) -> Option<Flag> {
    let id = &job.id;
    let taken = job.taken.as_ref().map(|take| &take.told);
    let taken = taken.filter(|told| told.seq > kept.mark.seen);
    let text = match taken {
        // This device's own, last of all.
        Some(told) if *told.by == *kept.by && told.seq == job.last_seq => return None,
        Some(told) if *told.by != *kept.by => format!(
            "The job {id} was taken in entry {} by {} too, which this device had not seen; this comes \
             in its place.",
            told.seq, told.by
        ),
        _ if job.last_seq > kept.mark.seen => format!(
            "The job {id} was changed in entry {}, which this device had not seen. Look at the job.",
            job.last_seq
        ),
        _ => return None,
    };
    Some(Flag {
        subject: Subject::Job(id.clone()),
        text,
        count: false,
    })
}

/// A stop of the check that a device could not know of when the job was taken there.
fn stop_unseen(job: &Job, stop: &Stop) -> Flag {
    let mut text = format!("The check of {} says stop. {}", job.id, stop.what);
    for end in &stop.ends {
        text.push(' ');
        text.push_str(end);
    }
    Flag {
        subject: Subject::Job(job.id.clone()),
        text,
        count: false,
    }
}
