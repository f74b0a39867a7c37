//! The generic makes of the starter kits.
//!
//! Sizes are the usual ones of the trade (common practice, no source); speeds are from memory, at the
//! upper end of what such machines are marked with, so that a plate is held against no less than that.

use fettlebook_quantity::{Length, Volume};

use super::{StarterKit, StarterMake};
use crate::ground::ids::Id;
use crate::trade::hazard::HazardCode;
use crate::trade::make::{
    Figures, Grade, LiquidFigures, MachineFigures, Make, PadFigures, PadMaterial, PlateFigures,
    SundryFigures, TowelFigures, Unit,
};
use crate::trade::plate::Thread;
use crate::trade::policy::Basis::{self, CommonPractice, Memory};
use crate::trade::tool::{ToolFigures, ToolKind};
use crate::trade::wear::Action;

pub(super) const BIG: &str = "orbital-150";
pub(super) const SMALL: &str = "orbital-75";
pub(super) const PENCIL: &str = "spindle-30";
pub(super) const COARSE_PAD: &str = "coarse-foam-150";
pub(super) const FINE_PAD: &str = "fine-foam-150";
pub(super) const SMALL_PAD: &str = "medium-foam-80";
pub(super) const PENCIL_PAD: &str = "pencil-foam-30";
pub(super) const HAND_PAD: &str = "hand-applicator-100";
pub(super) const COMPOUND: &str = "coarse-compound-1l";
pub(super) const MEDIUM: &str = "medium-polish-500ml";
pub(super) const FINE: &str = "fine-polish-500ml";
pub(super) const TOWEL: &str = "edgeless-towel-400g";
pub(super) const GLOVES: &str = "nitrile-gloves-50";
pub(super) const TAPE: &str = "masking-tape-50";
pub(super) const WIPE: &str = "panel-wipe-1l";
pub(super) const BRUSH: &str = "pad-brush";

/// Codes of a wipe with propan-2-ol. Source: its harmonised classification, Regulation (EC) 1272/2008,
/// annex VI, index 603-117-00-0.
const WIPE_CODES: [&str; 3] = ["H225", "H319", "H336"];

/// The makes of a kit.
pub(super) fn of(kit: StarterKit) -> Vec<StarterMake> {
    let has_small = kit != StarterKit::Big;
    let has_pencil = kit == StarterKit::BigSmallPencil;
    let all = [
        (
            true,
            machine(BIG, "150 mm orbital, 15 mm throw", &BIG_ORBITAL),
        ),
        (true, plate("plate-125-m8", "plate 125 M8", 125, "M8")),
        (
            has_small,
            machine(SMALL, "75 mm orbital, 12 mm throw", &SMALL_ORBITAL),
        ),
        (has_small, plate("plate-75-m8", "plate 75 M8", 75, "M8")),
        (
            has_pencil,
            machine(PENCIL, "rotary spindle tool with 30 mm pads", &SPINDLE),
        ),
        (has_pencil, plate("plate-20-m6", "plate 20 M6", 20, "M6")),
        (
            true,
            pad(COARSE_PAD, "coarse foam 150", Grade::Coarse, 150, 5),
        ),
        (true, pad(FINE_PAD, "fine foam 150", Grade::Fine, 150, 6)),
        (
            has_small,
            pad(SMALL_PAD, "medium foam 80", Grade::Medium, 80, 4),
        ),
        (
            has_pencil,
            pad(PENCIL_PAD, "pencil foam 30", Grade::Fine, 30, 4),
        ),
        (!has_small, applicator()),
        (
            true,
            liquid(COMPOUND, "coarse compound 1 L", Grade::Coarse, 1_000),
        ),
        (
            has_small,
            liquid(MEDIUM, "medium polish 500 mL", Grade::Medium, 500),
        ),
        (true, liquid(FINE, "fine polish 500 mL", Grade::Fine, 500)),
        (true, towel()),
        (
            true,
            sundry(
                GLOVES,
                "nitrile gloves, box of 50 pairs",
                Unit::Pair,
                50,
                &[],
            ),
        ),
        (
            true,
            sundry(TAPE, "masking tape 50 m", Unit::Millimetre, 50_000, &[]),
        ),
        (
            true,
            sundry(
                WIPE,
                "panel wipe 1 L",
                Unit::Microlitre,
                1_000_000,
                &WIPE_CODES,
            ),
        ),
        (true, brush()),
    ];
    let wanted = all.into_iter().filter(|(wanted, _)| *wanted);
    wanted.filter_map(|(_, make)| make).collect()
}

/// What a machine of a starter kit is taken to be.
struct Machine {
    action: Action,
    throw_mm: i64,
    thread: &'static str,
    max_per_min: i64,
    work_per_min: i64,
    spot: bool,
}

const BIG_ORBITAL: Machine = Machine {
    action: Action::Orbital,
    throw_mm: 15,
    thread: "M8",
    max_per_min: 4_800,
    work_per_min: 4_500,
    spot: false,
};
const SMALL_ORBITAL: Machine = Machine {
    action: Action::Orbital,
    throw_mm: 12,
    thread: "M8",
    max_per_min: 5_500,
    work_per_min: 5_000,
    spot: true,
};
const SPINDLE: Machine = Machine {
    action: Action::Rotary,
    throw_mm: 0,
    thread: "M6",
    max_per_min: 5_000,
    work_per_min: 2_000,
    spot: true,
};

