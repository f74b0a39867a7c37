//! Makes: what one can buy, with the figures the model computes with.
//!
//! A make is a definition, edited by hand. Ratings that the maker does not give are filled from
//! the book's policy when the make is set up, and are told apart from those that a person gave.

mod filled;

use fettlebook_quantity::{Length, Mass, Seconds, Volume};
use serde::{Deserialize, Serialize};

use crate::ground::ids::Id;
use crate::ground::money::Money;
use crate::trade::battery::BatteryFigures;
use crate::trade::hazard::HazardCode;
use crate::trade::plate::Thread;
use crate::trade::policy::PolicyKey;
use crate::trade::tool::ToolFigures;
use crate::trade::wear::Action;

pub use filled::{FilledFigure, FromPolicy};

/// How hard a liquid or a pad cuts. Coarse is the least value: kit goes up this order, never down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Grade {
    /// Cutting.
    Coarse,
    /// Between cutting and finishing.
    Medium,
    /// Finishing.
    Fine,
}

impl Grade {
    /// The word as said.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Coarse => "coarse",
            Self::Medium => "medium",
            Self::Fine => "fine",
        }
    }
}

/// What a pad's face is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PadMaterial {
    /// Foam that dries in a day.
    ThinFoam,
    /// Foam that takes two days to dry.
    ThickFoam,
    /// Microfibre.
    Microfibre,
    /// Wool.
    Wool,
    /// An applicator, for work by hand.
    Applicator,
}

/// Unit a sundry is counted or measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// Whole pieces.
    Piece,
    /// Pairs.
    Pair,
    /// Microlitres.
    Microlitre,
    /// Millimetres.
    Millimetre,
}

impl Unit {
    /// A quantity in this unit, as people read it.
    pub fn show(self, quantity: i64) -> String {
        match self {
            Self::Piece => quantity.to_string(),
            Self::Pair if quantity == 1 => "1 pair".to_owned(),
            Self::Pair => format!("{quantity} pairs"),
            Self::Microlitre => Volume::from_ul(quantity).to_string(),
            Self::Millimetre => Length::from_mm(quantity).to_string(),
        }
    }
}

/// Something one can buy.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Make {
    /// Id that a person types.
    pub id: Id,
    /// Name as said.
    pub name: String,
    /// Price of a pack.
    pub price: Option<Money>,
    /// Pieces in a pack.
    pub pack_count: i64,
    /// GHS hazard codes from the user's data sheet.
    pub ghs: Vec<HazardCode>,
    /// Anything worth remembering.
    pub note: String,
    /// Figures by sort.
    pub figures: Figures,
    /// Which of them were filled from the policy; none where nobody wrote that down.
    #[serde(default)]
    pub filled: Option<Vec<FilledFigure>>,
}

/// The figures of a make, by sort.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Figures {
    /// A polishing pad.
    Pad(PadFigures),
    /// A backing plate.
    Plate(PlateFigures),
    /// A machine.
    Machine(MachineFigures),
    /// A towel.
    Towel(TowelFigures),
    /// A compound or polish.
    Liquid(LiquidFigures),
    /// A sundry.
    Sundry(SundryFigures),
    /// A tool.
    Tool(ToolFigures),
    /// A battery.
    Battery(BatteryFigures),
}

/// Figures of a pad. After `Make::filled` every option is set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PadFigures {
    /// Material of the face.
    pub material: PadMaterial,
    /// Grade of work it is for.
    pub grade: Grade,
    /// Diameter of the working face.
    pub face_mm: Length,
    /// Rated work, reference sections.
    pub rated_work_sections: Option<i64>,
    /// Rated washes.
    pub rated_wash_count: Option<i64>,
    /// Sections one pad works in a job before it must be changed.
    pub load_sections: Option<i64>,
    /// Drying time after a wash.
    pub dry_time_s: Option<Seconds>,
    /// Life of a typical pad as the user has seen it, reference sections: as likely more as less.
    #[serde(default)]
    pub typical_life_sections: Option<i64>,
    /// Life that 19 of 20 makes like it exceed, reference sections.
    #[serde(default)]
    pub least_life_sections: Option<i64>,
}

impl PadFigures {
    /// Whether a pad of these figures does for one of others: the same material, grade and size, so that it
    /// fits the same machine and plate.
    pub(crate) fn does_for(&self, other: &Self) -> bool {
        self.material == other.material
            && self.grade == other.grade
            && self.face_mm == other.face_mm
    }
}

