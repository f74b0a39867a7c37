//! Records: the state of each subject of the book, and how a deed moves it on.
//!
//! Serves the book itself, the shelf, which keeps records, and the fold after a reversal, which
//! advances one subject alone. It cannot refuse; what makes no sense of a subject leaves it as it is.

use std::sync::Arc;

use super::Book;
use super::jobs::{advance_job, set_job};
use crate::book::change::Stamp;
use crate::book::deed::{Deed, Entry, Record};
use crate::ground::ids::{Id, Subject, Tag};
use crate::trade::job::{Car, Job, JobState};
use crate::trade::kept::Washes;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::order::Order;

impl Book {
    /// The state of one subject; `None` when the book has never held it.
    pub fn record(&self, subject: &Subject) -> Option<Record> {
        let held = match subject {
            Subject::Piece(tag) => self.pieces.get(tag).cloned().map(Record::Piece),
            Subject::Make(id) => self.makes.get(id).cloned().map(Record::Make),
            Subject::Car(id) => self.cars.get(id).cloned().map(Record::Car),
            Subject::Routine(id) => self.routines.get(id).cloned().map(Record::Routine),
            Subject::Job(id) => self.jobs.get(id).cloned().map(Record::Job),
            Subject::Supplier(id) => self.suppliers.get(id).cloned().map(Record::Supplier),
            Subject::Order(id) => self.orders.get(id).cloned().map(Record::Order),
            Subject::Policy => Some(Record::Policy(Arc::clone(&self.policy))),
            Subject::Entry(seq) => self.reversed.get(seq).copied().map(Record::ReversedBy),
        };
        held.or_else(|| {
            self.taken_back
                .contains(subject)
                .then_some(Record::TakenBack)
        })
    }

    /// Every subject the book has held, in order: what a shelf keeps.
    pub fn subjects(&self) -> Vec<Subject> {
        let mut all: Vec<Subject> = self.pieces.keys().map(|tag| Subject::Piece(*tag)).collect();
        all.extend(self.makes.keys().cloned().map(Subject::Make));
        all.extend(self.cars.keys().cloned().map(Subject::Car));
        all.extend(self.routines.keys().cloned().map(Subject::Routine));
        all.extend(self.jobs.keys().cloned().map(Subject::Job));
        all.extend(self.suppliers.keys().cloned().map(Subject::Supplier));
        all.extend(self.orders.keys().cloned().map(Subject::Order));
        all.extend(self.reversed.keys().map(|seq| Subject::Entry(*seq)));
        all.extend(self.taken_back.iter().cloned());
        all.push(Subject::Policy);
        all.sort();
        all.dedup();
        all
    }

    /// Takes a deed in.
    pub(crate) fn take(&mut self, deed: &Deed, stamp: Stamp<'_>) {
        match deed {
            Deed::Restated { subject, record } => self.restate(subject, record.as_ref(), stamp),
            Deed::Reversed { seq } => {
                self.reversed.insert(*seq, stamp.seq);
            }
            _ => {
                let subject = deed.subject();
                if let Some(piece) = self.piece_in_use(&subject, deed) {
                    piece.take(deed, stamp);
                } else if let Some(record) = advance(self.record(&subject), deed, stamp) {
                    self.put(subject, record);
                }
            }
        }
    }

    /// The piece a deed changes where it lies, copied only when another book shares it: replaying a
    /// long journal is mostly this.
    fn piece_in_use(&mut self, subject: &Subject, deed: &Deed) -> Option<&mut Piece> {
        match (subject, deed) {
            (_, Deed::Received { .. }) => None,
            (Subject::Piece(tag), _) => self.pieces.get_mut(tag).map(Arc::make_mut),
            _ => None,
        }
    }

    fn restate(&mut self, subject: &Subject, record: Option<&Record>, stamp: Stamp<'_>) {
        let stamped = match record {
            Some(Record::Piece(piece)) => {
                let mut piece = Arc::clone(piece);
                let held = Arc::make_mut(&mut piece);
                held.last_seq = stamp.seq;
                held.state.add_up(held.readiness, stamp.when());
                Record::Piece(piece)
            }
            Some(Record::Job(job)) => {
                let mut job = Arc::clone(job);
                Arc::make_mut(&mut job).last_seq = stamp.seq;
                Record::Job(job)
            }
            Some(Record::Order(order)) => {
                let mut order = Arc::clone(order);
                Arc::make_mut(&mut order).last_seq = stamp.seq;
                Record::Order(order)
            }
            Some(other) => other.clone(),
            None => Record::TakenBack,
        };
        self.put(subject.clone(), stamped);
    }

