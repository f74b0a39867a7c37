//! The kit ahead: a copy of the book, run on to the jobs that are to come.
//!
//! What is soiled is washed now and after each job, what is on its way comes on its day, and each job
//! leaves worn pads and emptier bottles. The check asks it what a job has to buy and the reorder list what
//! all of them have, so that both say one number; it must never count a delivery that comes after its job.

pub(crate) mod needs;
mod parcel;

use jiff::civil::Date;

use super::check::{Washes, imagine, wash_all};
use crate::book::change::Stamp;
use crate::book::deed::Deed;
use crate::ground::ids::{Id, Place, Tag};
use crate::ready::local_day::LocalDays;
use crate::ready::plan::plan_job;
use crate::ready::towel_use::grade_for;
use crate::trade::battery::BatteryState;
use crate::trade::job::Job;
use crate::trade::kit::{
    BottleState, BundleState, MachineState, PadState, PlateState, State, SundryState,
};
use crate::trade::make::{Figures, Make};
use crate::trade::take::Picked;
use crate::trade::tally::Tally;
use crate::trade::tool::ToolState;
use crate::trade::towel::{Pile, TowelGrade, Wipings};
use crate::{Book, Moment};
pub(crate) use parcel::Parcel;
use parcel::on_their_way;

/// Letters of tags that are only imagined; their numbers follow on any that a person gave.
const IMAGINED_LETTERS: &str = "ZZZ";

/// A copy of the book on its way through the jobs to come.
#[derive(Clone)]
pub(crate) struct Ahead {
    book: Book,
    /// What is still to come, the first to come first.
    parcels: Vec<Parcel>,
    next_tag: u32,
    washes: Washes,
    now: Moment,
    today: Date,
}

impl Ahead {
    /// The kit from now on, with these parcels besides those that are on their way.
    pub(crate) fn of(book: &Book, parcels: &[Parcel], now: Moment) -> Self {
        let today = LocalDays::of(book).day(now);
        let on_their_way = on_their_way(book, today);
        let mut parcels: Vec<Parcel> = on_their_way.chain(parcels.iter().cloned()).collect();
        parcels.sort_by_key(|parcel| parcel.on);
        let next_tag = book.next_tags(IMAGINED_LETTERS, 1).first().copied();
        let mut book = book.clone();
        wash_all(&mut book, now);
        Self {
            book,
            parcels,
            next_tag: next_tag.map_or(1, Tag::number),
            washes: Washes::default(),
            now,
            today,
        }
    }

    /// The book as it stands by now.
    pub(crate) const fn book(&self) -> &Book {
        &self.book
    }

    /// The day it is now.
    const fn today(&self) -> Date {
        self.today
    }

    /// Goes on to the start of a job: what is due is washed, what comes by its day has come.
    pub(crate) fn until(&mut self, job: &Job) {
        let starts_at = job.next_start();
        self.washes.do_until(&mut self.book, starts_at);
        self.arrive(job.day_of(starts_at), Some(&job.place));
    }

    /// Does a job as planned with what was picked for it, and has what it soils washed at its end.
    pub(crate) fn work(&mut self, job: &Job, picked: &[Picked]) {
        imagine(&mut self.book, job, picked);
        if let Ok(plan) = plan_job(&self.book, job) {
            self.washes.ask_after(&self.book, job, &plan, picked);
        }
    }

    /// Goes on to the end: all is washed and all has come.
    pub(crate) fn end(&mut self) {
        self.washes.do_until(&mut self.book, Moment::MAX);
        self.arrive(Date::MAX, None);
    }

    fn arrive(&mut self, by: Date, place: Option<&Place>) {
        let count = self.parcels.partition_point(|parcel| parcel.on <= by);
        let come: Vec<Parcel> = self.parcels.drain(..count).collect();
        for parcel in come {
            let place = place.cloned();
            let place = place.or_else(|| self.book.places().into_iter().next());
            if let Some(place) = place {
                self.bring(&parcel, &place);
            }
        }
    }

    /// Puts so many new pieces of a make into the kit; towels in one bundle.
    pub(crate) fn bring_pieces(&mut self, make: &Id, count: i64, job: &Job) {
        if count > 0 {
            let parcel = Parcel::of_pieces(&self.book, make, count, job.local_day());
            self.bring(&parcel, &job.place);
        }
    }

    /// Puts new pieces of a make into the kit, as they were from the beginning.
    fn bring(&mut self, parcel: &Parcel, place: &Place) {
        let Some(make) = self.book.make(&parcel.make).cloned() else {
            return;
        };
        // A pack of towels is one bundle.
        let (pieces, towels) = match &make.figures {
            Figures::Towel(_) => (parcel.pack_count, parcel.pieces_per_pack),
            _ => (parcel.piece_count(), 0),
        };
        let grade = grade_for(&self.book, &make.id);
        for _ in 0..pieces {
            let Some(tag) = Tag::new(IMAGINED_LETTERS, self.next_tag) else {
                return;
            };
            self.next_tag = self.next_tag.saturating_add(1);
            let deed = Deed::Received {
                tag,
                make: make.id.clone(),
                place: place.clone(),
                state: new_state(&make, towels, grade),
                readiness: None,
                at: Some(self.now),
                cost: None,
            };
            let stamp = Stamp::unreported(self.book.head(), self.now);
            self.book.take(&deed, stamp);
        }
    }
}

/// Pieces of a make that are on their way and ready for a job, towels by the towel.
pub(crate) fn on_its_way(book: &Book, make: &Id, job: &Job, now: Moment) -> i64 {
    let today = LocalDays::of(book).day(now);
    let parcels = on_their_way(book, today).filter(|parcel| parcel.make == *make);
    let in_time = parcels.filter(|parcel| parcel.on <= job.local_day());
    in_time.fold(0, |sum, parcel| sum.saturating_add(parcel.piece_count()))
}

/// A new piece of a make.
fn new_state(make: &Make, towel_count: i64, grade: TowelGrade) -> State {
    match &make.figures {
        Figures::Pad(_) => State::Pad(PadState::default()),
        Figures::Plate(_) => State::Plate(PlateState::default()),
        Figures::Machine(_) => State::Machine(MachineState::default()),
        Figures::Towel(_) => State::Bundle(BundleState {
            clean_count: towel_count,
            soiled_count: 0,
            drying_count: 0,
            wash_count: 0,
            grade,
            wipings: Wipings::default(),
            counted: Pile::default(),
            since: Box::default(),
        }),
        Figures::Liquid(liquid) => State::Bottle(BottleState {
            left_ul: liquid.bottle_ul,
            full_ul: liquid.bottle_ul,
            tare_mg: liquid.tare_mg,
            lot: String::new(),
            expiry: None,
            opened_at: None,
            measured_at: None,
            used_at: None,
            tally: Tally::default(),
            found_tare_mg: None,
            waiting: None,
            since: Box::default(),
        }),
        Figures::Sundry(sundry) => State::Sundry(SundryState {
            left_quantity: sundry.pack_quantity,
            counted_at: None,
            since: Box::default(),
            tally: Tally::default(),
            planned: Vec::new(),
        }),
        Figures::Tool(_) => State::Tool(ToolState::default()),
        Figures::Battery(_) => State::Battery(BatteryState::default()),
    }
}
