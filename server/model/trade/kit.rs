//! Kit: pieces with a tag, what state each is in, and what a deed does to it.
//!
//! A piece's state follows from its own deeds alone, in the order of the book, so that a reversal
//! can be answered by folding them again without the reversed one. Sums (work, washes, hours) take
//! every deed; what only the latest decides (readiness, level) goes by the time a thing was done, so
//! that a late report of an early use does not soil a pad that has been washed since.

use fettlebook_quantity::{Mass, Volume};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::ground::ids::{Id, Place, Seq, Tag};
use crate::ground::money::Money;
use crate::trade::battery::BatteryState;
use crate::trade::carried::Carried;
use crate::trade::kept::{Trail, Washes};
use crate::trade::make::Grade;
use crate::trade::since::{Since, Standing, When};
use crate::trade::tally::{PlannedUse, Taken, Tally};
use crate::trade::tool::ToolState;
use crate::trade::towel::{Handled, Pile, TowelGrade, Wipings};
use crate::trade::wear::{AsideReason, BinReason, Work};

/// Can it go on paint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Readiness {
    /// Clean and dry.
    Ready,
    /// Used and not washed since.
    Soiled,
    /// Washed; dry at this moment.
    Drying(Moment),
    /// Kept off paint.
    Aside(AsideReason),
    /// Out of the kit.
    Binned(BinReason),
}

impl Readiness {
    /// Readiness at a moment: what was drying is ready once it is dry.
    #[must_use]
    pub fn at(self, moment: Moment) -> Self {
        match self {
            Self::Drying(until) if until <= moment => Self::Ready,
            other => other,
        }
    }

    /// The word as said.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Ready => "ready",
            Self::Soiled => "soiled",
            Self::Drying(_) => "drying",
            Self::Aside(_) => "aside",
            Self::Binned(_) => "binned",
        }
    }
}

/// One thing with a tag on it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Piece {
    /// Tag on the thing.
    pub tag: Tag,
    /// Its make.
    pub make: Id,
    /// Where it is.
    pub place: Place,
    /// When it came in.
    pub received_at: Moment,
    /// Can it go on paint. For a bundle: whether any of it is drying, aside or binned.
    pub readiness: Readiness,
    /// When what decided the readiness was done.
    pub since: Moment,
    /// Something reported contradicts the book; a count settles it.
    pub needs_count: bool,
    /// Last entry that touched it.
    pub last_seq: Seq,
    /// State by sort.
    pub state: State,
    /// What it cost when it came, where that is known.
    #[serde(default)]
    pub cost: Option<PieceCost>,
    /// Which entries used it.
    #[serde(default)]
    pub used: Option<Trail>,
    /// Which entries counted, weighed or read it.
    #[serde(default)]
    pub counted: Option<Trail>,
    /// The washes that were told of it last.
    #[serde(default)]
    pub washes: Washes,
    /// When a label of it was last printed.
    #[serde(default)]
    pub labelled_at: Option<Moment>,
}

/// What a piece cost when it came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct PieceCost {
    /// Its price with its share of the freight.
    pub landed: Money,
    /// What it held then, in the make's unit: µL, towels, a sundry's unit, or 1.
    pub quantity: i64,
    /// Cost of one unit by moving average just after it came.
    pub average: Decimal,
}

/// State of a piece, by sort.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// A pad.
    Pad(PadState),
    /// A backing plate.
    Plate(PlateState),
    /// A machine.
    Machine(MachineState),
    /// A bundle of towels.
    Bundle(BundleState),
    /// A bottle.
    Bottle(BottleState),
    /// A sundry.
    Sundry(SundryState),
    /// A tool.
    Tool(ToolState),
    /// A battery.
    Battery(BatteryState),
}

/// Work and washes of a pad.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PadState {
    /// Work done.
    pub work: Work,
    /// Washes.
    pub wash_count: i64,
    /// Uses.
    pub use_count: i64,
    /// Coarsest liquid it has ever carried.
    pub coarsest_liquid: Option<Grade>,
    /// What the last inspection at a wash found.
    #[serde(default)]
    pub inspected: Option<Inspection>,
    /// When that was.
    #[serde(default)]
    pub inspected_at: Option<Moment>,
    /// The last local day on which it went along to a job as a spare and did not work.
    #[serde(default)]
    pub taken_along_on: Option<Date>,
    /// When it was first put to work; `None` while it never was, and where only a notebook or an earlier
    /// program told of its work.
    #[serde(default)]
    pub first_used_at: Option<Moment>,
    /// What has been on it since its last wash.
    #[serde(default)]
    pub(crate) carried: Carried,
}

