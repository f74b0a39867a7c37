//! The records of a book, for holding one book against another.

use fettlebook_model::{Book, Entry, Record, Seq, Subject};

/// The records of a book without the numbers of the entries that touched them.
pub(crate) fn records(book: &Book) -> Vec<(Subject, Record)> {
    book.subjects()
        .into_iter()
        .filter(|subject| !matches!(subject, Subject::Entry(_)))
        .filter_map(|subject| {
            let record = match book.record(&subject)? {
                Record::Piece(piece) => {
                    let mut piece = piece.as_ref().clone();
                    piece.last_seq = Seq::default();
                    Record::Piece(piece.into())
                }
                Record::Job(job) => {
                    let mut job = job.as_ref().clone();
                    job.last_seq = Seq::default();
                    Record::Job(job.into())
                }
                Record::Order(order) => {
                    let mut order = order.as_ref().clone();
                    order.last_seq = Seq::default();
                    Record::Order(order.into())
                }
                other => other,
            };
            Some((subject, record))
        })
        .collect()
}

/// The book that these entries give.
pub(crate) fn replayed<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Book {
    let mut book = Book::new();
    for entry in entries {
        book.apply(entry);
    }
    book
}

/// The book that its own records give, as a shelf keeps them.
pub(crate) fn restored(book: &Book) -> Book {
    let kept = book
        .subjects()
        .into_iter()
        .filter_map(|subject| book.record(&subject).map(|record| (subject, record)));
    Book::restore(book.head(), kept)
}
