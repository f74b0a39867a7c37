//! Everything that is in the files of a damaged journal, line by line, whatever state it is in.
//!
//! It serves mending, which breaks good lines out of it. It only reads, takes every byte into
//! account, and never decides what is good. A line is known by how it begins and ends, so that one
//! whose line feed was lost or changed takes neither itself nor its neighbour along.

use std::collections::HashMap;
use std::fs::{self, File};
use std::io::{self, BufRead as _, BufReader, Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};

use fettlebook_model::Seq;
use serde::de::IgnoredAny;

use super::error::{KeepError, failed};
use crate::journal::{CLOSED_FILE, LINE_BEGINS, LINE_BYTES_MAX, parse};

/// Bytes that belong together: a line with what ends it, or what lies between two lines.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scrap {
    /// Which of the files it is in.
    pub(super) file: usize,
    /// Bytes of the file before it.
    pub(super) offset: u64,
    /// Its length.
    pub(super) byte_count: u64,
    /// The number of the entry, when it is written like a line.
    pub(super) seq: Option<Seq>,
    /// Bytes of the line, without what ends it; none when it is not one.
    pub(super) line_byte_count: u64,
    /// Whether a line feed ends it.
    pub(super) ended: bool,
}

/// The files of a damaged journal.
pub(super) struct DamagedLines {
    folder: PathBuf,
    /// Their names, in order.
    names: Vec<String>,
    /// What is in them, in order.
    scraps: Vec<Scrap>,
    by_seq: HashMap<Seq, Vec<usize>>,
    open: Option<(usize, File)>,
}

impl DamagedLines {
    /// Looks through the files in a folder.
    pub(super) fn survey(folder: &Path) -> Result<Self, KeepError> {
        let mut names = Vec::new();
        for held in fs::read_dir(folder).map_err(failed("listing", folder))? {
            let held = held.map_err(failed("listing", folder))?;
            let name = held.file_name().to_string_lossy().into_owned();
            // The mark of an outbox, or what was to become it, has no lines.
            let is_mark = name.starts_with(CLOSED_FILE);
            if held.file_type().is_ok_and(|sort| sort.is_file()) && !is_mark {
                names.push(name);
            }
        }
        names.sort();
        let mut damaged = Self {
            folder: folder.to_owned(),
            names: Vec::new(),
            scraps: Vec::new(),
            by_seq: HashMap::new(),
            open: None,
        };
        for name in names {
            let path = folder.join(&name);
            damaged.names.push(name);
            damaged
                .look_through(&path)
                .map_err(failed("reading", &path))?;
        }
        for (at, scrap) in damaged.scraps.iter().enumerate() {
            if let Some(seq) = scrap.seq {
                damaged.by_seq.entry(seq).or_default().push(at);
            }
        }
        Ok(damaged)
    }

    /// What is in the files, in order.
    pub(super) fn scraps(&self) -> &[Scrap] {
        &self.scraps
    }

    /// The name of a file, below the folder of the book.
    pub(super) fn name(&self, file: usize) -> String {
        let name = self.names.get(file).map(String::as_str);
        format!("journal/{}", name.unwrap_or_default())
    }

    /// The scraps that are written like the line of an entry.
    pub(super) fn of(&self, seq: Seq) -> Vec<usize> {
        self.by_seq.get(&seq).cloned().unwrap_or_default()
    }

    /// The bytes of a scrap.
    pub(super) fn bytes(&mut self, scrap: &Scrap) -> Result<Vec<u8>, KeepError> {
        let name = self.names.get(scrap.file).map(String::as_str);
        let path = self.folder.join(name.unwrap_or_default());
        self.read(scrap, &path).map_err(failed("reading", &path))
    }

    /// The line in a scrap, without what ends it; empty when it is not one.
    pub(super) fn line(&mut self, scrap: &Scrap) -> Result<Vec<u8>, KeepError> {
        let mut bytes = self.bytes(scrap)?;
        bytes.truncate(usize::try_from(scrap.line_byte_count).unwrap_or_default());
        Ok(bytes)
    }

