//! The invented shop of the tests at its smallest, in the messages of the contract: one of each make, a
//! car and a routine of one step.
//!
//! It serves tests that set a shop up as any client does. Nothing in it names a real thing.

#[cfg(unix)]
#[allow(
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "it serves tests, which read what is printed"
)]
pub mod engine;

use fettlebook_contract::v1;
use fettlebook_contract::v1::make::Figures;

/// The make of the pads.
pub const PAD_MAKE: &str = "coarse-foam-150";
/// The make of the machine.
pub const MACHINE_MAKE: &str = "orbital-150";
/// The make of the plate.
pub const PLATE_MAKE: &str = "plate-125-m8";
/// The make of the compound.
pub const LIQUID_MAKE: &str = "coarse-compound-1-l";
/// The make of the towels.
pub const TOWEL_MAKE: &str = "edgeless-towel-400-g";
/// The make of the gloves.
pub const GLOVES_MAKE: &str = "nitrile-gloves";
/// The car.
pub const CAR: &str = "medium-saloon-silver";
/// The routine.
pub const ROUTINE: &str = "one-step";

/// A make with these figures, named as its id reads.
#[must_use]
pub fn make(id: &str, figures: Figures) -> v1::Make {
    v1::Make {
        make: id.to_owned(),
        name: id.replace('-', " "),
        figures: Some(figures),
        ..Default::default()
    }
}

/// A coarse foam pad with a face of this diameter, mm.
#[must_use]
pub fn coarse_foam(id: &str, face_mm: i64) -> v1::Make {
    let pad = v1::PadFigures {
        material: v1::PadMaterial::ThinFoam.into(),
        grade: v1::Grade::Coarse.into(),
        face_mm,
        ..Default::default()
    };
    make(id, Figures::Pad(pad))
}

/// One make of each sort that is worked with.
#[must_use]
pub fn makes() -> [v1::Make; 6] {
    let plate = v1::PlateFigures {
        diameter_mm: 135,
        thread: "M8".to_owned(),
        rated_speed_per_min: Some(12_000),
        ..Default::default()
    };
    let machine = v1::MachineFigures {
        action: v1::MachineAction::Orbital.into(),
        throw_mm: Some(15),
        thread: "M8".to_owned(),
        max_speed_per_min: 5_500,
        work_speed_per_min: Some(4_500),
        ..Default::default()
    };
    let towel = v1::TowelFigures {
        weight_g_per_m2: 400,
        ..Default::default()
    };
    let liquid = v1::LiquidFigures {
        grade: v1::Grade::Coarse.into(),
        bottle_ul: 1_000_000,
        tare_mg: Some(60_500),
        ..Default::default()
    };
    let gloves = v1::SundryFigures {
        unit: v1::Unit::Pair.into(),
        pack_quantity: 50,
    };
    [
        coarse_foam(PAD_MAKE, 150),
        make(PLATE_MAKE, Figures::Plate(plate)),
        make(MACHINE_MAKE, Figures::Machine(machine)),
        make(TOWEL_MAKE, Figures::Towel(towel)),
        make(LIQUID_MAKE, Figures::Liquid(liquid)),
        make(GLOVES_MAKE, Figures::Sundry(gloves)),
    ]
}

/// A silver medium saloon.
#[must_use]
pub fn saloon() -> v1::Car {
    v1::Car {
        car: CAR.to_owned(),
        class: v1::CarClass::MediumSaloon.into(),
        note: "silver".to_owned(),
        ..Default::default()
    }
}

/// The one step that is worked.
#[must_use]
pub fn step() -> v1::Step {
    v1::Step {
        step: "cut".to_owned(),
        machine_make: MACHINE_MAKE.to_owned(),
        pad_make: PAD_MAKE.to_owned(),
        liquid_make: LIQUID_MAKE.to_owned(),
        ..Default::default()
    }
}

/// The routine of that step, with towels and two pairs of gloves.
#[must_use]
pub fn one_step() -> v1::Routine {
    v1::Routine {
        routine: ROUTINE.to_owned(),
        name: "one step".to_owned(),
        steps: vec![step()],
        towel_make: TOWEL_MAKE.to_owned(),
        sundries: vec![v1::SundryNeed {
            make: GLOVES_MAKE.to_owned(),
            per_job_quantity: 2,
            per_m2_quantity: 0,
        }],
        ..Default::default()
    }
}