/// Figures of a backing plate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlateFigures {
    /// Diameter.
    pub diameter_mm: Length,
    /// Thread as marked.
    pub thread: Thread,
    /// Rated speed as marked, per minute; `None` when it is not marked.
    pub rated_speed_per_min: Option<i64>,
    /// Rated running time, hours.
    pub rated_run_h: Option<i64>,
    /// Rated pad changes.
    pub rated_change_count: Option<i64>,
}

/// Figures of a machine.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MachineFigures {
    /// How it moves the pad.
    pub action: Action,
    /// Diameter of the orbit; zero for a rotary.
    pub throw_mm: Length,
    /// Spindle thread as marked.
    pub thread: Thread,
    /// Highest marked speed, per minute.
    pub max_speed_per_min: i64,
    /// Usual speed, per minute.
    pub work_speed_per_min: Option<i64>,
    /// Hand-arm vibration, mm/s².
    pub vibration_mm_per_s2: Option<i64>,
    /// Whether that was measured at work.
    pub vibration_measured: bool,
    /// Noise at the ear, dB(A).
    pub noise_db: Option<i64>,
    /// Works spot-sized sections.
    pub spot: bool,
    /// Runs on batteries.
    #[serde(default)]
    pub cordless: bool,
}

/// Figures of a towel.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TowelFigures {
    /// Weight of the cloth, g/m².
    pub weight_g_per_m2: i64,
    /// Washes from which the bundle is inspected.
    pub inspect_wash_count: Option<i64>,
    /// Washes from which it is taken down a grade.
    pub demote_wash_count: Option<i64>,
    /// Drying time after a wash.
    pub dry_time_s: Option<Seconds>,
}

/// Figures of a compound or polish.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LiquidFigures {
    /// Grade.
    pub grade: Grade,
    /// Volume of a new bottle.
    pub bottle_ul: Volume,
    /// Density, mg/mL.
    pub density_mg_per_ml: Option<i64>,
    /// Weight of the empty bottle with its cap.
    pub tare_mg: Option<Mass>,
    /// Dots that prime a pad, when the label says so.
    pub prime_dot_count: Option<i64>,
    /// Dots for each further section, when the label says so.
    pub refresh_dot_count: Option<i64>,
}

/// Figures of a sundry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SundryFigures {
    /// Unit.
    pub unit: Unit,
    /// Quantity in one piece as bought.
    pub pack_quantity: i64,
}

impl Figures {
    /// The sort of thing, as said.
    pub const fn sort(&self) -> &'static str {
        match self {
            Self::Pad(_) => "pad",
            Self::Plate(_) => "backing plate",
            Self::Machine(_) => "machine",
            Self::Towel(_) => "bundle of towels",
            Self::Liquid(_) => "bottle",
            Self::Sundry(_) => "sundry",
            Self::Tool(_) => "tool",
            Self::Battery(_) => "battery",
        }
    }

    /// Whether it is neither used up nor worn out by some jobs: nothing of it is kept in store.
    pub(crate) const fn outlasts_jobs(&self) -> bool {
        matches!(
            self,
            Self::Machine(_) | Self::Plate(_) | Self::Tool(_) | Self::Battery(_)
        )
    }

    /// The letters that start a tag of this sort when none is given.
    pub(crate) const fn tag_letters(&self) -> &'static str {
        match self {
            Self::Pad(_) => "P",
            Self::Plate(_) => "BP",
            Self::Machine(_) => "M",
            Self::Towel(_) => "T",
            Self::Liquid(_) => "B",
            Self::Sundry(_) => "S",
            Self::Tool(_) => "TL",
            Self::Battery(_) => "BT",
        }
    }
}

impl LiquidFigures {
    /// Policy key of the density of a liquid of its grade.
    pub(crate) const fn density_key(&self) -> PolicyKey {
        match self.grade {
            Grade::Coarse => PolicyKey::DensityCompoundMgPerMl,
            Grade::Medium | Grade::Fine => PolicyKey::DensityPolishMgPerMl,
        }
    }
}

impl MachineFigures {
    /// Speed it is worked at when a step does not say, per minute.
    pub(crate) fn usual_speed_per_min(&self) -> i64 {
        self.work_speed_per_min.unwrap_or(self.max_speed_per_min)
    }
}
