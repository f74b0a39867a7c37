//! Which entries somebody wants to see, of a list or of a watch.
//!
//! It serves both, so that a watch goes on where a list of the same entries ended.

use fettlebook_contract::v1::{ListEntriesRequest, WatchEntriesRequest};
use fettlebook_model::{Book, Deed, Entry, Moment, Refusal, Seq, Subject};

use super::Edge;
use super::faults::both;
use super::parse;
use super::status::EdgeError;
use crate::limits::LIST_COUNT_MAX;

/// Which entries are wanted. No subject means all, and so does nobody's name.
#[derive(Debug, Clone, Default)]
pub(super) struct Sought {
    subjects: Vec<Subject>,
    by: String,
    flagged: bool,
    /// Done then or later.
    from: Option<Moment>,
    /// Done before.
    before: Option<Moment>,
    /// Recorded after this entry; nothing for all.
    above: Option<Seq>,
}

impl Sought {
    /// What a list is asked for.
    pub(super) fn in_list(asked: &ListEntriesRequest, book: &Book) -> Result<Self, EdgeError> {
        let times = both(
            parse::moment("from_time", asked.from_time).map_err(EdgeError::from),
            parse::moment("before_time", asked.before_time).map_err(EdgeError::from),
        );
        let subjects = subjects(&asked.subject, book).map_err(EdgeError::from);
        let (subjects, (from, before)) = both(subjects, times)?;
        Ok(Self {
            subjects,
            by: asked.by.clone(),
            flagged: asked.flagged,
            from,
            before,
            above: parse::book::above(asked.after_seq),
        })
    }

    /// What a watch is asked for.
    pub(super) fn in_watch(asked: &WatchEntriesRequest, book: &Book) -> Result<Self, Refusal> {
        Ok(Self {
            subjects: subjects(&asked.subject, book)?,
            by: asked.by.clone(),
            flagged: asked.flagged,
            ..Self::default()
        })
    }

    /// Whether every entry of the subjects is wanted.
    const fn takes_all(&self) -> bool {
        let at_any_time = self.from.is_none() && self.before.is_none() && self.above.is_none();
        self.by.is_empty() && !self.flagged && at_any_time
    }

    /// Whether an entry of the subjects is wanted.
    fn takes_of_subjects(&self, entry: &Entry) -> bool {
        let by = self.by.is_empty() || entry.by == self.by;
        let flagged = !self.flagged || !entry.flags.is_empty();
        let from = self.from.is_none_or(|from| entry.done_at >= from);
        let before = self.before.is_none_or(|before| entry.done_at < before);
        by && flagged && from && before && self.above.is_none_or(|above| entry.seq > above)
    }

    /// Whether an entry is wanted.
    pub(super) fn takes(&self, entry: &Entry) -> bool {
        let mut of_deeds = entry.deeds.iter().map(Deed::subject);
        let mut of_flags = entry.flags.iter().map(|flag| &flag.subject);
        let touches = self.subjects.is_empty()
            || of_deeds.any(|subject| self.subjects.contains(&subject))
            || of_flags.any(|subject| self.subjects.contains(subject));
        touches && self.takes_of_subjects(entry)
    }

    /// Whether neither this entry nor one that was recorded before it is wanted: none is done after it is
    /// recorded.
    fn ends_at(&self, entry: &Entry) -> bool {
        self.from.is_some_and(|from| entry.recorded_at < from)
            || self.above.is_some_and(|above| entry.seq <= above)
    }
}

/// What goes by a word; nothing for all.
fn subjects(word: &str, book: &Book) -> Result<Vec<Subject>, Refusal> {
    if word.is_empty() {
        return Ok(Vec::new());
    }
    parse::book::subjects(word, book)
}

impl Edge {
    /// Up to `limit` entries that are wanted, on from `after`.
    pub(super) async fn entries(
        &self,
        sought: &Sought,
        newest_first: bool,
        mut after: Option<Seq>,
        limit: usize,
    ) -> Result<Vec<Entry>, EdgeError> {
        if sought.takes_all() {
            return self
                .entries_touching(sought, newest_first, after, limit)
                .await;
        }
        if !newest_first && after.is_none() {
            after = self.before_all(sought).await?;
        }
        let mut found = Vec::new();
        loop {
            let page = self.entries_touching(sought, newest_first, after, LIST_COUNT_MAX);
            let page = page.await?;
            let Some(last) = page.last() else {
                return Ok(found);
            };
            after = Some(last.seq);
            let is_over = newest_first && sought.ends_at(last);
            let wanted = page
                .into_iter()
                .filter(|entry| sought.takes_of_subjects(entry));
            found.extend(wanted.take(limit.saturating_sub(found.len())));
            if is_over || found.len() >= limit {
                return Ok(found);
            }
        }
    }

    /// An entry before all that are wanted, as late as may be, so that a list of today does not begin with the
    /// whole book; nothing for the book's beginning.
    async fn before_all(&self, sought: &Sought) -> Result<Option<Seq>, EdgeError> {
        if sought.from.is_none() {
            return Ok(sought.above);
        }
        let mut after = None;
        loop {
            let page = self.entries_touching(sought, true, after, LIST_COUNT_MAX);
            let page = page.await?;
            let before = page.iter().find(|entry| sought.ends_at(entry));
            if before.is_some() || page.is_empty() {
                return Ok(before.map(|entry| entry.seq));
            }
            after = page.last().map(|entry| entry.seq);
        }
    }

    /// Up to `limit` entries that touched any of the subjects, each once, on from `after`.
    async fn entries_touching(
        &self,
        sought: &Sought,
        newest_first: bool,
        after: Option<Seq>,
        limit: usize,
    ) -> Result<Vec<Entry>, EdgeError> {
        let subjects: Vec<Option<Subject>> = match sought.subjects.as_slice() {
            [] => vec![None],
            subjects => subjects.iter().cloned().map(Some).collect(),
        };
        let mut all: Vec<Entry> = Vec::new();
        for subject in subjects {
            let found = self
                .desk
                .entries(subject, newest_first, after, limit)
                .await?;
            all.extend(found);
        }
        all.sort_by_key(|entry| entry.seq);
        all.dedup_by_key(|entry| entry.seq);
        if newest_first {
            all.reverse();
        }
        all.truncate(limit);
        Ok(all)
    }
}
