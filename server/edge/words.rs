//! The contract's enums and the model's: each word on one side with its word on the other.
//!
//! It serves parsing and showing alike, so that the two can never disagree. A number that the
//! contract does not know is refused with the words that there are; it is never taken for the nearest.

use fettlebook_contract::v1;
use fettlebook_model::Refusal;
use fettlebook_model::car::{AreaBasis, CarClass};
use fettlebook_model::check::{LineKind, Verdict};
use fettlebook_model::cleaning::Cleaning;
use fettlebook_model::job_cost::CostKind;
use fettlebook_model::kit::Readiness;
use fettlebook_model::make::{Figures, Grade, PadMaterial, Unit};
use fettlebook_model::order::OrderState;
use fettlebook_model::policy::Basis;
use fettlebook_model::reach::Reach;
use fettlebook_model::reorder::Cause;
use fettlebook_model::supplier::OrderDay;
use fettlebook_model::tool::ToolKind;
use fettlebook_model::towel::TowelGrade;
use fettlebook_model::wear::{Action, AsideReason, Band, BinReason, Press};
use fettlebook_quantity::field_words;

use super::reflected::words_of;
use crate::access::Role;
use crate::desk::Compared;

/// A word of the model that a request can say.
pub(super) trait Word {
    /// The contract's enum that has it.
    const OF: &'static str;
}

/// Reads and writes an enum whose words are the same on both sides. Reading gives nothing for
/// *not said*.
macro_rules! both_ways {
    ($read:ident, $write:ident: $wire:ident is $model:ident { $($word:ident),+ $(,)? }) => {
        pub(super) fn $read(field: &str, number: i32) -> Result<Option<$model>, Refusal> {
            match v1::$wire::try_from(number) {
                Ok(v1::$wire::Unspecified) => Ok(None),
                $(Ok(v1::$wire::$word) => Ok(Some($model::$word)),)+
                Err(_) => Err(unknown(field, number, stringify!($wire))),
            }
        }

        impl Word for $model {
            const OF: &'static str = stringify!($wire);
        }

        one_way!($write: $model to $wire { $($word = $word),+ });
    };
}

/// Writes an enum that is only ever sent.
macro_rules! one_way {
    ($write:ident: $model:ident to $wire:ident { $($from:ident = $to:ident),+ $(,)? }) => {
        pub(super) fn $write(word: $model) -> i32 {
            i32::from(match word {
                $($model::$from => v1::$wire::$to,)+
            })
        }
    };
}

both_ways!(role, role_word: Role is Role { Look, Work, Keep, Own });
both_ways!(reach, reach_word: Reach is Reach { Big, Spot, Pencil, Hand });
both_ways!(grade, grade_word: Grade is Grade { Coarse, Medium, Fine });
both_ways!(material, material_word: PadMaterial is PadMaterial {
    ThinFoam, ThickFoam, Microfibre, Wool, Applicator,
});
both_ways!(tool_kind, tool_kind_word: ToolKind is ToolKind {
    FilmGauge, InspectionLight, PadBrush, ExtensionShaft, Mat, Other,
});
both_ways!(action, action_word: MachineAction is Action { Orbital, Rotary });
both_ways!(towel_grade, towel_grade_word: TowelGrade is TowelGrade {
    Final, Residue, ShutsAndGlass, Wheels, Rag,
});
both_ways!(aside_reason, aside_reason_word: AsideReason is AsideReason {
    Dropped, CrossLoaded, Inspect, Other,
});
both_ways!(bin_reason, bin_reason_word: BinReason is BinReason {
    Torn, Peeling, Cupped, Glazed, Matted, Worn, Precaution, Lost, CrossLoaded, Sold, Accident,
    Empty, Expired,
});
both_ways!(car_class, car_class_word: CarClass is CarClass {
    City, SmallHatch, MediumHatch, MediumSaloon, LargeSaloon, Estate, Sports, MediumSuv, LargeSuv,
    Pickup, Van,
});
both_ways!(press, press_word: Press is Press { Light, Moderate, Firm });
both_ways!(cleaning, cleaning_word: PadCleaning is Cleaning {
    None, BetweenPanels, AfterSections,
});
both_ways!(weekday, weekday_word: Weekday is OrderDay {
    Monday, Tuesday, Wednesday, Thursday, Friday, Saturday, Sunday,
});