    fn put_job(&mut self, job: Arc<Job>) {
        self.leave_diary(&job.id);
        if job.state == JobState::Booked {
            self.booked.insert((job.starts_at, job.id.clone()));
        }
        if job.ran().next().is_some() {
            self.timed.insert((job.starts_at, job.id.clone()));
        }
        for day in job.local_days() {
            let that_day = self.days.entry(day).or_default();
            that_day.push(job.id.clone());
            that_day.sort();
        }
        for tag in reserved(&job) {
            let takers = self.takers.entry(tag).or_default();
            if !takers.contains(&job.id) {
                takers.push(job.id.clone());
                takers.sort();
            }
        }
        self.jobs.insert(job.id.clone(), job);
    }

    /// Takes a job out of the diary as it stands, with what it keeps of the kit.
    fn leave_diary(&mut self, id: &Id) {
        let Some(before) = self.jobs.get(id).cloned() else {
            return;
        };
        let at_its_start = (before.starts_at, before.id.clone());
        self.booked.remove(&at_its_start);
        self.timed.remove(&at_its_start);
        for day in before.local_days() {
            if let Some(that_day) = self.days.get_mut(&day) {
                that_day.retain(|other| other != id);
                if that_day.is_empty() {
                    self.days.remove(&day);
                }
            }
        }
        for tag in reserved(&before) {
            if let Some(takers) = self.takers.get_mut(&tag) {
                takers.retain(|taker| taker != id);
                if takers.is_empty() {
                    self.takers.remove(&tag);
                }
            }
        }
    }

    /// Puts a piece in the place of the one held.
    fn put_piece(&mut self, tag: Tag, piece: Arc<Piece>) {
        let make = piece.make.clone();
        let before = self.pieces.insert(tag, piece);
        if before.as_ref().is_some_and(|before| before.make == make) {
            return;
        }
        if let Some(before) = before {
            self.leave_make(tag, &before.make);
        }
        let tags = self.of_make.entry(make).or_default();
        if let Err(place) = tags.binary_search(&tag) {
            tags.insert(place, tag);
        }
    }

    /// Leaves a tag out of those of a make.
    fn leave_make(&mut self, tag: Tag, make: &Id) {
        let Some(tags) = self.of_make.get_mut(make) else {
            return;
        };
        tags.retain(|other| *other != tag);
        if tags.is_empty() {
            self.of_make.remove(make);
        }
    }

    /// Puts a record in the place of the one held.
    pub(super) fn put(&mut self, subject: Subject, record: Record) {
        match (subject, record) {
            (Subject::Piece(tag), Record::Piece(piece)) => self.put_piece(tag, piece),
            // One of these that was taken back may be set up anew.
            (Subject::Make(id), Record::Make(make)) => {
                self.taken_back.remove(&Subject::Make(id.clone()));
                self.makes.insert(id, make);
            }
            (Subject::Car(id), Record::Car(car)) => {
                self.taken_back.remove(&Subject::Car(id.clone()));
                self.cars.insert(id, car);
            }
            (Subject::Routine(id), Record::Routine(routine)) => {
                self.taken_back.remove(&Subject::Routine(id.clone()));
                self.routines.insert(id, routine);
            }
            (Subject::Job(_), Record::Job(job)) => self.put_job(job),
            (Subject::Supplier(id), Record::Supplier(supplier)) => {
                self.suppliers.insert(id, supplier);
            }
            (Subject::Order(id), Record::Order(order)) => {
                self.orders.insert(id, order);
            }
            (Subject::Policy, Record::Policy(policy)) => self.policy = policy,
            (Subject::Entry(seq), Record::ReversedBy(by)) => {
                self.reversed.insert(seq, by);
            }
            (subject, Record::TakenBack) => self.take_back(subject),
            _ => {}
        }
    }

    /// Takes a subject out of the book for good; the policies, which a book never is without, go
    /// back to their defaults.
    fn take_back(&mut self, subject: Subject) {
        match &subject {
            Subject::Piece(tag) => {
                if let Some(piece) = self.pieces.remove(tag) {
                    self.leave_make(*tag, &piece.make);
                }
            }
            Subject::Make(id) => {
                self.makes.remove(id);
            }
            Subject::Car(id) => {
                self.cars.remove(id);
            }
            Subject::Routine(id) => {
                self.routines.remove(id);
            }
            Subject::Job(id) => {
                self.leave_diary(id);
                self.jobs.remove(id);
            }
            Subject::Supplier(id) => {
                self.suppliers.remove(id);
            }
            Subject::Order(id) => {
                self.orders.remove(id);
            }
            Subject::Policy => {
                self.policy = Arc::default();
                return;
            }
            Subject::Entry(_) => {}
        }
        self.taken_back.insert(subject);
    }
}

