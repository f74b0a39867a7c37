//! Setting up and editing routines.
//!
//! Serves the plan, which must be able to work every routine in the book: a step whose makes are
//! unknown, of the wrong sort, or do not go together is refused here, not on the day.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::{NAME_CHARS_MAX, not_there, unchanged};
use crate::book::deed::Deed;
use crate::decide::Decision;
use crate::decide::bounds::{line_of_text, within};
use crate::decide::diary::release;
use crate::ground::ids::Id;
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::plan::Setup;
use crate::trade::job::{Routine, Step, SundryNeed};
use crate::trade::make::Figures;
use crate::trade::tool::ToolNeed;
use crate::{Book, Moment};

mod shared;

/// Most steps or sundries in a routine: more than anybody works through.
const LINES_MAX: usize = 24;
/// Slowest speed a step is worked at, per minute: below it no machine turns.
const SPEED_PER_MIN_MIN: i64 = 100;

/// Sets a routine up.
pub(in crate::decide) fn create(
    book: &Book,
    routine: &Routine,
    now: Moment,
) -> Result<Decision, Refusal> {
    not_there(book.routine(&routine.id).is_some(), "routine", &routine.id)?;
    set(book, routine, now)
}

/// Edits a routine.
pub(in crate::decide) fn edit(
    book: &Book,
    was: &Routine,
    routine: &Routine,
    now: Moment,
) -> Result<Decision, Refusal> {
    let (field, id) = ("routine.routine", &routine.id);
    let held = book
        .routine(id)
        .ok_or_else(|| Refusal::no_id(Reason::RoutineUnknown, field, "routine", id))?;
    unchanged(held.as_ref() == was, "routine")?;
    let decision = set(book, routine, now)?;
    let of_routine = book.booked_jobs().filter(|job| job.routine == *id);
    Ok(of_routine.fold(decision, |decision, job| {
        release(decision, job, &format!("The routine {id} was edited"))
    }))
}

fn set(book: &Book, routine: &Routine, now: Moment) -> Result<Decision, Refusal> {
    line_of_text("routine.name", &routine.name, NAME_CHARS_MAX)?;
    if routine.steps.is_empty() {
        return Err(Refusal::missing("routine.steps", "Name at least one step."));
    }
    if routine.steps.len().max(routine.sundries.len()) > LINES_MAX {
        return Err(Refusal::invalid(
            "routine.steps",
            format!("A routine has at most {LINES_MAX} steps and as many sundries."),
            "Split it into several routines.",
        ));
    }
    let mut names = BTreeSet::new();
    for step in &routine.steps {
        let field = format!("routine.steps.{}", step.name);
        for part in step.parts() {
            if !names.insert(&part.name) {
                return Err(Refusal::invalid(
                    &field,
                    format!("Two steps are called {}.", part.name),
                    "Name each step apart.",
                ));
            }
        }
        step_makes_sense(book, step, &field)?;
        shared::makes_sense(book, step, &field)?;
    }
    if let Some(id) = &routine.towel_make {
        needs_sort(book, "routine.towel_make", id, "towel", |figures| {
            matches!(figures, Figures::Towel(_))
        })?;
    }
    towels_kept_apart(book, routine)?;
    for need in &routine.sundries {
        sundry_makes_sense(book, need)?;
    }
    tools_make_sense(book, &routine.tools)?;
    let routine = Arc::new(routine.clone());
    Ok(Decision::now(vec![Deed::RoutineSet { routine }], now))
}

