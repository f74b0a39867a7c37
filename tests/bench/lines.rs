//! The lines of a journal as the desk wrote them, for stores that shall keep the same bytes.
//!
//! It serves the comparisons. Nothing is made up here: a line that no desk wrote is not compared.

use std::fs::{self, File};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use fettlebook_model::Command;
use fettlebook_server::desk::{Desk, DeskOptions, SystemClock};
use fettlebook_server::store::FolderStore;
use uuid::Uuid;

use crate::Fault;
use crate::shop;

/// What names the request in a line.
const REQUEST: &[u8] = b"\"request\":\"";

/// The line that a desk writes for one of these reports, after some of them.
pub(crate) fn written_for(
    folder: &Path,
    report: fn(usize, usize) -> Command,
) -> Result<Arc<[u8]>, Fault> {
    let folder = tempfile::tempdir_in(folder)?;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let (desk, _) = Desk::open(Arc::new(FolderStore::at(folder.path())), &options)?;
    runtime.block_on(async {
        shop::stock(&desk).await?;
        let mut requests = shop::Requests::begin();
        for turn in 0..100 {
            desk.submit(requests.order(report(0, turn))).await?;
        }
        desk.close().await
    })?;
    let mut last = None;
    for line in Lines::of(folder.path())? {
        last = Some(line?);
    }
    Ok(last.ok_or("the desk wrote no line")?.into())
}

/// The request of an entry, by its line.
pub(crate) fn request_of(line: &[u8]) -> Result<Uuid, Fault> {
    let at = line
        .windows(REQUEST.len())
        .position(|window| window == REQUEST)
        .ok_or("a line names no request")?;
    let text = line.iter().skip(at + REQUEST.len()).take(36).copied();
    Ok(Uuid::try_parse_ascii(&text.collect::<Vec<_>>())?)
}

/// The lines of a book, each with its line feed, in order.
pub(crate) struct Lines {
    segments: std::vec::IntoIter<PathBuf>,
    open: Option<BufReader<File>>,
}

impl Lines {
    /// The lines of the book in a folder.
    pub(crate) fn of(folder: &Path) -> Result<Self, Fault> {
        let mut segments = fs::read_dir(folder.join("journal"))?
            .map(|entry| Ok(entry?.path()))
            .collect::<Result<Vec<_>, std::io::Error>>()?;
        segments.retain(|path| path.extension().is_some_and(|ending| ending == "jsonl"));
        segments.sort();
        Ok(Self {
            segments: segments.into_iter(),
            open: None,
        })
    }

    /// The next line, if there is one. What follows the last line feed of a file is room for more.
    fn read(&mut self) -> std::io::Result<Option<Vec<u8>>> {
        loop {
            if let Some(file) = &mut self.open {
                let mut line = Vec::new();
                file.read_until(b'\n', &mut line)?;
                if line.ends_with(b"\n") {
                    return Ok(Some(line));
                }
            }
            match self.segments.next() {
                Some(path) => self.open = Some(BufReader::new(File::open(path)?)),
                None => return Ok(None),
            }
        }
    }
}

impl Iterator for Lines {
    type Item = std::io::Result<Vec<u8>>;

    fn next(&mut self) -> Option<Self::Item> {
        self.read().transpose()
    }
}