impl PadState {
    /// The coarsest liquid that was not washed out of it. Of a pad that was never washed that is all it
    /// has carried; of one that came with washes behind it nothing was, as far as a notebook tells.
    pub fn unwashed_liquid(&self) -> Option<Grade> {
        if self.wash_count == 0 {
            self.coarsest_liquid
        } else {
            self.carried.coarsest()
        }
    }

    /// Whether a liquid was on it that is coarser than this one, washed out or not.
    pub(crate) fn has_carried_coarser_than(&self, grade: Grade) -> bool {
        self.coarsest_liquid.is_some_and(|carried| carried < grade)
    }

    /// Whether a liquid is coarser than what a pad of this grade is kept for: one that has carried such a
    /// liquid is kept for it from then on.
    pub(crate) fn is_kept_for_finer(&self, grade: Grade, liquid: Grade) -> bool {
        liquid < grade && self.coarsest_liquid.is_none_or(|carried| liquid < carried)
    }
}

/// What a look at a washed pad found, each from 1, bad, to 5, as new.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Inspection {
    /// How fully the foam or nap springs back.
    pub rebound_grade: i64,
    /// How whole the rim is.
    pub edge_grade: i64,
    /// How even and open the face is.
    pub face_grade: i64,
}

/// Hours and changes of a plate.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlateState {
    /// Running time, ms.
    pub run_time_ms: i64,
    /// Pad changes.
    pub change_count: i64,
}

/// Hours of a machine.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct MachineState {
    /// Running time, ms.
    pub run_time_ms: i64,
}

/// Counts of a bundle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BundleState {
    /// Clean and dry.
    pub clean_count: i64,
    /// Used and not washed since.
    pub soiled_count: i64,
    /// Washed; dry when the piece's readiness says so.
    pub drying_count: i64,
    /// Washes of the bundle.
    pub wash_count: i64,
    /// What they may touch.
    pub grade: TowelGrade,
    /// What jobs wiped with them, where a person said with how many.
    #[serde(default)]
    pub wipings: Wipings,
    /// As they lay when they were counted last, or came.
    #[serde(default)]
    pub(crate) counted: Pile,
    /// What was done to them since.
    #[serde(default)]
    pub(crate) since: Box<Since<Handled>>,
}

/// What is in a bottle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BottleState {
    /// Left; below zero when more use was reported than was in it.
    pub left_ul: Volume,
    /// Volume when new.
    pub full_ul: Volume,
    /// Weight of the empty bottle with its cap.
    pub tare_mg: Option<Mass>,
    /// Lot.
    pub lot: String,
    /// Last day it may be used.
    pub expiry: Option<Date>,
    /// First use; `None` while sealed.
    pub opened_at: Option<Moment>,
    /// Last weigh-in or count.
    pub measured_at: Option<Moment>,
    /// Last use.
    pub used_at: Option<Moment>,
    /// What its weigh-ins say of real use.
    #[serde(default)]
    pub tally: Tally,
    /// Weight of the empty bottle as it was worked out, where nobody said it.
    #[serde(default)]
    pub found_tare_mg: Option<Mass>,
    /// A weight that waits for the tare.
    #[serde(default)]
    pub waiting: Option<Box<WaitingWeight>>,
    /// What was taken since it was read last, or came.
    #[serde(default)]
    pub(crate) since: Box<Since<Taken>>,
}

/// The weight of a bottle whose tare is not known yet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WaitingWeight {
    /// Weight on the scale.
    pub gross_mg: Mass,
    /// Density of the liquid.
    pub density_mg_per_ml: i64,
    /// When it was weighed.
    pub at: Moment,
    /// What was taken since.
    pub taken_ul: Volume,
    /// The same as `at`, with its turn among what was done then; earlier programs do not say.
    #[serde(default)]
    pub(crate) weighed: Option<When>,
}

impl WaitingWeight {
    /// When it was weighed.
    pub(crate) fn when(&self) -> When {
        let held = self.weighed.clone();
        held.unwrap_or(When::at_once(self.at, Seq(0)))
    }
}

