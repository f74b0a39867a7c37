//! What an entry changed, as it stands when its command is answered.
//!
//! It serves whoever shows a thing after it was changed, and would else ask again. The entry of a retry is
//! the same for ever; what it changed is told as it stands by then.

use std::sync::Arc;

use fettlebook_contract::v1;
use fettlebook_model::film_cut::film_cut;
use fettlebook_model::{Book, Entry, Id, Moment, Subject};

use super::prices::Prices;
use super::show;

/// What a command came to.
pub(super) struct Changed {
    /// The entry as it is sent.
    pub(super) entry: v1::Entry,
    /// What it is about, each once, in order.
    subjects: Vec<Subject>,
    /// The book with it.
    book: Arc<Book>,
    now: Moment,
    prices: Prices,
}

impl Changed {
    /// What an entry changed in a book that has it, as at a moment.
    pub(super) fn by(entry: &Entry, book: Arc<Book>, now: Moment, prices: Prices) -> Self {
        let mut subjects: Vec<Subject> = entry.deeds.iter().map(|deed| deed.subject()).collect();
        subjects.sort_unstable();
        subjects.dedup();
        Self {
            entry: show::entry::entry(&book, entry, prices),
            subjects,
            book,
            now,
            prices,
        }
    }

    fn each<T>(&self, shown: impl Fn(&Book, &Subject) -> Option<T>) -> Vec<T> {
        let subjects = self.subjects.iter();
        subjects
            .filter_map(|subject| shown(&self.book, subject))
            .collect()
    }

    /// The pieces that it changed, by tag.
    pub(super) fn pieces(&self) -> Vec<v1::Piece> {
        self.each(|book, subject| match subject {
            Subject::Piece(tag) => {
                let piece = book.piece(*tag)?;
                Some(show::kit::piece(book, piece, self.now, self.prices))
            }
            _ => None,
        })
    }

    /// The jobs that it changed.
    pub(super) fn jobs(&self) -> Vec<v1::Job> {
        self.each(|book, subject| match subject {
            Subject::Job(id) => Some(show::job::job_at(book.job(id)?, self.now)),
            _ => None,
        })
    }

    /// The makes that it changed, by id.
    pub(super) fn makes(&self) -> Vec<v1::Make> {
        self.each(|book, subject| match subject {
            Subject::Make(id) => Some(show::make::make(book.make(id)?, self.prices, book.policy())),
            _ => None,
        })
    }

    /// The cars that it changed, by id.
    pub(super) fn cars(&self) -> Vec<v1::Car> {
        self.each(|book, subject| match subject {
            Subject::Car(id) => Some(show::car::car(book.car(id)?, book.policy())),
            _ => None,
        })
    }

    /// What a job took off the film of the car that it changed.
    pub(super) fn film_cut(&self, job: &Id) -> Option<v1::FilmCut> {
        let mut cuts = self.each(|book, subject| match subject {
            Subject::Car(id) => film_cut(book, book.car(id)?, job),
            _ => None,
        });
        cuts.pop().as_ref().map(show::film::cut)
    }

    /// The routines that it changed, by id.
    pub(super) fn routines(&self) -> Vec<v1::Routine> {
        self.each(|book, subject| match subject {
            Subject::Routine(id) => Some(show::routine::routine(book.routine(id)?)),
            _ => None,
        })
    }

    /// The suppliers that it changed; none for who sees no prices.
    pub(super) fn suppliers(&self) -> Vec<v1::Supplier> {
        self.each(|book, subject| match subject {
            Subject::Supplier(id) if self.prices == Prices::Shown => {
                Some(show::supplier::supplier(book, book.supplier(id)?))
            }
            _ => None,
        })
    }

    /// The orders that it changed; none for who sees no prices.
    pub(super) fn orders(&self) -> Vec<v1::Order> {
        self.each(|book, subject| match subject {
            Subject::Order(id) if self.prices == Prices::Shown => {
                Some(show::order::order(book.order(id)?))
            }
            _ => None,
        })
    }
}
