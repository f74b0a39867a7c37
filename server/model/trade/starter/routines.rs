//! The two routines of each starter kit: cut and finish, and finish alone.
//!
//! They split a car's panels over the machines one has: large panels for the big machine, tight ones for
//! the small one in one go with a medium polish, edges for pencil pads or the hand (common practice, no
//! source). What a job takes of sundries is from memory.

use super::StarterKit;
use super::makes::{
    BIG, BRUSH, COARSE_PAD, COMPOUND, FINE, FINE_PAD, GLOVES, HAND_PAD, MEDIUM, PENCIL, PENCIL_PAD,
    SMALL, SMALL_PAD, TAPE, TOWEL, WIPE,
};
use crate::ground::ids::Id;
use crate::trade::job::{Routine, Step, SundryNeed};
use crate::trade::panel::Panel;
use crate::trade::tool::ToolNeed;

const LARGE: [Panel; 11] = [
    Panel::Bonnet,
    Panel::Roof,
    Panel::Boot,
    Panel::FrontDoorLeft,
    Panel::FrontDoorRight,
    Panel::RearDoorLeft,
    Panel::RearDoorRight,
    Panel::FrontWingLeft,
    Panel::FrontWingRight,
    Panel::RearQuarterLeft,
    Panel::RearQuarterRight,
];
const LOW: [Panel; 4] = [
    Panel::FrontBumper,
    Panel::RearBumper,
    Panel::SillLeft,
    Panel::SillRight,
];
const EDGES: [Panel; 4] = [
    Panel::PillarsLeft,
    Panel::PillarsRight,
    Panel::MirrorLeft,
    Panel::MirrorRight,
];

/// Sundries of a full job: each a make, for each job, and further for each square metre.
const SUNDRIES: [(&str, i64, i64); 3] = [(GLOVES, 2, 0), (TAPE, 4_000, 900), (WIPE, 0, 12_000)];

/// The routines of a kit.
pub(super) fn of(kit: StarterKit) -> Vec<Routine> {
    let finish = finish_steps(kit);
    let mut cut_too = Vec::from_iter(step(
        "cut",
        Some(BIG),
        (COARSE_PAD, COMPOUND),
        &big_panels(kit),
    ));
    cut_too.extend(finish.clone());
    let both = [
        routine("two-step", "two-step: cut, then finish", cut_too),
        routine("one-step", "one-step: finish alone", finish),
    ];
    both.into_iter().flatten().collect()
}

/// Panels of the big machine.
fn big_panels(kit: StarterKit) -> Vec<Panel> {
    match kit {
        StarterKit::Big => [&LARGE[..], &LOW].concat(),
        StarterKit::BigSmall | StarterKit::BigSmallPencil => LARGE.to_vec(),
    }
}

/// The steps after the cut, of all panels.
fn finish_steps(kit: StarterKit) -> Vec<Step> {
    let finish = step("finish", Some(BIG), (FINE_PAD, FINE), &big_panels(kit));
    let small = |panels: &[Panel]| step("tight", Some(SMALL), (SMALL_PAD, MEDIUM), panels);
    let steps = match kit {
        StarterKit::Big => vec![finish, step("by-hand", None, (HAND_PAD, FINE), &EDGES)],
        StarterKit::BigSmall => vec![finish, small(&[LOW, EDGES].concat())],
        StarterKit::BigSmallPencil => vec![
            finish,
            small(&LOW),
            step("edges", Some(PENCIL), (PENCIL_PAD, FINE), &EDGES),
        ],
    };
    steps.into_iter().flatten().collect()
}

fn step(
    name: &str,
    machine: Option<&str>,
    (pad, liquid): (&str, &str),
    panels: &[Panel],
) -> Option<Step> {
    let machine_make = match machine {
        Some(machine) => Some(machine.parse().ok()?),
        None => None,
    };
    Some(Step {
        name: name.parse().ok()?,
        machine_make,
        pad_make: pad.parse().ok()?,
        liquid_make: liquid.parse().ok()?,
        side_mm: None,
        overlap_permille: None,
        pass_count: None,
        arm_speed_mm_per_s: None,
        press: None,
        speed_per_min: None,
        panels: panels.to_vec(),
        wipe_down_make: None,
        cleaning: None,
        shares: Vec::new(),
        own_panels: Vec::new(),
    })
}

fn routine(id: &str, name: &str, steps: Vec<Step>) -> Option<Routine> {
    let sundries = SUNDRIES.into_iter().map(|(make, job, per_m2)| {
        Some(SundryNeed {
            make: make.parse().ok()?,
            per_job_quantity: job,
            per_m2_quantity: per_m2,
        })
    });
    let brush: Id = BRUSH.parse().ok()?;
    Some(Routine {
        id: id.parse().ok()?,
        name: name.to_owned(),
        steps,
        towel_make: Some(TOWEL.parse().ok()?),
        cells_per_section: None,
        sundries: sundries.collect::<Option<_>>()?,
        tools: vec![ToolNeed {
            make: brush,
            must: false,
        }],
    })
}
