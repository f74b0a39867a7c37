//! A book outlives its disk: backed up while it is served, restored, mended, and never shorter in
//! silence.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;
use std::sync::atomic::{AtomicBool, Ordering};

use serde_json::Value;
use sha2::{Digest as _, Sha256};
use tempfile::TempDir;

use crate::binaries::{Fettled, Shop, done, fettle, fettle_of, json, kept_demo};

/// A place for books, with a kept demo book in it, and a machine that remembers.
struct World {
    folder: TempDir,
    book: PathBuf,
    machine: PathBuf,
}

impl World {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let book = kept_demo(folder.path(), &[]);
        let machine = folder.path().join("machine");
        Self {
            folder,
            book,
            machine,
        }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }

    /// Runs the client of this machine.
    fn run(&self, shop: Shop<'_>, args: &[&str]) -> Output {
        fettle_of(&self.machine, shop, args)
    }

    /// Runs it, and it must succeed.
    fn done(&self, shop: Shop<'_>, args: &[&str]) -> Output {
        let output = self.run(shop, args);
        assert!(output.status.success(), "{args:?}: {}", talk(&output));
        output
    }
}

fn document(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap()
}

/// What was said, in one line: sentences are wrapped to the page.
fn talk(output: &Output) -> String {
    let words = String::from_utf8_lossy(&output.stderr).into_owned();
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn segment(book: &Path) -> PathBuf {
    book.join("journal/000000000001.jsonl")
}

/// The lines of a journal, without room after its end that was never written.
fn lines(book: &Path) -> Vec<String> {
    let text = fs::read_to_string(segment(book)).unwrap();
    let lines = text.lines().filter(|line| line.starts_with('{'));
    lines.map(str::to_owned).collect()
}

fn write_lines(book: &Path, lines: &[String]) {
    fs::write(segment(book), lines.join("\n") + "\n").unwrap();
}

/// Every file below a folder with its bytes.
fn contents(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(contents(&path));
        } else {
            found.push((path.clone(), fs::read(&path).unwrap()));
        }
    }
    found.sort();
    found
}

/// How the book stands, as JSON.
fn standing(shop: Shop<'_>) -> Value {
    json(shop, &["book", "where"])["book"].clone()
}

fn head_seq(shop: Shop<'_>) -> usize {
    standing(shop)["headSeq"].as_str().unwrap().parse().unwrap()
}

#[test]
fn a_backup_made_while_the_book_is_written_is_a_whole_beginning_of_it() {
    let world = World::new();
    let fettled = Fettled::serve(&world.book);
    let shop = Shop::At(&fettled.url);
    let (backup, stop) = (world.path("backup"), AtomicBool::new(false));
    let (made, written) = std::thread::scope(|scope| {
        let writing = scope.spawn(|| {
            let mut written = 0;
            while written == 0 || !stop.load(Ordering::SeqCst) {
                done(
                    shop,
                    &["move", "P-01", "--to", ["van-a", "van-b"][written % 2]],
                );
                written += 1;
            }
            written
        });
        let made = world.run(shop, &["--json", "book", "backup", "--to", &backup]);
        stop.store(true, Ordering::SeqCst);
        (made, writing.join().unwrap())
    });
    assert!(made.status.success(), "{}", talk(&made));
    let held = document(&made)["backup"].clone();
    let to = world.path("restored");
    let words = ["--json", "book", "restore", "--from", &backup, "--to", &to];
    let restored = document(&world.done(Shop::Solo(&world.book), &words));
    assert_eq!(restored["verified"]["whole"], true);
    assert_eq!(restored["verified"]["headChain"], held["headChain"]);
    let (folder, served) = (PathBuf::from(&to), lines(&world.book));
    assert_eq!(lines(&folder), lines(Path::new(&backup)));
    assert!(
        served.starts_with(&lines(&folder)),
        "{written} were written meanwhile"
    );
    fettled.stop();
}

#[test]
fn a_restored_book_equals_the_one_that_was_backed_up() {
    let world = World::new();
    let shop = Shop::Solo(&world.book);
    let (backup, to) = (world.path("backup"), world.path("restored"));
    done(shop, &["book", "backup", "--to", &backup]);
    done(shop, &["book", "restore", "--from", &backup, "--to", &to]);
    let folder = PathBuf::from(&to);
    let restored = Shop::Solo(&folder);
    assert_eq!(standing(restored)["headChain"], standing(shop)["headChain"]);
    for list in [["kit", "list"], ["job", "list"], ["make", "list"]] {
        assert_eq!(done(restored, &list), done(shop, &list));
    }
    assert_eq!(json(restored, &["book", "verify"])["whole"], true);
}

