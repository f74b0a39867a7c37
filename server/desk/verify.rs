//! Verifying a book: the whole journal from its first line, and everything that follows from it.
//!
//! It serves whoever wants to know that nothing was lost or changed. It trusts nothing that it can
//! work out itself, changes nothing, and names the first bad entry.

use std::collections::BTreeMap;
use std::sync::Arc;

use fettlebook_model::sums::Sums;
use fettlebook_model::{Book, Record, Seq, Subject};

use super::Published;
use super::error::DeskError;
use super::first_difference::FirstDifference;
use super::history::{History, parse};
use crate::journal::{Head, JournalError, Position, ReadLine};
use crate::shelf::{KeeperLine, subjects};

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
    /// What could not be looked at, though the book does not suffer by it: a sentence each, without a
    /// full stop.
    pub notes: Vec<String>,
    /// The first bad entry of a journal that is damaged or shorter than it was.
    pub first_bad: Option<Seq>,
    /// The first entry that a later program wrote in a journal that is whole.
    pub newer: Option<Seq>,
}

/// What follows from the journal.
struct Replayed {
    book: Book,
    sums: Sums,
    touched: BTreeMap<Subject, Vec<Seq>>,
    good: Head,
    /// Where the journal is not the one that the shelf was made from.
    first_difference: Option<FirstDifference>,
}

impl Default for Replayed {
    fn default() -> Self {
        Self {
            book: Book::new(),
            sums: Sums::default(),
            touched: BTreeMap::new(),
            good: Head::EMPTY,
            first_difference: None,
        }
    }
}

impl History {
    /// Verifies a book against what is published.
    pub(super) fn verify(&self, published: &Published) -> Result<Verification, DeskError> {
        let mut findings: Vec<String> = published
            .read_only
            .iter()
            .map(ToString::to_string)
            .collect();
        let mut notes = Vec::new();
        let dump = self.keeper.as_ref().map(KeeperLine::dump).transpose();
        let dump = dump.unwrap_or_else(|error| {
            // A shelf can always be built again from the journal: without one the book is as whole. It may
            // be lost just while it is asked.
            if self.keeper.as_ref().and_then(KeeperLine::failure).is_some() {
                notes.push(format!("the shelf was not looked at: {error}"));
            } else {
                findings.push(error.to_string());
            }
            None
        });
        let head = published.head.seq;
        let newer = self.newer.as_ref();
        let until = dump.as_ref().map_or(head, |dump| dump.head.max(head));
        let until = newer.map_or(until, |newer| newer.until.seq.max(until));
        let mut replayed = Replayed::default();
        let mut first_bad = None;
        for line in self.reader.read(Position::START, until)? {
            if let Err(JournalError::Damaged(damage)) = &line {
                first_bad = Some(damage.seq);
            }
            let line = line.map_err(DeskError::from);
            // Of what is not understood only the chain is looked at.
            let is_newer = |seq| newer.is_some_and(|newer| seq >= newer.seq);
            if line.as_ref().is_ok_and(|line| is_newer(line.mark.at.seq)) {
                continue;
            }
            match line.and_then(|line| self.replay(&line, &mut replayed, &mut findings)) {
                Ok(()) => {}
                Err(DeskError::Damaged { what }) => {
                    // A damaged book is read-only for the same reason, which is among them already.
                    if !findings.contains(&what) {
                        findings.push(what);
                    }
                    break;
                }
                Err(other) => return Err(other),
            }
            if replayed.good.seq == head && replayed.book != *published.book {
                findings.push("the book in use is not what follows from the journal".to_owned());
            }
            if let Some(first_difference) = &mut replayed.first_difference
                && replayed.good.seq == head
            {
                first_difference.take_chain(head, published.head.chain, replayed.good.chain);
            }
        }
        if let Some((first, what)) = replayed
            .first_difference
            .as_ref()
            .and_then(FirstDifference::found)
        {
            first_bad = Some(first_bad.map_or(first, |bad| bad.min(first)));
            findings.insert(0, what);
        }
        let wrong = replayed.sums.differences(&replayed.book);
        findings.extend(wrong.into_iter().take(FINDINGS_COUNT_MAX));
        if let Some(dump) = dump.filter(|dump| replayed.good.seq == dump.head) {
            let (records, touched) = (dump.records, dump.touched);
            Shelved { records, touched }.compare(&replayed, &mut findings);
        }
        let good = replayed.good;
        Ok(Verification {
            entry_count: good.seq.0,
            head: good,
            findings,
            notes,
            first_bad,
            newer: newer.map(|newer| newer.seq),
        })
    }

    /// Takes the next entry into what follows from the journal.
    fn replay(
        &self,
        line: &ReadLine,
        replayed: &mut Replayed,
        findings: &mut Vec<String>,
    ) -> Result<(), DeskError> {
        let entry = parse(line)?;
        replayed.book.apply(&entry);
        replayed.sums.take(&entry);
        for subject in subjects(&entry) {
            let seqs = replayed.touched.entry(subject).or_default();
            if seqs.last() != Some(&entry.seq) {
                seqs.push(entry.seq);
            }
        }
        if let Some(shelf) = self.keeper.as_ref().and_then(KeeperLine::shelf) {
            let first_difference = replayed
                .first_difference
                .get_or_insert_with(|| FirstDifference::new(Arc::clone(&shelf)));
            let known = shelf.answer(entry.request)? == Some((entry.seq, entry.body));
            first_difference.look(line, known)?;
            if !known && first_difference.found().is_none() && findings.len() < FINDINGS_COUNT_MAX {
                findings.push(format!(
                    "the shelf does not know the request of entry {}",
                    entry.seq
                ));
            }
        }
        replayed.good = line.mark.head();
        Ok(())
    }
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
