//! Commands: what a person asks the book to take in.
//!
//! The edge parses a request into one of these; [`crate::decide()`] turns it into deeds or refuses
//! it. A command holds no figure the book knows already.

mod film;
mod keepable;
mod orders;
mod start;

use fettlebook_quantity::{Count, Mass, Seconds, Volume};
use jiff::civil::Date;

pub use film::FilmRead;
pub use orders::{Delivery, DeliveryLine, NewOrder, OrderedLine};
pub use start::{OfRow, Start, StartPiece, StartPrice};

use crate::Moment;
use crate::book::deed::Entry;
use crate::ground::ids::{Id, Place, Seq, Tag};
use crate::ground::money::Money;
use crate::trade::car::CarClass;
use crate::trade::job::{Car, Job, Routine, Step};
use crate::trade::kept::Kept;
use crate::trade::kit::{Inspection, Readiness};
use crate::trade::make::Make;
use crate::trade::panel::Panel;
use crate::trade::policy::PolicyKey;
use crate::trade::supplier::Supplier;
use crate::trade::take::Picked;
use crate::trade::towel::TowelGrade;
use crate::trade::wear::{AsideReason, BinReason, Work};

/// When a thing was done and what is worth remembering of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Said {
    /// When it was done; now when open.
    pub done_at: Option<Moment>,
    /// Anything worth remembering.
    pub note: String,
    /// How a device kept it before it was sent; none for what was sent at once.
    pub kept: Option<Kept>,
}

/// What a person asks the book to take in.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    missing_docs,
    reason = "the fields are named by type and unit; each kind says what it is"
)]
pub enum Command {
    /// Set up a make.
    CreateMake { make: Make },
    /// Edit a make; `was` is what the person saw.
    EditMake { was: Make, make: Make },
    /// Set up a car.
    CreateCar { car: Car },
    /// Edit a car.
    EditCar { was: Car, car: Car },
    /// Tell what a gauge read of a car's film.
    RecordFilm(Box<FilmRead>),
    /// Set up a routine.
    CreateRoutine { routine: Routine },
    /// Edit a routine.
    EditRoutine { was: Routine, routine: Routine },
    /// Change policies; all or none.
    SetPolicies {
        changes: Vec<(PolicyKey, Option<i64>)>,
        note: String,
    },
    /// Take new pieces into the kit.
    Receive(Box<Receipt>),
    /// Take over the pads of a notebook, all or none.
    ImportPads {
        note: String,
        rows: Vec<NotebookRow>,
    },
    /// Set up what a shop begins with, in one entry.
    Start(Box<Start>),
    /// Take pieces to another place.
    Move {
        said: Said,
        tags: Vec<Tag>,
        place: Place,
    },
    /// Wash pieces; pads may have been looked at.
    Wash {
        said: Said,
        tags: Vec<Tag>,
        inspections: Vec<(Tag, Inspection)>,
    },
    /// Say that washed pieces are dry.
    MarkDry { said: Said, tags: Vec<Tag> },
    /// Batteries were put on the charger.
    Charge { said: Said, tags: Vec<Tag> },
    /// Labels of pieces were printed.
    MarkLabelled { said: Said, tags: Vec<Tag> },
    /// Weigh bottles.
    Weigh {
        said: Said,
        weighings: Vec<Weighing>,
    },
    /// Pour from one bottle into another of the same make; as much as fits and is there where no volume is said.
    Fill {
        said: Said,
        bottle: Tag,
        from: Tag,
        volume_ul: Option<Volume>,
    },
    /// Count or read what is there.
    Count {
        said: Said,
        tag: Tag,
        count: Counted,
    },
    /// Keep pieces off paint.
    SetAside {
        said: Said,
        tags: Vec<Tag>,
        reason: AsideReason,
    },
    /// Bring pieces back; tools perhaps with the day of their next check, pads with whether they are clean.
    Return {
        said: Said,
        tags: Vec<Tag>,
        check_due: Option<Date>,
        is_clean: Option<bool>,
    },
    /// Take pieces, or some towels of a bundle, out of the kit.
    Bin {
        said: Said,
        tags: Vec<Tag>,
        reason: BinReason,
        count: Option<i64>,
    },
    /// Take a bundle down a grade.
    Demote {
        said: Said,
        tag: Tag,
        grade: TowelGrade,
    },
    /// Book a job.
    BookJob { job: Job },
    /// Edit a booked job.
    EditJob { was: Job, job: Job },
    /// Call a job off.
    CallOff { said: Said, job: Id },
    /// Set up a supplier.
    CreateSupplier { supplier: Supplier },
    /// Edit a supplier.
    EditSupplier { was: Supplier, supplier: Supplier },
    /// Write an order.
    CreateOrder(Box<NewOrder>),
    /// Say that a drafted order was sent.
    PlaceOrder { said: Said, order: Id },
    /// Say that no more of an order is expected.
    CloseOrder { said: Said, order: Id },
    /// Take a delivery in.
    ReceiveOrder(Box<Delivery>),
    /// Take the pick of a job, or give it back.
    TakeJob(Box<JobTake>),
    /// Record what a job used.
    LogJob(Box<JobLog>),
    /// Record a use outside any job.
    LogLoose(Box<LooseLog>),
    /// Reverse an entry. The desk adds the past of what it touched.
    Reverse {
        said: Said,
        seq: Seq,
        past: Option<Box<Past>>,
    },
}

