//! A seeded hand that harms the files of a book: bytes, lines and whole files.
//!
//! It says what it did, so that a trial that goes wrong can be told.

use std::fs;
use std::ops::Range;
use std::path::{Path, PathBuf};

use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

use crate::base::lines;

/// What was done to a copy of the book.
#[derive(Debug, Default)]
pub(crate) struct Harm {
    /// In words.
    pub(crate) what: String,
    /// Whether anything of the shelf was harmed.
    pub(crate) shelf: bool,
    /// Whether the mark of the last close was harmed.
    pub(crate) mark: bool,
    /// Whether anything else than the files of the journal was harmed.
    pub(crate) beside_journal: bool,
}

/// Most bytes of a file that are changed in one go.
const STRETCH_BYTES_MAX: usize = 600;

/// Harms a copy of the book, once or twice; of what tells how its journal ended, often the shelf, the mark
/// of the last close or both are gone besides.
pub(crate) fn inflict(folder: &Path, rng: &mut ChaCha8Rng) -> Harm {
    let mut harm = Harm::default();
    match rng.random_range(0..100) {
        0..40 => harm.journal(folder, rng),
        40..55 => harm.shelf(folder, rng),
        55..61 => harm.file(&folder.join("book.json"), rng),
        61..63 => harm.file(&folder.join("book.lock"), rng),
        63..68 => harm.mark(folder, rng),
        68..70 => harm.file(&folder.join("audited.json"), rng),
        70..85 => {
            harm.shelf(folder, rng);
            harm.journal(folder, rng);
        }
        _ => harm.end(&folder.join("journal"), rng),
    }
    if rng.random_bool(0.4) {
        harm.lose_shelf(folder);
    }
    if rng.random_bool(0.4) {
        harm.lose_mark(folder);
    }
    harm
}

impl Harm {
    fn did(&mut self, what: impl AsRef<str>) {
        if !self.what.is_empty() {
            self.what.push_str("; ");
        }
        self.what.push_str(what.as_ref());
    }

    /// Harms the journal: some bytes or lines of a segment, or whole files.
    fn journal(&mut self, folder: &Path, rng: &mut ChaCha8Rng) {
        let journal = folder.join("journal");
        let files = files(&journal);
        let at = rng.random_range(0..files.len());
        let path = &files[at];
        match rng.random_range(0..20) {
            0..8 => self.bytes(path, rng),
            8..14 => self.lines(path, rng),
            14 => {
                // The end of the journal, at the end of a line: what only others can tell.
                for later in &files[at + 1..] {
                    fs::remove_file(later).unwrap();
                }
                self.end_after_a_line(path, rng);
            }
            15 => {
                for later in &files[at..] {
                    fs::remove_file(later).unwrap();
                }
                self.did(format!("the journal lost {} and on", shown(path)));
            }
            16 => {
                let other = &files[rng.random_range(0..files.len())];
                let (one, two) = (fs::read(path).unwrap(), fs::read(other).unwrap());
                fs::write(path, two).unwrap();
                fs::write(other, one).unwrap();
                self.did(format!("{} and {} swapped", shown(path), shown(other)));
            }
            17 => {
                let name = format!("{:012}.jsonl", rng.random_range(0..500));
                fs::rename(path, journal.join(&name)).unwrap();
                self.did(format!("{} renamed to {name}", shown(path)));
            }
            18 => {
                let name = format!("{:012}.jsonl", rng.random_range(0..500));
                fs::copy(path, journal.join(&name)).unwrap();
                self.did(format!("{} copied to {name}", shown(path)));
            }
            _ => {
                fs::remove_dir_all(&journal).unwrap();
                self.beside_journal = true;
                self.did("the journal removed");
            }
        }
    }

    /// Harms the shelf: a file of it, or all.
    fn shelf(&mut self, folder: &Path, rng: &mut ChaCha8Rng) {
        (self.shelf, self.beside_journal) = (true, true);
        let shelf = folder.join("shelf");
        if rng.random_range(0..4) == 0 {
            fs::remove_dir_all(&shelf).unwrap();
            return self.did("the shelf removed");
        }
        let files = files(&shelf);
        self.file(&files[rng.random_range(0..files.len())], rng);
    }

    /// Harms the mark of the last close.
    fn mark(&mut self, folder: &Path, rng: &mut ChaCha8Rng) {
        self.mark = true;
        self.file(&folder.join("closed.json"), rng);
    }

    /// Takes the shelf away, whatever is left of it.
    fn lose_shelf(&mut self, folder: &Path) {
        (self.shelf, self.beside_journal) = (true, true);
        let _ = fs::remove_dir_all(folder.join("shelf"));
        self.did("no shelf");
    }

    /// Takes the mark of the last close away, whatever is left of it.
    fn lose_mark(&mut self, folder: &Path) {
        (self.mark, self.beside_journal) = (true, true);
        let path = folder.join("closed.json");
        let _ = fs::remove_file(&path).or_else(|_| fs::remove_dir_all(&path));
        self.did("no closed.json");
    }

