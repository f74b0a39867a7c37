//! What people type: every line of `tries.tsv` is understood, or refused in a sentence that names what was
//! read, with an example that works when it is typed.
//!
//! Goal: nobody is turned away for how a thing is written. Method: each line is typed in a shell on a copy of
//! one book; what it must come to stands beside it. The first part of the list was collected from a new user
//! of this program, the second is ours.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::python::root;

/// Lines typed at a time.
const HANDS: usize = 4;
/// Of the lines that can be understood so many in a hundred must be.
const UNDERSTOOD_PER_CENT_MIN: usize = 95;

/// One line of the list.
struct Try {
    at: usize,
    typed: String,
    /// The book it is typed on.
    book: String,
    /// Whether it must be understood; of what hangs on the day on which it is typed neither is asked.
    is_right: bool,
    is_either: bool,
    /// What must be said.
    says: String,
}

fn list() -> Vec<Try> {
    let text = fs::read_to_string(root().join("tests/suite/tries.tsv")).unwrap();
    let lines = text.lines().enumerate();
    let rows = lines.filter(|(_, line)| !line.starts_with('#') && !line.is_empty());
    rows.map(|(at, line)| {
        let cells: Vec<&str> = line.split('\t').collect();
        let [typed, book, comes_to, says] = cells[..] else {
            panic!("line {}: {} cells", at + 1, cells.len());
        };
        assert!(
            ["ok", "no", "either"].contains(&comes_to),
            "line {}: {comes_to}",
            at + 1
        );
        assert!(!says.trim().is_empty(), "line {} says nothing", at + 1);
        Try {
            at: at + 1,
            typed: typed.to_owned(),
            book: book.to_owned(),
            is_right: comes_to == "ok",
            is_either: comes_to == "either",
            says: says.to_owned(),
        }
    })
    .collect()
}

/// The books that lines are typed on, by the word for each: the lines that set it up, after those of the
/// one before it.
fn books() -> Vec<(String, Vec<String>)> {
    let text = fs::read_to_string(root().join("tests/suite/tries-books.sh")).unwrap();
    let mut books: Vec<(String, Vec<String>)> = Vec::new();
    for line in text.lines().filter(|line| !line.is_empty()) {
        match line.strip_prefix("## ") {
            Some(name) => {
                let before = books.last().map(|(_, lines)| lines.clone());
                books.push((name.to_owned(), before.unwrap_or_default()));
            }
            None if line.starts_with('#') => {}
            None => books.last_mut().unwrap().1.push(line.to_owned()),
        }
    }
    books
}

/// What a line came to.
struct Came {
    code: i32,
    said: String,
}

/// A folder of its own in which lines are typed: with a book, a memory and what lies around.
struct Desk {
    folder: tempfile::TempDir,
}

impl Desk {
    fn like(other: Option<&Path>) -> Self {
        let folder = tempfile::tempdir().unwrap();
        match other {
            Some(other) => copy(other, folder.path()),
            None => fs::create_dir(folder.path().join("book")).unwrap(),
        }
        Self { folder }
    }

    /// Types a line in a shell.
    fn types(&self, line: &str) -> Came {
        let bin = PathBuf::from(env!("CARGO_BIN_EXE_fettle"));
        let path = std::env::var("PATH").unwrap_or_default();
        let path = format!("{}:{path}", bin.parent().unwrap().display());
        let mut shell = Command::new("sh");
        let home = self.folder.path();
        let output = shell
            .args(["-c", line])
            .current_dir(home)
            .env("PATH", path)
            .env("HOME", home)
            .env("XDG_STATE_HOME", home.join("state"))
            .env("XDG_DATA_HOME", home.join("data"))
            .env("FETTLE_BOOK", home.join("book"))
            .env_remove("FETTLE_AT")
            .env_remove("FETTLE_SHOP")
            .env("TZ", "Europe/Vienna")
            .env("NO_COLOR", "1")
            .env("COLUMNS", "500")
            .stdin(Stdio::null())
            .output()
            .unwrap();
        let said = [output.stdout, output.stderr].concat();
        Came {
            code: output.status.code().unwrap_or(-1),
            said: String::from_utf8_lossy(&said).into_owned(),
        }
    }
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let there = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &there);
        } else {
            fs::copy(entry.path(), there).unwrap();
        }
    }
}

/// The whole command after *For example:*.
fn example(said: &str) -> Option<&str> {
    let in_json = said
        .split_once("\"example\": \"")
        .and_then(|(_, rest)| rest.split('"').next());
    let Some((_, rest)) = said.split_once("For example: ") else {
        return in_json;
    };
    rest.lines().next().map(str::trim)
}