/// Wipe-downs take towels of a make that takes residue in no routine: a grade never goes back up.
fn towels_kept_apart(book: &Book, routine: &Routine) -> Result<(), Refusal> {
    let others = book.routines().filter(|other| other.id != routine.id);
    let all: Vec<&Routine> = others.map(AsRef::as_ref).chain([routine]).collect();
    for step in &routine.steps {
        let Some(id) = &step.wipe_down_make else {
            continue;
        };
        let field = format!("routine.steps.{}.wipe_down_make", step.name);
        needs_sort(book, &field, id, "towel", |figures| {
            matches!(figures, Figures::Towel(_))
        })?;
        if let Some(other) = all
            .iter()
            .find(|other| other.towel_make.as_ref() == Some(id))
        {
            return Err(taken_for_both(&field, id, &other.id, "takes residue"));
        }
    }
    let Some(id) = &routine.towel_make else {
        return Ok(());
    };
    let wipes_down = |other: &Routine| {
        let mut steps = other.steps.iter();
        steps.any(|step| step.wipe_down_make.as_ref() == Some(id))
    };
    match all.iter().find(|other| wipes_down(other)) {
        Some(other) => Err(taken_for_both(
            "routine.towel_make",
            id,
            &other.id,
            "wipes down",
        )),
        None => Ok(()),
    }
}

fn taken_for_both(field: &str, make: &Id, routine: &Id, does: &str) -> Refusal {
    Refusal::invalid(
        field,
        format!("The towel make {make} {does} in the routine {routine}."),
        "Name one make of towel for residue and another for wipe-downs.",
    )
}

pub(super) fn step_makes_sense(book: &Book, step: &Step, field: &str) -> Result<(), Refusal> {
    let setup = Setup::of(book, step, field)?;
    let (side, face) = (setup.lane.side(), setup.lane.face());
    if side <= face {
        return Err(Refusal::quantity(
            &format!("{field}.side_mm"),
            format!("A section of {side} is no wider than the pad of {face}."),
            "Give a side wider than the pad, such as 300 mm for a small one.",
        ));
    }
    speed_can_be(&setup, step, field)
}

/// A speed that the machine of a step can be worked at.
pub(in crate::decide) fn speed_can_be(
    setup: &Setup<'_>,
    step: &Step,
    field: &str,
) -> Result<(), Refusal> {
    let at = || format!("{field}.speed_per_min");
    match (setup.makes.machine, step.speed_per_min) {
        (_, None) => Ok(()),
        (Some(machine), Some(speed)) => within(
            &at(),
            speed,
            SPEED_PER_MIN_MIN,
            machine.max_speed_per_min,
            "per minute, the machine's highest marked speed",
        ),
        (None, Some(_)) => Err(Refusal::invalid(
            &at(),
            format!("Step {} is done by hand, where nothing turns.", step.name),
            "Leave the speed out, or name the machine.",
        )),
    }
}

fn sundry_makes_sense(book: &Book, need: &SundryNeed) -> Result<(), Refusal> {
    let field = "routine.sundries.make";
    needs_sort(book, field, &need.make, "sundry", |figures| {
        matches!(figures, Figures::Sundry(_))
    })
}

fn tools_make_sense(book: &Book, tools: &[ToolNeed]) -> Result<(), Refusal> {
    const FIELD: &str = "routine.tools.make";
    if tools.len() > LINES_MAX {
        return Err(Refusal::invalid(
            "routine.tools",
            format!("A routine has at most {LINES_MAX} tools."),
            "Split it into several routines.",
        ));
    }
    let mut named = BTreeSet::new();
    for need in tools {
        needs_sort(book, FIELD, &need.make, "tool", |figures| {
            matches!(figures, Figures::Tool(_))
        })?;
        if !named.insert(&need.make) {
            return Err(Refusal::invalid(
                FIELD,
                format!("The tool {} is named twice.", need.make),
                "Name each tool once.",
            ));
        }
    }
    Ok(())
}

fn needs_sort(
    book: &Book,
    field: &str,
    id: &Id,
    needs: &str,
    is: impl Fn(&Figures) -> bool,
) -> Result<(), Refusal> {
    let make = book
        .make(id)
        .ok_or_else(|| Refusal::no_id(Reason::MakeUnknown, field, "make", id))?;
    if is(&make.figures) {
        return Ok(());
    }
    Err(Refusal::new(
        Reason::WrongSort,
        field,
        format!(
            "The make {id} is a {}; this needs a {needs}.",
            make.figures.sort()
        ),
        "Name another make.",
    ))
}
