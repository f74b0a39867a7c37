//! Bytes that were in a journal and are nowhere now: neither where they were nor in its folder `cut-off`.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::base::Segment;

/// Every file of a folder, with its bytes.
pub(crate) type Files = BTreeMap<String, Vec<u8>>;

/// What became of the bytes of a journal.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Gone {
    /// Bytes that are nowhere now.
    pub(crate) deleted_bytes: u64,
    /// Bytes that stood in the place of a line feed and were made one.
    pub(crate) ends_set_right: u64,
}

impl Gone {
    /// What is gone of the files `before`. Zeros at the end of a file are space that was set aside.
    pub(crate) fn between(before: &Files, now: &Files, aside: &Files, was: &[Segment]) -> Self {
        let mut gone = Self::default();
        for (name, bytes) in before {
            let is_line_end = line_ends(was, name);
            let there = now.get(name).map_or(&[][..], Vec::as_slice);
            let written = bytes.iter().rposition(|byte| *byte != 0);
            for (at, byte) in bytes
                .iter()
                .enumerate()
                .take(written.map_or(0, |at| at + 1))
            {
                if there.get(at) == Some(byte) || stands_aside(aside, name, at, *byte) {
                    continue;
                }
                if there.get(at) == Some(&b'\n') && is_line_end(at) {
                    gone.ends_set_right += 1;
                } else {
                    gone.deleted_bytes += 1;
                }
            }
        }
        gone
    }

    /// Both together.
    pub(crate) const fn and(self, other: Self) -> Self {
        Self {
            deleted_bytes: self.deleted_bytes + other.deleted_bytes,
            ends_set_right: self.ends_set_right + other.ends_set_right,
        }
    }
}

/// Where the lines of a segment ended when it was whole.
fn line_ends(was: &[Segment], name: &str) -> impl Fn(usize) -> bool {
    let mut ends = Vec::new();
    let mut length = 0;
    let lines = was.iter().filter(|segment| segment.name == name);
    for line in lines.flat_map(|segment| &segment.lines) {
        length += line.len();
        ends.push(length - 1);
    }
    move |at| ends.binary_search(&at).is_ok()
}

/// Whether a file that was put aside has the byte that stood at a place of a segment: it is named after the
/// segment and the place its first byte stood at.
fn stands_aside(aside: &Files, segment: &str, at: usize, byte: u8) -> bool {
    let stem = segment.trim_end_matches(".jsonl");
    aside.iter().any(|(name, bytes)| {
        let place = name
            .strip_prefix(stem)
            .and_then(|rest| rest.strip_prefix('-'));
        let start = place.and_then(|rest| rest.split_once('-'));
        let start: Option<usize> = start.and_then(|(offset, _)| offset.parse().ok());
        let within = start.and_then(|start| at.checked_sub(start));
        within.and_then(|within| bytes.get(within)) == Some(&byte)
    })
}

/// The files of a folder.
pub(crate) fn files(folder: &Path) -> Files {
    let entries = fs::read_dir(folder).into_iter().flatten();
    entries
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.path().is_file())
        .map(|entry| {
            let bytes = fs::read(entry.path()).unwrap();
            (entry.file_name().into_string().unwrap(), bytes)
        })
        .collect()
}

/// What a journal put aside.
pub(crate) fn cut_off(journal: &Path) -> Files {
    files(&journal.join("cut-off"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(name: &str, bytes: &[u8]) -> Files {
        Files::from([(name.to_owned(), bytes.to_vec())])
    }

    #[test]
    fn a_byte_is_gone_that_is_neither_in_place_nor_aside() {
        let name = "000000000001.jsonl";
        let was = [Segment {
            name: name.to_owned(),
            lines: vec![b"ab\n".to_vec()],
        }];
        let before = one(name, b"ab*cd\0\0");
        let gone = |now: &[u8], aside: &Files| Gone::between(&before, &one(name, now), aside, &was);
        let (whole, none) = (Gone::default(), Files::new());
        assert_eq!(gone(b"ab*cd", &none), whole);
        assert_eq!(gone(b"ab*", &one("000000000001-3-1.part", b"cd")), whole);
        assert_eq!(
            gone(b"ab*", &one("000000000001-3-1.part", b"c")).deleted_bytes,
            1
        );
        assert_eq!(
            gone(b"ab*", &one("000000000002-3-1.part", b"cd")).deleted_bytes,
            2
        );
        let set_right = gone(b"ab\ncd", &none);
        assert_eq!((set_right.deleted_bytes, set_right.ends_set_right), (0, 1));
        assert_eq!(gone(b"a\n*cd", &none).deleted_bytes, 1);
        assert_eq!(Gone::between(&before, &none, &none, &was).deleted_bytes, 5);
    }
}
