//! Setting up and editing cars.
//!
//! Serves the diary and the plan, which go by a car's class, size and panels. Overall sizes are
//! held to what a car can be when they are parsed; here only what is said of panels is looked at.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::{NAME_CHARS_MAX, not_there, unchanged};
use crate::book::deed::Deed;
use crate::decide::Decision;
use crate::decide::bounds::line_of_text;
use crate::decide::doubts::doubt_film;
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::film::FilmReadings;
use crate::trade::job::Car;
use crate::{Book, Moment};

/// Sets a car up.
pub(in crate::decide) fn create(book: &Book, car: &Car, now: Moment) -> Result<Decision, Refusal> {
    not_there(book.car(&car.id).is_some(), "car", &car.id)?;
    set(car, None, now)
}

/// Edits a car.
pub(in crate::decide) fn edit(
    book: &Book,
    was: &Car,
    car: &Car,
    now: Moment,
) -> Result<Decision, Refusal> {
    let held = book
        .car(&car.id)
        .ok_or_else(|| Refusal::no_id(Reason::CarUnknown, "car.car", "car", &car.id))?;
    unchanged(held.as_ref() == was, "car")?;
    set(car, Some(was), now)
}

fn set(car: &Car, was: Option<&Car>, now: Moment) -> Result<Decision, Refusal> {
    line_of_text("car.note", &car.note, NAME_CHARS_MAX)?;
    let mut seen = BTreeSet::new();
    for note in &car.panels {
        if !seen.insert(note.panel) {
            return Err(Refusal::invalid(
                "car.panels",
                format!("The panel {} is named twice.", note.panel),
                "Name each panel once.",
            ));
        }
    }
    let flags = doubt_film(car, was);
    // What was read is not set with it.
    let car = Arc::new(Car {
        film: FilmReadings::default(),
        ..car.clone()
    });
    Ok(Decision {
        flags,
        ..Decision::now(vec![Deed::CarSet { car }], now)
    })
}
