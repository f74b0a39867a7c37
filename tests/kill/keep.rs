//! Killing a backup and a restore in the middle: what is left is whole, or is refused as unfinished.
//!
//! It serves the kill loop. A second copy that only looks whole is worse than none.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

use crate::rounds::Rounds;
use crate::walk;

/// What a killed command left behind.
#[derive(Debug, Default)]
pub(crate) struct Left {
    kills: usize,
    whole: usize,
    refused: usize,
    nothing: usize,
}

/// A book, a whole backup of it, and a place for copies that are killed.
pub(crate) struct Copies {
    folder: TempDir,
    book: PathBuf,
    requests: Vec<String>,
    count: usize,
}

impl Copies {
    /// Backs a book up that nobody has open.
    pub(crate) fn of(book: PathBuf) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let requests = walk::requests_of(&book.join("journal"));
        let copies = Self {
            folder,
            book,
            requests,
            count: 0,
        };
        assert!(copies.run(&copies.backup_to(&copies.whole())));
        copies
    }

    fn whole(&self) -> PathBuf {
        self.folder.path().join("whole")
    }

    fn fettle(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fettle"));
        command
            .args(args)
            .env("XDG_STATE_HOME", self.folder.path())
            .env_remove("FETTLE_AT")
            .env_remove("FETTLE_BOOK")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        command
    }

    fn backup_to(&self, to: &Path) -> Vec<String> {
        let words = [
            "--book",
            &text(&self.book),
            "book",
            "backup",
            "--to",
            &text(to),
        ];
        words.map(str::to_owned).to_vec()
    }

    fn restore(from: &Path, to: &Path) -> Vec<String> {
        let words = ["book", "restore", "--from", &text(from), "--to", &text(to)];
        words.map(str::to_owned).to_vec()
    }

    /// Runs a command to its end; true when it succeeded.
    fn run(&self, args: &[String]) -> bool {
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        self.fettle(&args).status().unwrap().success()
    }

    /// How long a command takes when nobody kills it.
    fn time(&mut self, command: impl Fn(&Self, &Path) -> Vec<String>) -> Duration {
        let to = self.next();
        let start = Instant::now();
        assert!(self.run(&command(self, &to)));
        start.elapsed()
    }

    fn next(&mut self) -> PathBuf {
        self.count += 1;
        self.folder.path().join(format!("copy-{}", self.count))
    }

    /// Runs a command and kills it after a time.
    fn kill(&self, args: &[String], after: Duration) {
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let mut child = self.fettle(&args).spawn().unwrap();
        std::thread::sleep(after);
        // It may have ended already; then there is nothing to kill.
        let _ = child.kill();
        child.wait().unwrap();
    }

    /// A restored book is the whole history, or is not opened.
    fn judge_book(&self, book: &Path, left: &mut Left) {
        left.kills += 1;
        if holds_nothing(book) {
            left.nothing += 1;
        } else if self.run(&[
            "--book".to_owned(),
            text(book),
            "book".to_owned(),
            "verify".to_owned(),
        ]) {
            assert_eq!(walk::requests_of(&book.join("journal")), self.requests);
            left.whole += 1;
        } else {
            left.refused += 1;
        }
    }

    /// A backup can be restored to the whole history, or is not taken for one.
    fn judge_backup(&mut self, backup: &Path, left: &mut Left) {
        if holds_nothing(backup) {
            left.kills += 1;
            left.nothing += 1;
            return;
        }
        let book = self.next();
        if self.run(&Self::restore(backup, &book)) {
            self.judge_book(&book, left);
        } else {
            left.kills += 1;
            left.refused += 1;
        }
    }

    /// Kills backups and restores in turn, as many of each.
    pub(crate) fn kill_both(&mut self, rounds: &mut Rounds, kills: usize) -> [Left; 2] {
        let (mut backups, mut restores) = (Left::default(), Left::default());
        let backup_time = self.time(|copies, to| copies.backup_to(to));
        let restore_time = self.time(|copies, to| Self::restore(&copies.whole(), to));
        for _ in 0..kills {
            let to = self.next();
            self.kill(&self.backup_to(&to), rounds.moment(backup_time));
            self.judge_backup(&to, &mut backups);
            let to = self.next();
            self.kill(
                &Self::restore(&self.whole(), &to),
                rounds.moment(restore_time),
            );
            self.judge_book(&to, &mut restores);
        }
        for left in [&backups, &restores] {
            assert_eq!(left.kills, left.whole + left.refused + left.nothing);
        }
        [backups, restores]
    }
}

fn text(path: &Path) -> String {
    path.display().to_string()
}

/// True for a folder that was not made, or in which nothing was.
fn holds_nothing(folder: &Path) -> bool {
    folder
        .read_dir()
        .map_or(true, |mut held| held.next().is_none())
}
