//! A book that moves into an engine and back, with the real binaries: whole, with the devices that are paired,
//! and never in two places where it could be opened.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use fettlebook_yard::engine::Session;

use crate::binaries::{Fettled, Shop, done, fettle};
use crate::in_engine::{Place, ROLES, fettled, refused, tables, verified};
use crate::python::succeeded;

/// `fettled move` into the engine of a place, not started yet.
pub(crate) fn up(place: &Place, role: &str, book: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
    command.env("FETTLED_TO_STORE", place.url(role)).arg("move");
    command.arg("--book").arg(book);
    command.arg("--node").arg(place.path("node"));
    command.stdin(Stdio::null());
    command
}

/// `fettled move` out of it.
pub(crate) fn down(place: &Place, book: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
    command.env("FETTLED_STORE", place.url("bench")).arg("move");
    command.arg("--to-book").arg(book);
    command.arg("--node").arg(place.path("node"));
    command.stdin(Stdio::null());
    command
}

/// What was said in vain, in one line.
pub(crate) fn refused_by(mut command: Command) -> String {
    refused(&command.output().unwrap())
}

/// All files of a folder that tell of a book, without its lock and the shelf, which is a copy for speed.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(here) = folders.pop() {
        for entry in fs::read_dir(&here).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(folder).unwrap().display().to_string();
            if path.is_dir() && name != "shelf" {
                folders.push(path);
            } else if path.is_file() && !name.ends_with(".lock") {
                found.insert(name, fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// A book in a folder with a few entries.
pub(crate) fn some_book(place: &Place, name: &str) -> PathBuf {
    let book = place.path(name);
    done(Shop::Solo(&book), &["start", "--kit", "big-small", "--yes"]);
    done(Shop::Solo(&book), &["wash", "P-01"]);
    book
}

/// Lines of the journal as the table has them, in a folder for the verifier.
pub(crate) fn rows(place: &Place, name: &str) -> PathBuf {
    let rows = place.path(name);
    fs::create_dir(&rows).unwrap();
    let lines = place.ask(
        "SELECT '{\"chain\":\"' || chain || '\",\"entry\":' || convert_from(bytes, 'UTF8') || '}'
         FROM fettle.entry ORDER BY book, seq",
    );
    fs::write(rows.join("000000000001.jsonl"), lines + "\n").unwrap();
    rows
}

/// Waits until something holds in the engine.
pub(crate) fn until(place: &Place, what: &str, sql: &str) {
    let start = Instant::now();
    while place.ask(sql) != "t" {
        assert!(start.elapsed() < Duration::from_secs(20), "never: {what}");
        sleep(Duration::from_millis(20));
    }
}

/// Ends a program as a power cut would, once the engine shows that it waits for a lock.
pub(crate) fn killed_while_it_waits(place: &Place, mut child: Child) {
    until(
        place,
        "it waits for a lock",
        "SELECT count(*) > 0 FROM pg_stat_activity
         WHERE datname = current_database() AND wait_event_type = 'Lock'",
    );
    child.kill().unwrap();
    child.wait().unwrap();
}

pub(crate) fn begun(mut command: Command) -> Child {
    let silent = command.stdout(Stdio::null()).stderr(Stdio::null());
    silent.spawn().unwrap()
}

/// A code for a device that may do all.
pub(crate) fn code_for_a_van(book: &Path) -> String {
    let words = ["pair", "--name", "van-a", "--role", "own", "--book"];
    let made = fettled("", &[&words[..], &[book.to_str().unwrap()]].concat());
    let made = succeeded(&made);
    let mut words = made.split_whitespace();
    let code = words.find(|word| word.starts_with("FETTLE:"));
    code.unwrap().to_owned()
}

/// Whether what went up has its request ids, another life, its upkeep and its papers, the key sealed.
fn all_went_along(place: &Place) {
    let request_count =
        "SELECT count(request) = count(*) AND count(*) = max(seq) FROM fettle.entry";
    assert_eq!(place.ask(request_count), "t");
    let life = place.ask("SELECT since_seq = head_seq AND incarnation <> id FROM fettle.book");
    assert_eq!(life, "t");
    let verified_then =
        "SELECT convert_from(bytes, 'UTF8') LIKE '%' || incarnation || '%\"verified\":{%'
                         FROM fettle.note, fettle.book WHERE about = 'upkeep'";
    assert_eq!(place.ask(verified_then), "t");
    let papers = place.ask("SELECT kind, encode(bytes, 'escape') FROM fettle.paper ORDER BY kind");
    assert!(
        papers.contains("authority_key|") && !papers.contains("PRIVATE KEY"),
        "{papers}"
    );
}

#[test]
fn a_book_goes_up_and_down_whole_and_a_paired_device_goes_on() {
    let Some(place) = Place::new() else { return };
    let book = place.path("book");
    let served = Fettled::serve_tls(&book);
    let kept = book.to_str().unwrap();
    let code = code_for_a_van(&book);
    let home = tempfile::tempdir().unwrap();
    let van = Shop::Paired(home.path());
    done(van, &["shop", "pair", &code]);
    done(van, &["start", "--kit", "big-small", "--yes"]);
    done(van, &["wash", "P-01"]);
    done(van, &["book", "verify"]);
    served.stop();
    let (journal, identity) = (
        verified(&book.join("journal")),
        files(&book)["book.json"].clone(),
    );

    let told = succeeded(&up(&place, "bench", &book).output().unwrap());
    let id = place.ask("SELECT id FROM fettle.book");
    for said in [
        format!("The book {id} with "),
        format!("nothing more is recorded in {kept}."),
        format!("--book-id {id}"),
    ] {
        assert!(told.contains(&said), "{said}: {told}");
    }
    assert_eq!(verified(&rows(&place, "rows")), journal);
    all_went_along(&place);
    assert_ne!(files(&book)["book.json"], identity);

    // Nobody opens it where it was.
    let moved_to = format!("moved to {}", place.url("bench").split('?').next().unwrap());
    let moved_to = moved_to.replace("%2F", "/");
    for said in [
        refused(&fettled("", &["--book", kept, "--listen", "127.0.0.1:0"])),
        refused(&fettled(
            "",
            &["pair", "--book", kept, "--name", "van-b", "--role", "own"],
        )),
        refused(&fettle(Shop::Solo(&book), &["wash", "P-02"])),
        refused(&fettle(Shop::Solo(&book), &["kit", "list"])),
        refused_by(up(&place, "bench", &book)),
    ] {
        assert!(said.contains(&moved_to), "{moved_to}: {said}");
    }
    assert_eq!(verified(&book.join("journal")), journal);

    let served = place.serve(&["--tls"]);
    done(van, &["shop", "address", served.address()]);
    done(van, &["wash", "P-02"]);
    let kit = done(van, &["kit", "list"]);
    served.stop();

    // Down again, into a new folder, and the device goes on there.
    let again = place.path("again");
    let told = succeeded(&down(&place, &again).output().unwrap());
    assert!(
        told.contains(&format!("--book {}", again.display())),
        "{told}"
    );
    assert_eq!(
        verified(&again.join("journal")),
        verified(&rows(&place, "rows-later"))
    );
    let served = Fettled::serve_tls(&again);
    done(van, &["shop", "address", served.address()]);
    assert_eq!(done(van, &["kit", "list"]), kit);
    done(van, &["wash", "P-01"]);
    served.stop();
    let url = place.url("bench");
    let node = place.path("node");
    let node = ["--node", node.to_str().unwrap()];
    for words in [
        &node[..],
        &[&["pair", "--name", "van-b", "--role", "own"], &node[..]].concat(),
    ] {
        let said = refused(&fettled(&url, words));
        assert!(said.contains(":/") && said.contains("/again on "), "{said}");
    }

    // And up once more, behind the entries that are there from before.
    succeeded(&up(&place, "bench", &again).output().unwrap());
    assert_eq!(
        verified(&rows(&place, "rows-last")),
        verified(&again.join("journal"))
    );
    let served = place.serve(&["--tls"]);
    done(van, &["shop", "address", served.address()]);
    done(van, &["wash", "P-02"]);
}

/// That a command is refused with these words.
fn tell(command: Command, told: &str) {
    let said = refused_by(command);
    assert!(said.contains(told), "{told}: {said}");
}

/// A folder once more, beside it.
pub(crate) fn copied(book: &Path, name: &str) -> PathBuf {
    let copy = book.with_file_name(name);
    let done = Command::new("cp").arg("-a").arg(book).arg(&copy).status();
    assert!(done.unwrap().success());
    copy
}

#[test]
fn what_cannot_move_up_is_told_and_nothing_changes() {
    let Some(place) = Place::new() else { return };
    let book = some_book(&place, "book");
    let before = files(&book);
    let nothing_came = |what: &str| {
        assert_eq!(files(&book), before, "{what}");
        let counts =
            "SELECT (SELECT count(*) FROM fettle.book) + (SELECT count(*) FROM fettle.entry)
                      + (SELECT count(*) FROM fettle.paper)";
        assert_eq!(place.ask(counts), "0", "{what}");
    };
    tell(
        up(&place, "stranger", &book),
        "permission denied for schema fettle",
    );
    tell(
        up(&place, "reports", &book),
        "permission denied for table book",
    );
    nothing_came("no rights");
    tell(
        up(&place, "bench", &place.path("nowhere")),
        "There is no book in ",
    );
    assert!(!place.path("nowhere").exists());
    let url = place.url("bench");
    let kept = ["move", "--book", book.to_str().unwrap()];
    let lacks = fettled(&url, &kept);
    assert_eq!(lacks.status.code(), Some(2), "{lacks:?}");
    place.engine.run(
        &place.database,
        "DELETE FROM fettle.schema_version WHERE version > 1",
    );
    tell(
        up(&place, "bench", &book),
        "Whoever may change them brings them up with: fettled tables --from 1 | psql DATABASE.",
    );
    nothing_came("earlier tables");
    place
        .engine
        .run(&place.database, "DROP SCHEMA fettle CASCADE");
    tell(up(&place, "bench", &book), "has no tables for books.");
    place
        .engine
        .run(&place.database, &[tables(&[]).as_str(), ROLES].concat());

    // In use where it is.
    let served = Fettled::serve(&book);
    let said = up(&place, "bench", &book).output().unwrap();
    assert_eq!(said.status.code(), Some(5), "{said:?}");
    assert!(refused(&said).contains("is in use by process"), "{said:?}");
    served.stop();
    nothing_came("in use");

    // Damaged in the middle.
    let harmed = copied(&book, "harmed");
    let segment = harmed.join("journal/000000000001.jsonl");
    let text = fs::read_to_string(&segment).unwrap();
    fs::write(&segment, text.replacen("\"did\":\"", "\"did\":\"x", 1)).unwrap();
    let said = up(&place, "bench", &harmed).output().unwrap();
    assert_eq!(said.status.code(), Some(8), "{said:?}");
    assert!(
        refused(&said).contains("nothing can be recorded in it"),
        "{said:?}"
    );
    nothing_came("damaged");
}

#[test]
fn a_book_that_is_there_or_in_use_is_not_moved_over() {
    let Some(place) = Place::new() else { return };
    let book = some_book(&place, "book");
    let before = files(&book);
    // There already, from a copy of the folder.
    let copy = copied(&book, "copied");
    succeeded(&up(&place, "bench", &copy).output().unwrap());
    let there = place.ask("SELECT * FROM fettle.book, fettle.note");
    tell(
        up(&place, "bench", &book),
        " already, and nothing is ever written over.",
    );
    assert_eq!(files(&book), before);
    assert_eq!(place.ask("SELECT * FROM fettle.book, fettle.note"), there);

    // Down: in use, into what holds something, and into what cannot be written.
    let served = place.serve(&[]);
    tell(down(&place, &place.path("down")), "is in use at 127.0.0.1:");
    served.stop();
    tell(
        down(&place, &book),
        "is not empty, and nothing is ever written over.",
    );
    tell(
        down(&place, Path::new("/proc/nowhere")),
        "/proc/nowhere failed",
    );
    assert_eq!(
        place.ask("SELECT count(*) FROM fettle.book WHERE moved IS NULL"),
        "1"
    );
    assert!(!place.path("down").exists());

    // Back behind other entries than went away.
    succeeded(&down(&place, &place.path("down")).output().unwrap());
    done(Shop::Solo(&book), &["wash", "P-02"]);
    let ends = place.ask("SELECT head_seq FROM fettle.book");
    place.engine.run(
        &place.database,
        "UPDATE fettle.book SET head_chain = repeat('1', 64)",
    );
    tell(
        up(&place, "bench", &book),
        &format!("its entry {ends} there is not the one that comes"),
    );
    done(Shop::Solo(&book), &["wash", "P-01"]);
}

/// Holds every commit that ends a book up until the lock is let go.
pub(crate) const HELD_UP: &str = "
CREATE FUNCTION hold_up() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER AS $$
BEGIN PERFORM pg_advisory_xact_lock_shared(2201); RETURN NULL; END $$;
CREATE CONSTRAINT TRIGGER hold_up AFTER UPDATE OF head_seq ON fettle.book
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION hold_up();";

pub(crate) fn hold(place: &Place, sql: &str) -> Session {
    let session = place.engine.session(&place.database);
    drop(session.ask(sql));
    session
}

#[test]
fn a_move_up_that_is_killed_is_all_or_nothing_and_the_next_finds_out() {
    let Some(place) = Place::new() else { return };
    let book = some_book(&place, "book");
    let served = Fettled::serve_tls(&book);
    served.stop();
    let before = files(&book);

    // In the middle of its entries and papers.
    let held = hold(
        &place,
        "BEGIN; LOCK TABLE fettle.paper IN ACCESS EXCLUSIVE MODE",
    );
    killed_while_it_waits(&place, begun(up(&place, "bench", &book)));
    drop(held);
    assert_eq!(place.ask("SELECT count(*) FROM fettle.book"), "0");
    assert_eq!(files(&book), before);
    done(Shop::Solo(&book), &["wash", "P-02"]);

    // In the middle of its commit, which does not count: its session ends.
    place.engine.run(&place.database, HELD_UP);
    let held = hold(&place, "SELECT pg_advisory_lock(2201)");
    killed_while_it_waits(&place, begun(up(&place, "bench", &book)));
    let on_its_way = refused(&fettle(Shop::Solo(&book), &["wash", "P-01"]));
    assert!(
        on_its_way.contains("was on its way to postgres://bench@"),
        "{on_its_way}"
    );
    drop(place.ask(
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity
         WHERE datname = current_database() AND wait_event_type = 'Lock'",
    ));
    drop(held);
    until(
        &place,
        "nothing came",
        "SELECT count(*) = 0 FROM fettle.book",
    );

    // A move elsewhere does not find out, and says so.
    let elsewhere = Place::new().unwrap();
    let said = refused_by(up(&elsewhere, "bench", &book));
    assert!(said.contains("only a move to there finds out"), "{said}");

    // The same once more, and this time its commit counts though it is not there to hear of it.
    let held = hold(&place, "SELECT pg_advisory_lock(2201)");
    killed_while_it_waits(&place, begun(up(&place, "bench", &book)));
    drop(held);
    until(&place, "it came", "SELECT count(*) = 1 FROM fettle.book");
    let came = place.ask("SELECT incarnation FROM fettle.book");
    let told = succeeded(&up(&place, "bench", &book).output().unwrap());
    assert!(told.contains("Devices stay paired."), "{told}");
    assert_eq!(place.ask("SELECT incarnation FROM fettle.book"), came);
    let said = refused(&fettle(Shop::Solo(&book), &["wash", "P-01"]));
    assert!(said.contains(" moved to postgres://bench@"), "{said}");
    let served = place.serve(&[]);
    done(Shop::At(&served.url), &["wash", "P-01"]);
}

#[test]
fn a_move_up_whose_commit_the_engine_takes_back_leaves_the_book_where_it_is() {
    let Some(place) = Place::new() else { return };
    let book = some_book(&place, "book");
    let before = files(&book);
    place.engine.run(
        &place.database,
        &HELD_UP.replace(
            "pg_advisory_xact_lock_shared(2201)",
            "pg_terminate_backend(pg_backend_pid())",
        ),
    );
    let said = refused_by(up(&place, "bench", &book));
    assert!(
        said.contains("did not arrive in postgres://bench@"),
        "{said}"
    );
    assert_eq!(files(&book), before);
    done(Shop::Solo(&book), &["wash", "P-02"]);
}

#[test]
fn a_move_down_that_is_killed_leaves_the_book_and_the_next_finds_out() {
    let Some(place) = Place::new() else { return };
    let served = place.serve(&["--tls"]);
    served.stop();
    let again = place.path("again");
    let held = hold(
        &place,
        "BEGIN; LOCK TABLE fettle.paper IN ACCESS EXCLUSIVE MODE",
    );
    killed_while_it_waits(&place, begun(down(&place, &again)));
    drop(held);
    let unfinished = refused(&fettle(Shop::Solo(&again), &["kit", "list"]));
    assert!(unfinished.contains("was not finished"), "{unfinished}");
    let served = place.serve(&[]);
    done(
        Shop::At(&served.url),
        &["start", "--kit", "big-small", "--yes"],
    );
    served.stop();
    fs::remove_dir_all(&again).unwrap();

    // As though it had been killed before its last word.
    let moved = |place: &Place| succeeded(&down(place, &again).output().unwrap());
    let first = moved(&place);
    let cut_short =
        "UPDATE fettle.book SET moved = replace(moved, '\"arrived\":true', '\"arrived\":false')";
    place.engine.run(&place.database, cut_short);
    let said = refused(&fettled(
        &place.url("bench"),
        &["--node", place.path("node").to_str().unwrap()],
    ));
    assert!(said.contains("was on its way to "), "{said}");
    assert_eq!(moved(&place), first);
    done(Shop::Solo(&again), &["wash", "P-01"]);

    // The folder was not finished then: it goes elsewhere, whole.
    place.engine.run(&place.database, cut_short);
    fs::write(again.join("unfinished.txt"), "").unwrap();
    let third = place.path("third");
    succeeded(&down(&place, &third).output().unwrap());
    done(Shop::Solo(&third), &["wash", "P-01"]);

    // Another machine cannot see that folder.
    place.engine.run(
        &place.database,
        "UPDATE fettle.book SET moved = regexp_replace(moved, '\"to\":\"[^:]*:', '\"to\":\"elsewhere:')",
    );
    place.engine.run(&place.database, cut_short);
    let said = refused_by(down(&place, &place.path("fourth")));
    assert!(said.contains("on its way to elsewhere:"), "{said}");
}
