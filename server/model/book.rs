//! The book: the state of a shop, and how an entry changes it.
//!
//! Built on persistent maps, so that a clone costs nothing and *what if* is applying imagined
//! entries to a copy. `apply` cannot refuse; whatever may be refused is refused in `decide`.

pub(crate) mod change;
pub mod command;
pub mod damage;
pub mod deed;
pub mod format;
mod jobs;
mod records;
pub mod sums;
pub(crate) mod without_prices;

use std::sync::Arc;

use imbl::{OrdMap, OrdSet};
use jiff::civil::Date;

use crate::Moment;
use crate::book::change::Stamp;
use crate::book::deed::{Entry, Record};
use crate::ground::ids::{Id, Seq, Subject, Tag};
use crate::trade::job::{Car, Job, Routine};
use crate::trade::kit::Piece;
use crate::trade::make::Make;
use crate::trade::order::Order;
use crate::trade::policy::Policy;
use crate::trade::supplier::Supplier;

pub(crate) use records::advance;

/// The whole record of a shop as it stands after its last entry.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Book {
    head: Seq,
    makes: OrdMap<Id, Arc<Make>>,
    pieces: OrdMap<Tag, Arc<Piece>>,
    /// Tags of the pieces of each make, in order.
    of_make: OrdMap<Id, Vec<Tag>>,
    cars: OrdMap<Id, Arc<Car>>,
    routines: OrdMap<Id, Arc<Routine>>,
    jobs: OrdMap<Id, Arc<Job>>,
    suppliers: OrdMap<Id, Arc<Supplier>>,
    orders: OrdMap<Id, Arc<Order>>,
    booked: OrdSet<(Moment, Id)>,
    /// Jobs whose logs say how long machines ran, by when they started.
    timed: OrdSet<(Moment, Id)>,
    /// All jobs by their local day.
    days: OrdMap<Date, Vec<Id>>,
    /// Booked jobs that a piece was taken for, by id.
    takers: OrdMap<Tag, Vec<Id>>,
    policy: Arc<Policy>,
    reversed: OrdMap<Seq, Seq>,
    taken_back: OrdSet<Subject>,
}

impl Book {
    /// An empty book.
    pub fn new() -> Self {
        Self::default()
    }

    /// The book with this head and these records, as a shelf keeps them.
    pub fn restore(head: Seq, records: impl IntoIterator<Item = (Subject, Record)>) -> Self {
        let mut book = Self::new();
        for (subject, record) in records {
            book.put(subject, record);
        }
        book.head = head;
        book
    }

    /// Number of the last entry.
    pub const fn head(&self) -> Seq {
        self.head
    }

    /// Takes an entry in. The same entries give the same book everywhere.
    pub fn apply(&mut self, entry: &Entry) {
        let stamp = Stamp::of(entry);
        for deed in &entry.deeds {
            self.take(deed, stamp);
        }
        for flag in entry.flags.iter().filter(|flag| flag.count) {
            if let Subject::Piece(tag) = &flag.subject
                && let Some(piece) = self.pieces.get_mut(tag)
            {
                Arc::make_mut(piece).needs_count = true;
            }
        }
        self.head = entry.seq;
    }

    /// A make.
    pub fn make(&self, id: &Id) -> Option<&Arc<Make>> {
        self.makes.get(id)
    }

    /// All makes, by id.
    pub fn makes(&self) -> impl DoubleEndedIterator<Item = &Arc<Make>> {
        self.makes.values()
    }

    /// A piece of kit, binned ones too.
    pub fn piece(&self, tag: Tag) -> Option<&Arc<Piece>> {
        self.pieces.get(&tag)
    }

    /// All pieces, by tag, binned ones too.
    pub fn pieces(&self) -> impl DoubleEndedIterator<Item = &Arc<Piece>> {
        self.pieces.values()
    }

    /// All pieces of one make, by tag, binned ones too.
    pub(crate) fn all_of(&self, make: &Id) -> impl Iterator<Item = &Arc<Piece>> {
        let tags = self.of_make.get(make).into_iter().flatten();
        tags.filter_map(|tag| self.pieces.get(tag))
    }

    /// Pieces of one make that are in the kit, by tag.
    pub fn pieces_of(&self, make: &Id) -> impl Iterator<Item = &Arc<Piece>> {
        self.all_of(make).filter(|piece| !piece.is_binned())
    }

    /// A car.
    pub fn car(&self, id: &Id) -> Option<&Arc<Car>> {
        self.cars.get(id)
    }

