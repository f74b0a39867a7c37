//! Reading the shelf: its mark, its records, and its three indexes.
//!
//! It serves opening, the desk's look-ups and verification. It changes nothing.

use std::collections::BTreeMap;

use fettlebook_model::{BodyHash, Record, Seq, Subject};
use uuid::Uuid;

use super::mark::{ShelfMark, decode};
use super::{MARK_KEY, Shelf, ShelfError, kept_place, postings};
use crate::journal::{Chain, Position};

impl Shelf {
    /// Up to which entry the shelf holds; `None` for a new shelf.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn mark(&self) -> Result<Option<ShelfMark>, ShelfError> {
        self.records
            .get(MARK_KEY)?
            .map(|bytes| decode(&bytes))
            .transpose()
    }

    /// Every record, by subject.
    ///
    /// # Errors
    /// When one cannot be read.
    pub fn records(&self) -> Result<Vec<(Subject, Record)>, ShelfError> {
        let mut records = Vec::new();
        for item in &self.records {
            let (key, value) = item?;
            if key != MARK_KEY {
                records.push((subject_of(&key)?, decode(&value)?));
            }
        }
        Ok(records)
    }

    /// The entry that answered a request, and the hash of the body it answered.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn answer(&self, request: Uuid) -> Result<Option<(Seq, BodyHash)>, ShelfError> {
        for item in self.requests.scan_prefix(postings::bucket(&request)) {
            let (_, rows) = item?;
            if let Some(found) = postings::find_row(&rows, request) {
                return Ok(Some(found));
            }
        }
        Ok(None)
    }

    /// A place at or before an entry, from which a reader can walk on to it.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn place_before(&self, seq: Seq) -> Result<Position, ShelfError> {
        match self.places.get(kept_place(seq).0.to_be_bytes())? {
            Some(bytes) => decode(&bytes),
            None => Ok(Position::START),
        }
    }

    /// The chain value of an entry, where it is kept.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn chain_of(&self, seq: Seq) -> Result<Option<Chain>, ShelfError> {
        let kept = self.chains.get(seq.0.to_be_bytes())?;
        let unread = || ShelfError::Damaged("a chain value on it is none".to_owned());
        kept.map(|digits| Chain::from_digits(&digits).ok_or_else(unread))
            .transpose()
    }

    /// Up to `limit` entries that touched a subject, after entry `after`, oldest first.
    ///
    /// # Errors
    /// When the index cannot be read.
    pub fn touched_after(
        &self,
        subject: &Subject,
        after: Seq,
        limit: usize,
    ) -> Result<Vec<Seq>, ShelfError> {
        let key = subject.key().into_bytes();
        let (start, end) = (
            postings::key(&key, Seq(0)),
            postings::key(&key, Seq(u64::MAX)),
        );
        let around = self
            .touched
            .range(start.clone()..=postings::key(&key, after))
            .next_back();
        let start = around.transpose()?.map_or(start, |(key, _)| key.to_vec());
        let mut found = Vec::new();
        for item in self.touched.range(start..=end) {
            let (key, value) = item?;
            let seqs = postings::decode_numbers(&key, &value)?;
            found.extend(seqs.into_iter().filter(|seq| *seq > after));
            if found.len() >= limit {
                break;
            }
        }
        found.truncate(limit);
        Ok(found)
    }

    /// Up to `limit` entries that touched a subject, before entry `before`, newest first.
    ///
    /// # Errors
    /// When the index cannot be read.
    pub fn touched_before(
        &self,
        subject: &Subject,
        before: Seq,
        limit: usize,
    ) -> Result<Vec<Seq>, ShelfError> {
        let key = subject.key().into_bytes();
        let mut found = Vec::new();
        for item in self
            .touched
            .range(postings::key(&key, Seq(0))..postings::key(&key, before))
            .rev()
        {
            let (key, value) = item?;
            let seqs = postings::decode_numbers(&key, &value)?;
            found.extend(seqs.into_iter().rev().filter(|seq| *seq < before));
            if found.len() >= limit {
                break;
            }
        }
        found.truncate(limit);
        Ok(found)
    }

    /// The whole index of what touched what, for verification.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn all_touched(&self) -> Result<BTreeMap<Subject, Vec<Seq>>, ShelfError> {
        let mut all: BTreeMap<Subject, Vec<Seq>> = BTreeMap::new();
        for item in &self.touched {
            let (key, value) = item?;
            let subject = key.len().checked_sub(9).and_then(|end| key.get(..end));
            let subject = subject_of(subject.unwrap_or_default())?;
            all.entry(subject)
                .or_default()
                .extend(postings::decode_numbers(&key, &value)?);
        }
        Ok(all)
    }
}

/// The subject that a key names.
fn subject_of(key: &[u8]) -> Result<Subject, ShelfError> {
    let subject = std::str::from_utf8(key)
        .ok()
        .and_then(|key| key.parse().ok());
    subject.ok_or_else(|| ShelfError::Damaged("a key on it names no subject".to_owned()))
}
