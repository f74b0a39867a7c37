//! With `--no-input` nobody is asked anything, at a terminal too.
//!
//! Goal: a script that somebody starts at a terminal never waits for a key. Method: command lines put together
//! at random from what asks and what is odd, at a terminal where nobody answers; the same ones without the
//! option do ask, so that the test sees what it looks for.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use crate::binaries::{kept_demo, state_folder};
use crate::python::script_command;

/// Command lines typed.
const LINES: usize = 500;
/// Copies of the book that they are typed on at a time.
const HANDS: usize = 4;

/// Words that commands begin with, each with what may follow.
const COMMANDS: &[&[&str]] = &[
    &["bin"],
    &["wash"],
    &["wash", "--look", "P-06=rebound 1, edge 1, face 1"],
    &["move", "--to", "a-new-place"],
    &["move", "--to", "van-a"],
    &["kit", "return"],
    &["kit", "aside"],
    &["kit", "aside", "--because", "dropped"],
    &["kit", "dry"],
    &["kit", "demote", "--to", "rag"],
    &["kit", "list"],
    &["count", "--left", "100000 ml"],
    &["count", "--left", "1"],
    &["count", "--clean", "900"],
    &["weigh"],
    &["log"],
    &[
        "log",
        "--loose",
        "machine=orbital-150, pad=fine-foam-150, liquid=fine-polish-500ml",
        "--sections",
        "90000",
    ],
    &["log", "--towels", "900"],
    &["receive", "coarse-foam-150"],
    &["receive", "coarse-foam-150", "--place", "nowhere-yet"],
    &["receive", "order-1"],
    &[
        "car",
        "add",
        "a-car",
        "--class",
        "city",
        "--film",
        "bonnet=1200um",
    ],
    &[
        "supplier",
        "price",
        "tern-quay",
        "coarse-foam-150",
        "900 EUR",
    ],
    &["book", "policy", "--renew"],
    &["book", "reverse", "last"],
    &["check"],
    &["reorder"],
    &["start"],
    &["kit"],
];

/// Words that may stand behind them.
const BEHIND: &[&str] = &[
    "P-01",
    "P-06",
    "P-07",
    "T-01",
    "B-01",
    "S-01",
    "M-01",
    "P-01..P-09",
    "all",
    "soiled",
    "P-99",
    "--note",
    "odd",
    "--done",
    "yesterday",
    "B-01=9kg",
    "silver-saloon",
    "--because",
    "torn",
    "3",
];

/// Numbers that look drawn, the same in every run: a linear congruence.
/// Source: D. E. Knuth, The Art of Computer Programming, volume 2, section 3.3.4, table 1, line 26.
struct Draw(u64);

impl Draw {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % count
    }
}

fn lines(draw: &mut Draw, count: usize) -> String {
    let mut text = String::new();
    for _ in 0..count {
        let mut words: Vec<&str> = COMMANDS[draw.below(COMMANDS.len())].to_vec();
        for _ in 0..draw.below(4) {
            words.push(BEHIND[draw.below(BEHIND.len())]);
        }
        writeln!(text, "{}", words.join("\t")).unwrap();
    }
    text
}

/// What became of the lines of a file on a book; nothing where there is no Python to make a terminal.
fn typed(folder: &Path, book: &Path, lines: &str, option: &str) -> Option<(bool, String)> {
    let file = folder.join("lines.tsv");
    fs::write(&file, lines).unwrap();
    let mut command = script_command("unasked.py", &["pty"])?;
    let output = command
        .arg(&file)
        .arg(env!("CARGO_BIN_EXE_fettle"))
        .args([option, "--book"])
        .arg(book)
        .env("XDG_STATE_HOME", state_folder())
        .env("XDG_DATA_HOME", folder)
        .env("TZ", "UTC")
        .env("NO_COLOR", "1")
        .env("TERM", "xterm")
        .env("PAGER", "cat")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    Some((output.status.success(), said))
}

#[test]
fn with_no_input_nobody_is_asked_whatever_is_typed() {
    let seen: Vec<Option<(bool, String)>> = std::thread::scope(|scope| {
        let hands: Vec<_> = (0..HANDS)
            .map(|hand| {
                scope.spawn(move || {
                    let folder = tempfile::tempdir().unwrap();
                    let book = kept_demo(folder.path(), &[]);
                    let mut draw = Draw(u64::try_from(hand).unwrap() + 1);
                    let lines = lines(&mut draw, LINES / HANDS);
                    typed(folder.path(), &book, &lines, "--no-input")
                })
            })
            .collect();
        hands.into_iter().map(|hand| hand.join().unwrap()).collect()
    });
    for (is_unasked, said) in seen.into_iter().flatten() {
        assert!(is_unasked, "{said}");
        let each = format!("lines: {} asked: 0", LINES / HANDS);
        assert!(said.contains(&each), "{said}");
    }
}

/// What the test above looks for is there where the option is not.
#[test]
fn without_it_whoever_is_at_a_terminal_is_asked() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let Some((is_unasked, said)) = typed(folder.path(), &book, "bin\tP-01\n", "--no-color") else {
        return;
    };
    assert!(
        !is_unasked && said.contains("bin P-01") && said.contains("asked: 1"),
        "{said}"
    );
}
