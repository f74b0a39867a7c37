//! The check of a pick that was taken, and what other jobs have taken of the kit.
//!
//! Serves the check and the taking of a job. It never makes a line less grave than the kit makes it.

use std::collections::BTreeMap;

use super::line::{Line, LineKind, Verdict, local};
use super::{JobCheck, check_jobs};
use crate::book::change::Stamp;
use crate::book::deed::Deed;
use crate::decide::{Seen, Stop};
use crate::ground::ids::{Id, Tag, list};
use crate::ground::refusal::Refusal;
use crate::ready::pick::{Scene, clashes, quantity_of};
use crate::trade::job::Job;
use crate::trade::take::Picked;
use crate::{Book, Moment};

/// The check of a booked job at a moment: with these pieces, or where there are none with what it picks.
///
/// # Errors
/// When the job is not booked, or cannot be planned.
pub(crate) fn see(book: &Book, job: &Job, picked: &[Picked], now: Moment) -> Result<Seen, Refusal> {
    let mut imagined = book.clone();
    let id = job.id.clone();
    let deed = if picked.is_empty() {
        Deed::JobReleased { job: id }
    } else {
        Deed::JobTaken {
            job: id,
            picked: picked.to_vec(),
            despite: None,
        }
    };
    imagined.take(&deed, Stamp::unreported(book.head(), now));
    let checks = check_jobs(&imagined, std::slice::from_ref(&job.id), now)?;
    let lines = || checks.iter().flat_map(|check: &JobCheck| &check.lines);
    let stops = lines().filter(|line| line.verdict == Verdict::Stop);
    let picked = if picked.is_empty() {
        lines().flat_map(picked_of).collect()
    } else {
        picked.to_vec()
    };
    Ok(Seen {
        picked,
        stops: stops.map(stop).collect(),
    })
}

/// What a line picks, as it is taken.
fn picked_of(line: &Line) -> impl Iterator<Item = Picked> {
    line.picks.iter().map(|pick| Picked {
        tag: pick.tag,
        step: line.step.clone(),
        quantity: pick.quantity,
        spare: pick.spare,
    })
}

fn stop(line: &Line) -> Stop {
    let of = line
        .step
        .as_ref()
        .map_or_else(String::new, |step| format!(" ({step})"));
    Stop {
        what: format!("{}{of}: {}", line.what, line.reason),
        ends: line.todos.clone(),
        is_never_passed: matches!(
            line.kind,
            LineKind::Plate | LineKind::Film | LineKind::Vibration
        ),
    }
}

/// Says of lines what was taken: for this job, and of the kit for others.
pub(super) fn say_taken(scene: &Scene<'_>, lines: &mut [Line]) {
    for line in lines {
        if line.short > 0 {
            say_kept_for_others(line, scene);
        }
        if scene.fixed().is_empty() {
            continue;
        }
        if line.short > 0 && !line.picks.is_empty() {
            line.todo("Or take the job anew, so that others go in the place of what is missing.");
        }
        say_contested(line, scene);
    }
}

/// Names what would be there if other jobs had not taken it.
fn say_kept_for_others(line: &mut Line, scene: &Scene<'_>) {
    let Some(make) = line.make.clone() else {
        return;
    };
    let mut by_job: BTreeMap<&Id, (&Job, Vec<Tag>)> = BTreeMap::new();
    for piece in scene.book.pieces_of(&make) {
        for job in scene.other_takers(piece.tag) {
            let (_, tags) = by_job.entry(&job.id).or_insert((job, Vec::new()));
            tags.push(piece.tag);
        }
    }
    for (id, (job, tags)) in by_job {
        line.raise(Verdict::Go, format!("Taken for {id}: {}.", list(&tags)));
        if job.is_left_unlogged(scene.now) {
            line.todo(format!(
                "{id} started on {} and is not logged: log it, or give back what was taken for it.",
                local(scene, job.starts_at)
            ));
        }
    }
}

/// Watches what was taken for this job and for another as well.
fn say_contested(line: &mut Line, scene: &Scene<'_>) {
    let picks: Vec<Tag> = line.picks.iter().map(|pick| pick.tag).collect();
    for tag in picks {
        let Some(piece) = scene.book.piece(tag) else {
            continue;
        };
        let own = quantity_of(scene.fixed(), tag);
        let mut others = scene.other_takers(tag);
        let other = others.find(|other| clashes(piece, scene.job, own, other));
        if let Some(job) = other {
            line.raise(
                Verdict::Watch,
                format!("{tag} is taken for {} too.", job.id),
            );
            line.todo(format!(
                "Give {tag} back in one of them, or take that job anew."
            ));
        }
    }
}
