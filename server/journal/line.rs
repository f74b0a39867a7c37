//! One line of the journal: how it is written and how it is taken apart.
//!
//! It serves the writer and every walk over a journal. Taking apart goes by fixed positions and
//! never guesses: bytes that this module would not have written are not a line.

use std::io::Write as _;

use fettlebook_model::Seq;
use uuid::Uuid;

use super::chain::{CHAIN_LENGTH, Chain};

/// How every line begins. No text in an entry can hold this: quotes are escaped there.
pub(crate) const BEFORE_CHAIN: &[u8] = br#"{"chain":""#;
const BEFORE_ENTRY: &[u8] = br#"","entry":"#;
const BEFORE_SEQ: &[u8] = br#"{"seq":"#;
const BEFORE_AFTER: &[u8] = br#","after":"#;

/// Bytes of a line besides the entry object: its frame, the chain value and the line feed.
pub(crate) const FRAME_BYTES: usize =
    BEFORE_CHAIN.len() + CHAIN_LENGTH + BEFORE_ENTRY.len() + "}\n".len();

/// Most bytes of the member that tells what was on the disk before.
pub(super) const AFTER_BYTES_MAX: usize = BEFORE_AFTER.len() + 20;

/// An entry object that is to be appended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its bytes: JSON on one line, its number first.
    pub bytes: Vec<u8>,
    /// The request that it answers, for stores that give each request one entry; none where that is not
    /// known, as for what is copied from another journal.
    pub request: Option<Uuid>,
}

impl Line {
    /// A line of which only the bytes are known.
    pub const fn of(bytes: Vec<u8>) -> Self {
        Self {
            bytes,
            request: None,
        }
    }

    /// The number that it begins with and the rest, each with its bytes, when that is this number and all is
    /// one line.
    fn split(&self, seq: Seq) -> Option<(&[u8], &[u8])> {
        let rest = after_seq(&self.bytes, seq)?;
        let numbered = self.bytes.len().checked_sub(rest.len())?;
        self.bytes.split_at_checked(numbered)
    }
}

/// Whether these are the bytes of an entry object that begins with this number, on one line.
pub(crate) fn is_entry(bytes: &[u8], seq: Seq) -> bool {
    after_seq(bytes, seq).is_some()
}

/// The bytes after the number, when they begin with this number and hold no line feed.
fn after_seq(bytes: &[u8], seq: Seq) -> Option<&[u8]> {
    let (found, rest) = number_of(bytes.strip_prefix(BEFORE_SEQ)?)?;
    (Seq(found) == seq && !bytes.contains(&b'\n')).then_some(rest)
}

/// Writes the bytes of entry `seq` as they are kept. `after` is the entry that is certain when it is
/// written; it is only told where it is not the one before. Nothing is written of a line that is not of
/// this number, or not one line.
pub(crate) fn put_entry(out: &mut Vec<u8>, line: &Line, seq: Seq, after: Seq) -> Option<()> {
    let (number, rest) = line.split(seq)?;
    out.extend_from_slice(number);
    if after.next() != seq {
        out.extend_from_slice(BEFORE_AFTER);
        // A list of bytes takes all that it is given.
        let _ = write!(out, "{after}");
    }
    out.extend_from_slice(rest);
    Some(())
}

/// Writes the line of entry `seq`, line feed included, and gives its chain value; none, and nothing is
/// written, where it is not of this number, or not one line.
pub(super) fn write(
    out: &mut Vec<u8>,
    before: &Chain,
    line: &Line,
    seq: Seq,
    after: Seq,
) -> Option<Chain> {
    let begin = out.len();
    out.extend_from_slice(BEFORE_CHAIN);
    let digits = out.len()..out.len() + CHAIN_LENGTH;
    out.extend_from_slice(Chain::ZERO.digits());
    out.extend_from_slice(BEFORE_ENTRY);
    let entry = out.len();
    if put_entry(out, line, seq, after).is_none() {
        out.truncate(begin);
        return None;
    }
    let chain = before.link(out.get(entry..).unwrap_or_default());
    if let Some(place) = out.get_mut(digits) {
        place.copy_from_slice(chain.digits());
    }
    out.extend_from_slice(b"}\n");
    Some(chain)
}

