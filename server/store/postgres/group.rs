//! A group of entries, laid out as it is kept: the very bytes that a journal in files would have.

use fettlebook_model::Seq;
use uuid::Uuid;

use super::number;
use crate::journal::{
    Head, JournalError, LINE_FRAME_BYTES, Line, Mark, Position, Reached, put_entry,
};

/// A group of entries that is to be appended.
#[derive(Debug)]
pub(super) struct Group {
    /// Where the journal ends before it.
    pub(super) before: Head,
    /// Bytes of its lines.
    pub(super) line_bytes: i64,
    pub(super) chains: Vec<String>,
    pub(super) requests: Vec<Option<Uuid>>,
    /// The exact bytes of each entry.
    pub(super) entries: Vec<Vec<u8>>,
    pub(super) marks: Vec<Mark>,
    /// Where the next line would begin.
    pub(super) end: Position,
}

impl Group {
    /// Lays lines out behind the end of a journal.
    ///
    /// # Errors
    /// `Malformed` at the first that does not begin with its number, or is not one line.
    pub(super) fn lay_out(from: &Reached, lines: &[Line]) -> Result<Self, JournalError> {
        let before = Head {
            seq: Seq(from.next.seq.0.saturating_sub(1)),
            chain: from.chain,
        };
        let mut group = Self {
            line_bytes: 0,
            chains: Vec::with_capacity(lines.len()),
            requests: Vec::with_capacity(lines.len()),
            entries: Vec::with_capacity(lines.len()),
            marks: Vec::with_capacity(lines.len()),
            end: from.next,
            before,
        };
        let mut chain = from.chain;
        for line in lines {
            let at = group.end;
            let mut entry = Vec::with_capacity(line.bytes.len());
            put_entry(&mut entry, line, at.seq, group.before.seq)
                .ok_or(JournalError::Malformed(at.seq))?;
            chain = chain.link(&entry);
            group.end = behind(at, entry.len());
            group.chains.push(chain.to_string());
            group.requests.push(line.request);
            group.marks.push(Mark { at, chain });
            group.entries.push(entry);
        }
        group.line_bytes = number(group.end.offset - from.next.offset);
        Ok(group)
    }

    /// Where the journal ends with it.
    pub(super) fn head(&self) -> Head {
        self.marks
            .last()
            .map_or_else(|| self.before.clone(), Mark::head)
    }
}

/// Where the line behind one begins whose entry has so many bytes, as though all stood in one file.
pub(super) fn behind(at: Position, entry_bytes: usize) -> Position {
    let line_bytes = entry_bytes.saturating_add(LINE_FRAME_BYTES);
    let line_bytes = u64::try_from(line_bytes).unwrap_or(u64::MAX);
    Position {
        seq: at.seq.next(),
        segment: at.segment,
        offset: at.offset.saturating_add(line_bytes),
    }
}
