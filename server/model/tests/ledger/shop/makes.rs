//! The makes and the routine of the invented shop.

use fettlebook_model::battery::BatteryFigures;
use fettlebook_model::job::{Routine, Step, SundryNeed};
use fettlebook_model::make::{
    Figures, Grade, MachineFigures, Make, PadFigures, PadMaterial, SundryFigures, TowelFigures,
    Unit,
};
use fettlebook_model::tool::{ToolFigures, ToolKind};
use fettlebook_model::wear::Press;
use fettlebook_quantity::Seconds;
use fettlebook_shed::{make, pad, routine};

use super::id;

/// A foam pad of this grade and face.
pub(crate) fn foam(grade: Grade, face_mm: i64) -> Figures {
    Figures::Pad(pad(PadMaterial::ThinFoam, grade, face_mm))
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

/// A battery for these machine makes: so many minutes a charge, an hour on the charger, rated for 500 charges.
pub(crate) fn battery(machines: &[&str], minutes: i64) -> Figures {
    Figures::Battery(BatteryFigures {
        machines: machines.iter().map(|key| id(key)).collect(),
        run_time_s: Seconds::from_s(minutes * 60),
        charge_time_s: Some(Seconds::from_s(3_600)),
        rated_charge_count: Some(500),
    })
}

/// A plate with an M8 thread.
pub(crate) fn plate(diameter_mm: i64, rated: Option<i64>) -> Figures {
    Figures::Plate(fettlebook_shed::plate(diameter_mm, rated))
}

/// A liquid of this grade, its empty bottle weighing 60 g.
pub(crate) fn liquid(grade: Grade, bottle_ml: i64) -> Figures {
    Figures::Liquid(fettlebook_shed::liquid(grade, bottle_ml, 60))
}

/// The machine of the story, with what it does to hand and ear as measured.
pub(crate) fn orbital() -> MachineFigures {
    MachineFigures {
        vibration_mm_per_s2: Some(2000),
        vibration_measured: true,
        noise_db: Some(74),
        ..fettlebook_shed::orbital()
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
        arm_speed_mm_per_s: Some(50),
        press: Some(Press::Moderate),
        ..fettlebook_shed::step(name, pad, liquid)
    }
}

/// The routine of the story: cut, then finish.
pub(super) fn two_step() -> Routine {
    let steps = vec![
        step("cut", "coarse-foam-150", "coarse-compound-1l"),
        step("finish", "fine-foam-150", "fine-polish-500ml"),
    ];
    Routine {
        name: "two-step".into(),
        towel_make: Some(id("edgeless-towel-400g")),
        sundries: vec![SundryNeed {
            make: id("nitrile-gloves"),
            per_job_quantity: 2,
            per_m2_quantity: 0,
        }],
        ..routine("two-step", steps)
    }
}
