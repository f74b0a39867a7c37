//! What the callers know: every request they made, what each was answered, and what they then find.
//!
//! It serves the kill loop as the plain model beside the service. It counts washes for itself and
//! must never take the service's word for what is in the book.

use std::collections::{HashMap, HashSet};

use fettlebook_contract::v1::{DeedKind, Entry, Piece, piece};

use crate::deed::Deed;

/// A request that was made, and the entry it was answered with, if it was answered.
#[derive(Clone, Debug)]
pub(crate) struct Sent {
    pub(crate) deed: Deed,
    pub(crate) answer: Option<Entry>,
}

/// How many promises were kept, and which were not.
#[derive(Debug, Default)]
pub(crate) struct Score {
    pub(crate) kills: usize,
    pub(crate) kills_while_opening: usize,
    pub(crate) acknowledged: usize,
    pub(crate) in_doubt: usize,
    pub(crate) in_doubt_recorded: usize,
    pub(crate) lost: Vec<String>,
    pub(crate) doubled: Vec<String>,
    pub(crate) torn: Vec<String>,
    pub(crate) failed_opens: Vec<String>,
}

impl Score {
    /// One line of figures.
    pub(crate) fn line(&self) -> String {
        format!(
            "kills {} ({} while opening), acknowledged {}, unanswered {} ({} of them recorded), \
             lost {}, doubled {}, torn {}, failed opens {}",
            self.kills,
            self.kills_while_opening,
            self.acknowledged,
            self.in_doubt,
            self.in_doubt_recorded,
            self.lost.len(),
            self.doubled.len(),
            self.torn.len(),
            self.failed_opens.len(),
        )
    }

    /// Fails with the first of each kind of broken promise.
    #[track_caller]
    pub(crate) fn assert_clean(&self, seed: u64) {
        let all = [&self.lost, &self.doubled, &self.torn, &self.failed_opens];
        let first: Vec<&String> = all.iter().filter_map(|found| found.first()).collect();
        assert!(first.is_empty(), "seed {seed}: {}: {first:#?}", self.line());
    }
}

/// What the callers know of the book.
#[derive(Default)]
pub(crate) struct Ledger {
    /// Requests by id.
    requests: HashMap<String, Deed>,
    /// Entries that were acknowledged, by number.
    pub(crate) acknowledged: HashMap<i64, Entry>,
    /// The request of every entry found in the book, by number from 1.
    pub(crate) found: Vec<String>,
    seen: HashSet<String>,
    washed: HashMap<i64, Vec<String>>,
    pub(crate) score: Score,
}

impl Ledger {
    /// A ledger of a book that begins with the entries of its set-up.
    pub(crate) fn after_set_up(entries: &[Entry]) -> Self {
        let mut ledger = Self::default();
        for entry in entries {
            ledger.found.push(entry.request_id.clone());
            ledger.seen.insert(entry.request_id.clone());
        }
        ledger
    }

    /// Number of the last entry that was looked at.
    pub(crate) fn head(&self) -> i64 {
        i64::try_from(self.found.len()).unwrap()
    }

    /// Takes in the answers to a request that was sent again, twice.
    pub(crate) fn take_retry(&mut self, sent: &Sent, again: &[Result<Entry, tonic::Status>; 2]) {
        let id = sent.deed.request_id().to_owned();
        self.requests.insert(id.clone(), sent.deed.clone());
        match (&sent.answer, &again[0]) {
            (Some(first), Ok(second)) if first == second => {}
            (Some(first), Ok(second)) if first.seq == second.seq => {
                let told = format!("entry {} was {first:?} and is {second:?}", first.seq);
                self.score.lost.push(told);
            }
            (Some(first), Ok(second)) => {
                let told = format!("{id} is entry {} and entry {}", first.seq, second.seq);
                self.score.doubled.push(told);
            }
            (Some(first), Err(status)) => {
                let told = format!("entry {} is refused now: {status}", first.seq);
                self.score.lost.push(told);
            }
            (None, Ok(_)) | (None, Err(_)) => {}
        }
        match again {
            [Ok(one), Ok(two)] if one == two => {
                self.acknowledged.insert(one.seq, one.clone());
            }
            [Err(one), Err(two)] if one.code() == two.code() => {}
            [one, two] => {
                let told = format!("{id}: a retry gives {one:?}, and the next {two:?}");
                self.score.doubled.push(told);
            }
        }
    }

    /// Takes in the next entry that was found in the book.
    pub(crate) fn take_found(&mut self, entry: &Entry) {
        let id = entry.request_id.clone();
        if entry.seq != self.head() + 1 {
            let told = format!("entry {} follows entry {}", entry.seq, self.head());
            self.score.lost.push(told);
        }
        if !self.seen.insert(id.clone()) {
            let told = format!("{id} is in the book twice, again as {}", entry.seq);
            self.score.doubled.push(told);
        }
        match self.requests.get(&id) {
            Some(deed) => self.score.torn.extend(deed.torn_in(entry)),
            None => self
                .score
                .torn
                .push(format!("nobody sent entry {}: {entry:?}", entry.seq)),
        }
        let washed = entry
            .deeds
            .iter()
            .filter(|deed| deed.kind() == DeedKind::Washed);
        let washed = washed.map(|deed| deed.subject.clone()).collect();
        self.washed.insert(entry.seq, washed);
        for reversed in entry.deeds.iter().filter_map(|deed| deed.reverses_seq) {
            self.washed.remove(&reversed);
        }
        self.found.push(id);
    }

    /// Holds an entry of the book against what was acknowledged under its number.
    pub(crate) fn compare(&mut self, entry: &Entry) {
        let Some(first) = self.acknowledged.get(&entry.seq) else {
            return;
        };
        // Only an entry that is read says what reversed it.
        let told = Entry {
            reversed_by_seq: None,
            ..entry.clone()
        };
        if told != *first {
            let told = format!("entry {} was {first:?} and is {entry:?}", entry.seq);
            self.score.lost.push(told);
        }
    }

    /// Asserts nothing itself: says whether every acknowledged entry has been found.
    pub(crate) fn miss_none(&mut self) {
        let head = self.head();
        let missing = self.acknowledged.keys().filter(|seq| **seq > head);
        let missing: Vec<String> = missing
            .map(|seq| format!("entry {seq} is acknowledged and the book ends at {head}"))
            .collect();
        self.score.lost.extend(missing);
    }

    /// Holds the pads' washes against the washes found in the book.
    pub(crate) fn compare_washes(&mut self, pieces: &[Piece]) {
        let mut counts: HashMap<&str, i64> = HashMap::new();
        for tag in self.washed.values().flatten() {
            *counts.entry(tag).or_default() += 1;
        }
        for piece in pieces {
            let Some(piece::State::Pad(pad)) = &piece.state else {
                continue;
            };
            let counted = counts.get(piece.tag.as_str()).copied().unwrap_or_default();
            if pad.wash_count != counted {
                self.score.torn.push(format!(
                    "{} has {} washes, its entries say {counted}",
                    piece.tag, pad.wash_count
                ));
            }
        }
    }
}
