//! Routines: named lists of steps.
//!
//! It serves `routine list` and `routine show`. What a step leaves open is the book's policy, and the
//! page says so.

use std::collections::BTreeMap;

use fettlebook_contract::v1::{PadCleaning, Press, Routine, Step, SundryNeed, ToolNeed, Unit};

use crate::render::screen::{Screen, several};
use crate::render::table::{Column, sheet, table};
use crate::render::{amount, tint};
use crate::word::word;

/// Routines, a line each.
pub(crate) fn list(screen: &Screen, routines: &[Routine]) -> String {
    if routines.is_empty() {
        return "No routines yet. 'fettle routine add' sets one up.".to_owned();
    }
    table(
        screen,
        &[
            ("Routine", Column::Text),
            ("Name", Column::Text),
            ("Steps", Column::Text),
            ("Towels", Column::Text),
        ],
        routines.iter().map(|routine| {
            let steps: Vec<_> = routine.steps.iter().map(|step| step.step.clone()).collect();
            vec![
                routine.routine.clone(),
                routine.name.clone(),
                steps.join(", then "),
                routine.towel_make.clone(),
            ]
        }),
    )
}

/// One routine with its steps; `units` tells the unit that each sundry make is kept in.
pub(crate) fn show(screen: &Screen, routine: &Routine, units: &BTreeMap<String, Unit>) -> String {
    let towels = routine.cells_per_section_count.map_or_else(
        || routine.towel_make.clone(),
        |cells| {
            format!(
                "{}, {} for each section",
                routine.towel_make,
                several(cells, "cell", "cells")
            )
        },
    );
    let sundries: Vec<_> = routine
        .sundries
        .iter()
        .map(|need| sundry(need, units.get(&need.make).copied().unwrap_or_default()))
        .collect();
    let tools: Vec<_> = routine.tools.iter().map(tool).collect();
    let mut text = sheet(
        screen,
        [
            ("Routine", tint::strong(&routine.routine)),
            ("Name", routine.name.clone()),
            ("Towels", towels),
            ("Sundries", sundries.join("; ")),
            ("Tools", tools.join(", ")),
        ],
    );
    for step in &routine.steps {
        text.push_str("\n\n");
        text.push_str(&step_sheet(screen, step));
    }
    text
}

fn tool(need: &ToolNeed) -> String {
    let must = if need.must { " (must be there)" } else { "" };
    format!("{}{must}", need.make)
}

fn sundry(need: &SundryNeed, unit: Unit) -> String {
    let mut parts = Vec::new();
    if need.per_job_quantity != 0 {
        parts.push(format!(
            "{} a job",
            amount::quantity(need.per_job_quantity, unit)
        ));
    }
    if need.per_m2_quantity != 0 {
        parts.push(format!(
            "{} for each m²",
            amount::quantity(need.per_m2_quantity, unit)
        ));
    }
    format!("{} of {}", parts.join(" and "), need.make)
}

fn machine(step: &Step) -> String {
    if step.by_hand {
        "none, by hand".to_owned()
    } else {
        step.machine_make.clone()
    }
}

/// When its pads are cleaned, where the step says it.
fn cleaned(step: &Step) -> String {
    match step.pad_cleaning() {
        PadCleaning::Unspecified => String::new(),
        PadCleaning::None => "not while it is worked".to_owned(),
        PadCleaning::BetweenPanels => "with brush or air between panels".to_owned(),
        PadCleaning::AfterSections => "with brush or air after each section".to_owned(),
    }
}

fn step_sheet(screen: &Screen, step: &Step) -> String {
    let press = Some(step.press()).filter(|press| *press != Press::Unspecified);
    let worked: Vec<String> = [
        press.filter(|_| !step.by_hand).map(word),
        step.speed_per_min.map(|speed| format!("{speed}/min")),
        step.side_mm
            .map(|side| format!("sections of {}", amount::length(side))),
        step.pass_count
            .map(|count| several(count, "pass", "passes")),
        step.overlap_permille.map(|overlap| {
            format!(
                "{} % overlap",
                amount::thousandths(overlap.saturating_mul(100))
            )
        }),
        step.arm_speed_mm_per_s
            .map(|speed| format!("{speed} mm/s across the paint")),
    ]
    .into_iter()
    .flatten()
    .collect();
    sheet(
        screen,
        [
            ("Step", tint::strong(&step.step)),
            ("Machine", machine(step)),
            ("Pad", step.pad_make.clone()),
            ("Liquid", step.liquid_make.clone()),
            ("Worked", worked.join(", ")),
            ("Panels", step.panels.join(", ")),
            ("Wipe-down", step.wipe_down_make.clone()),
            ("Pads cleaned", cleaned(step)),
        ],
    )
}
