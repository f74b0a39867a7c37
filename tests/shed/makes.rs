//! Makes with as few figures as they may have.

use fettlebook_model::make::{
    Figures, Grade, LiquidFigures, MachineFigures, Make, PadFigures, PadMaterial, PlateFigures,
};
use fettlebook_model::wear::Action;
use fettlebook_quantity::{Length, Mass, Volume};

use super::id;

/// The thread of the machine and its plates.
const THREAD: &str = "M8";

/// A make with these figures, named as its id reads.
#[must_use]
pub fn make(key: &str, figures: Figures) -> Make {
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

/// A pad with a face of this diameter, mm, which is rated by the book's policy.
#[must_use]
pub const fn pad(material: PadMaterial, grade: Grade, face_mm: i64) -> PadFigures {
    PadFigures {
        material,
        grade,
        face_mm: Length::from_mm(face_mm),
        rated_work_sections: None,
        rated_wash_count: None,
        load_sections: None,
        dry_time_s: None,
        typical_life_sections: None,
        least_life_sections: None,
    }
}

/// A plate of this diameter, mm, rated for so many revolutions a minute.
#[must_use]
pub fn plate(diameter_mm: i64, rated_speed_per_min: Option<i64>) -> PlateFigures {
    PlateFigures {
        diameter_mm: Length::from_mm(diameter_mm),
        thread: THREAD.parse().expect("a thread"),
        rated_speed_per_min,
        rated_run_h: None,
        rated_change_count: None,
    }
}

/// The machine: an orbital of 15 mm throw, marked 5000/min, worked at 4500/min, of which neither vibration
/// nor noise is known.
#[must_use]
pub fn orbital() -> MachineFigures {
    MachineFigures {
        action: Action::Orbital,
        throw_mm: Length::from_mm(15),
        thread: THREAD.parse().expect("a thread"),
        max_speed_per_min: 5_000,
        work_speed_per_min: Some(4_500),
        vibration_mm_per_s2: None,
        vibration_measured: false,
        noise_db: None,
        spot: false,
        cordless: false,
    }
}

/// A liquid of this grade in bottles of so many mL, whose empty bottle weighs so many g.
#[must_use]
pub const fn liquid(grade: Grade, bottle_ml: i64, tare_g: i64) -> LiquidFigures {
    LiquidFigures {
        grade,
        bottle_ul: Volume::from_ul(bottle_ml.saturating_mul(1_000)),
        density_mg_per_ml: None,
        tare_mg: Some(Mass::from_mg(tare_g.saturating_mul(1_000))),
        prime_dot_count: None,
        refresh_dot_count: None,
    }
}