/// The story: the disk is lost with what was done after the backup, and work goes on from there.
#[test]
fn a_restored_book_goes_on_as_another_incarnation_and_the_client_says_what_is_gone() {
    let world = World::new();
    let shop = Shop::Solo(&world.book);
    let (backup, to) = (world.path("backup"), world.path("restored"));
    world.done(shop, &["book", "backup", "--to", &backup]);
    let at = head_seq(shop);
    for place in ["van-a", "van-b"] {
        world.done(shop, &["move", "P-01", "--to", place]);
    }
    let made = world.done(shop, &["book", "restore", "--from", &backup, "--to", &to]);
    let said = format!(
        "This book was restored or mended at entry {at}. What this machine saw after that \
         (entries {} to {}) is not in it.",
        at + 1,
        at + 2
    );
    assert!(talk(&made).contains(&said), "{}", talk(&made));

    let folder = PathBuf::from(&to);
    let restored = Shop::Solo(&folder);
    let again = world.done(restored, &["--json", "move", "P-02", "--to", "van-b"]);
    assert_eq!(talk(&again), "", "it is said once");
    assert_eq!(document(&again)["entry"]["seq"], (at + 1).to_string());
    let (old, new) = (standing(shop), standing(restored));
    assert_eq!(old["bookId"], new["bookId"]);
    assert_ne!(old["incarnationId"], new["incarnationId"]);
    assert_eq!(new["incarnationSeq"], at.to_string());
}

#[test]
fn a_backup_is_not_opened_as_a_book() {
    let world = World::new();
    let backup = world.path("backup");
    let shop = Shop::Solo(&world.book);
    done(shop, &["book", "backup", "--to", &backup]);
    let refused = fettle(Shop::Solo(Path::new(&backup)), &["kit", "list"]);
    assert_eq!(refused.status.code(), Some(2));
    let said = talk(&refused);
    assert!(said.contains("fettle book restore"), "{said}");
    let twice = fettle(shop, &["book", "backup", "--to", &backup]);
    assert_eq!(twice.status.code(), Some(2));
    assert!(talk(&twice).contains("is not empty"), "{}", talk(&twice));
}

/// The story: one byte of one line flips on the disk.
#[test]
fn a_flipped_byte_is_named_and_mended_with_a_backup() {
    let world = World::new();
    let shop = Shop::Solo(&world.book);
    let backup = world.path("backup");
    done(shop, &["book", "backup", "--to", &backup]);
    let whole = lines(&world.book);
    let mut bytes = fs::read(segment(&world.book)).unwrap();
    let before: usize = whole[..29].iter().map(|line| line.len() + 1).sum();
    bytes[before + 150] ^= 0x01;
    fs::write(segment(&world.book), bytes).unwrap();

    let verified = fettle(shop, &["--json", "book", "verify"]);
    assert_eq!(verified.status.code(), Some(8));
    let found = document(&verified);
    assert_eq!(found["damaged"], true);
    assert_eq!(found["firstBadSeq"], "30");
    assert_eq!(found["findings"].as_array().unwrap().len(), 1, "told once");

    let (damaged, to) = (world.book.display().to_string(), world.path("mended"));
    let untouched = contents(&world.book);
    let words = [
        "book", "mend", "--from", &damaged, "--to", &to, "--with", &backup,
    ];
    done(shop, &words);
    assert!(!Path::new(&to).exists());
    done(shop, &[&words[..], &["--write"]].concat());
    assert_eq!(contents(&world.book), untouched);

    let folder = PathBuf::from(&to);
    assert_eq!(lines(&folder), whole);
    let out = fs::read_to_string(folder.join("left-out.txt")).unwrap();
    assert!(out.contains(&format!("from byte {before}")), "{out}");
    let verified = fettle(Shop::Solo(&folder), &["book", "verify"]);
    assert_eq!(verified.status.code(), Some(0));
}

/// Takes away what in a book's folder tells that its journal went further, or otherwise.
fn forget(book: &Path) {
    fs::remove_dir_all(book.join("shelf")).unwrap();
    fs::remove_file(book.join("closed.json")).unwrap();
}