one_way!(area_basis_word: AreaBasis to AreaBasis {
    Measured = Measured, ClassDefault = Class, Dimensions = Dimensions,
});
one_way!(verdict_word: Verdict to Verdict { Go = Go, Watch = Watch, Stop = Stop });
one_way!(band_word: Band to WearBand { Sound = Sound, Tired = Tired, Spent = Spent });
one_way!(basis_word: Basis to Basis {
    Standard = Standard, Geometry = Geometry, CommonPractice = CommonPractice, Memory = Memory,
    Derived = Derived,
});
one_way!(line_kind_word: LineKind to CheckLineKind {
    Machine = Machine, Plate = Plate, Pad = Pad, Liquid = Liquid, Towel = Towel, Sundry = Sundry,
    Tool = Tool, Film = Film, Vibration = Vibration, Noise = Noise, Car = Car, Time = Time,
    Battery = Battery,
});
one_way!(order_state_word: OrderState to OrderState {
    Drafted = Drafted, Placed = Placed, PartReceived = PartReceived, Closed = Closed,
});
one_way!(cause_word: Cause to ReorderCause {
    BookedJob = BookedJob, CarryChance = CarryChance, KeepLevel = KeepLevel,
});
one_way!(cost_kind_word: CostKind to CostKind {
    Liquid = Liquid, Pads = Pads, Plates = Plates, Towels = Towels, Sundries = Sundries,
});
one_way!(unit_word: Unit to Unit {
    Piece = Piece, Pair = Pair, Microlitre = Microlitre, Millimetre = Millimetre,
});

/// The unit of a sundry; nothing when it is not said.
pub(super) fn unit(field: &str, number: i32) -> Result<Option<Unit>, Refusal> {
    match v1::Unit::try_from(number) {
        Ok(v1::Unit::Unspecified) => Ok(None),
        Ok(v1::Unit::Piece) => Ok(Some(Unit::Piece)),
        Ok(v1::Unit::Pair) => Ok(Some(Unit::Pair)),
        Ok(v1::Unit::Microlitre) => Ok(Some(Unit::Microlitre)),
        Ok(v1::Unit::Millimetre) => Ok(Some(Unit::Millimetre)),
        Ok(v1::Unit::Micrometre) => Err(Refusal::invalid(
            field,
            "A sundry is not measured in micrometres.",
            "Count it in pieces or pairs, or measure it in microlitres or millimetres.",
        )),
        Err(_) => Err(unknown(field, number, Unit::OF)),
    }
}

impl Word for Unit {
    const OF: &'static str = "Unit";
}

/// How the journal stands to what a client saw.
pub(super) fn head_finding(found: Compared) -> i32 {
    i32::from(match found {
        Compared::Agrees => v1::HeadFinding::Agrees,
        Compared::Missing { .. } => v1::HeadFinding::Missing,
        Compared::Different { .. } => v1::HeadFinding::Different,
        Compared::OtherIncarnation => v1::HeadFinding::OtherIncarnation,
    })
}

/// The sort of a make.
pub(super) fn make_sort(figures: &Figures) -> v1::MakeSort {
    match figures {
        Figures::Pad(_) => v1::MakeSort::Pad,
        Figures::Plate(_) => v1::MakeSort::Plate,
        Figures::Machine(_) => v1::MakeSort::Machine,
        Figures::Towel(_) => v1::MakeSort::Towel,
        Figures::Liquid(_) => v1::MakeSort::Liquid,
        Figures::Sundry(_) => v1::MakeSort::Sundry,
        Figures::Tool(_) => v1::MakeSort::Tool,
        Figures::Battery(_) => v1::MakeSort::Battery,
    }
}

/// The sort that a list is asked for; unspecified for all.
pub(super) fn sort_sought(number: i32) -> Result<v1::MakeSort, Refusal> {
    v1::MakeSort::try_from(number).map_err(|_| unknown("sort", number, "MakeSort"))
}

/// A readiness and, while drying, aside or binned, what goes with it.
pub(super) fn readiness_word(readiness: Readiness) -> i32 {
    i32::from(match readiness {
        Readiness::Ready => v1::Readiness::Ready,
        Readiness::Soiled => v1::Readiness::Soiled,
        Readiness::Drying(_) => v1::Readiness::Drying,
        Readiness::Aside(_) => v1::Readiness::Aside,
        Readiness::Binned(_) => v1::Readiness::Binned,
    })
}

/// A word that has to be said.
pub(super) fn required<T: Word>(field: &str, word: Option<T>) -> Result<T, Refusal> {
    word.ok_or_else(|| missing(field, T::OF))
}

/// A word of an enum of the contract that has to be said, and was not.
pub(super) fn missing(field: &str, of: &str) -> Refusal {
    Refusal::missing(field, &one_of(field, of))
}

/// A number that stands for no word of an enum of the contract.
pub(super) fn unknown(field: &str, number: i32, of: &str) -> Refusal {
    Refusal::invalid(
        field,
        format!(
            "The {} is {number}, which stands for no word of the contract.",
            field_words(field)
        ),
        one_of(field, of),
    )
}

/// Which words there are for a field, which is named: of several that are wrong each has its own.
fn one_of(field: &str, of: &str) -> String {
    let words = words_of(of).join(", ");
    format!("The {} is one of {words}.", field_words(field))
}
