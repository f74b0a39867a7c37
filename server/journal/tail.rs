//! What stands at the end of a journal after its last good line: nothing, space set aside, a write
//! that was cut off, or damage.
//!
//! It serves every walk over a journal. Only what was certainly never acknowledged may be called
//! cut off; whatever a later line shows to have been on the disk is damage and stays.
//!
//! # The rule
//! Bytes that were written but not synced may be lost in whole sectors, in any order, and read as
//! zeros then. A group of lines is written at once, and each of its lines after the first tells
//! with `after` which entry was on the disk before. So what stands after the last good line was cut
//! off when
//! 1. no line in it shows that the first bad entry was on the disk, and
//! 2. it has no line feed, or the first bad line has a sector in it that never arrived.
//!
//! Zeros alone are space set aside for lines to come.

use fettlebook_model::Seq;

use super::line::parse;
use super::walk::without_zeros;
use crate::limits::{ENTRY_BYTES_MAX, GROUP_BYTES_MAX};

/// The smallest piece that disks write whole, in bytes.
const SECTOR_BYTES: usize = 512;

/// Longest group that can have been cut off, in bytes: a full one and a last, largest entry.
pub(super) const GROUP_BYTES_LONGEST: u64 = (GROUP_BYTES_MAX + ENTRY_BYTES_MAX) as u64 * 2;

/// What stands after the last good line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tail {
    /// Nothing but zeros.
    Aside,
    /// A write that was cut off: this many bytes, and zeros.
    Torn { byte_count: u64 },
    /// Something that was on the disk once and is not right any more.
    Damage,
}

/// Says what `rest` is: all that follows the last good line, from `offset` of its file, where entry
/// `expected` should be.
pub(super) fn judge(rest: &[u8], offset: u64, expected: Seq) -> Tail {
    let written = without_zeros(rest);
    if written.is_empty() {
        return Tail::Aside;
    }
    let torn = Tail::Torn {
        byte_count: written.len() as u64,
    };
    let mut lines = written.split_inclusive(|byte| *byte == b'\n');
    let first = lines.next().unwrap_or_default();
    if !first.ends_with(b"\n") {
        return torn;
    }
    let shown = lines.any(|line| shows_durable(line, expected));
    if shown || !lacks_a_sector(first, offset) {
        return Tail::Damage;
    }
    torn
}

/// True for a line that was written when the entry `seq` was on the disk already. One with a sector
/// missing tells nothing: what is left of it may read as though it had no `after`.
fn shows_durable(line: &[u8], seq: Seq) -> bool {
    if line.contains(&0) {
        return false;
    }
    let parts = line.strip_suffix(b"\n").and_then(parse);
    parts.is_some_and(|parts| parts.seq > seq && parts.after >= seq)
}

/// True when a sector that the line reaches into reads as zeros, as far as it is the line's.
fn lacks_a_sector(line: &[u8], offset: u64) -> bool {
    let into = usize::try_from(offset % SECTOR_BYTES as u64).unwrap_or_default();
    let (head, whole) = line
        .split_at_checked(SECTOR_BYTES - into)
        .unwrap_or((line, &[]));
    let lost = |sector: &[u8]| !sector.is_empty() && sector.iter().all(|byte| *byte == 0);
    lost(head) || whole.chunks(SECTOR_BYTES).any(lost)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::journal::Line;
    use crate::journal::chain::Chain;
    use crate::journal::line::write;

    /// The lines of entries 2 to `last`, each of 300 bytes or so, written as one group after entry 1.
    fn group(last: u64) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut chain = Chain::ZERO;
        for seq in 2..=last {
            let line =
                Line::of(format!(r#"{{"seq":{seq},"note":"{}"}}"#, "a".repeat(200)).into_bytes());
            chain = write(&mut bytes, &chain, &line, Seq(seq), Seq(1)).unwrap();
        }
        bytes
    }

    #[test]
    fn zeros_are_space_set_aside() {
        assert_eq!(judge(&[], 700, Seq(2)), Tail::Aside);
        assert_eq!(judge(&[0; 5000], 700, Seq(2)), Tail::Aside);
    }

    #[test]
    fn any_sector_of_a_group_may_be_missing() {
        for offset in [0_u64, 1, 300, 511] {
            let whole = group(8);
            let mut from = 0;
            while from < whole.len() {
                let sector_end = SECTOR_BYTES - (offset as usize + from) % SECTOR_BYTES;
                let until = (from + sector_end).min(whole.len());
                let mut bytes = whole.clone();
                bytes[from..until].fill(0);
                // The walk stands before the first line that lost something.
                let start = whole[..from]
                    .iter()
                    .rposition(|b| *b == b'\n')
                    .map_or(0, |at| at + 1);
                let bad = 2 + whole[..start].iter().filter(|b| **b == b'\n').count() as u64;
                let found = judge(&bytes[start..], offset + start as u64, Seq(bad));
                assert!(
                    matches!(found, Tail::Torn { .. }),
                    "sector at {from}: {found:?}"
                );
                from = until;
            }
        }
    }

    /// The sector goes in the midst of `after`, so that what is left reads as though nothing was told.
    #[test]
    fn a_line_without_its_middle_shows_nothing() {
        let mut bytes = group(8);
        let told = br#"{"seq":5,"after":1"#;
        let at = bytes.windows(told.len()).position(|part| part == told);
        let from = at.unwrap() + br#"{"seq":5,"a"#.len();
        let offset = (SECTOR_BYTES - from % SECTOR_BYTES) as u64;
        bytes[from..from + SECTOR_BYTES].fill(0);
        bytes[..SECTOR_BYTES - offset as usize].fill(0);
        assert!(matches!(judge(&bytes, offset, Seq(2)), Tail::Torn { .. }));
    }

    #[test]
    fn a_later_group_shows_that_what_is_missing_was_there() {
        let mut bytes = group(3);
        bytes[..512].fill(0);
        assert!(matches!(judge(&bytes, 0, Seq(2)), Tail::Torn { .. }));
        let line = Line::of(br#"{"seq":4,"note":"later"}"#.to_vec());
        write(&mut bytes, &Chain::ZERO, &line, Seq(4), Seq(3));
        assert_eq!(judge(&bytes, 0, Seq(2)), Tail::Damage);
    }

    #[test]
    fn a_changed_byte_is_damage() {
        let mut bytes = group(2);
        bytes[100] = b'X';
        assert_eq!(judge(&bytes, 0, Seq(2)), Tail::Damage);
        bytes[100] = 0;
        assert_eq!(
            judge(&bytes, 0, Seq(2)),
            Tail::Damage,
            "a zero is no sector"
        );
    }
}
