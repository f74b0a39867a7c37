//! Setting up and editing makes.
//!
//! Serves everything that computes with a make's figures: those that depend on each other are held
//! to it, and a rating left open is filled from the policy. A make never becomes another sort of
//! thing.

use std::sync::Arc;

use super::{NAME_CHARS_MAX, not_there, unchanged};
use crate::book::deed::Deed;
use crate::decide::Decision;
use crate::decide::bounds::{line_of_text, note, open_within, within};
use crate::decide::weigh::tare_said;
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::battery::BatteryFigures;
use crate::trade::make::{Figures, MachineFigures, Make, PadFigures};
use crate::trade::wear::Action;
use crate::{Book, Moment};

/// Sets a make up.
pub(in crate::decide) fn create(
    book: &Book,
    make: &Make,
    now: Moment,
) -> Result<Decision, Refusal> {
    not_there(book.make(&make.id).is_some(), "make", &make.id)?;
    let given = Make {
        filled: None,
        ..make.clone()
    };
    set(book, given, now)
}

/// Edits a make.
pub(in crate::decide) fn edit(
    book: &Book,
    was: &Make,
    make: &Make,
    now: Moment,
) -> Result<Decision, Refusal> {
    let held = book
        .make(&make.id)
        .ok_or_else(|| Refusal::no_id(Reason::MakeUnknown, "make.make", "make", &make.id))?;
    unchanged(held.as_ref() == was, "make")?;
    let (is, wanted) = (held.figures.sort(), make.figures.sort());
    if is != wanted {
        return Err(Refusal::new(
            Reason::WrongSort,
            "make.figures",
            format!("{} is a {is}; it cannot become a {wanted}.", make.id),
            "Set up another make.",
        ));
    }
    if let (Figures::Sundry(is), Figures::Sundry(wanted)) = (&held.figures, &make.figures)
        && is.unit != wanted.unit
    {
        return Err(Refusal::new(
            Reason::WrongSort,
            "make.sundry.unit",
            format!("What there is of {} is counted in another unit.", make.id),
            "Set up another make.",
        ));
    }
    let edited = make.clone().edited_from(held, book.policy());
    let mut decision = set(book, edited, now)?;
    decision.deeds.extend(tare_said(book, make));
    Ok(decision)
}

fn set(book: &Book, make: Make, now: Moment) -> Result<Decision, Refusal> {
    if make.name.trim().is_empty() {
        return Err(Refusal::missing(
            "make.name",
            "Give the name as you say it.",
        ));
    }
    line_of_text("make.name", &make.name, NAME_CHARS_MAX)?;
    note(&make.note)?;
    match &make.figures {
        Figures::Pad(pad) => lives_make_sense(pad)?,
        Figures::Machine(machine) => machine_makes_sense(machine)?,
        Figures::Battery(battery) => battery_makes_sense(book, battery)?,
        Figures::Plate(_)
        | Figures::Towel(_)
        | Figures::Liquid(_)
        | Figures::Sundry(_)
        | Figures::Tool(_) => {}
    }
    let make = Arc::new(make.filled(book.policy()));
    Ok(Decision::now(vec![Deed::MakeSet { make }], now))
}

/// What the user has seen pads of a make last: both figures or none, the least below the typical.
fn lives_make_sense(pad: &PadFigures) -> Result<(), Refusal> {
    match (pad.typical_life_sections, pad.least_life_sections) {
        (None, None) => Ok(()),
        (Some(typical), Some(least)) => {
            let below = typical.saturating_sub(1);
            let unit = "reference sections, less than the typical life";
            within("make.pad.least_life_sections", least, 1, below, unit)
        }
        (None, Some(_)) => Err(Refusal::missing(
            "make.pad.typical_life_sections",
            "The two lives go together: give the typical one too, or neither.",
        )),
        (Some(_), None) => Err(Refusal::missing(
            "make.pad.least_life_sections",
            "The two lives go together: give the one that 19 of 20 exceed too, or neither.",
        )),
    }
}

/// A battery fits at least one machine make, each named once.
fn battery_makes_sense(book: &Book, battery: &BatteryFigures) -> Result<(), Refusal> {
    const FIELD: &str = "make.battery.machine_makes";
    if battery.machines.is_empty() {
        return Err(Refusal::missing(
            FIELD,
            "Name the machine makes that it fits.",
        ));
    }
    for (at, id) in battery.machines.iter().enumerate() {
        if battery.machines.iter().take(at).any(|other| other == id) {
            return Err(Refusal::invalid(
                FIELD,
                format!("{id} is named twice."),
                "Name it once.",
            ));
        }
        let make = book
            .make(id)
            .ok_or_else(|| Refusal::no_id(Reason::MakeUnknown, FIELD, "make", id))?;
        if !matches!(make.figures, Figures::Machine(_)) {
            return Err(Refusal::new(
                Reason::WrongSort,
                FIELD,
                format!(
                    "{id} is a {}; a battery fits machines.",
                    make.figures.sort()
                ),
                "Name a machine make.",
            ));
        }
    }
    Ok(())
}

/// A rotary has no throw and an orbital has one; no machine is worked above its highest marked speed.
fn machine_makes_sense(machine: &MachineFigures) -> Result<(), Refusal> {
    let wrong =
        |what: &str, todo: &str| Err(Refusal::quantity("make.machine.throw_mm", what, todo));
    match (machine.action, machine.throw_mm.mm() > 0) {
        (Action::Orbital, false) => {
            return wrong(
                "An orbital has a throw, and none is given.",
                "Give its throw in mm, as marked on it.",
            );
        }
        (Action::Rotary, true) => {
            return wrong("A rotary has no throw.", "Leave its throw out.");
        }
        (Action::Orbital, true) | (Action::Rotary, false) => {}
    }
    let unit = "per minute, the highest marked speed";
    let (usual, marked) = (machine.work_speed_per_min, machine.max_speed_per_min);
    open_within("make.machine.work_speed_per_min", usual, 0, marked, unit)
}