/// Writes a line as it was in another journal of the book, and gives its chain value; as [`write`] does.
pub(super) fn copy(
    out: &mut Vec<u8>,
    before: &Chain,
    line: &Line,
    seq: Seq,
    _: Seq,
) -> Option<Chain> {
    is_entry(&line.bytes, seq).then(|| {
        let chain = before.link(&line.bytes);
        frame(out, &chain, &line.bytes);
        chain
    })
}

/// Writes the line of an entry object again as it was, line feed included.
pub(super) fn frame(out: &mut Vec<u8>, chain: &Chain, entry: &[u8]) {
    put_frame(out, chain.digits(), entry);
}

/// Writes what stands for a line, whatever its parts are: of a journal whose lines are not whole.
pub(crate) fn put_frame(out: &mut Vec<u8>, chain: &[u8], entry: &[u8]) {
    out.extend_from_slice(BEFORE_CHAIN);
    out.extend_from_slice(chain);
    out.extend_from_slice(BEFORE_ENTRY);
    out.extend_from_slice(entry);
    out.extend_from_slice(b"}\n");
}

/// A line taken apart, by itself: neither its number nor its chain value is checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Parts<'a> {
    /// The chain value it states.
    pub chain: Chain,
    /// The number its entry begins with.
    pub seq: Seq,
    /// The entry that was on the disk when the line was written.
    pub after: Seq,
    /// The bytes of the entry object.
    pub entry: &'a [u8],
}

/// The bytes of an entry object without the member that tells what was on the disk before.
pub(super) fn given(entry: &[u8]) -> Vec<u8> {
    let after = || {
        let (seq, rest) = number_of(entry.strip_prefix(BEFORE_SEQ)?)?;
        let (_, rest) = number_of(rest.strip_prefix(BEFORE_AFTER)?)?;
        Some((seq, rest))
    };
    match after() {
        Some((seq, rest)) => [BEFORE_SEQ, seq.to_string().as_bytes(), rest].concat(),
        None => entry.to_vec(),
    }
}

/// Takes a line apart, given without its line feed; `None` when it is not one.
pub fn parse(line: &[u8]) -> Option<Parts<'_>> {
    let rest = line.strip_prefix(BEFORE_CHAIN)?;
    let (digits, rest) = rest.split_at_checked(CHAIN_LENGTH)?;
    let entry = rest.strip_prefix(BEFORE_ENTRY)?.strip_suffix(b"}")?;
    let (seq, rest) = number_of(entry.strip_prefix(BEFORE_SEQ)?)?;
    let after = match rest.strip_prefix(BEFORE_AFTER) {
        Some(rest) => number_of(rest)?.0,
        None => seq.checked_sub(1)?,
    };
    (after < seq).then_some(Parts {
        chain: Chain::from_digits(digits)?,
        seq: Seq(seq),
        after: Seq(after),
        entry,
    })
}