/// What a line came to beside what it must come to; nothing where they agree.
fn judged(one: &Try, book: &Path) -> Result<(), String> {
    let desk = Desk::like(Some(book));
    let came = desk.types(&one.typed);
    let said = came.said.split_whitespace().collect::<Vec<_>>().join(" ");
    // The check's own answers: go, and the honest no.
    let is_answer = came.code == 0 || (one.typed.contains("check") && came.code == 3);
    if is_answer != one.is_right && !one.is_either {
        return Err(format!("ended with {}: {said}", came.code));
    }
    if !said.contains(&one.says) {
        return Err(format!("does not say '{}': {said}", one.says));
    }
    if is_answer {
        return Ok(());
    }
    let example = example(&came.said).ok_or_else(|| format!("gives no example: {said}"))?;
    if example.ends_with("--help") {
        return Err(format!("has only the help for an example: {said}"));
    }
    let typed = Desk::like(Some(book)).types(example);
    let works = typed.code == 0 || (example.contains("check") && typed.code == 3);
    if works {
        return Ok(());
    }
    Err(format!(
        "gives the example '{example}', which ends with {}: {}\n    (it was said: {said})",
        typed.code, typed.said
    ))
}

/// Each book set up, by its word.
fn set_up() -> Vec<(String, Desk)> {
    let mut made: Vec<(String, Desk)> = Vec::new();
    let mut before = 0;
    for (name, lines) in books() {
        let desk = Desk::like(made.last().map(|(_, desk)| desk.folder.path()));
        for line in lines.iter().skip(before) {
            let came = desk.types(line);
            let works = came.code == 0 || line.contains("; true");
            assert!(works, "{name}: {line}: {}", came.said);
        }
        before = lines.len();
        made.push((name, desk));
    }
    made
}

#[test]
fn what_people_type_is_understood_or_refused_with_an_example_that_works() {
    let books = set_up();
    let tries = list();
    let wrong = Mutex::new(Vec::new());
    let next = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for _ in 0..HANDS {
            scope.spawn(|| {
                while let Some(one) = tries.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let (_, desk) = books
                        .iter()
                        .find(|(name, _)| *name == one.book)
                        .unwrap_or_else(|| {
                            panic!("line {}: no book is called {}", one.at, one.book)
                        });
                    if let Err(why) = judged(one, desk.folder.path()) {
                        wrong.lock().unwrap().push((one.at, one.is_right, why));
                    }
                }
            });
        }
    });
    let mut wrong = wrong.into_inner().unwrap();
    wrong.sort();
    let mut told = String::new();
    for (at, _, why) in &wrong {
        let typed = tries
            .iter()
            .find(|one| one.at == *at)
            .map(|one| one.typed.as_str());
        writeln!(told, "line {at}: {}\n    {why}", typed.unwrap_or_default()).unwrap();
    }
    let right = tries.iter().filter(|one| one.is_right).count();
    let missed = wrong.iter().filter(|(_, is_right, _)| *is_right).count();
    eprintln!(
        "{right} lines that can be understood, {missed} were not; {} that cannot, {} without a sentence and an \
         example that works",
        tries.len() - right,
        wrong.len() - missed
    );
    assert!(
        (right - missed) * 100 >= right * UNDERSTOOD_PER_CENT_MIN && wrong.len() == missed,
        "{told}"
    );
    assert!(wrong.is_empty(), "{told}");
}

/// The list as it was collected stands whole and unchanged at the head of ours.
#[test]
fn no_line_that_was_collected_is_left_out() {
    let tries = list();
    assert!(tries.len() >= 171 + 80, "{}", tries.len());
    let collected: Vec<&str> = tries
        .iter()
        .take(171)
        .map(|one| one.typed.as_str())
        .collect();
    let sum = sum_over(&collected);
    assert_eq!(sum, COLLECTED, "a line that was collected was changed");
}

/// A sum over the collected lines, so that none is edited: FNV-1a over their bytes, a line end after each.
fn sum_over(lines: &[&str]) -> u64 {
    const START: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0000_0100_0000_01b3;
    let bytes = lines.iter().flat_map(|line| line.bytes().chain([b'\n']));
    bytes.fold(START, |sum, byte| {
        (sum ^ u64::from(byte)).wrapping_mul(PRIME)
    })
}

/// That sum as the list was handed over.
const COLLECTED: u64 = 0x63bd_bef4_aa56_14b7;
