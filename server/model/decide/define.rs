//! Setting up and editing makes, cars, routines and policies.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::{Decision, line_of_text, note, within};
use crate::deed::Deed;
use crate::ids::{Id, Subject};
use crate::job::{Car, Routine};
use crate::make::{Figures, LiquidFigures, MachineFigures, Make, PadFigures, PlateFigures};
use crate::plan::Setup;
use crate::policy::PolicyKey;
use crate::refusal::{Reason, Refusal};
use crate::wear::Action;
use crate::{Book, Moment};

/// Longest name or car note, in characters.
const NAME_CHARS_MAX: usize = 80;
/// Most steps or sundries in a routine: more than anybody works through.
const ROUTINE_LINES_MAX: usize = 24;
/// Widest pad, mm: no panel is worked with a wider one.
const FACE_MM_MAX: i64 = 300;

pub(super) fn create_make(book: &Book, make: &Make, now: Moment) -> Result<Decision, Refusal> {
    free(
        book,
        "make.make",
        "make",
        &make.id,
        &Subject::Make(make.id.clone()),
    )?;
    set_make(book, make, now)
}

pub(super) fn edit_make(
    book: &Book,
    was: &Make,
    make: &Make,
    now: Moment,
) -> Result<Decision, Refusal> {
    let held = book
        .make(&make.id)
        .ok_or_else(|| Refusal::no_id(Reason::MakeUnknown, "make.make", "make", &make.id))?;
    unchanged(held.as_ref() == was, "make")?;
    if held.figures.sort() != make.figures.sort() {
        return Err(Refusal::new(
            Reason::WrongSort,
            "make.figures",
            format!(
                "{} is a {}; it cannot become a {}.",
                make.id,
                held.figures.sort(),
                make.figures.sort()
            ),
            "Set up another make.",
        ));
    }
    set_make(book, make, now)
}

fn set_make(book: &Book, make: &Make, now: Moment) -> Result<Decision, Refusal> {
    if make.name.trim().is_empty() {
        return Err(Refusal::missing(
            "make.name",
            "Give the name as you say it.",
        ));
    }
    line_of_text("make.name", &make.name, NAME_CHARS_MAX)?;
    note(&make.note)?;
    within("make.pack_count", make.pack_count, 1, 10_000, "pieces")?;
    match &make.figures {
        Figures::Pad(pad) => pad_makes_sense(pad)?,
        Figures::Plate(plate) => plate_makes_sense(plate)?,
        Figures::Machine(machine) => machine_makes_sense(machine)?,
        Figures::Towel(towel) => {
            within(
                "make.towel.weight_g_per_m2",
                towel.weight_g_per_m2,
                50,
                3_000,
                "g/m²",
            )?;
            open_within(
                "make.towel.inspect_wash_count",
                towel.inspect_wash_count,
                1,
                10_000,
                "washes",
            )?;
            open_within(
                "make.towel.demote_wash_count",
                towel.demote_wash_count,
                1,
                10_000,
                "washes",
            )?;
            open_within(
                "make.towel.dry_time_s",
                towel.dry_time_s.map(|s| s.s()),
                0,
                2_592_000,
                "s",
            )?;
        }
        Figures::Liquid(liquid) => liquid_makes_sense(liquid)?,
        Figures::Sundry(sundry) => {
            within(
                "make.sundry.pack_quantity",
                sundry.pack_quantity,
                1,
                1_000_000_000,
                "of its unit",
            )?;
        }
    }
    let filled = make.clone().filled(book.policy());
    Ok(Decision::now(
        vec![Deed::MakeSet {
            make: Arc::new(filled),
        }],
        now,
    ))
}

fn pad_makes_sense(pad: &PadFigures) -> Result<(), Refusal> {
    let face = pad.face_mm.mm();
    if face > FACE_MM_MAX {
        return Err(Refusal::quantity(
            "make.pad.face_mm",
            format!(
                "A pad of {face} mm is wider than any panel takes; the widest is {FACE_MM_MAX} mm."
            ),
            "Give the diameter of the face, such as 150 mm.",
        ));
    }
    within("make.pad.face_mm", face, 10, FACE_MM_MAX, "mm")?;
    open_within(
        "make.pad.rated_work_sections",
        pad.rated_work_sections,
        1,
        100_000,
        "reference sections",
    )?;
    open_within(
        "make.pad.rated_wash_count",
        pad.rated_wash_count,
        1,
        10_000,
        "washes",
    )?;
    open_within(
        "make.pad.load_sections",
        pad.load_sections,
        1,
        10_000,
        "sections",
    )?;
    open_within(
        "make.pad.dry_time_s",
        pad.dry_time_s.map(|s| s.s()),
        0,
        2_592_000,
        "s",
    )
}