/// What came in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Receipt {
    /// When and what.
    pub said: Said,
    /// Make.
    pub make: Id,
    /// Where it goes.
    pub place: Place,
    /// Pieces.
    pub piece_count: i64,
    /// Tags; the next ones when empty.
    pub tags: Vec<Tag>,
    /// Towels in the bundle.
    pub towel_count: i64,
    /// Lot of a bottle.
    pub lot: String,
    /// Last day a bottle may be used.
    pub expiry: Option<Date>,
    /// Volume when the bottle is not full.
    pub volume_ul: Option<Volume>,
    /// Weight of the empty bottle; the make's when open.
    pub tare_mg: Option<Mass>,
    /// Quantity of a sundry when not one whole pack.
    pub quantity: Option<i64>,
    /// What a bundle may touch; residue when open.
    pub towel_grade: Option<TowelGrade>,
    /// Work a pad has done already.
    pub work: Option<Work>,
    /// Washes a pad or bundle has had already.
    pub wash_count: Option<i64>,
    /// Day by which a tool is to be checked.
    pub check_due: Option<Date>,
    /// Running time that a machine or a plate has behind it.
    pub run_time: Option<Seconds>,
    /// Pad changes that a plate has behind it.
    pub change_count: Option<i64>,
    /// Charges that a battery has behind it.
    pub charge_count: Option<i64>,
    /// What each piece cost when it came.
    pub landed: Option<Money>,
    /// What a piece held for that, in the units its make is costed in; as much as now when open.
    pub landed_quantity: Option<i64>,
}

/// A pad of a notebook, with what it has behind it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotebookRow {
    /// Line of the file, for naming what is wrong.
    pub line: i64,
    /// Tag.
    pub tag: Tag,
    /// Make.
    pub make: Id,
    /// Where it is.
    pub place: Place,
    /// Work so far.
    pub behind: Behind,
    /// Washes so far.
    pub wash_count: i64,
    /// How it stands.
    pub readiness: Readiness,
    /// When it was binned or set aside, else when it came in; the day of the import when open.
    pub date: Option<Date>,
    /// What it cost when it came.
    pub landed: Option<Money>,
}

/// Work a pad has behind it, as the notebook tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Behind {
    /// So much work.
    Work(Work),
    /// So many jobs; each counts as the make's load of reference sections.
    Jobs(i64),
}

/// A weigh-in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Weighing {
    /// Bottle.
    pub tag: Tag,
    /// Weight on the scale.
    pub gross_mg: Mass,
}

/// What a count found.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counted {
    /// Quantity of a sundry in its unit, or volume of a bottle in µL.
    pub quantity: Option<i64>,
    /// Clean towels.
    pub clean_count: Option<i64>,
    /// Soiled towels.
    pub soiled_count: Option<i64>,
}

/// What became of one pad in a use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PadUse {
    /// Pad.
    pub tag: Tag,
    /// Sections it worked; an even share when open.
    pub section_count: Option<i64>,
    /// What inspection found, if it leaves the kit.
    pub found: Option<BinReason>,
    /// Why it is set aside after the job.
    pub aside: Option<AsideReason>,
}

