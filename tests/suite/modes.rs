//! Whom the files of a book, a copy, an outbox and a backup are for: their owner alone, though the
//! programs were started by somebody who lets everyone read and write what they make.

use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;
use std::process::Command;

use crate::binaries::{Fettled, done, kept_demo};

/// Has a program start with a umask that takes nothing away.
fn open_handed(program: &str) -> Command {
    let mut command = Command::new("sh");
    command.args(["-c", "umask 0; exec \"$0\" \"$@\"", program]);
    command
}

/// Runs the client so; it must succeed.
fn fettle(args: &[&str]) {
    let home = crate::binaries::state_folder();
    let mut command = open_handed(env!("CARGO_BIN_EXE_fettle"));
    command
        .env("XDG_STATE_HOME", home)
        .env("XDG_DATA_HOME", home);
    let output = command.args(args).output().unwrap();
    let talk = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{args:?}: {talk}");
}

/// Sees that everything in a folder is its owner's alone; how many files and folders that is.
fn all_private(path: &Path) -> usize {
    let held = fs::symlink_metadata(path).unwrap();
    let wanted = if held.is_dir() { 0o700 } else { 0o600 };
    let mode = held.permissions().mode() & 0o777;
    assert_eq!(mode, wanted, "{mode:o}: {}", path.display());
    if !held.is_dir() {
        return 1;
    }
    let inside = fs::read_dir(path).unwrap();
    1 + inside
        .map(|entry| all_private(&entry.unwrap().path()))
        .sum::<usize>()
}

#[test]
fn everything_in_a_book_and_a_shop_is_its_owners_alone_whatever_the_umask() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let (book, backup, back, shop) = (at("book"), at("backup"), at("back"), at("shop"));
    fettle(&["demo", "--keep", &book]);
    fettle(&["--book", &book, "wash", "P-01"]);
    fettle(&["--book", &book, "book", "backup", "--to", &backup]);
    fettle(&["book", "restore", "--from", &backup, "--to", &back]);
    fettle(&["--book", &back, "wash", "P-01"]);
    let command = open_handed(env!("CARGO_BIN_EXE_fettled"));
    let fettled = Fettled::serve_tls_by(command, Path::new(&book));
    let code = crate::paired::code(Path::new(&book), "van-a", "work");
    fettle(&["shop", "pair", &code, "--shop", &shop]);
    fettle(&["--shop", &shop, "shop", "sync"]);
    fettled.stop();
    // Kept here, without a signal.
    fettle(&["--shop", &shop, "wash", "P-02"]);
    for (name, count_min) in [("book", 15), ("backup", 3), ("back", 5), ("shop", 8)] {
        let count = all_private(&folder.path().join(name));
        assert!(count >= count_min, "{name}: {count}");
    }
}

/// Whoever may read a file may lock it; nobody who may only read is to keep the owner out.
#[test]
fn a_lock_that_others_may_only_read_is_shut_to_them() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let lock = book.join("book.lock");
    for (before, after) in [
        (0o644, 0o600),
        (0o664, 0o660),
        (0o666, 0o666),
        (0o600, 0o600),
    ] {
        fs::set_permissions(&lock, Permissions::from_mode(before)).unwrap();
        done(crate::binaries::Shop::Solo(&book), &["kit", "list"]);
        let mode = fs::metadata(&lock).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, after, "{before:o} became {mode:o}");
    }
}