    fn read(&mut self, scrap: &Scrap, path: &Path) -> io::Result<Vec<u8>> {
        let mut file = match self.open.take() {
            Some((which, file)) if which == scrap.file => file,
            _ => File::open(path)?,
        };
        let mut bytes = Vec::new();
        file.seek(SeekFrom::Start(scrap.offset))?;
        file.by_ref()
            .take(scrap.byte_count)
            .read_to_end(&mut bytes)?;
        self.open = Some((scrap.file, file));
        Ok(bytes)
    }

    /// Takes every byte of a file into account, but for the zeros after its end: room that was set
    /// aside and never written.
    fn look_through(&mut self, path: &Path) -> io::Result<()> {
        let mut reader = BufReader::new(File::open(path)?);
        let file = self.names.len().saturating_sub(1);
        let (mut offset, mut zeros, mut bytes) = (0, 0, Vec::new());
        loop {
            bytes.clear();
            let mut next = reader.by_ref().take(LINE_BYTES_MAX);
            if next.read_until(b'\n', &mut bytes)? == 0 {
                return Ok(());
            }
            let byte_count = bytes.len() as u64;
            let last = bytes.iter().rposition(|byte| *byte != 0);
            let held = last.map_or(0, |last| last + 1);
            if held > 0 {
                self.add_strange(file, offset - zeros, zeros);
                self.take_apart(file, offset, bytes.get(..held).unwrap_or_default());
                zeros = 0;
            }
            let held = held as u64;
            zeros += byte_count - held;
            offset += byte_count;
        }
    }

    /// Takes the bytes up to a line feed apart: mostly one line, else whatever begins like one.
    fn take_apart(&mut self, file: usize, offset: u64, bytes: &[u8]) {
        let mut at = 0;
        while let Some(begin) = next_begin(bytes, at) {
            self.add_strange(file, offset + at as u64, (begin - at) as u64);
            let rest = bytes.get(begin..).unwrap_or_default();
            let found = line_at_start(rest);
            let byte_count = match found {
                Some(line) => line.len() + line_end(rest, line.len()),
                None => next_begin(rest, 1).unwrap_or(rest.len()),
            };
            let piece = rest.get(..byte_count).unwrap_or_default();
            let line = found.unwrap_or_else(|| piece.strip_suffix(b"\n").unwrap_or(piece));
            let parts = parse(line);
            self.scraps.push(Scrap {
                file,
                offset: offset + begin as u64,
                byte_count: byte_count as u64,
                seq: parts.map(|parts| parts.seq),
                line_byte_count: parts.map_or(0, |_| line.len() as u64),
                ended: piece.ends_with(b"\n"),
            });
            at = begin + byte_count;
        }
        self.add_strange(file, offset + at as u64, (bytes.len() - at) as u64);
    }

    /// Adds bytes that are no line.
    fn add_strange(&mut self, file: usize, offset: u64, byte_count: u64) {
        if byte_count > 0 {
            self.scraps.push(Scrap {
                file,
                offset,
                byte_count,
                seq: None,
                line_byte_count: 0,
                ended: false,
            });
        }
    }
}

/// Where the next line begins, or what is left of one.
fn next_begin(bytes: &[u8], from: usize) -> Option<usize> {
    let rest = bytes.get(from..)?;
    let mut windows = rest.windows(LINE_BEGINS.len());
    windows
        .position(|window| window == LINE_BEGINS)
        .map(|at| from + at)
}

/// The line that bytes begin with, whatever follows on it: a line is one JSON object, and no object is the
/// beginning of another.
fn line_at_start(bytes: &[u8]) -> Option<&[u8]> {
    let mut objects = serde_json::Deserializer::from_slice(bytes).into_iter::<IgnoredAny>();
    objects.next()?.ok()?;
    let line = bytes.get(..objects.byte_offset())?;
    parse(line).map(|_| line)
}

/// Bytes that end a line: one, whatever became of the line feed, or none where the next line follows at
/// once.
fn line_end(bytes: &[u8], line_byte_count: usize) -> usize {
    match bytes.get(line_byte_count..) {
        None | Some([]) => 0,
        Some(rest) if rest.starts_with(LINE_BEGINS) => 0,
        Some(_) => 1,
    }
}
