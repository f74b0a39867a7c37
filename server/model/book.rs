//! The book: the state of a shop, and how an entry changes it.
//!
//! Built on persistent maps, so that a clone costs nothing and *what if* is applying imagined
//! entries to a copy. `apply` cannot refuse; whatever may be refused is refused in `decide`.

use std::sync::Arc;

use imbl::{OrdMap, OrdSet};

use crate::Moment;
use crate::change::Stamp;
use crate::deed::{Deed, Entry, Record};
use crate::ids::{Id, Seq, Subject, Tag};
use crate::job::{Car, Job, JobState, Routine};
use crate::kit::{Piece, Readiness};
use crate::make::Make;
use crate::policy::Policy;

/// The whole record of a shop as it stands after its last entry.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Book {
    head: Seq,
    makes: OrdMap<Id, Arc<Make>>,
    pieces: OrdMap<Tag, Arc<Piece>>,
    cars: OrdMap<Id, Arc<Car>>,
    routines: OrdMap<Id, Arc<Routine>>,
    jobs: OrdMap<Id, Arc<Job>>,
    booked: OrdSet<(Moment, Id)>,
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
            book.put(subject, Some(record));
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
        let stamp = Stamp {
            seq: entry.seq,
            done_at: entry.done_at,
        };
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

    fn take(&mut self, deed: &Deed, stamp: Stamp) {
        match deed {
            Deed::Restated { subject, record } => self.restate(subject, record.as_ref(), stamp),
            Deed::Reversed { seq } => {
                self.reversed.insert(*seq, stamp.seq);
            }
            Deed::JobDone { job, .. } | Deed::JobCalledOff { job } => {
                if let Some(held) = self.jobs.get(job).cloned() {
                    self.put_job(advance_job(held, deed, stamp));
                }
            }
            _ => match deed.subject() {
                Subject::Piece(tag) => match self.pieces.get_mut(&tag) {
                    Some(piece) if !matches!(deed, Deed::Received { .. }) => {
                        Arc::make_mut(piece).take(deed, stamp);
                    }
                    _ => self.put(Subject::Piece(tag), advance(None, deed, stamp)),
                },
                subject => {
                    let record = advance(self.record(&subject), deed, stamp);
                    self.put(subject, record);
                }
            },
        }
    }

    fn restate(&mut self, subject: &Subject, record: Option<&Record>, stamp: Stamp) {
        let stamped = match record {
            Some(Record::Piece(piece)) => {
                let mut piece = Arc::clone(piece);
                Arc::make_mut(&mut piece).last_seq = stamp.seq;
                Record::Piece(piece)
            }
            Some(Record::Job(job)) => {
                let mut job = Arc::clone(job);
                Arc::make_mut(&mut job).last_seq = stamp.seq;
                Record::Job(job)
            }
            Some(other) => other.clone(),
            None => Record::TakenBack,
        };
        self.put(subject.clone(), Some(stamped));
    }

    fn put_job(&mut self, job: Arc<Job>) {
        if let Some(before) = self.jobs.get(&job.id) {
            self.booked.remove(&(before.starts_at, before.id.clone()));
        }
        if job.state == JobState::Booked {
            self.booked.insert((job.starts_at, job.id.clone()));
        }
        self.jobs.insert(job.id.clone(), job);
    }

    fn put(&mut self, subject: Subject, record: Option<Record>) {
        match (subject, record) {
            (Subject::Piece(tag), Some(Record::Piece(piece))) => {
                self.pieces.insert(tag, piece);
            }
            (Subject::Make(id), Some(Record::Make(make))) => {
                self.makes.insert(id, make);
            }
            (Subject::Car(id), Some(Record::Car(car))) => {
                self.cars.insert(id, car);
            }
            (Subject::Routine(id), Some(Record::Routine(routine))) => {
                self.routines.insert(id, routine);
            }
            (Subject::Job(_), Some(Record::Job(job))) => self.put_job(job),
            (Subject::Policy, Some(Record::Policy(policy))) => self.policy = policy,
            (Subject::Entry(seq), Some(Record::ReversedBy(by))) => {
                self.reversed.insert(seq, by);
            }
            (subject, Some(Record::TakenBack)) => self.take_back(subject),
            _ => {}
        }
    }

    fn take_back(&mut self, subject: Subject) {
        match &subject {
            Subject::Piece(tag) => {
                self.pieces.remove(tag);
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
                if let Some(job) = self.jobs.remove(id) {
                    self.booked.remove(&(job.starts_at, job.id.clone()));
                }
            }
            Subject::Policy => self.policy = Arc::default(),
            Subject::Entry(_) => {}
        }
        self.taken_back.insert(subject);
    }

    /// The state of one subject; `None` when the book has never held it.
    pub fn record(&self, subject: &Subject) -> Option<Record> {
        let held = match subject {
            Subject::Piece(tag) => self.pieces.get(tag).cloned().map(Record::Piece),
            Subject::Make(id) => self.makes.get(id).cloned().map(Record::Make),
            Subject::Car(id) => self.cars.get(id).cloned().map(Record::Car),
            Subject::Routine(id) => self.routines.get(id).cloned().map(Record::Routine),
            Subject::Job(id) => self.jobs.get(id).cloned().map(Record::Job),
            Subject::Policy => Some(Record::Policy(Arc::clone(&self.policy))),
            Subject::Entry(seq) => self.reversed.get(seq).copied().map(Record::ReversedBy),
        };
        held.or_else(|| {
            self.taken_back
                .contains(subject)
                .then_some(Record::TakenBack)
        })
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

    /// Pieces of one make that are in the kit, by tag.
    pub fn pieces_of<'a>(&'a self, make: &'a Id) -> impl Iterator<Item = &'a Arc<Piece>> {
        self.pieces
            .values()
            .filter(move |piece| piece.make == *make && !piece.is_binned())
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

    /// How many jobs are booked and not yet done.
    pub fn booked_job_count(&self) -> usize {
        self.booked.len()
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

    /// Every subject the book has held, in order: what a shelf keeps.
    pub fn subjects(&self) -> Vec<Subject> {
        let mut all: Vec<Subject> = self.pieces.keys().map(|tag| Subject::Piece(*tag)).collect();
        all.extend(self.makes.keys().cloned().map(Subject::Make));
        all.extend(self.cars.keys().cloned().map(Subject::Car));
        all.extend(self.routines.keys().cloned().map(Subject::Routine));
        all.extend(self.jobs.keys().cloned().map(Subject::Job));
        all.extend(self.reversed.keys().map(|seq| Subject::Entry(*seq)));
        all.extend(self.taken_back.iter().cloned());
        all.push(Subject::Policy);
        all.sort();
        all.dedup();
        all
    }

    /// Next free numbers for tags with these letters, `count` of them.
    pub fn next_tags(&self, letters: &str, count: usize) -> Vec<Tag> {
        let mut last = 0;
        for tag in self
            .pieces
            .keys()
            .chain(self.taken_back.iter().filter_map(|s| match s {
                Subject::Piece(tag) => Some(tag),
                _ => None,
            }))
        {
            if tag.letters() == letters {
                last = last.max(tag.number());
            }
        }
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
            .filter(|piece| !matches!(piece.readiness, Readiness::Binned(_)))
            .map(|piece| piece.place.clone())
            .collect();
        places.into_iter().collect()
    }
}

/// The state of a subject after one deed about it.
pub(crate) fn advance(record: Option<Record>, deed: &Deed, stamp: Stamp) -> Option<Record> {
    match (deed, record) {
        (Deed::MakeSet { make }, _) => Some(Record::Make(Arc::clone(make))),
        (Deed::CarSet { car }, _) => Some(Record::Car(Arc::clone(car))),
        (Deed::RoutineSet { routine }, _) => Some(Record::Routine(Arc::clone(routine))),
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
            },
            _,
        ) => Some(Record::Piece(Arc::new(Piece {
            tag: *tag,
            make: make.clone(),
            place: place.clone(),
            received_at: stamp.done_at,
            readiness: Readiness::Ready,
            since: stamp.done_at,
            needs_count: false,
            last_seq: stamp.seq,
            state: state.clone(),
        }))),
        (Deed::JobSet { job }, _) => {
            let mut job = Arc::clone(job);
            Arc::make_mut(&mut job).last_seq = stamp.seq;
            Some(Record::Job(job))
        }
        (_, Some(Record::Job(job))) => Some(Record::Job(advance_job(job, deed, stamp))),
        (_, Some(Record::Piece(mut piece))) => {
            Arc::make_mut(&mut piece).take(deed, stamp);
            Some(Record::Piece(piece))
        }
        (_, record) => record,
    }
}

fn advance_job(mut job: Arc<Job>, deed: &Deed, stamp: Stamp) -> Arc<Job> {
    let held = Arc::make_mut(&mut job);
    held.last_seq = stamp.seq;
    match deed {
        Deed::JobDone { left_out, .. } => {
            held.state = JobState::Done(stamp.done_at);
            held.left_out.clone_from(left_out);
        }
        Deed::JobCalledOff { .. } => held.state = JobState::CalledOff,
        _ => {}
    }
    job
}
