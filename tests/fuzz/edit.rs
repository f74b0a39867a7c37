//! Random edits of the samples of a corpus.
//!
//! It serves the runner. Every edit works on any bytes, and a list of them shrinks to the ones that
//! matter.

use proptest::collection::vec;
use proptest::prelude::any;
use proptest::prop_oneof;
use proptest::sample::{Index, select};
use proptest::strategy::{BoxedStrategy, Just, Strategy};

/// Edits of one input.
const EDITS_MAX: usize = 8;
/// Bytes of a stretch that is moved, doubled or taken out.
const STRETCH_BYTES_MAX: usize = 64;
/// Bytes of an input that is made of nothing.
const RANDOM_BYTES_MAX: usize = 200;

/// What is put in anywhere, whatever the language: edges of numbers, of text and of lines.
const EDGES: [&[u8]; 16] = [
    b"0",
    b"-1",
    b"9223372036854775807",
    b"-9223372036854775808",
    b"18446744073709551616",
    b"1e400",
    b"0.0000000001",
    b"\"",
    b"\\u0000",
    b"\n",
    b"\r\n",
    b"\0",
    b"\xff",
    b"\xef\xbb\xbf",
    "é\u{301}ß\u{202e}".as_bytes(),
    b",,,,",
];

/// One change of some bytes; places are taken relative to how many there are.
#[derive(Clone, Debug)]
enum Edit {
    Flip(Index, u8),
    Set(Index, u8),
    Put(Index, Vec<u8>),
    PutFor(Index, usize, Vec<u8>),
    TakeOut(Index, usize),
    Double(Index, usize, Index),
    Cut(Index),
}

/// Inputs made of the samples: one of them edited, two of them joined and edited, or random bytes.
pub(crate) fn inputs(samples: Vec<Vec<u8>>, words: Vec<Vec<u8>>) -> impl Strategy<Value = Vec<u8>> {
    let known = (words.into_iter()).chain(EDGES.iter().map(|edge| edge.to_vec()));
    let edits = vec(edit(known.collect()), 0..=EDITS_MAX);
    let sample = select(samples);
    let start = prop_oneof![
        8 => sample.clone(),
        2 => (sample.clone(), sample, any::<Index>(), any::<Index>()).prop_map(joined),
        1 => vec(any::<u8>(), 0..RANDOM_BYTES_MAX),
        1 => Just(Vec::new()),
    ];
    (start, edits).prop_map(|(mut bytes, edits)| {
        for edit in edits {
            edit.apply(&mut bytes);
        }
        bytes
    })
}

/// The beginning of one and the end of another.
fn joined((mut one, other, at, from): (Vec<u8>, Vec<u8>, Index, Index)) -> Vec<u8> {
    one.truncate(at.index(one.len() + 1));
    let from = from.index(other.len() + 1);
    one.extend(other.into_iter().skip(from));
    one
}

fn edit(words: Vec<Vec<u8>>) -> BoxedStrategy<Edit> {
    let at = any::<Index>;
    let word = select(words);
    let long = 1..STRETCH_BYTES_MAX;
    prop_oneof![
        2 => (at(), 0_u8..8).prop_map(|(at, bit)| Edit::Flip(at, bit)),
        2 => (at(), any::<u8>()).prop_map(|(at, byte)| Edit::Set(at, byte)),
        3 => (at(), word.clone()).prop_map(|(at, word)| Edit::Put(at, word)),
        3 => (at(), 1_usize..12, word).prop_map(|(at, long, word)| Edit::PutFor(at, long, word)),
        2 => (at(), long.clone()).prop_map(|(at, long)| Edit::TakeOut(at, long)),
        2 => (at(), long, at()).prop_map(|(from, long, to)| Edit::Double(from, long, to)),
        1 => at().prop_map(Edit::Cut),
    ]
    .boxed()
}

impl Edit {
    fn apply(self, bytes: &mut Vec<u8>) {
        let place = |at: Index, bytes: &[u8]| at.index(bytes.len() + 1);
        match self {
            Self::Flip(at, bit) => {
                let at = place(at, bytes);
                if let Some(byte) = bytes.get_mut(at) {
                    *byte ^= 1 << bit;
                }
            }
            Self::Set(at, new) => {
                let at = place(at, bytes);
                if let Some(byte) = bytes.get_mut(at) {
                    *byte = new;
                }
            }
            Self::Put(at, word) => {
                let at = place(at, bytes);
                bytes.splice(at..at, word);
            }
            Self::PutFor(at, long, word) => {
                let at = place(at, bytes);
                let end = at.saturating_add(long).min(bytes.len());
                bytes.splice(at..end, word);
            }
            Self::TakeOut(at, long) => {
                let at = place(at, bytes);
                let end = at.saturating_add(long).min(bytes.len());
                bytes.drain(at..end);
            }
            Self::Double(from, long, to) => {
                let (from, to) = (place(from, bytes), place(to, bytes));
                let again: Vec<u8> = bytes.iter().skip(from).take(long).copied().collect();
                bytes.splice(to..to, again);
            }
            Self::Cut(at) => bytes.truncate(place(at, bytes)),
        }
    }
}
