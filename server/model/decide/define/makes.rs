//! Setting up and editing makes.
//!
//! Serves everything that computes with a make's figures: each is held to what it can be, and a
//! rating left open is filled from the policy. A make never becomes another sort of thing.

use std::ops::RangeInclusive;
use std::sync::Arc;

use super::{NAME_CHARS_MAX, free, unchanged};
use crate::book::deed::Deed;
use crate::decide::Decision;
use crate::decide::bounds::{line_of_text, note, open_within, within};
use crate::decide::weigh::tare_said;
use crate::ground::ids::Subject;
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::make::{
    Figures, LiquidFigures, MachineFigures, Make, PadFigures, PlateFigures, SundryFigures,
    TowelFigures,
};
use crate::trade::wear::Action;
use crate::{Book, Moment};

/// Widest pad or plate, mm: no panel is worked with a wider one.
const FACE_MM_MAX: i64 = 300;
/// Longest drying time, s: thirty days.
const DRY_S_MAX: i64 = 30 * 86_400;

/// Sets a make up.
pub(in crate::decide) fn create(
    book: &Book,
    make: &Make,
    now: Moment,
) -> Result<Decision, Refusal> {
    free(book, "make", &make.id, Subject::Make)?;
    set(book, make, now)
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
    let mut decision = set(book, make, now)?;
    decision.deeds.extend(tare_said(book, make));
    Ok(decision)
}

fn set(book: &Book, make: &Make, now: Moment) -> Result<Decision, Refusal> {
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
        Figures::Towel(towel) => towel_makes_sense(towel)?,
        Figures::Liquid(liquid) => liquid_makes_sense(liquid)?,
        Figures::Sundry(sundry) => sundry_makes_sense(sundry)?,
    }
    let make = Arc::new(make.clone().filled(book.policy()));
    Ok(Decision::now(vec![Deed::MakeSet { make }], now))
}

/// One figure of a make: its field, what was given, what can be true, and the unit.
type Figure = (&'static str, Option<i64>, RangeInclusive<i64>, &'static str);

/// Holds each given figure of a sort to what it can be.
fn all_within<const N: usize>(sort: &str, figures: [Figure; N]) -> Result<(), Refusal> {
    figures
        .into_iter()
        .try_for_each(|(name, given, true_for, unit)| {
            let field = format!("make.{sort}.{name}");
            open_within(&field, given, *true_for.start(), *true_for.end(), unit)
        })
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
    let dry_s = pad.dry_time_s.map(|time| time.s());
    all_within(
        "pad",
        [
            ("face_mm", Some(face), 10..=FACE_MM_MAX, "mm"),
            (
                "rated_work_sections",
                pad.rated_work_sections,
                1..=100_000,
                "reference sections",
            ),
            (
                "rated_wash_count",
                pad.rated_wash_count,
                1..=10_000,
                "washes",
            ),
            ("load_sections", pad.load_sections, 1..=10_000, "sections"),
            ("dry_time_s", dry_s, 0..=DRY_S_MAX, "s"),
        ],
    )?;
    lives_make_sense(pad)
}

/// What the user has seen pads of a make last: both figures or none, the least below the typical.
fn lives_make_sense(pad: &PadFigures) -> Result<(), Refusal> {
    let unit = "reference sections";
    match (pad.typical_life_sections, pad.least_life_sections) {
        (None, None) => Ok(()),
        (Some(typical), Some(least)) => {
            within("make.pad.typical_life_sections", typical, 2, 100_000, unit)?;
            let below = typical.saturating_sub(1);
            within(
                "make.pad.least_life_sections",
                least,
                1,
                below,
                "reference sections, less than the typical life",
            )
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

fn plate_makes_sense(plate: &PlateFigures) -> Result<(), Refusal> {
    let (diameter, speed) = (plate.diameter_mm.mm(), plate.rated_speed_per_min);
    let (hours, changes) = (plate.rated_run_h, plate.rated_change_count);
    all_within(
        "plate",
        [
            ("diameter_mm", Some(diameter), 10..=FACE_MM_MAX, "mm"),
            ("rated_speed_per_min", speed, 100..=100_000, "per minute"),
            ("rated_run_h", hours, 1..=100_000, "h"),
            ("rated_change_count", changes, 1..=1_000_000, "changes"),
        ],
    )
}

fn machine_makes_sense(machine: &MachineFigures) -> Result<(), Refusal> {
    let (throw_mm, throw_unit) = match machine.action {
        Action::Orbital => (1..=50, "mm for an orbital"),
        Action::Rotary => (0..=0, "for a rotary, which has no throw"),
    };
    let most = machine.max_speed_per_min;
    let vibration = machine.vibration_mm_per_s2;
    all_within(
        "machine",
        [
            (
                "throw_mm",
                Some(machine.throw_mm.mm()),
                throw_mm,
                throw_unit,
            ),
            ("max_speed_per_min", Some(most), 100..=50_000, "per minute"),
            (
                "work_speed_per_min",
                machine.work_speed_per_min,
                100..=most,
                "per minute, the highest marked speed",
            ),
            ("vibration_mm_per_s2", vibration, 0..=100_000, "mm/s²"),
            ("noise_db", machine.noise_db, 20..=150, "dB(A)"),
        ],
    )
}

fn towel_makes_sense(towel: &TowelFigures) -> Result<(), Refusal> {
    let (inspect, demote) = (towel.inspect_wash_count, towel.demote_wash_count);
    let dry_s = towel.dry_time_s.map(|time| time.s());
    all_within(
        "towel",
        [
            (
                "weight_g_per_m2",
                Some(towel.weight_g_per_m2),
                50..=3_000,
                "g/m²",
            ),
            ("inspect_wash_count", inspect, 1..=10_000, "washes"),
            ("demote_wash_count", demote, 1..=10_000, "washes"),
            ("dry_time_s", dry_s, 0..=DRY_S_MAX, "s"),
        ],
    )
}

fn liquid_makes_sense(liquid: &LiquidFigures) -> Result<(), Refusal> {
    let (bottle, density) = (liquid.bottle_ul.ul(), liquid.density_mg_per_ml);
    let tare = liquid.tare_mg.map(|mass| mass.mg());
    all_within(
        "liquid",
        [
            ("bottle_ul", Some(bottle), 1_000..=100_000_000, "µL"),
            ("density_mg_per_ml", density, 500..=3_000, "mg/mL"),
            ("tare_mg", tare, 0..=20_000_000, "mg"),
            ("prime_dot_count", liquid.prime_dot_count, 1..=200, "dots"),
            (
                "refresh_dot_count",
                liquid.refresh_dot_count,
                0..=200,
                "dots",
            ),
        ],
    )
}

fn sundry_makes_sense(sundry: &SundryFigures) -> Result<(), Refusal> {
    let pack = Some(sundry.pack_quantity);
    all_within(
        "sundry",
        [("pack_quantity", pack, 1..=1_000_000_000, "of its unit")],
    )
}