fn plate_makes_sense(plate: &PlateFigures) -> Result<(), Refusal> {
    within(
        "make.plate.diameter_mm",
        plate.diameter_mm.mm(),
        10,
        FACE_MM_MAX,
        "mm",
    )?;
    open_within(
        "make.plate.rated_speed_per_min",
        plate.rated_speed_per_min,
        100,
        100_000,
        "per minute",
    )?;
    open_within("make.plate.rated_run_h", plate.rated_run_h, 1, 100_000, "h")?;
    open_within(
        "make.plate.rated_change_count",
        plate.rated_change_count,
        1,
        1_000_000,
        "changes",
    )
}

fn machine_makes_sense(machine: &MachineFigures) -> Result<(), Refusal> {
    match machine.action {
        Action::Orbital => within(
            "make.machine.throw_mm",
            machine.throw_mm.mm(),
            1,
            50,
            "mm for an orbital",
        )?,
        Action::Rotary => within(
            "make.machine.throw_mm",
            machine.throw_mm.mm(),
            0,
            0,
            "for a rotary, which has no throw",
        )?,
    }
    within(
        "make.machine.max_speed_per_min",
        machine.max_speed_per_min,
        100,
        50_000,
        "per minute",
    )?;
    open_within(
        "make.machine.work_speed_per_min",
        machine.work_speed_per_min,
        100,
        machine.max_speed_per_min,
        "per minute, the highest marked speed",
    )?;
    open_within(
        "make.machine.vibration_mm_per_s2",
        machine.vibration_mm_per_s2,
        0,
        100_000,
        "mm/s²",
    )?;
    open_within("make.machine.noise_db", machine.noise_db, 20, 150, "dB(A)")
}

fn liquid_makes_sense(liquid: &LiquidFigures) -> Result<(), Refusal> {
    within(
        "make.liquid.bottle_ul",
        liquid.bottle_ul.ul(),
        1_000,
        100_000_000,
        "µL",
    )?;
    open_within(
        "make.liquid.density_mg_per_ml",
        liquid.density_mg_per_ml,
        500,
        3_000,
        "mg/mL",
    )?;
    open_within(
        "make.liquid.tare_mg",
        liquid.tare_mg.map(|mass| mass.mg()),
        0,
        20_000_000,
        "mg",
    )?;
    open_within(
        "make.liquid.prime_dot_count",
        liquid.prime_dot_count,
        1,
        200,
        "dots",
    )?;
    open_within(
        "make.liquid.refresh_dot_count",
        liquid.refresh_dot_count,
        0,
        200,
        "dots",
    )
}

fn open_within(
    field: &str,
    value: Option<i64>,
    least: i64,
    most: i64,
    unit: &str,
) -> Result<(), Refusal> {
    value.map_or(Ok(()), |value| within(field, value, least, most, unit))
}

pub(super) fn create_car(book: &Book, car: &Car, now: Moment) -> Result<Decision, Refusal> {
    free(
        book,
        "car.car",
        "car",
        &car.id,
        &Subject::Car(car.id.clone()),
    )?;
    set_car(car, now)
}

pub(super) fn edit_car(
    book: &Book,
    was: &Car,
    car: &Car,
    now: Moment,
) -> Result<Decision, Refusal> {
    let held = book
        .car(&car.id)
        .ok_or_else(|| Refusal::no_id(Reason::CarUnknown, "car.car", "car", &car.id))?;
    unchanged(held.as_ref() == was, "car")?;
    set_car(car, now)
}

fn set_car(car: &Car, now: Moment) -> Result<Decision, Refusal> {
    line_of_text("car.note", &car.note, NAME_CHARS_MAX)?;
    let mut seen = BTreeSet::new();
    for panel in &car.panels {
        if !seen.insert(panel.panel) {
            return Err(Refusal::invalid(
                "car.panels",
                format!("The panel {} is named twice.", panel.panel),
                "Name each panel once.",
            ));
        }
        let area = panel.area_mm2.map(|area| area.mm2());
        open_within("car.panels.measured_mm2", area, 1_000, 20_000_000, "mm²")?;
        open_within(
            "car.panels.film_um",
            panel.film_um.map(|film| film.um()),
            0,
            10_000,
            "µm",
        )?;
    }
    Ok(Decision::now(
        vec![Deed::CarSet {
            car: Arc::new(car.clone()),
        }],
        now,
    ))
}

pub(super) fn create_routine(
    book: &Book,
    routine: &Routine,
    now: Moment,
) -> Result<Decision, Refusal> {
    free(
        book,
        "routine.routine",
        "routine",
        &routine.id,
        &Subject::Routine(routine.id.clone()),
    )?;
    set_routine(book, routine, now)
}