/// The story: the journal is cut at a line's end and the shelf is gone, so that nothing in the folder
/// shows it. A machine that has seen further knows.
#[test]
fn a_client_that_has_seen_further_makes_a_shortened_book_read_only() {
    let world = World::new();
    let shop = Shop::Solo(&world.book);
    world.done(shop, &["kit", "list"]);
    let whole = lines(&world.book);
    forget(&world.book);
    write_lines(&world.book, &whole[..whole.len() - 4]);

    let said = format!("Entry {} of the journal is missing", whole.len() - 3);
    let listed = world.done(shop, &["kit", "list"]);
    assert!(talk(&listed).contains(&said), "{}", talk(&listed));
    for _ in 0..2 {
        let refused = world.run(shop, &["--json", "move", "P-01", "--to", "van-b"]);
        assert_eq!(refused.status.code(), Some(7));
        assert_eq!(document(&refused)["error"]["reason"], "READ_ONLY");
    }
    let verified = world.run(shop, &["book", "verify"]);
    assert_eq!(verified.status.code(), Some(8));
    assert_eq!(lines(&world.book).len(), whole.len() - 4);
}

/// As above, but other entries were recorded in place of what is gone, and the book is served.
#[test]
fn a_client_that_has_seen_other_entries_makes_a_served_book_read_only_for_all() {
    let world = World::new();
    let shop = Shop::Solo(&world.book);
    world.done(shop, &["kit", "list"]);
    let whole = lines(&world.book);
    forget(&world.book);
    write_lines(&world.book, &whole[..whole.len() - 1]);
    // Another machine, which remembers nothing of this book, works on it.
    let other = world.folder.path().join("other-machine");
    for place in ["van-a", "van-b"] {
        let moved = fettle_of(&other, shop, &["move", "P-01", "--to", place]);
        assert!(moved.status.success(), "{}", talk(&moved));
    }
    let fettled = Fettled::serve(&world.book);
    let served = Shop::At(&fettled.url);
    let refused = world.run(served, &["move", "P-01", "--to", "bench"]);
    assert_eq!(refused.status.code(), Some(7));
    let said = format!("Entry {} of the journal, or one before it", whole.len());
    assert!(talk(&refused).contains(&said), "{}", talk(&refused));
    let refused = fettle_of(&other, served, &["move", "P-01", "--to", "bench"]);
    assert_eq!(refused.status.code(), Some(7));
}

/// The lines of a journal written anew from an entry on: one word of it is changed, and every line fits
/// the one before.
fn rewritten(lines: &[String], seq: usize, from: &str, to: &str) -> Vec<String> {
    let mut chain = "0".repeat(64);
    let anew = lines.iter().zip(1..).map(|(line, at)| {
        let (_, rest) = line.split_once("\"entry\":").unwrap();
        let mut entry = rest.strip_suffix('}').unwrap().to_owned();
        if at == seq {
            entry = entry.replacen(from, to, 1);
            assert!(entry.contains(to), "{entry}");
        }
        let digest = Sha256::new()
            .chain_update(&chain)
            .chain_update(&entry)
            .finalize();
        chain = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        format!("{{\"chain\":\"{chain}\",\"entry\":{entry}}}")
    });
    anew.collect()
}

/// The story: somebody changes what was recorded and writes the rest anew, so that nothing in the folder
/// shows it. The shelf shows it; without the shelf a backup does, alone and with a service.
#[test]
fn a_rewritten_book_is_told_by_its_shelf_and_by_a_backup_that_names_the_first_entry() {
    let world = World::new();
    let shop = Shop::Solo(&world.book);
    let backup = world.path("backup");
    done(shop, &["move", "P-01", "--to", "van-b"]);
    let moved = head_seq(shop);
    done(shop, &["move", "P-02", "--to", "van-b"]);
    done(shop, &["book", "backup", "--to", &backup]);
    let against = ["--json", "book", "verify", "--against", &backup];
    let agrees = world.done(shop, &against);
    assert_eq!(document(&agrees)["against"]["histories"], "AGREE");

    let whole = lines(&world.book);
    write_lines(&world.book, &rewritten(&whole, moved, "van-b", "van-a"));
    let verified = fettle(shop, &["book", "verify"]);
    assert_eq!(verified.status.code(), Some(8));
    let page = String::from_utf8_lossy(&verified.stdout).into_owned();
    assert!(page.contains("rewritten"), "{page}");

    forget(&world.book);
    fs::remove_file(world.book.join("damaged.json")).unwrap();
    let stranger = world.folder.path().join("other-machine");
    let found = fettle_of(&stranger, shop, &["book", "verify"]);
    assert_eq!(
        found.status.code(),
        Some(0),
        "nothing in the folder shows it"
    );
    let compare = |shop| {
        let found = fettle_of(&stranger, shop, &against);
        assert_eq!(found.status.code(), Some(8));
        let found = document(&found);
        assert_eq!(found["whole"], true);
        assert_eq!(found["against"]["histories"], "DIFFERENT");
        assert_eq!(found["against"]["firstSeq"], moved.to_string());
    };
    compare(shop);
    let fettled = Fettled::serve(&world.book);
    compare(Shop::At(&fettled.url));
    fettled.stop();
}
