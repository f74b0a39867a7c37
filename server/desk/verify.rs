//! Verifying a book: the whole journal from its first line, and everything that follows from it.
//!
//! It serves whoever wants to know that nothing was lost or changed. It trusts nothing that it can
//! work out itself, changes nothing, and names the first bad entry.

use std::collections::BTreeMap;

use fettlebook_model::{Book, Entry, Record, Seq, Subject};

use super::error::DeskError;
use super::history::{History, Index, parse};
use crate::journal::{Head, JournalError, Position};
use crate::shelf::subjects;

/// Most findings of one kind that are told one by one.
const FINDINGS_COUNT_MAX: usize = 20;

/// What verifying a book found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// Entries read and found good.
    pub entry_count: u64,
    /// The last good entry.
    pub head: Head,
    /// What is wrong, a sentence each, without a full stop; empty when the book is whole.
    pub findings: Vec<String>,
}

/// What follows from the journal.
struct Replayed {
    book: Book,
    touched: BTreeMap<Subject, Vec<Seq>>,
}

impl History {
    /// Verifies a book that ends at `head`.
    pub(super) fn verify(
        &self,
        head: &Head,
        read_only: Option<&str>,
    ) -> Result<Verification, DeskError> {
        let mut findings: Vec<String> = read_only.iter().map(|why| (*why).to_owned()).collect();
        let dump = match self
            .index
            .as_ref()
            .map(|index| index.keeper.dump())
            .transpose()
        {
            Ok(dump) => dump,
            Err(error) => {
                findings.push(error.to_string());
                None
            }
        };
        let until = dump.as_ref().map_or(head.seq, |dump| dump.book.head());
        let mut replayed = Replayed {
            book: Book::new(),
            touched: BTreeMap::new(),
        };
        let mut good = Head::EMPTY;
        if let Err(error) = self.replay(until, &mut replayed, &mut good, &mut findings) {
            match error {
                DeskError::Damaged { what } => findings.push(what),
                other => return Err(other),
            }
        }
        if let Some(dump) = dump.filter(|_| good.seq == until) {
            if *dump.book != replayed.book {
                let what = "the book in use is not what follows from the journal".to_owned();
                findings.push(what);
            }
            let shelf = Shelved {
                records: dump.records,
                touched: dump.touched,
            };
            shelf.compare(&replayed, &mut findings);
        }
        Ok(Verification {
            entry_count: good.seq.0,
            head: good,
            findings,
        })
    }

    /// Takes every entry up to `until` into a new book.
    fn replay(
        &self,
        until: Seq,
        replayed: &mut Replayed,
        good: &mut Head,
        findings: &mut Vec<String>,
    ) -> Result<(), DeskError> {
        for line in self.reader.read(Position::START, until)? {
            let line = line.map_err(|error: JournalError| DeskError::from(error))?;
            let entry = parse(&line)?;
            replayed.book.apply(&entry);
            for subject in subjects(&entry) {
                let seqs = replayed.touched.entry(subject).or_default();
                if seqs.last() != Some(&entry.seq) {
                    seqs.push(entry.seq);
                }
            }
            if let Some(index) = &self.index {
                check_answer(index, &entry, findings)?;
            }
            *good = line.mark.head();
        }
        Ok(())
    }
}

/// Checks that a retry of the entry's request would find it.
fn check_answer(index: &Index, entry: &Entry, findings: &mut Vec<String>) -> Result<(), DeskError> {
    let known = index.shelf.answer(entry.request)?;
    if known != Some((entry.seq, entry.body)) && findings.len() < FINDINGS_COUNT_MAX {
        findings.push(format!(
            "the shelf does not know the request of entry {}",
            entry.seq
        ));
    }
    Ok(())
}

/// What the shelf holds.
struct Shelved {
    records: Vec<(Subject, Record)>,
    touched: BTreeMap<Subject, Vec<Seq>>,
}

impl Shelved {
    fn compare(self, replayed: &Replayed, findings: &mut Vec<String>) {
        let mut records: BTreeMap<Subject, Record> = self.records.into_iter().collect();
        let mut wrong = Vec::new();
        for (subject, seqs) in &replayed.touched {
            if records.remove(subject) != replayed.book.record(subject) {
                wrong.push(format!(
                    "the shelf's record of {subject} is not what follows from the journal"
                ));
            }
            if self.touched.get(subject) != Some(seqs) {
                wrong.push(format!(
                    "the shelf does not know every entry about {subject}"
                ));
            }
        }
        for subject in records.keys() {
            wrong.push(format!(
                "the shelf has a record of {subject}, which the journal never names"
            ));
        }
        findings.extend(wrong.into_iter().take(FINDINGS_COUNT_MAX));
    }
}