    /// All cars, by id.
    pub fn cars(&self) -> impl DoubleEndedIterator<Item = &Arc<Car>> {
        self.cars.values()
    }

    /// A routine.
    pub fn routine(&self, id: &Id) -> Option<&Arc<Routine>> {
        self.routines.get(id)
    }

    /// All routines, by id.
    pub fn routines(&self) -> impl DoubleEndedIterator<Item = &Arc<Routine>> {
        self.routines.values()
    }

    /// A job.
    pub fn job(&self, id: &Id) -> Option<&Arc<Job>> {
        self.jobs.get(id)
    }

    /// All jobs, by id.
    pub fn jobs(&self) -> impl DoubleEndedIterator<Item = &Arc<Job>> {
        self.jobs.values()
    }

    /// Booked jobs, earliest start first.
    pub fn booked_jobs(&self) -> impl Iterator<Item = &Arc<Job>> {
        self.booked.iter().filter_map(|(_, id)| self.jobs.get(id))
    }

    /// All jobs of a local day.
    pub(crate) fn jobs_of_day(&self, day: Date) -> impl Iterator<Item = &Arc<Job>> {
        let ids = self.days.get(&day).into_iter().flatten();
        ids.filter_map(|id| self.jobs.get(id))
    }

    /// All jobs, those of the latest local day first.
    pub(crate) fn jobs_newest_first(&self) -> impl Iterator<Item = &Arc<Job>> {
        let ids = self.days.iter().rev().flat_map(|(_, ids)| ids);
        ids.filter_map(|id| self.jobs.get(id))
    }

    /// Jobs whose logs say how long machines ran, the latest first.
    pub(crate) fn timed_jobs(&self) -> impl Iterator<Item = &Arc<Job>> {
        let ids = self.timed.iter().rev();
        ids.filter_map(|(_, id)| self.jobs.get(id))
    }

    /// Booked jobs that a piece was taken for, by id.
    pub fn takers(&self, tag: Tag) -> impl Iterator<Item = &Arc<Job>> {
        let takers = self.takers.get(&tag).into_iter().flatten();
        takers.filter_map(|id| self.jobs.get(id))
    }

    /// How many jobs are booked and not yet done.
    pub fn booked_job_count(&self) -> usize {
        self.booked.len()
    }

    /// A supplier.
    pub fn supplier(&self, id: &Id) -> Option<&Arc<Supplier>> {
        self.suppliers.get(id)
    }

    /// All suppliers, by id.
    pub fn suppliers(&self) -> impl DoubleEndedIterator<Item = &Arc<Supplier>> {
        self.suppliers.values()
    }

    /// An order.
    pub fn order(&self, id: &Id) -> Option<&Arc<Order>> {
        self.orders.get(id)
    }

    /// All orders, by id.
    pub fn orders(&self) -> impl DoubleEndedIterator<Item = &Arc<Order>> {
        self.orders.values()
    }

    /// Ids of orders that were taken back: they are not given again.
    pub(crate) fn orders_taken_back(&self) -> impl Iterator<Item = &Id> {
        self.taken_back.iter().filter_map(|subject| match subject {
            Subject::Order(id) => Some(id),
            _ => None,
        })
    }

    /// The policies.
    pub fn policy(&self) -> &Policy {
        &self.policy
    }

    /// The entry that reversed this one, if any did.
    pub fn reversed_by(&self, seq: Seq) -> Option<Seq> {
        self.reversed.get(&seq).copied()
    }

    /// Whether a tag or id is or was in use, so that it cannot be given again.
    pub fn is_taken(&self, subject: &Subject) -> bool {
        self.record(subject).is_some()
    }

    /// Next free numbers for tags with these letters, `count` of them.
    pub fn next_tags(&self, letters: &str, count: usize) -> Vec<Tag> {
        let taken_back = self.taken_back.iter().filter_map(|subject| match subject {
            Subject::Piece(tag) => Some(tag),
            _ => None,
        });
        let mut last = self
            .pieces
            .keys()
            .chain(taken_back)
            .filter(|tag| tag.letters() == letters)
            .map(|tag| tag.number())
            .max()
            .unwrap_or(0);
        (0..count)
            .filter_map(|_| {
                last = last.saturating_add(1);
                Tag::new(letters, last)
            })
            .collect()
    }

    /// Places where kit in use is, in order.
    pub fn places(&self) -> Vec<Id> {
        let places: OrdSet<Id> = self
            .pieces
            .values()
            .filter(|piece| !piece.is_binned())
            .map(|piece| piece.place.clone())
            .collect();
        places.into_iter().collect()
    }
}
