//! Routines: named lists of steps.
//!
//! It serves `routine list` and `routine show`. What a step leaves open is the book's policy, and the
//! page says so.

use std::collections::BTreeMap;

use fettlebook_contract::v1::{
    PadCleaning, Press, Routine, Step, StepShare, SundryNeed, ToolNeed, Unit,
};

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
    let mut text = sheet(
        screen,
        [
            ("Routine", tint::strong(&routine.routine)),
            ("Name", routine.name.clone()),
            ("Towels", towels(routine)),
            ("Sundries", sundries(routine, units)),
            ("Tools", tools(routine)),
        ],
    );
    for step in &routine.steps {
        text.push_str("\n\n");
        text.push_str(&step_sheet(screen, step));
    }
    text
}

/// Its towels, and how many cells of them a section takes where it says so.
pub(crate) fn towels(routine: &Routine) -> String {
    routine.cells_per_section_count.map_or_else(
        || routine.towel_make.clone(),
        |cells| {
            format!(
                "{}, {} for each section",
                routine.towel_make,
                several(cells, "cell", "cells")
            )
        },
    )
}

/// What it takes of sundries, each in the unit it is kept in.
pub(crate) fn sundries(routine: &Routine, units: &BTreeMap<String, Unit>) -> String {
    let needs = routine.sundries.iter();
    let told = needs.map(|need| sundry(need, units.get(&need.make).copied().unwrap_or_default()));
    told.collect::<Vec<_>>().join("; ")
}

/// The tools that are to be there.
pub(crate) fn tools(routine: &Routine) -> String {
    let tools: Vec<_> = routine.tools.iter().map(tool).collect();
    tools.join(", ")
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

/// A step in a line, with all that it says.
pub(crate) fn in_a_line(step: &Step) -> String {
    let wiped = match step.wipe_down_make.as_str() {
        "" => String::new(),
        make => format!("wiped down with {make}"),
    };
    let cleaned = match cleaned(step).as_str() {
        "" => String::new(),
        how => format!("pads cleaned {how}"),
    };
    let panels = match step.panels.as_slice() {
        [] => String::new(),
        panels => format!("panels {}", panels.join(", ")),
    };
    let machine = format!("machine {}", machine(step));
    let pad = format!("pad {}", step.pad_make);
    let liquid = format!("liquid {}", step.liquid_make);
    let own = match step.own_panels.as_slice() {
        [] => String::new(),
        panels => format!("itself whole {}", panels.join(", ")),
    };
    let mut parts = vec![
        machine,
        pad,
        liquid,
        worked(step),
        panels,
        own,
        wiped,
        cleaned,
    ];
    parts.retain(|part| !part.is_empty());
    let mut line = parts.join(", ");
    for share in &step.shares {
        line.push_str("; ");
        line.push_str(&word(share.reach()));
        line.push_str(": ");
        line.push_str(&share_in_a_line(share));
    }
    line
}

/// What a further machine, or the hand, works of a step, in a line.
fn share_in_a_line(share: &StepShare) -> String {
    in_a_line(&as_step(share))
}

/// A share as the step that it is for those who work it.
fn as_step(share: &StepShare) -> Step {
    let share = share.clone();
    Step {
        machine_make: share.machine_make,
        pad_make: share.pad_make,
        liquid_make: share.liquid_make,
        side_mm: share.side_mm,
        overlap_permille: share.overlap_permille,
        pass_count: share.pass_count,
        arm_speed_mm_per_s: share.arm_speed_mm_per_s,
        press: share.press,
        speed_per_min: share.speed_per_min,
        panels: share.panels,
        by_hand: share.by_hand,
        pad_cleaning: share.pad_cleaning,
        ..Step::default()
    }
}

/// How its sections are worked, as far as it says so.
fn worked(step: &Step) -> String {
    let press = Some(step.press()).filter(|press| *press != Press::Unspecified);
    let parts = [
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
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// A step, and below it what others work of it.
fn step_sheet(screen: &Screen, step: &Step) -> String {
    let mut text = sheet_of(screen, &step.step, step);
    for share in &step.shares {
        let name = format!("{}-{}", step.step, word(share.reach()));
        text.push_str("\n\n");
        text.push_str(&sheet_of(screen, &name, &as_step(share)));
    }
    text
}

fn sheet_of(screen: &Screen, name: &str, step: &Step) -> String {
    sheet(
        screen,
        [
            ("Step", tint::strong(name)),
            ("Machine", machine(step)),
            ("Pad", step.pad_make.clone()),
            ("Liquid", step.liquid_make.clone()),
            ("Worked", worked(step)),
            ("Panels", step.panels.join(", ")),
            ("Itself whole", step.own_panels.join(", ")),
            ("Wipe-down", step.wipe_down_make.clone()),
            ("Pads cleaned", cleaned(step)),
        ],
    )
}