/// A liquid amount as it was given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LiquidAmount {
    /// A volume.
    Volume(Volume),
    /// Dots, at the book's dot size.
    Dots(Count),
}

/// The pick of a job that is taken or given back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobTake {
    /// When and what.
    pub said: Said,
    /// Job.
    pub job: Id,
    /// Whether what was taken is given back.
    pub is_released: bool,
    /// The pick that was shown to whoever takes it; empty when none was, and then the check picks.
    pub picked: Vec<Picked>,
    /// Why it is taken although the check says stop; empty when nothing is to be passed.
    pub despite: String,
}

/// What a job used, as corrections to its plan.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct JobLog {
    /// When and what.
    pub said: Said,
    /// Job.
    pub job: Option<Id>,
    /// What there is to say of the job where nobody booked it.
    pub unbooked: Option<Unbooked>,
    /// Whether it tells of the first day alone of a job that takes two.
    pub first_day: bool,
    /// The pick that was shown to whoever logs; empty when none was, and then the book picks.
    pub picked: Vec<Picked>,
    /// Panels that were not worked after all.
    pub left_out: Vec<Panel>,
    /// Pads with something to say.
    pub pads: Vec<PadUse>,
    /// Pads taken for those planned: planned, used.
    pub swaps: Vec<(Tag, Tag)>,
    /// Towels that fell.
    pub dropped_towel_count: i64,
    /// Towels by bundle, when not as picked.
    pub bundles: Vec<(Tag, i64)>,
    /// Weigh-ins after the job.
    pub weighings: Vec<Weighing>,
    /// Liquid by bottle, when not as planned.
    pub bottles: Vec<(Tag, LiquidAmount)>,
    /// Sundries by tag, when not as planned.
    pub sundries: Vec<(Tag, i64)>,
    /// How long the machines really ran, all steps together, s; as planned when open.
    pub machine_time_s: Option<i64>,
    /// How long single machines really ran, s.
    pub machine_times: Vec<(Tag, i64)>,
    /// Who did it; as it was booked when empty.
    pub person: String,
    /// Batteries that ran, each with what was left of its charge, thousandths; those picked when empty.
    pub batteries: Vec<(Tag, i64)>,
}

/// A job that nobody booked, as its log tells it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unbooked {
    /// The car: one that the book has, or the class of another.
    pub car: UnbookedCar,
    /// Routine.
    pub routine: Id,
    /// Where it was done.
    pub place: Place,
    /// When it was started; when it was done where that is open.
    pub starts_at: Option<Moment>,
    /// Offset of local time from UTC then, s.
    pub utc_offset_s: i32,
}

/// The car of a job that nobody booked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum UnbookedCar {
    /// It is in the book.
    Known(Id),
    /// It is of this class, and comes into the book under the name of the job.
    OfClass(CarClass),
}

/// What was used outside any job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LooseLog {
    /// When and what.
    pub said: Said,
    /// How pads were worked; needed when there are pads.
    pub step: Option<Step>,
    /// Machine.
    pub machine: Option<Tag>,
    /// Plate.
    pub plate: Option<Tag>,
    /// Sections in all.
    pub section_count: i64,
    /// Pads.
    pub pads: Vec<PadUse>,
    /// Liquid by bottle.
    pub bottles: Vec<(Tag, LiquidAmount)>,
    /// Towels by bundle.
    pub bundles: Vec<(Tag, i64)>,
    /// Sundries by tag.
    pub sundries: Vec<(Tag, i64)>,
    /// Weigh-ins.
    pub weighings: Vec<Weighing>,
}

/// The past of what an entry touched, for reversing it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Past {
    /// The entry to reverse.
    pub target: Entry,
    /// Every entry that touched any subject of the target, in order of their numbers.
    pub entries: Vec<Entry>,
}

impl Command {
    /// The entry it wants to reverse, if it is a reversal.
    pub const fn reverses(&self) -> Option<Seq> {
        match self {
            Self::Reverse { seq, .. } => Some(*seq),
            _ => None,
        }
    }

    /// The reversal with the past it needs.
    #[must_use]
    pub fn with_past(self, found: Past) -> Self {
        match self {
            Self::Reverse { said, seq, .. } => Self::Reverse {
                said,
                seq,
                past: Some(Box::new(found)),
            },
            other => other,
        }
    }
}
