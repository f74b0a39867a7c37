//! A book that the engine keeps, through the store that `fettled` has for it: what the writer's right, the chain
//! and the index of requests cost beside the bare insert.

use std::path::Path;
use std::time::Duration;

use fettlebook_model::Moment;
use fettlebook_server::journal::{Journal, Line, parse};
use fettlebook_server::store::{Asked, EngineBook, Store as _, WritersRight};
use uuid::Uuid;

use crate::Fault;
use crate::grouped::{Given, Store};

/// A book that is held.
pub(super) struct Kept {
    journal: Box<dyn Journal>,
    _right: Box<dyn WritersRight>,
}

impl Kept {
    /// Begins one where there are tables and no book.
    pub(super) fn begin(url: &str, node: &Path) -> Result<Self, Fault> {
        let store = EngineBook {
            url,
            node,
            authority: None,
            book: None,
            address: None,
        };
        let right = store.store()?.take(&Asked {
            new_book_id: Uuid::now_v7(),
            now: Moment::UNIX_EPOCH,
            wait: Duration::ZERO,
            mid_move: false,
        })?;
        right.settle();
        let found = right.reader().survey(None, None, &mut |_| Ok(()))?;
        Ok(Self {
            journal: right.journal(&found)?,
            _right: right,
        })
    }
}

impl Store for Kept {
    fn commit(&mut self, group: &[Given]) -> Result<(), Fault> {
        let head = self.journal.head();
        let lines = (head.seq.0 + 1..).zip(group).map(|(seq, given)| {
            Ok::<_, Fault>(Line {
                bytes: entry(seq, &given.line)?,
                request: Some(given.request),
            })
        });
        let lines: Vec<Line> = lines.collect::<Result<_, _>>()?;
        self.journal.append(&head, &lines)?;
        Ok(())
    }
}

/// The entry of a line under another number.
fn entry(seq: u64, line: &[u8]) -> Result<Vec<u8>, Fault> {
    let line = line.strip_suffix(b"\n").unwrap_or(line);
    let entry = parse(line).ok_or("it is no line of a journal")?.entry;
    let number_end = entry.iter().position(|byte| *byte == b',');
    let rest = number_end.and_then(|end| entry.get(end..));
    let rest = rest.ok_or("an entry has nothing but its number")?;
    Ok([format!("{{\"seq\":{seq}").as_bytes(), rest].concat())
}
