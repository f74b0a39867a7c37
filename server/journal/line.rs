//! One line of the journal: how it is written and how it is taken apart.
//!
//! It serves the writer and every walk over a journal. Taking apart goes by fixed positions and
//! never guesses: bytes that this module would not have written are not a line.

use fettlebook_model::Seq;

use super::chain::{CHAIN_LENGTH, Chain};

const BEFORE_CHAIN: &[u8] = br#"{"chain":""#;
const BEFORE_ENTRY: &[u8] = br#"","entry":"#;
const BEFORE_SEQ: &[u8] = br#"{"seq":"#;

/// Bytes of a line besides the entry object: its frame, the chain value and the line feed.
pub(super) const FRAME_BYTES: usize =
    BEFORE_CHAIN.len() + CHAIN_LENGTH + BEFORE_ENTRY.len() + "}\n".len();

/// The bytes of an entry object that is to be appended: JSON on one line, its number first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line(pub Vec<u8>);

impl Line {
    /// True when the bytes begin with this number and hold no line feed.
    pub(super) fn is_entry(&self, seq: Seq) -> bool {
        seq_of(&self.0) == Some(seq) && !self.0.contains(&b'\n')
    }
}

/// Writes the line of an entry, line feed included.
pub(super) fn write(out: &mut Vec<u8>, chain: &Chain, entry: &[u8]) {
    out.extend_from_slice(BEFORE_CHAIN);
    out.extend_from_slice(chain.digits());
    out.extend_from_slice(BEFORE_ENTRY);
    out.extend_from_slice(entry);
    out.extend_from_slice(b"}\n");
}

/// A line taken apart.
pub(super) struct Parts<'a> {
    pub(super) chain: Chain,
    pub(super) seq: Seq,
    pub(super) entry: &'a [u8],
}

/// Takes a line apart, given without its line feed; `None` when it is not one.
pub(super) fn parse(line: &[u8]) -> Option<Parts<'_>> {
    let rest = line.strip_prefix(BEFORE_CHAIN)?;
    let (digits, rest) = rest.split_at_checked(CHAIN_LENGTH)?;
    let entry = rest.strip_prefix(BEFORE_ENTRY)?.strip_suffix(b"}")?;
    Some(Parts {
        chain: Chain::from_digits(digits)?,
        seq: seq_of(entry)?,
        entry,
    })
}

/// The number an entry object begins with.
fn seq_of(entry: &[u8]) -> Option<Seq> {
    let rest = entry.strip_prefix(BEFORE_SEQ)?;
    let end = rest.iter().position(|b| !b.is_ascii_digit())?;
    let (digits, rest) = rest.split_at_checked(end)?;
    if digits.starts_with(b"0") || !matches!(rest.first(), Some(b',' | b'}')) {
        return None;
    }
    std::str::from_utf8(digits).ok()?.parse().ok().map(Seq)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(entry: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        write(&mut out, &Chain::ZERO.link(entry), entry);
        out
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
            let line = written(entry);
            assert!(parse(line.strip_suffix(b"\n").unwrap()).is_none());
        }
    }
}
