//! Routines on the wire.
//!
//! It serves reading routines, and editing, which starts from what is there.

use fettlebook_contract::v1;
use fettlebook_model::job::{Routine, Share, Step};

use crate::edge::{etag, words};

pub(in crate::edge) fn routine(routine: &Routine) -> v1::Routine {
    let sundries = routine.sundries.iter().map(|need| v1::SundryNeed {
        make: need.make.to_string(),
        per_job_quantity: need.per_job_quantity,
        per_m2_quantity: need.per_m2_quantity,
    });
    let tools = routine.tools.iter().map(|need| v1::ToolNeed {
        make: need.make.to_string(),
        must: need.must,
    });
    let mut shown = v1::Routine {
        etag: String::new(),
        routine: routine.id.to_string(),
        name: routine.name.clone(),
        steps: routine.steps.iter().map(step).collect(),
        towel_make: routine
            .towel_make
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
        cells_per_section_count: routine.cells_per_section,
        sundries: sundries.collect(),
        tools: tools.collect(),
    };
    shown.etag = etag::of(&shown);
    shown
}

fn step(step: &Step) -> v1::Step {
    v1::Step {
        step: step.name.to_string(),
        machine_make: step
            .machine_make
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
        by_hand: step.is_by_hand(),
        pad_make: step.pad_make.to_string(),
        liquid_make: step.liquid_make.to_string(),
        side_mm: step.side_mm.map(|side| side.mm()),
        overlap_permille: step.overlap_permille,
        pass_count: step.pass_count,
        arm_speed_mm_per_s: step.arm_speed_mm_per_s,
        press: step.press.map(words::press_word).unwrap_or_default(),
        speed_per_min: step.speed_per_min,
        panels: step.panels.iter().map(ToString::to_string).collect(),
        wipe_down_make: step
            .wipe_down_make
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
        pad_cleaning: step.cleaning.map(words::cleaning_word).unwrap_or_default(),
        shares: step.shares.iter().map(share).collect(),
        own_panels: step.own_panels.iter().map(ToString::to_string).collect(),
    }
}

fn share(share: &Share) -> v1::StepShare {
    let worked = step(&share.worked);
    v1::StepShare {
        reach: words::reach_word(share.reach),
        machine_make: worked.machine_make,
        pad_make: worked.pad_make,
        liquid_make: worked.liquid_make,
        side_mm: worked.side_mm,
        overlap_permille: worked.overlap_permille,
        pass_count: worked.pass_count,
        arm_speed_mm_per_s: worked.arm_speed_mm_per_s,
        press: worked.press,
        speed_per_min: worked.speed_per_min,
        panels: worked.panels,
        by_hand: worked.by_hand,
        pad_cleaning: worked.pad_cleaning,
    }
}