pub(super) fn edit_routine(
    book: &Book,
    was: &Routine,
    routine: &Routine,
    now: Moment,
) -> Result<Decision, Refusal> {
    let held = book.routine(&routine.id).ok_or_else(|| {
        Refusal::no_id(
            Reason::RoutineUnknown,
            "routine.routine",
            "routine",
            &routine.id,
        )
    })?;
    unchanged(held.as_ref() == was, "routine")?;
    set_routine(book, routine, now)
}

fn set_routine(book: &Book, routine: &Routine, now: Moment) -> Result<Decision, Refusal> {
    line_of_text("routine.name", &routine.name, NAME_CHARS_MAX)?;
    if routine.steps.is_empty() {
        return Err(Refusal::missing("routine.steps", "Name at least one step."));
    }
    if routine.steps.len().max(routine.sundries.len()) > ROUTINE_LINES_MAX {
        return Err(Refusal::invalid(
            "routine.steps",
            format!("A routine has at most {ROUTINE_LINES_MAX} steps and as many sundries."),
            "Split it into several routines.",
        ));
    }
    let mut names = BTreeSet::new();
    for step in &routine.steps {
        let field = format!("routine.steps.{}", step.name);
        if !names.insert(&step.name) {
            return Err(Refusal::invalid(
                &field,
                format!("Two steps are called {}.", step.name),
                "Name each step apart.",
            ));
        }
        let Setup { makes, lane, .. } = Setup::of(book, step, &field)?;
        if lane.side() <= lane.face() {
            return Err(Refusal::quantity(
                &format!("{field}.side_mm"),
                format!(
                    "A section of {} is no wider than the pad of {}.",
                    lane.side(),
                    lane.face()
                ),
                "Give a side wider than the pad, such as 300 mm for a small one.",
            ));
        }
        open_within(
            &format!("{field}.speed_per_min"),
            step.speed_per_min,
            100,
            makes.machine.max_speed_per_min,
            "per minute, the machine's highest marked speed",
        )?;
    }
    if let Some(id) = &routine.towel_make {
        needs_sort(book, "routine.towel_make", id, "towel", |f| {
            matches!(f, Figures::Towel(_))
        })?;
    }
    open_within(
        "routine.cells_per_section_count",
        routine.cells_per_section,
        1,
        16,
        "cells",
    )?;
    for need in &routine.sundries {
        needs_sort(book, "routine.sundries.make", &need.make, "sundry", |f| {
            matches!(f, Figures::Sundry(_))
        })?;
        within(
            "routine.sundries.per_job_quantity",
            need.per_job_quantity,
            0,
            1_000_000_000,
            "of its unit",
        )?;
        within(
            "routine.sundries.per_m2_quantity",
            need.per_m2_quantity,
            0,
            1_000_000_000,
            "of its unit",
        )?;
    }
    Ok(Decision::now(
        vec![Deed::RoutineSet {
            routine: Arc::new(routine.clone()),
        }],
        now,
    ))
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

pub(super) fn set_policies(
    book: &Book,
    changes: &[(PolicyKey, Option<i64>)],
    said: &str,
    now: Moment,
) -> Result<Decision, Refusal> {
    note(said)?;
    if changes.is_empty() {
        return Err(Refusal::missing(
            "changes",
            "Name at least one policy and its value.",
        ));
    }
    let mut trial = book.policy().clone();
    for (key, value) in changes {
        trial
            .set(*key, value.unwrap_or_else(|| key.spec().default))
            .map_err(|error| {
                Refusal::quantity(&format!("changes.{key}"), format!("{error}."), "")
            })?;
    }
    let deeds = changes
        .iter()
        .map(|(key, value)| Deed::PolicySet {
            key: *key,
            value: *value,
        })
        .collect();
    Ok(Decision {
        note: said.to_owned(),
        ..Decision::now(deeds, now)
    })
}

/// An id that is not and never was in use.
pub(super) fn free(
    book: &Book,
    field: &str,
    sort: &str,
    id: &Id,
    subject: &Subject,
) -> Result<(), Refusal> {
    if book.is_taken(subject) {
        Err(Refusal::id_taken(field, sort, id))
    } else {
        Ok(())
    }
}

/// What is edited is still what the person saw.
pub(super) fn unchanged(same: bool, sort: &str) -> Result<(), Refusal> {
    if same {
        return Ok(());
    }
    Err(Refusal::new(
        Reason::ChangedMeanwhile,
        sort,
        format!("The {sort} was changed by somebody else meanwhile."),
        "Look at it again, then edit it.",
    ))
}
