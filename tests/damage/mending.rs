//! Mending after any harm: what still stands whole in the files is kept, nothing else is, and no byte is
//! lost.
//!
//! What can be kept is reckoned from the bytes alone: the longest beginning of the old journal whose
//! lines, line feeds left aside, still stand somewhere in its files.

use std::collections::{BTreeMap, HashMap};
use std::fs;
use std::path::{Path, PathBuf};

use fettlebook_server::desk::Desk;
use fettlebook_server::keep::{BackupFolder, KeepError, mend};
use fettlebook_solo::SoloMend;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use uuid::Uuid;

use crate::base::{BOOK_ID, Base, stored};
use crate::harm::inflict;

/// Backs the base book up into a new folder.
pub(crate) fn back_up(base: &Base, to: &Path) {
    let book = tempfile::tempdir().unwrap();
    base.copy_to(book.path());
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap();
    runtime.block_on(async {
        let (desk, _) = Desk::open(stored(book.path()), &base.options()).unwrap();
        let mut folder = BackupFolder::begin(to).unwrap();
        let mut parts = desk.backup().unwrap();
        while let Some(part) = parts.recv().await {
            let part = part.unwrap();
            folder.take(&part.file, &part.content).unwrap();
        }
        folder.finish().unwrap();
        desk.close().await.unwrap();
    });
}

/// Harms a copy of the book and mends it alone and with the backup; else what is wrong.
pub(crate) fn trial(base: &Base, backup: &Path, seed: u64) -> Result<(), String> {
    let place = tempfile::tempdir().unwrap();
    let book = place.path().join("book");
    base.copy_to(&book);
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut what = inflict(&book, &mut rng).what;
    if rng.random_range(0..3) == 0 {
        what.push_str(&end_a_line_otherwise(&book, &mut rng));
    }
    let (before, lines) = (files(&book), whole_lines(base));
    let alone = mended(&book, &place.path().join("alone"), None);
    let helped = mended(&book, &place.path().join("helped"), Some(backup));
    let judged = if files(&book) == before {
        judge_alone(base, &before, &lines, alone)
            .and_then(|()| judge_helped(base, &before, &lines, helped))
    } else {
        Err("the damaged book was written to".to_owned())
    };
    judged.map_err(|wrong| format!("seed {seed}: {what}: {wrong}"))
}

/// A mended book: its lines, and what was left out.
struct Mended {
    lines: Vec<Vec<u8>>,
    taken_count: usize,
    left_out: Vec<u8>,
}

fn mended(from: &Path, to: &Path, backup: Option<&Path>) -> Result<Mended, KeepError> {
    let asked = SoloMend {
        from: from.to_owned(),
        to: to.to_owned(),
        backup: backup.map(Path::to_owned),
        write: true,
    };
    let found = mend(&asked, Uuid::now_v7())?;
    assert_eq!(found.book_id, BOOK_ID.to_string());
    let taken = found.taken.iter();
    let journal = files(&to.join("journal"))
        .into_values()
        .flatten()
        .collect::<Vec<u8>>();
    Ok(Mended {
        lines: journal
            .split(|byte| *byte == b'\n')
            .filter(|line| !line.is_empty())
            .map(<[u8]>::to_vec)
            .collect(),
        taken_count: taken
            .map(|(first, last)| usize::try_from(last - first + 1).unwrap())
            .sum(),
        left_out: fs::read(to.join("left-out.bytes")).unwrap_or_default(),
    })
}

fn judge_alone(
    base: &Base,
    before: &Files,
    lines: &[Vec<u8>],
    found: Result<Mended, KeepError>,
) -> Result<(), String> {
    let stands = standing(before, lines);
    let standing = stands.iter().take_while(|stands| **stands).count();
    match found {
        Err(KeepError::NotABook { .. }) if journal_of(before).next().is_none() => Ok(()),
        Err(KeepError::NothingKept { .. }) if standing == 0 => Ok(()),
        Err(KeepError::NoIdentity { .. } | KeepError::Store(_)) if !has_identity(base, before) => {
            Ok(())
        }
        Err(error) => Err(format!("{standing} lines stand, and: {error}")),
        Ok(found) if found.lines != lines[..standing] => Err(format!(
            "{standing} lines stand, {} are kept",
            found.lines.len()
        )),
        Ok(found) => every_byte_is_somewhere(before, &found),
    }
}