/// What is left of a sundry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SundryState {
    /// Left, in the make's unit; below zero when more use was reported than there was.
    pub left_quantity: i64,
    /// Last count.
    pub counted_at: Option<Moment>,
    /// What was used since it was counted last, or came.
    #[serde(default)]
    pub(crate) since: Box<Since<i64>>,
    /// What its counts say of real use.
    #[serde(default)]
    pub tally: Tally,
    /// What of that jobs were planned to use, in order.
    #[serde(default)]
    pub(crate) planned: Vec<(When, PlannedUse)>,
}

impl SundryState {
    /// What was left at a moment; nothing where it was counted since.
    pub(crate) fn left_at(&self, moment: Moment) -> Option<i64> {
        if self.counted_at.is_some_and(|counted| counted > moment) {
            return None;
        }
        let later = self.since.after(moment);
        Some(later.fold(self.left_quantity, |left, used| left.saturating_add(*used)))
    }
}

impl BottleState {
    /// What was left at a moment; nothing where it was read since.
    pub(crate) fn left_at(&self, moment: Moment) -> Option<Volume> {
        if self.measured_at.is_some_and(|measured| measured > moment) {
            return None;
        }
        let later = self.since.after(moment).map(|taken| taken.quantity);
        let left_ul = later.fold(self.left_ul.ul(), i64::saturating_add);
        Some(Volume::from_ul(left_ul))
    }

    /// The most that it can hold: a bottle takes a little more than its label says.
    pub(crate) const fn brim(&self) -> Volume {
        let full_ul = self.full_ul.ul();
        Volume::from_ul(full_ul.saturating_add(full_ul.div_euclid(10)))
    }

    /// Weight of the empty bottle: as it was said of this one, else as it was worked out.
    pub(crate) const fn known_tare(&self) -> Option<Mass> {
        match self.tare_mg {
            Some(tare) => Some(tare),
            None => self.found_tare_mg,
        }
    }
}

impl BundleState {
    /// How its towels lie now, with those that dry until a moment.
    pub(crate) const fn pile(&self, dry_at: Option<Moment>) -> Pile {
        Pile {
            clean_count: self.clean_count,
            soiled_count: self.soiled_count,
            drying_count: self.drying_count,
            dry_at,
        }
    }

    /// How its towels lay at a moment; nothing where they were counted since.
    pub(crate) fn pile_at(&self, moment: Moment) -> Option<Pile> {
        if self.since.is_read_after(&When::last_at(moment)) {
            return None;
        }
        let mut pile = self.counted;
        for (when, handled) in self.since.done() {
            if when.done_at > moment {
                break;
            }
            pile.take(*handled, when.done_at);
        }
        pile.settle(moment);
        Some(pile)
    }

    /// Towels clean and dry at a moment, given the piece's readiness.
    pub fn clean_at(&self, readiness: Readiness, moment: Moment) -> i64 {
        match readiness.at(moment) {
            Readiness::Ready | Readiness::Soiled => self.clean_once_dry().max(0),
            Readiness::Drying(_) => self.clean_count.max(0),
            Readiness::Aside(_) | Readiness::Binned(_) => 0,
        }
    }

    /// Towels that are clean once those that are drying have dried; below zero when a restated record says so.
    pub(crate) const fn clean_once_dry(&self) -> i64 {
        self.clean_count.saturating_add(self.drying_count)
    }

    /// Soiled towels that are there: no more than the bundle has, whatever a device reported as used.
    pub(crate) fn soiled_there(&self) -> i64 {
        let missing = self.clean_once_dry().min(0);
        self.soiled_count.saturating_add(missing).max(0)
    }

    /// All towels in it.
    pub fn total_count(&self) -> i64 {
        self.clean_once_dry()
            .max(0)
            .saturating_add(self.soiled_count.max(0))
    }
}

impl Piece {
    /// Whether it is out of the kit.
    pub const fn is_binned(&self) -> bool {
        matches!(self.readiness, Readiness::Binned(_))
    }

    /// The pad state, if it is a pad.
    pub const fn pad(&self) -> Option<&PadState> {
        match &self.state {
            State::Pad(pad) => Some(pad),
            _ => None,
        }
    }