/// The number that bytes begin with, and the rest of the object.
fn number_of(bytes: &[u8]) -> Option<(u64, &[u8])> {
    let end = bytes.iter().position(|b| !b.is_ascii_digit())?;
    let (digits, rest) = bytes.split_at_checked(end)?;
    let padded = digits.starts_with(b"0") && digits.len() > 1;
    if padded || !matches!(rest.first(), Some(b',' | b'}')) {
        return None;
    }
    Some((std::str::from_utf8(digits).ok()?.parse().ok()?, rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(entry: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        let (seq, _) = number_of(entry.strip_prefix(BEFORE_SEQ).unwrap()).unwrap();
        let (seq, before) = (Seq(seq), Seq(seq - 1));
        let line = Line::of(entry.to_vec());
        write(&mut out, &Chain::ZERO, &line, seq, before).unwrap();
        out
    }

    fn framed(entry: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        frame(&mut out, &Chain::ZERO.link(entry), entry);
        out
    }

    #[test]
    fn an_entry_is_given_back_without_what_the_journal_put_in() {
        let plain = br#"{"seq":9,"by":"van-a","after":"noon"}"#;
        let grouped = br#"{"seq":9,"after":6,"by":"van-a","after":"noon"}"#;
        for entry in [&plain[..], &grouped[..]] {
            assert_eq!(given(entry), plain);
        }
        assert_eq!(given(br#"{"seq":9,"after":6}"#), br#"{"seq":9}"#);
    }

    #[test]
    fn a_line_of_a_group_tells_what_was_on_the_disk() {
        let mut out = Vec::new();
        let line = Line::of(br#"{"seq":12,"note":""}"#.to_vec());
        let chain = write(&mut out, &Chain::ZERO, &line, Seq(12), Seq(7)).unwrap();
        let parts = parse(out.strip_suffix(b"\n").unwrap()).unwrap();
        assert_eq!((parts.seq, parts.after), (Seq(12), Seq(7)));
        assert_eq!(parts.entry, br#"{"seq":12,"after":7,"note":""}"#);
        assert_eq!((parts.chain, chain), (chain, Chain::ZERO.link(parts.entry)));
        let alone = written(br#"{"seq":12,"note":""}"#);
        let parts = parse(alone.strip_suffix(b"\n").unwrap()).unwrap();
        assert_eq!((parts.after, parts.entry), (Seq(11), &line.bytes[..]));
    }

    #[test]
    fn a_line_written_is_read_again() {
        let entry = br#"{"seq":12,"note":"} \" {"}"#;
        let line = written(entry);
        assert_eq!(line.len(), entry.len() + FRAME_BYTES);
        let parts = parse(line.strip_suffix(b"\n").unwrap()).unwrap();
        assert_eq!((parts.seq, parts.entry), (Seq(12), &entry[..]));
        assert_eq!(parts.chain, Chain::ZERO.link(entry));
    }

    #[test]
    fn a_line_is_documented_json() {
        let line = written(br#"{"seq":1,"note":""}"#);
        let json: serde_json::Value = serde_json::from_slice(&line).unwrap();
        assert_eq!(json["entry"]["seq"], 1);
        assert_eq!(json["chain"].as_str().unwrap().len(), 64);
    }

    /// One cut leaves something like a line, with another entry: that its chain value tells.
    #[test]
    fn what_was_not_written_here_is_not_a_line() {
        let good = written(br#"{"seq":12,"note":""}"#);
        let good = good.strip_suffix(b"\n").unwrap();
        for cut in 0..good.len() {
            let fits = |parts: Parts<'_>| Chain::ZERO.link(parts.entry) == parts.chain;
            assert!(!parse(&good[..cut]).is_some_and(fits), "cut at {cut}");
        }
        for entry in [
            &br#"{"seq":0}"#[..],
            br#"{"seq":-1}"#,
            br#"{"seq":1x}"#,
            br#"{"a":1,"seq":1}"#,
        ] {
            let line = framed(entry);
            assert!(parse(line.strip_suffix(b"\n").unwrap()).is_none());
        }
    }

    #[test]
    fn nothing_is_written_of_what_is_no_line_of_its_number() {
        let of_others = [&br#"{"seq":13}"#[..], b"{\"seq\":12,\n}", br#"{"by":12}"#];
        for entry in of_others.map(|entry| Line::of(entry.to_vec())) {
            let mut out = Vec::new();
            for write in [write, copy] {
                assert!(write(&mut out, &Chain::ZERO, &entry, Seq(12), Seq(7)).is_none());
            }
            assert!(put_entry(&mut out, &entry, Seq(12), Seq(7)).is_none());
            assert_eq!(out, b"");
        }
    }
}
