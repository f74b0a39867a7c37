//! What a mended book does without: told, and kept byte for byte.
//!
//! It serves whoever has to put in by hand what could not be proved. Nothing that stood in a damaged
//! journal may be lost by mending it.

use std::fmt::Write as _;
use std::fs::File;
use std::io::Write as _;
use std::path::Path;

use fettlebook_model::Seq;
use fettlebook_solo::SoloLeftOut;

use super::damaged_lines::{DamagedLines, Scrap};
use super::error::{KeepError, failed};
use super::whole;

/// The bytes that are left out, one stretch after the other.
const BYTES_FILE: &str = "left-out.bytes";

/// Where each stretch came from.
const LIST_FILE: &str = "left-out.txt";

/// Why a scrap is left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Why {
    NotALine,
    Again,
    DoesNotFollow,
}

impl Why {
    fn of(scrap: &Scrap, head: Seq) -> Self {
        match scrap.seq {
            None => Self::NotALine,
            Some(seq) if seq <= head => Self::Again,
            Some(_) => Self::DoesNotFollow,
        }
    }

    fn told(self, first: Option<Seq>, last: Option<Seq>) -> String {
        let entries = match (first, last) {
            (Some(first), Some(last)) if first == last => format!("entry {first}"),
            (Some(first), Some(last)) => format!("entries {first} to {last}"),
            _ => String::new(),
        };
        match self {
            Self::NotALine => "not a line that was written here".to_owned(),
            Self::Again => format!("{entries} in a form that does not fit the chain"),
            Self::DoesNotFollow => format!("{entries}, which nothing that is kept leads up to"),
        }
    }
}

/// The scraps that are left out of a book that ends at `head`, those that lie together as one.
pub(super) fn stretches(damaged: &DamagedLines, used: &[bool], head: Seq) -> Vec<SoloLeftOut> {
    let mut found: Vec<(Why, Scrap, Option<Seq>)> = Vec::new();
    for (scrap, used) in damaged.scraps().iter().zip(used) {
        if *used {
            continue;
        }
        let why = Why::of(scrap, head);
        match found.last_mut() {
            Some((before, stretch, last))
                if *before == why
                    && stretch.file == scrap.file
                    && stretch.offset + stretch.byte_count == scrap.offset =>
            {
                stretch.byte_count += scrap.byte_count;
                *last = scrap.seq;
            }
            _ => found.push((why, *scrap, scrap.seq)),
        }
    }
    let told = found.into_iter().map(|(why, stretch, last)| SoloLeftOut {
        file: damaged.name(stretch.file),
        offset: whole(stretch.offset),
        byte_count: whole(stretch.byte_count),
        why: why.told(stretch.seq, last),
    });
    told.collect()
}

/// Writes what is left out into a folder, durably: its bytes, and where they came from.
pub(super) fn write(
    folder: &Path,
    damaged: &mut DamagedLines,
    used: &[bool],
    left_out: &[SoloLeftOut],
) -> Result<(), KeepError> {
    let path = folder.join(BYTES_FILE);
    let mut file = File::create_new(&path).map_err(failed("making", &path))?;
    let scraps: Vec<Scrap> = damaged.scraps().to_vec();
    for (scrap, _) in scraps.iter().zip(used).filter(|(_, used)| !**used) {
        let bytes = damaged.bytes(scrap)?;
        file.write_all(&bytes)
            .map_err(failed("writing to", &path))?;
    }
    file.sync_all().map_err(failed("syncing", &path))?;
    let path = folder.join(LIST_FILE);
    let mut file = File::create_new(&path).map_err(failed("making", &path))?;
    file.write_all(list(left_out).as_bytes())
        .and_then(|()| file.sync_all())
        .map_err(failed("writing", &path))
}

/// Where each stretch came from, for people.
fn list(left_out: &[SoloLeftOut]) -> String {
    let mut text = format!(
        "What was left out when this book was mended. Its bytes are in {BYTES_FILE}, one stretch\n\
         after the other, as they stood in the damaged book.\n"
    );
    let mut here = 0;
    for stretch in left_out {
        let SoloLeftOut {
            file,
            offset,
            byte_count,
            why,
        } = stretch;
        let _ = write!(
            text,
            "\n{BYTES_FILE} from byte {here}: {byte_count} bytes of {file} from byte {offset}\n  \
             {why}\n"
        );
        here += byte_count;
    }
    text
}
