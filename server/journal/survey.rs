//! A look over a journal before it is opened: where it ends, and what is wrong with it.
//!
//! It serves the desk at start and when a book is verified. It changes nothing; what a torn last
//! line needs is done by [`super::FileJournal::open`], and anything else wrong is left as it is.

use std::path::Path;

use fettlebook_model::Seq;

use super::walk::{Stop, Walk};
use super::{Damage, Head, JournalError, Mark, Newer, Position, ReadLine};

/// What was found.
#[derive(Debug)]
pub struct Survey {
    /// The last good entry.
    pub head: Head,
    /// The place of the last good entry; `None` when there is none.
    pub last: Option<Mark>,
    /// Where the next line belongs.
    pub end: Position,
    /// A last line that was being written when the machine or the program stopped.
    pub torn: Option<TornTail>,
    /// The first bad entry.
    pub damage: Option<Damage>,
    /// The first entry that a later program wrote, and how far the journal goes on behind it. The last
    /// good entry is the one before.
    pub newer: Option<Newer>,
    /// False when the entry the survey was to start from is not there.
    pub start_found: bool,
}

/// Why a line was not taken by whoever looks at the entries, as the rest of a sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Untaken {
    /// It is wrong.
    Damaged(String),
    /// A later program wrote it.
    Newer(String),
}

impl From<&str> for Untaken {
    fn from(what: &str) -> Self {
        Self::Damaged(what.to_owned())
    }
}

/// What is wrong with a last line that has no line feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TornTail {
    /// It is not whole, was never acknowledged, and is put aside.
    Cut {
        /// The last whole entry before it.
        after: Seq,
        /// Bytes to cut.
        byte_count: u64,
    },
    /// It is whole but for the line feed, which is added.
    Unended {
        /// The entry.
        seq: Seq,
    },
}

impl std::fmt::Display for TornTail {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Cut { after, byte_count } => write!(
                f,
                "a write was cut off after entry {after}; its {byte_count} bytes were put aside in \
                 the folder cut-off of the journal"
            ),
            Self::Unended { seq } => {
                write!(
                    f,
                    "entry {seq} was whole but for its line end, which has been added"
                )
            }
        }
    }
}

/// Reads the journal in a folder to its end, as [`super::Reader::survey`] does.
///
/// # Errors
/// When a file cannot be read. What is wrong inside the files is in the survey instead.
pub fn survey(
    folder: &Path,
    from: Option<&Mark>,
    visit: &mut dyn FnMut(&ReadLine) -> Result<(), Untaken>,
) -> Result<Survey, JournalError> {
    survey_until(folder, from, None, visit)
}

/// Reads as [`survey`] does, but nothing behind entry `until`, as though the journal ended there.
///
/// # Errors
/// Those of [`survey`].
pub(super) fn survey_until(
    folder: &Path,
    from: Option<&Mark>,
    until: Option<Seq>,
    visit: &mut dyn FnMut(&ReadLine) -> Result<(), Untaken>,
) -> Result<Survey, JournalError> {
    let mut found = Survey::begun(from);
    let stop = match from {
        None => Walk::from_start(folder),
        Some(mark) => Walk::from(folder, mark.at),
    };
    let stop = match stop {
        Ok(mut walk) => found.follow(&mut walk, (from, until), visit),
        Err(stop) => {
            found.start_found = false;
            Some(stop)
        }
    };
    match stop {
        None => {}
        Some(Stop::Torn { byte_count }) => {
            found.torn = Some(TornTail::Cut {
                after: found.head.seq,
                byte_count,
            });
        }
        Some(Stop::Damaged(damage)) => found.damage = Some(damage),
        Some(Stop::Failed(error)) => return Err(error),
    }
    Ok(found)
}

impl Survey {
    /// One that has seen nothing yet behind the entry it is to start from, or of all.
    pub(crate) fn begun(from: Option<&Mark>) -> Self {
        Self {
            head: from.map_or(Head::EMPTY, Mark::head),
            last: from.cloned(),
            end: from.map_or(Position::START, |mark| mark.at),
            torn: None,
            damage: None,
            newer: None,
            start_found: true,
        }
    }

    /// Walks to the end, or to what stops the walk.
    fn follow(
        &mut self,
        walk: &mut Walk,
        (from, until): (Option<&Mark>, Option<Seq>),
        visit: &mut dyn FnMut(&ReadLine) -> Result<(), Untaken>,
    ) -> Option<Stop> {
        if let Some(mark) = from {
            match walk.advance() {
                Ok(Some(line)) if line.mark == *mark => self.end = walk.end(),
                other => {
                    self.start_found = false;
                    let what = "is not the one that was there before".to_owned();
                    let changed = Stop::Damaged(Damage {
                        seq: mark.at.seq,
                        what,
                    });
                    return Some(other.err().unwrap_or(changed));
                }
            }
        }
        while until.is_none_or(|until| self.head.seq < until) {
            match walk.advance() {
                Ok(Some(line)) => {
                    if let Some(newer) = &mut self.newer {
                        newer.until = line.mark.head();
                        continue;
                    }
                    let (seq, until) = (line.mark.at.seq, line.mark.head());
                    match visit(&line) {
                        Ok(()) => {
                            self.head = until;
                            self.last = Some(line.mark);
                        }
                        Err(Untaken::Damaged(what)) => {
                            return Some(Stop::Damaged(Damage { seq, what }));
                        }
                        Err(Untaken::Newer(what)) => self.newer = Some(Newer { seq, what, until }),
                    }
                }
                Ok(None) => break,
                Err(stop) => {
                    self.end = walk.end();
                    return Some(stop);
                }
            }
        }
        self.end = walk.end();
        self.torn = walk
            .is_unended()
            .then_some(TornTail::Unended { seq: self.head.seq });
        None
    }
}