fn machine(id: &str, name: &str, figures: &Machine) -> Option<StarterMake> {
    let thread: Thread = figures.thread.parse().ok()?;
    let made = Figures::Machine(MachineFigures {
        action: figures.action,
        throw_mm: Length::from_mm(figures.throw_mm),
        thread,
        max_speed_per_min: figures.max_per_min,
        work_speed_per_min: Some(figures.work_per_min),
        vibration_mm_per_s2: None,
        vibration_measured: false,
        noise_db: None,
        spot: figures.spot,
        cordless: false,
    });
    let note = "Throw, thread and speeds are from memory: correct them to what yours is marked with. \
                Vibration and noise stand in its data sheet.";
    let bases = vec![
        ("throw_mm", Memory),
        ("thread", Memory),
        ("max_speed_per_min", Memory),
        ("work_speed_per_min", Memory),
    ];
    make((id, name, note), made, 1, bases)
}

fn plate(id: &str, name: &str, diameter_mm: i64, thread: &str) -> Option<StarterMake> {
    let made = Figures::Plate(PlateFigures {
        diameter_mm: Length::from_mm(diameter_mm),
        thread: thread.parse().ok()?,
        rated_speed_per_min: None,
        rated_run_h: None,
        rated_change_count: None,
    });
    let note = "Read its rated speed and thread off the plate and set them: a plate must be rated for the \
                highest speed marked on its machine.";
    let bases = vec![("diameter_mm", CommonPractice), ("thread", Memory)];
    make((id, name, note), made, 1, bases)
}

fn pad(id: &str, name: &str, grade: Grade, face_mm: i64, usual: i64) -> Option<StarterMake> {
    let made = pad_figures(PadMaterial::ThinFoam, grade, face_mm);
    make(
        (id, name, ""),
        made,
        usual,
        vec![("face_mm", CommonPractice)],
    )
}

fn applicator() -> Option<StarterMake> {
    let made = pad_figures(PadMaterial::Applicator, Grade::Fine, 100);
    let name = "hand applicator 100";
    make(
        (HAND_PAD, name, ""),
        made,
        2,
        vec![("face_mm", CommonPractice)],
    )
}

const fn pad_figures(material: PadMaterial, grade: Grade, face_mm: i64) -> Figures {
    Figures::Pad(PadFigures {
        material,
        grade,
        face_mm: Length::from_mm(face_mm),
        rated_work_sections: None,
        rated_wash_count: None,
        load_sections: None,
        dry_time_s: None,
        typical_life_sections: None,
        least_life_sections: None,
    })
}

fn liquid(id: &str, name: &str, grade: Grade, bottle_ml: i64) -> Option<StarterMake> {
    let made = Figures::Liquid(LiquidFigures {
        grade,
        bottle_ul: Volume::from_ul(bottle_ml.saturating_mul(1_000)),
        density_mg_per_ml: None,
        tare_mg: None,
        prime_dot_count: None,
        refresh_dot_count: None,
    });
    let note = "Give its hazard codes from the data sheet you hold; until then follow label and data sheet.";
    make(
        (id, name, note),
        made,
        1,
        vec![("bottle_ul", CommonPractice)],
    )
}

fn towel() -> Option<StarterMake> {
    let made = Figures::Towel(TowelFigures {
        weight_g_per_m2: 400,
        inspect_wash_count: None,
        demote_wash_count: None,
        dry_time_s: None,
    });
    let bases = vec![("weight_g_per_m2", CommonPractice)];
    make((TOWEL, "edgeless towel 400 g", ""), made, 24, bases)
}

fn sundry(
    id: &str,
    name: &str,
    unit: Unit,
    pack_quantity: i64,
    codes: &[&str],
) -> Option<StarterMake> {
    let made = Figures::Sundry(SundryFigures {
        unit,
        pack_quantity,
    });
    let note = if codes.is_empty() {
        ""
    } else {
        "Codes as for a wipe with propan-2-ol; the data sheet of yours decides."
    };
    let mut sundry = make(
        (id, name, note),
        made,
        1,
        vec![("pack_quantity", CommonPractice)],
    )?;
    let codes: Result<Vec<HazardCode>, _> = codes.iter().map(|code| code.parse()).collect();
    sundry.make.ghs = codes.ok()?;
    Some(sundry)
}

fn brush() -> Option<StarterMake> {
    let made = Figures::Tool(ToolFigures {
        kind: ToolKind::PadBrush,
    });
    make((BRUSH, "pad brush", ""), made, 1, Vec::new())
}

fn make(
    (id, name, note): (&str, &str, &str),
    figures: Figures,
    usual_count: i64,
    bases: Vec<(&'static str, Basis)>,
) -> Option<StarterMake> {
    let id: Id = id.parse().ok()?;
    Some(StarterMake {
        make: Make {
            id,
            name: name.to_owned(),
            price: None,
            pack_count: 1,
            ghs: Vec::new(),
            note: note.to_owned(),
            figures,
            filled: None,
        },
        usual_count,
        bases,
    })
}
