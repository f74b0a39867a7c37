//! Everything that is in the files of a damaged journal, line by line, whatever state it is in.
//!
//! It serves mending, which breaks good lines out of it. It only reads, takes every byte into
//! account, and never decides what is good.

use std::collections::HashMap;
use std::fs::{self, File};
use std::io::{self, BufRead as _, BufReader, Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};

use fettlebook_model::Seq;

use super::error::{KeepError, failed};
use crate::journal::{LINE_BYTES_MAX, parse};

/// Bytes between two line feeds, the second one included, or to the end of a file.
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
    /// Whether a line feed ends it.
    pub(super) ended: bool,
}

/// The files of a damaged journal.
pub(super) struct Quarry {
    folder: PathBuf,
    /// Their names, in order.
    names: Vec<String>,
    /// What is in them, in order.
    scraps: Vec<Scrap>,
    by_seq: HashMap<Seq, Vec<usize>>,
    open: Option<(usize, File)>,
}

impl Quarry {
    /// Looks through the files in a folder.
    pub(super) fn survey(folder: &Path) -> Result<Self, KeepError> {
        let mut names = Vec::new();
        for held in fs::read_dir(folder).map_err(failed("listing", folder))? {
            let held = held.map_err(failed("listing", folder))?;
            if held.file_type().is_ok_and(|sort| sort.is_file()) {
                names.push(held.file_name().to_string_lossy().into_owned());
            }
        }
        names.sort();
        let mut quarry = Self {
            folder: folder.to_owned(),
            names: Vec::new(),
            scraps: Vec::new(),
            by_seq: HashMap::new(),
            open: None,
        };
        for name in names {
            let path = folder.join(&name);
            quarry.names.push(name);
            quarry
                .look_through(&path)
                .map_err(failed("reading", &path))?;
        }
        for (at, scrap) in quarry.scraps.iter().enumerate() {
            if let Some(seq) = scrap.seq {
                quarry.by_seq.entry(seq).or_default().push(at);
            }
        }
        Ok(quarry)
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
            let held = last.map_or(0, |last| last as u64 + 1);
            if held > 0 {
                let line = bytes.strip_suffix(b"\n");
                let parts = parse(line.unwrap_or(&bytes)).filter(|_| zeros == 0);
                self.scraps.push(Scrap {
                    file,
                    offset: offset - zeros,
                    byte_count: zeros + held,
                    seq: parts.map(|parts| parts.seq),
                    ended: line.is_some(),
                });
                zeros = 0;
            }
            zeros += byte_count - held;
            offset += byte_count;
        }
    }
}