    /// Harms the end of the journal alone: a line that was begun behind it, its last line cut anywhere, or
    /// another byte in the place of the last line feed.
    fn end(&mut self, journal: &Path, rng: &mut ChaCha8Rng) {
        let files = files(journal);
        let path = &files[files.len() - 1];
        let mut bytes = fs::read(path).unwrap();
        let lines = lines(&bytes);
        let last = &lines[lines.len() - 1];
        let line_at = bytes.len() - last.len();
        let did = match rng.random_range(0..3) {
            0 => {
                let other = &lines[rng.random_range(0..lines.len())];
                let begun = rng.random_range(1..other.len());
                bytes.extend_from_slice(&other[..begun]);
                "a line begun behind"
            }
            1 => {
                bytes.truncate(line_at + rng.random_range(0..last.len()));
                "the last line cut in"
            }
            _ => {
                bytes[line_at + last.len() - 1] ^= 1 << rng.random_range(0..8);
                "another byte for the last line feed of"
            }
        };
        let length = bytes.len();
        fs::write(path, bytes).unwrap();
        self.did(format!("{did} {}, now {length} bytes", shown(path)));
    }

    /// Harms a file: some bytes of it, or all.
    fn file(&mut self, path: &Path, rng: &mut ChaCha8Rng) {
        self.beside_journal = true;
        match rng.random_range(0..10) {
            0 => {
                fs::remove_file(path).unwrap();
                self.did(format!("{} removed", shown(path)));
            }
            1 => {
                fs::remove_file(path).unwrap();
                fs::create_dir(path).unwrap();
                self.did(format!("{} made a folder", shown(path)));
            }
            2 => {
                let to = path.with_extension("bak");
                fs::rename(path, to).unwrap();
                self.did(format!("{} renamed", shown(path)));
            }
            _ => self.bytes(path, rng),
        }
    }

    /// Changes bytes of a file.
    fn bytes(&mut self, path: &Path, rng: &mut ChaCha8Rng) {
        let mut bytes = fs::read(path).unwrap();
        let (one, two) = (stretch(bytes.len(), rng), stretch(bytes.len(), rng));
        let kind = rng.random_range(0..9);
        let did = match kind {
            0..2 => {
                let count = rng.random_range(1..=if kind == 0 { 1 } else { 12 });
                for _ in 0..count {
                    if let Some(byte) = pick(bytes.len(), rng).and_then(|at| bytes.get_mut(at)) {
                        *byte ^= 1 << rng.random_range(0..8);
                    }
                }
                "bits flipped"
            }
            2 => {
                bytes[one.clone()].fill(0);
                "zeroed"
            }
            3 => {
                bytes.truncate(one.start);
                "cut"
            }
            4 => {
                bytes.drain(one.clone());
                "taken out"
            }
            5 => {
                let again = bytes[one.clone()].to_vec();
                bytes.splice(two.start..two.start, again);
                "doubled"
            }
            6 => {
                let count = one.len().min(two.len()).min(one.start.abs_diff(two.start));
                for at in 0..count {
                    bytes.swap(one.start + at, two.start + at);
                }
                "swapped"
            }
            7 => {
                let put: Vec<u8> = one.clone().take(64).map(|_| rng.random()).collect();
                bytes.splice(one.start..one.start, put);
                "put in"
            }
            _ => {
                bytes[one.clone()].fill_with(|| rng.random());
                "overwritten"
            }
        };
        fs::write(path, bytes).unwrap();
        self.did(format!("bytes {did} at {one:?} {two:?} in {}", shown(path)));
    }

    /// Changes whole lines of a segment.
    fn lines(&mut self, path: &Path, rng: &mut ChaCha8Rng) {
        let mut lines = lines(&fs::read(path).unwrap());
        let [one, two] = [(); 2].map(|()| rng.random_range(0..lines.len()));
        let did = match rng.random_range(0..5) {
            0 => {
                lines.remove(one);
                "taken out"
            }
            1 => {
                lines.insert(two, lines[one].clone());
                "doubled"
            }
            2 => {
                lines.swap(one, two);
                "swapped"
            }
            3 => {
                let again = lines[one].clone();
                lines.push(again);
                "put at the end"
            }
            _ => {
                lines.truncate(one);
                "cut"
            }
        };
        fs::write(path, lines.concat()).unwrap();
        self.did(format!("lines {did}: {one}, {two} in {}", shown(path)));
    }

    /// Cuts a segment between two lines.
    fn end_after_a_line(&mut self, path: &Path, rng: &mut ChaCha8Rng) {
        let lines = lines(&fs::read(path).unwrap());
        let kept = rng.random_range(0..=lines.len());
        fs::write(path, lines[..kept].concat()).unwrap();
        self.did(format!(
            "the journal cut after line {kept} of {}",
            shown(path)
        ));
    }
}

/// The files of a folder, by name.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_file())
        .collect();
    files.sort();
    files
}

fn shown(path: &Path) -> String {
    path.file_name().unwrap().to_string_lossy().into_owned()
}

fn pick(length: usize, rng: &mut ChaCha8Rng) -> Option<usize> {
    (length > 0).then(|| rng.random_range(0..length))
}

/// A stretch of bytes, mostly short.
fn stretch(length: usize, rng: &mut ChaCha8Rng) -> Range<usize> {
    let start = pick(length, rng).unwrap_or(0);
    let count = match rng.random_range(0..3) {
        0 => 1,
        1 => rng.random_range(1..20),
        _ => rng.random_range(1..STRETCH_BYTES_MAX),
    };
    start..(start + count).min(length)
}