fn judge_helped(
    base: &Base,
    before: &Files,
    lines: &[Vec<u8>],
    found: Result<Mended, KeepError>,
) -> Result<(), String> {
    match found {
        Err(KeepError::NotABook { .. }) if journal_of(before).next().is_none() => Ok(()),
        // A newer format is not for this program, whatever the rest says.
        Err(KeepError::Store(_)) if !has_identity(base, before) => Ok(()),
        Err(error) => Err(format!("with a backup: {error}")),
        Ok(found) if found.lines != lines => Err(format!(
            "with a backup {} of {} lines are kept",
            found.lines.len(),
            lines.len()
        )),
        Ok(found) => every_byte_is_somewhere(before, &found),
    }
}

/// Every byte of the damaged journal is in a line that was kept, ends one, or was left out; zeros are room
/// that was set aside.
fn every_byte_is_somewhere(before: &Files, found: &Mended) -> Result<(), String> {
    let count = |bytes: &[u8]| bytes.iter().filter(|byte| **byte != 0).count();
    let there: usize = journal_of(before).map(|bytes| count(bytes)).sum();
    let stands = standing(before, &found.lines);
    let own = found.lines.iter().zip(stands).filter(|(_, stands)| *stands);
    let mut own: Vec<usize> = own.map(|(line, _)| line.len()).collect();
    own.truncate(found.lines.len() - found.taken_count);
    let kept: usize = own.iter().sum();
    let (least, most) = (
        kept + count(&found.left_out),
        kept + count(&found.left_out) + own.len(),
    );
    if (least..=most).contains(&there) {
        Ok(())
    } else {
        Err(format!(
            "{there} bytes were there, {least} to {most} are kept or left out"
        ))
    }
}

type Files = BTreeMap<PathBuf, Vec<u8>>;

/// Every file below a folder but those of the shelf.
fn files(folder: &Path) -> Files {
    let mut found = Files::new();
    for entry in fs::read_dir(folder).into_iter().flatten() {
        let path = entry.unwrap().path();
        if path.ends_with("shelf") {
            continue;
        }
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.insert(path.clone(), fs::read(&path).unwrap());
        }
    }
    found
}

fn journal_of(files: &Files) -> impl Iterator<Item = &Vec<u8>> {
    let journal = files
        .iter()
        .filter(|(path, _)| path.parent().is_some_and(|up| up.ends_with("journal")));
    journal.map(|(_, bytes)| bytes)
}

/// Whether the file that says which book it is stands as it was written.
fn has_identity(base: &Base, files: &Files) -> bool {
    let said = files.iter().find(|(path, _)| path.ends_with("book.json"));
    said.is_some_and(|(_, text)| *text == base.identity())
}

/// The lines of the journal as it was, without their line feeds.
fn whole_lines(base: &Base) -> Vec<Vec<u8>> {
    let lines = base.segments.iter().flat_map(|segment| &segment.lines);
    lines
        .map(|line| line.strip_suffix(b"\n").unwrap_or(line).to_vec())
        .collect()
}

/// Which of the lines stand whole somewhere in the journal's files.
fn standing(before: &Files, lines: &[Vec<u8>]) -> Vec<bool> {
    let begin = br#"{"chain":""#;
    let key = |line: &[u8]| line.get(begin.len()..begin.len() + 64).map(<[u8]>::to_vec);
    let by_chain: HashMap<Option<Vec<u8>>, usize> = lines
        .iter()
        .zip(0..)
        .map(|(line, at)| (key(line), at))
        .collect();
    let mut stands = vec![false; lines.len()];
    for bytes in journal_of(before) {
        for (at, _) in bytes
            .windows(begin.len())
            .enumerate()
            .filter(|(_, w)| w == begin)
        {
            if let Some(which) = by_chain.get(&key(&bytes[at..])) {
                stands[*which] |= bytes[at..].starts_with(&lines[*which]);
            }
        }
    }
    stands
}

/// Puts something else in the place of a line feed, as one flipped bit or another program does.
fn end_a_line_otherwise(book: &Path, rng: &mut ChaCha8Rng) -> String {
    let journal = files(&book.join("journal"));
    let Some((path, bytes)) = journal
        .iter()
        .nth(rng.random_range(0..journal.len().max(1)))
    else {
        return String::new();
    };
    let ends: Vec<usize> = (0..bytes.len()).filter(|at| bytes[*at] == b'\n').collect();
    let Some(at) = ends.get(rng.random_range(0..ends.len().max(1))) else {
        return String::new();
    };
    let mut bytes = bytes.clone();
    let with: &[u8] = match rng.random_range(0..3) {
        0 => &[b'\n' ^ 0x10],
        1 => b"",
        _ => b"\r\n",
    };
    bytes.splice(at..=at, with.iter().copied());
    fs::write(path, bytes).unwrap();
    format!(
        "; the line feed at byte {at} of {} made {with:?}",
        path.display()
    )
}
