//! The makes and the routine of the invented shop.

use fettlebook_model::job::{Routine, Step, SundryNeed};
use fettlebook_model::make::{
    Figures, Grade, LiquidFigures, MachineFigures, Make, PadFigures, PadMaterial, PlateFigures,
    SundryFigures, TowelFigures, Unit,
};
use fettlebook_model::tool::{ToolFigures, ToolKind};
use fettlebook_model::wear::{Action, Press};
use fettlebook_quantity::{Length, Mass, Volume};

use super::id;

/// A make with these figures.
pub(crate) fn make(key: &str, figures: Figures) -> Make {
    Make {
        id: id(key),
        name: key.replace('-', " "),
        price: None,
        pack_count: 1,
        ghs: Vec::new(),
        note: String::new(),
        figures,
        filled: None,
    }
}

/// A foam pad of this grade and face.
pub(crate) fn foam(grade: Grade, face_mm: i64) -> Figures {
    Figures::Pad(PadFigures {
        material: PadMaterial::ThinFoam,
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

/// A pad that its maker rates for so many reference sections and washes.
fn rated(pad: Figures, work_sections: i64, wash_count: i64) -> Figures {
    match pad {
        Figures::Pad(pad) => Figures::Pad(PadFigures {
            rated_work_sections: Some(work_sections),
            rated_wash_count: Some(wash_count),
            ..pad
        }),
        other => other,
    }
}

/// A tool.
pub(crate) fn tool(kind: ToolKind) -> Figures {
    Figures::Tool(ToolFigures { kind })
}

/// A plate with an M8 thread.
pub(crate) fn plate(diameter_mm: i64, rated: Option<i64>) -> Figures {
    Figures::Plate(PlateFigures {
        diameter_mm: Length::from_mm(diameter_mm),
        thread: "M8".parse().unwrap(),
        rated_speed_per_min: rated,
        rated_run_h: None,
        rated_change_count: None,
    })
}

/// A liquid of this grade, its empty bottle weighing 60 g.
pub(crate) fn liquid(grade: Grade, bottle_ml: i64) -> Figures {
    Figures::Liquid(LiquidFigures {
        grade,
        bottle_ul: Volume::from_ul(bottle_ml * 1000),
        density_mg_per_ml: None,
        tare_mg: Some(Mass::from_mg(60_000)),
        prime_dot_count: None,
        refresh_dot_count: None,
    })
}

/// The machine of the story: 15 mm throw, marked 5000/min, worked at 4500/min.
pub(crate) fn orbital() -> MachineFigures {
    MachineFigures {
        action: Action::Orbital,
        throw_mm: Length::from_mm(15),
        thread: "M8".parse().unwrap(),
        max_speed_per_min: 5000,
        work_speed_per_min: Some(4500),
        vibration_mm_per_s2: Some(2000),
        vibration_measured: true,
        noise_db: Some(74),
        spot: false,
    }
}

/// The makes of the story.
pub(super) fn makes() -> Vec<Make> {
    vec![
        make("orbital-150", Figures::Machine(orbital())),
        make("plate-125-m8", plate(135, Some(12_000))),
        make("coarse-foam-150", rated(foam(Grade::Coarse, 150), 130, 20)),
        make("fine-foam-150", rated(foam(Grade::Fine, 150), 110, 30)),
        make("coarse-compound-1l", liquid(Grade::Coarse, 1000)),
        make("fine-polish-500ml", liquid(Grade::Fine, 500)),
        make(
            "edgeless-towel-400g",
            Figures::Towel(TowelFigures {
                weight_g_per_m2: 400,
                inspect_wash_count: None,
                demote_wash_count: None,
                dry_time_s: None,
            }),
        ),
        make(
            "nitrile-gloves",
            Figures::Sundry(SundryFigures {
                unit: Unit::Pair,
                pack_quantity: 50,
            }),
        ),
    ]
}

/// A step of the two-step, worked as a reference section is.
pub(crate) fn step(name: &str, pad: &str, liquid: &str) -> Step {
    Step {
        name: id(name),
        machine_make: Some(id("orbital-150")),
        pad_make: id(pad),
        liquid_make: id(liquid),
        side_mm: None,
        overlap_permille: None,
        pass_count: None,
        arm_speed_mm_per_s: Some(50),
        press: Some(Press::Moderate),
        speed_per_min: None,
        panels: Vec::new(),
        wipe_down_make: None,
        cleaning: None,
    }
}

/// The routine of the story: cut, then finish.
pub(super) fn two_step() -> Routine {
    Routine {
        id: id("two-step"),
        name: "two-step".into(),
        steps: vec![
            step("cut", "coarse-foam-150", "coarse-compound-1l"),
            step("finish", "fine-foam-150", "fine-polish-500ml"),
        ],
        towel_make: Some(id("edgeless-towel-400g")),
        cells_per_section: None,
        sundries: vec![SundryNeed {
            make: id("nitrile-gloves"),
            per_job_quantity: 2,
            per_m2_quantity: 0,
        }],
        tools: Vec::new(),
    }
}