impl Entry {
    /// A piece after this entry, given how it stood before it: for telling its life. `None` before
    /// it came into the kit, and once it was taken back.
    #[must_use]
    pub fn piece_after(&self, tag: Tag, before: Option<Arc<Piece>>) -> Option<Arc<Piece>> {
        let subject = Subject::Piece(tag);
        let stamp = Stamp::of(self);
        let mut record = before.map(Record::Piece);
        for deed in self.deeds.iter().filter(|deed| deed.subject() == subject) {
            record = match deed {
                Deed::Restated { record, .. } => record.clone(),
                _ => advance(record, deed, stamp),
            };
        }
        match record {
            Some(Record::Piece(piece)) => Some(piece),
            _ => None,
        }
    }
}

/// The pieces that a job keeps from others, some more than once.
fn reserved(job: &Job) -> impl Iterator<Item = Tag> {
    let taken = job.taken.as_ref().filter(|_| job.is_reserving());
    let picked = taken.map_or(&[][..], |take| &take.picked);
    picked.iter().map(|one| one.tag)
}

/// The state of a subject after one deed about it.
pub(crate) fn advance(record: Option<Record>, deed: &Deed, stamp: Stamp<'_>) -> Option<Record> {
    match (deed, record) {
        (Deed::MakeSet { make }, _) => Some(Record::Make(Arc::clone(make))),
        (Deed::CarSet { car }, before) => Some(Record::Car(set_car(car, before, stamp))),
        (Deed::FilmRead { of_job, panels, .. }, Some(Record::Car(mut car))) => {
            let film = &mut Arc::make_mut(&mut car).film;
            film.read(stamp.when(), of_job.clone(), panels.clone());
            Some(Record::Car(car))
        }
        (Deed::RoutineSet { routine }, _) => Some(Record::Routine(Arc::clone(routine))),
        (Deed::SupplierSet { supplier }, _) => Some(Record::Supplier(Arc::clone(supplier))),
        (Deed::OrderSet { order }, _) => {
            let mut order = Arc::clone(order);
            Arc::make_mut(&mut order).last_seq = stamp.seq;
            Some(Record::Order(order))
        }
        (_, Some(Record::Order(order))) => Some(Record::Order(advance_order(order, deed, stamp))),
        (Deed::PolicySet { key, value }, record) => {
            let mut policy = match record {
                Some(Record::Policy(policy)) => policy,
                _ => Arc::default(),
            };
            Arc::make_mut(&mut policy).put(*key, *value);
            Some(Record::Policy(policy))
        }
        (
            Deed::Received {
                tag,
                make,
                place,
                state,
                readiness,
                at,
                cost,
            },
            _,
        ) => Some(Record::Piece(Arc::new(Piece {
            tag: *tag,
            make: make.clone(),
            place: place.clone(),
            received_at: at.unwrap_or(stamp.done_at),
            readiness: readiness.unwrap_or(Readiness::Ready),
            since: at.unwrap_or(stamp.done_at),
            needs_count: false,
            last_seq: stamp.seq,
            state: state.clone().begun(),
            cost: *cost,
            used: None,
            counted: None,
            washes: Washes::default(),
            labelled_at: None,
        }))),
        (Deed::JobSet { job }, before) => Some(Record::Job(set_job(job, before, stamp))),
        (_, Some(Record::Job(job))) => Some(Record::Job(advance_job(job, deed, stamp))),
        (_, Some(Record::Piece(mut piece))) => {
            Arc::make_mut(&mut piece).take(deed, stamp);
            Some(Record::Piece(piece))
        }
        (_, record) => record,
    }
}

/// A car as it was set, with what was read of its film, which is not set with it.
fn set_car(car: &Arc<Car>, before: Option<Record>, stamp: Stamp<'_>) -> Arc<Car> {
    let mut car = Arc::clone(car);
    let held = Arc::make_mut(&mut car);
    let (film, notes) = match before {
        Some(Record::Car(before)) => (before.film.clone(), before.panels.clone()),
        _ => Default::default(),
    };
    held.film = film;
    held.film.say(&notes, &held.panels, &stamp.when());
    car
}

fn advance_order(mut order: Arc<Order>, deed: &Deed, stamp: Stamp<'_>) -> Arc<Order> {
    let held = Arc::make_mut(&mut order);
    held.last_seq = stamp.seq;
    match deed {
        Deed::OrderPlaced { due_on, .. } => {
            held.placed_at = Some(stamp.done_at);
            held.due_on = Some(*due_on);
        }
        Deed::OrderClosed { .. } => held.is_closed = true,
        Deed::Delivered { packs, .. } => {
            let first = held
                .delivered_at
                .map_or(stamp.done_at, |at| at.min(stamp.done_at));
            held.delivered_at = Some(first);
            for (make, count) in packs {
                if let Some(line) = held.lines.iter_mut().find(|line| line.make == *make) {
                    line.received_pack_count = line.received_pack_count.saturating_add(*count);
                }
            }
        }
        _ => {}
    }
    order
}
