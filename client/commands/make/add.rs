//! `make add SORT ID`: sets up a make with its figures.
//!
//! It serves setting up. Ratings that are left out are the book's policy to fill in.

use clap::{Args, Subcommand};
use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{
    CreateMakeRequest, Grade, LiquidFigures, MachineAction, MachineFigures, Make, Money,
    PadFigures, PadMaterial, PlateFigures, SundryFigures, TowelFigures,
};

use super::figures as read;
use crate::commands::common::record;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options::{self, Stock};
use crate::render::Printer;
use crate::request;
use crate::word;

/// Sorts of make.
#[derive(Debug, Subcommand)]
pub(crate) enum Add {
    /// A polishing pad
    Pad(Pad),
    /// A backing plate
    Plate(Plate),
    /// A polishing machine
    Machine(Machine),
    /// A towel
    Towel(Towel),
    /// A compound or polish
    Liquid(Liquid),
    /// Something counted or measured that does not wear
    Sundry(Sundry),
}

/// What every sort takes.
#[derive(Args, Debug)]
pub(crate) struct Common {
    /// Id to type from now on, for example coarse-foam-150
    #[arg(value_name = "ID")]
    pub(crate) make: String,
    /// Name as said, for example 'coarse foam 150'
    #[arg(long, value_name = "TEXT")]
    pub(crate) name: Option<String>,
    /// Price of one pack, for example '18.90 EUR'
    #[arg(long, value_name = "PRICE", value_parser = options::money)]
    pub(crate) price: Option<Money>,
    /// Pieces in a pack at that price; without it one
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    pub(crate) pack: Option<i64>,
    /// GHS hazard codes from the data sheet, for example H225,H319
    #[arg(long, value_name = "CODES", value_delimiter = ',')]
    pub(crate) ghs: Vec<String>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Figures of a pad.
#[derive(Args, Debug)]
pub(crate) struct Pad {
    #[command(flatten)]
    pub(crate) common: Common,
    /// Material of the face
    #[arg(long, value_name = "WORD", value_parser = word::parser::<PadMaterial>())]
    pub(crate) material: PadMaterial,
    /// Grade of work it is for
    #[arg(long, value_name = "WORD", value_parser = word::parser::<Grade>())]
    pub(crate) grade: Grade,
    /// Diameter of the face, for example '150 mm'
    #[arg(long, value_name = "LENGTH", value_parser = read::millimetres)]
    pub(crate) face: i64,
    /// Rated work, in reference sections
    #[arg(long, value_name = "SECTIONS", value_parser = read::whole)]
    pub(crate) rated_work: Option<i64>,
    /// Washes it is rated for
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    pub(crate) rated_washes: Option<i64>,
    /// Sections before it is changed in a job
    #[arg(long, value_name = "SECTIONS", value_parser = read::whole)]
    pub(crate) load: Option<i64>,
    /// Life of a typical pad as you have seen it, in reference sections; takes --least-life too
    #[arg(long, value_name = "SECTIONS", value_parser = read::whole)]
    pub(crate) typical_life: Option<i64>,
    /// Life that 19 in 20 exceed, in reference sections; takes --typical-life too
    #[arg(long, value_name = "SECTIONS", value_parser = read::whole)]
    pub(crate) least_life: Option<i64>,
    /// Drying time after a wash, for example '24 h'
    #[arg(long, value_name = "TIME", value_parser = read::seconds)]
    pub(crate) dry: Option<i64>,
}

/// Figures of a plate.
#[derive(Args, Debug)]
pub(crate) struct Plate {
    #[command(flatten)]
    pub(crate) common: Common,
    /// Diameter, for example '125 mm'
    #[arg(long, value_name = "LENGTH", value_parser = read::millimetres)]
    pub(crate) diameter: i64,
    /// Thread as marked, for example M8
    #[arg(long, value_name = "THREAD")]
    pub(crate) thread: String,
    /// Rated speed as marked on the plate, for example 12000/min
    #[arg(long, value_name = "SPEED", value_parser = read::speed)]
    pub(crate) rated_speed: Option<i64>,
    /// Rated running time, for example '300 h'
    #[arg(long, value_name = "HOURS", value_parser = read::hours)]
    pub(crate) rated_run: Option<i64>,
    /// Pad changes its hook face is rated for
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    pub(crate) rated_changes: Option<i64>,
}

/// Figures of a machine.
#[derive(Args, Debug)]
pub(crate) struct Machine {
    #[command(flatten)]
    pub(crate) common: Common,
    /// How it moves the pad
    #[arg(long, value_name = "WORD", value_parser = word::parser::<MachineAction>())]
    pub(crate) action: MachineAction,
    /// Diameter of the orbit, for example '15 mm'
    #[arg(long, value_name = "LENGTH", value_parser = read::millimetres)]
    pub(crate) throw: Option<i64>,
    /// Thread of the spindle as marked, for example M8
    #[arg(long, value_name = "THREAD")]
    pub(crate) thread: String,
    /// Highest speed marked on it, for example 4800/min
    #[arg(long, value_name = "SPEED", value_parser = read::speed)]
    pub(crate) max_speed: i64,
    /// Speed it is usually worked at
    #[arg(long, value_name = "SPEED", value_parser = read::speed)]
    pub(crate) work_speed: Option<i64>,
    /// Hand-arm vibration value, for example '5.2 m/s2'
    #[arg(long, value_name = "VALUE", value_parser = read::vibration)]
    pub(crate) vibration: Option<i64>,
    /// That value was measured at work, not declared by the maker
    #[arg(long)]
    pub(crate) vibration_measured: bool,
    /// Noise level at the ear, for example '82 dB'
    #[arg(long, value_name = "LEVEL", value_parser = read::noise)]
    pub(crate) noise: Option<i64>,
    /// A small machine that works spot-sized sections
    #[arg(long)]
    pub(crate) spot: bool,
}

/// Figures of a towel.
#[derive(Args, Debug)]
pub(crate) struct Towel {
    #[command(flatten)]
    pub(crate) common: Common,
    /// Weight of the cloth, for example '400 g/m2'
    #[arg(long, value_name = "WEIGHT", value_parser = read::cloth)]
    pub(crate) weight: i64,
    /// Washes from which to inspect it
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    pub(crate) inspect_from: Option<i64>,
    /// Washes from which to take it down a grade
    #[arg(long, value_name = "COUNT", value_parser = read::whole)]
    pub(crate) demote_from: Option<i64>,
    /// Drying time after a wash, for example '24 h'
    #[arg(long, value_name = "TIME", value_parser = read::seconds)]
    pub(crate) dry: Option<i64>,
}

/// Figures of a liquid.
#[derive(Args, Debug)]
pub(crate) struct Liquid {
    #[command(flatten)]
    pub(crate) common: Common,
    /// Coarse for compound, fine for finishing polish
    #[arg(long, value_name = "WORD", value_parser = word::parser::<Grade>())]
    pub(crate) grade: Grade,
    /// Volume of a new bottle, for example '500 ml'
    #[arg(long, value_name = "VOLUME", value_parser = read::microlitres)]
    pub(crate) bottle: i64,
    /// Density, for example '1.05 g/ml'
    #[arg(long, value_name = "DENSITY", value_parser = read::density)]
    pub(crate) density: Option<i64>,
    /// Weight of the empty bottle with its cap, for example '45 g'
    #[arg(long, value_name = "WEIGHT", value_parser = read::milligrams)]
    pub(crate) tare: Option<i64>,
    /// Dots that prime a pad, by the label
    #[arg(long, value_name = "DOTS", value_parser = read::whole)]
    pub(crate) prime: Option<i64>,
    /// Dots for each further section, by the label
    #[arg(long, value_name = "DOTS", value_parser = read::whole)]
    pub(crate) refresh: Option<i64>,
}

/// Figures of a sundry.
#[derive(Args, Debug)]
pub(crate) struct Sundry {
    #[command(flatten)]
    pub(crate) common: Common,
    /// What one piece holds as bought, for example '50 pairs', '50 metres', '1 l'
    #[arg(long, value_name = "AMOUNT", value_parser = options::stock)]
    pub(crate) holds: Stock,
}

/// Sets up the make.
pub(crate) async fn perform(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let create = CreateMakeRequest {
        request_id: request::new_id(),
        make: Some(args.make()),
    };
    record(session, printer, create).await
}

impl Add {
    /// The make as the contract carries it.
    pub(crate) fn make(&self) -> Make {
        let (common, figures) = match self {
            Self::Pad(pad) => (&pad.common, Figures::Pad(pad.figures())),
            Self::Plate(plate) => (&plate.common, Figures::Plate(plate.figures())),
            Self::Machine(machine) => (&machine.common, Figures::Machine(machine.figures())),
            Self::Towel(towel) => (&towel.common, Figures::Towel(towel.figures())),
            Self::Liquid(liquid) => (&liquid.common, Figures::Liquid(liquid.figures())),
            Self::Sundry(sundry) => (&sundry.common, Figures::Sundry(sundry.figures())),
        };
        Make {
            make: common.make.clone(),
            name: common
                .name
                .clone()
                .unwrap_or_else(|| common.make.replace('-', " ")),
            price: common.price.clone(),
            pack_count: common.pack.unwrap_or(0),
            ghs_codes: common.ghs.clone(),
            note: common.note.clone().unwrap_or_default(),
            figures: Some(figures),
            ..Make::default()
        }
    }
}

impl Pad {
    fn figures(&self) -> PadFigures {
        PadFigures {
            material: self.material.into(),
            grade: self.grade.into(),
            face_mm: self.face,
            rated_work_sections: self.rated_work,
            rated_wash_count: self.rated_washes,
            load_sections: self.load,
            dry_time_s: self.dry,
            typical_life_sections: self.typical_life,
            least_life_sections: self.least_life,
        }
    }
}

impl Plate {
    fn figures(&self) -> PlateFigures {
        PlateFigures {
            diameter_mm: self.diameter,
            thread: self.thread.clone(),
            rated_speed_per_min: self.rated_speed,
            rated_run_h: self.rated_run,
            rated_change_count: self.rated_changes,
        }
    }
}

impl Machine {
    fn figures(&self) -> MachineFigures {
        MachineFigures {
            action: self.action.into(),
            throw_mm: self.throw,
            thread: self.thread.clone(),
            max_speed_per_min: self.max_speed,
            work_speed_per_min: self.work_speed,
            vibration_mm_per_s2: self.vibration,
            vibration_measured: self.vibration_measured,
            noise_db: self.noise,
            spot: self.spot,
        }
    }
}

impl Towel {
    const fn figures(&self) -> TowelFigures {
        TowelFigures {
            weight_g_per_m2: self.weight,
            inspect_wash_count: self.inspect_from,
            demote_wash_count: self.demote_from,
            dry_time_s: self.dry,
        }
    }
}

impl Liquid {
    fn figures(&self) -> LiquidFigures {
        LiquidFigures {
            grade: self.grade.into(),
            bottle_ul: self.bottle,
            density_mg_per_ml: self.density,
            tare_mg: self.tare,
            prime_dot_count: self.prime,
            refresh_dot_count: self.refresh,
        }
    }
}

impl Sundry {
    fn figures(&self) -> SundryFigures {
        SundryFigures {
            unit: self.holds.unit.into(),
            pack_quantity: self.holds.quantity,
        }
    }
}