    /// When a pad was first put to work, where only its work is told when it came; `None` of one that
    /// never worked, and of what is no pad.
    pub(crate) fn put_to_work_at(&self) -> Option<Moment> {
        let pad = self.pad()?;
        let told = (pad.use_count > 0 || pad.work > Work::ZERO).then_some(self.received_at);
        pad.first_used_at.or(told)
    }

    /// The bundle state, if it is a bundle.
    pub const fn bundle(&self) -> Option<&BundleState> {
        match &self.state {
            State::Bundle(bundle) => Some(bundle),
            _ => None,
        }
    }

    /// The bottle state, if it is a bottle.
    pub const fn bottle(&self) -> Option<&BottleState> {
        match &self.state {
            State::Bottle(bottle) => Some(bottle),
            _ => None,
        }
    }

    /// Where a reading of it would stand; nothing of what is not read.
    pub(crate) fn standing(&self, when: &When) -> Option<Standing> {
        match &self.state {
            State::Bottle(bottle) => Some(bottle.since.standing(when)),
            State::Sundry(sundry) => Some(sundry.since.standing(when)),
            State::Bundle(bundle) => Some(bundle.since.standing(when)),
            State::Pad(_)
            | State::Plate(_)
            | State::Machine(_)
            | State::Tool(_)
            | State::Battery(_) => None,
        }
    }

    /// When it was read last, of what is read.
    pub(crate) fn newest_reading(&self) -> Option<&When> {
        match &self.state {
            State::Bottle(bottle) => bottle.since.newest(),
            State::Sundry(sundry) => sundry.since.newest(),
            State::Bundle(bundle) => bundle.since.newest(),
            State::Pad(_)
            | State::Plate(_)
            | State::Machine(_)
            | State::Tool(_)
            | State::Battery(_) => None,
        }
    }

    /// Whether all is known of what is left of it; a record of an earlier program has the level alone.
    pub(crate) const fn is_whole(&self) -> bool {
        match &self.state {
            State::Bottle(bottle) => bottle.since.is_whole(),
            State::Sundry(sundry) => sundry.since.is_whole(),
            State::Bundle(bundle) => bundle.since.is_whole(),
            State::Pad(_)
            | State::Plate(_)
            | State::Machine(_)
            | State::Tool(_)
            | State::Battery(_) => true,
        }
    }

    /// Whether anything is known that was done after this to what is left of it.
    pub(crate) fn is_anything_after(&self, when: &When) -> bool {
        match &self.state {
            State::Bottle(bottle) => bottle.since.is_anything_after(when),
            State::Sundry(sundry) => sundry.since.is_anything_after(when),
            State::Bundle(bundle) => bundle.since.is_anything_after(when),
            State::Pad(_)
            | State::Plate(_)
            | State::Machine(_)
            | State::Tool(_)
            | State::Battery(_) => false,
        }
    }

    /// The tool state, if it is a tool.
    pub(crate) const fn tool(&self) -> Option<&ToolState> {
        match &self.state {
            State::Tool(tool) => Some(tool),
            _ => None,
        }
    }

    /// The battery state, if it is a battery.
    pub const fn battery(&self) -> Option<&BatteryState> {
        match &self.state {
            State::Battery(battery) => Some(battery),
            _ => None,
        }
    }

    /// Washes so far, if it is a thing that is washed.
    pub const fn wash_count(&self) -> Option<i64> {
        match &self.state {
            State::Pad(pad) => Some(pad.wash_count),
            State::Bundle(bundle) => Some(bundle.wash_count),
            State::Plate(_)
            | State::Machine(_)
            | State::Bottle(_)
            | State::Sundry(_)
            | State::Tool(_)
            | State::Battery(_) => None,
        }
    }

    /// What its weighings or counts say of real use, if it is measured.
    pub(crate) const fn tally(&self) -> Option<&Tally> {
        match &self.state {
            State::Bottle(bottle) => Some(&bottle.tally),
            State::Sundry(sundry) => Some(&sundry.tally),
            State::Pad(_)
            | State::Plate(_)
            | State::Machine(_)
            | State::Bundle(_)
            | State::Tool(_)
            | State::Battery(_) => None,
        }
    }

    /// What is left of it, if it is a sundry.
    pub const fn sundry_left(&self) -> Option<i64> {
        match &self.state {
            State::Sundry(sundry) => Some(sundry.left_quantity),
            _ => None,
        }
    }
}
