//! A book in an engine whose entries were changed or lack, mended with the real binary: what is provably what was
//! recorded stays, nothing that stood there is lost, and all of it is done or nothing.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

use crate::access::code_of;
use crate::binaries::{Shop, done, fettle, json};
use crate::in_engine::{Place, ROLES, fettled, refused, tables, verified};
use crate::moved::{HELD_UP, begun, hold, killed_while_it_waits, rows, until};
use crate::python::succeeded;

/// Whoever owns the tables, by the role that does.
const OWNER: &str = "DO $$ BEGIN
    CREATE ROLE keeper LOGIN INHERIT IN ROLE fettle_owner;
EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;";

/// What a hand on the tables does to an entry.
const HARMED: &str = "UPDATE fettle.entry SET bytes = bytes || ' '::bytea WHERE seq = 2";

/// A book in an engine with some entries, a backup of most of them, and a van that is paired.
struct World {
    place: Place,
    backup: PathBuf,
    van: tempfile::TempDir,
    /// The last entry.
    head: u64,
    /// What the rules of the journal say of its rows.
    whole: String,
}

impl World {
    /// None where the machine has no PostgreSQL.
    fn new() -> Option<Self> {
        let place = Place::with(&[tables(&[]).as_str(), ROLES, OWNER].concat())?;
        let served = place.serve(&["--tls"]);
        let node = place.path("node");
        let words = ["pair", "--name", "van-a", "--role", "own", "--node"];
        let words = [&words[..], &[node.to_str().unwrap()]].concat();
        let made = fettled(&place.url("bench"), &words);
        let home = tempfile::tempdir().unwrap();
        let van = Shop::Paired(home.path());
        done(van, &["shop", "pair", &code_of(&made).to_string()]);
        done(van, &["start", "--kit", "big-small", "--yes"]);
        for tag in ["P-01", "P-02", "P-03"] {
            done(van, &["wash", tag]);
        }
        let backup = place.path("backup");
        done(van, &["book", "backup", "--to", backup.to_str().unwrap()]);
        for tag in ["P-04", "P-05"] {
            done(van, &["wash", tag]);
        }
        served.stop();
        let whole = verified(&rows(&place, "whole"));
        let head = place.ask("SELECT head_seq FROM fettle.book");
        Some(Self {
            head: head.parse().unwrap(),
            place,
            backup,
            van: home,
            whole,
        })
    }

    /// What somebody who owns the tables does there.
    fn harm(&self, sql: &str) {
        self.place.engine.run(&self.place.database, sql);
    }

    /// `fettled mend`, not started yet.
    fn mend(&self, role: &str, more: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
        command
            .env("FETTLED_STORE", self.place.url(role))
            .args(["mend", "--node"])
            .arg(self.place.path("node"))
            .args(more)
            .stdin(Stdio::null());
        command
    }

    fn mended(&self, role: &str, more: &[&str]) -> String {
        succeeded(&self.mend(role, more).output().unwrap())
    }

    /// Options to mend it with the backup, and put what was there aside.
    fn writing(&self, aside: &Path) -> [String; 5] {
        let aside = aside.display().to_string();
        let backup = self.backup.display().to_string();
        [
            "--with".to_owned(),
            backup,
            "--write".to_owned(),
            "--aside".to_owned(),
            aside,
        ]
    }

    /// All that is there of the book, but for who held it last.
    fn there(&self) -> String {
        self.place.ask("SELECT id, incarnation, since_seq, head_seq, head_chain, line_bytes, moved FROM fettle.book")
            + &self.place.ask("SELECT * FROM fettle.entry ORDER BY seq")
            + &self.place.ask("SELECT * FROM fettle.paper ORDER BY kind")
            + &self.place.ask("SELECT * FROM fettle.note ORDER BY about")
            + &self.place.ask("SELECT book, list, key FROM fettle.answer ORDER BY list, key")
    }

    /// That the book is served, whole, and goes on for the van that was paired before.
    fn goes_on(&self) {
        let served = self.place.serve(&["--tls"]);
        let van = Shop::Paired(self.van.path());
        done(van, &["shop", "address", served.address()]);
        assert_eq!(json(van, &["book", "verify"])["whole"], true);
        done(van, &["wash", "P-06"]);
        let sql = "SELECT max(key::text) IS NOT NULL FROM fettle.answer WHERE list = 'deed'";
        until(&self.place, "the office sees the register again", sql);
        served.stop();
    }
}

fn as_str(words: &[String]) -> Vec<&str> {
    words.iter().map(String::as_str).collect()
}

fn refuses(output: &Output, code: i32, told: &str) {
    assert_eq!(output.status.code(), Some(code), "{output:?}");
    let said = refused(output);
    assert!(said.contains(told), "{told}: {said}");
}

#[test]
fn a_changed_entry_in_an_engine_is_named_and_mended_with_a_backup_and_devices_stay() {
    let Some(world) = World::new() else { return };
    // Changed in one, taken away in another.
    let changed = "UPDATE fettle.entry SET bytes = replace(convert_from(bytes, 'UTF8'), '\"did\":\"', '\"did\":\"x')::bytea
                   WHERE seq = 2";
    world.harm(changed);
    world.harm("DELETE FROM fettle.entry WHERE seq = 4");
    // A finding that cannot be read counts too, until the book is another life.
    world.harm(
        "INSERT INTO fettle.note SELECT id, 'damage', '{' FROM fettle.book
         ON CONFLICT (book, about) DO UPDATE SET bytes = '{'",
    );
    let harmed = world
        .place
        .ask("SELECT convert_from(bytes, 'UTF8') FROM fettle.entry WHERE seq = 2");
    let before = world.there();
    let told = world.mended("bench", &["--with", world.backup.to_str().unwrap()]);
    for said in [
        "entry 2 of the journal does not fit the chain".to_owned(),
        format!(
            "Kept: entries 1 to {}, of which from the backup: entry 2, entry 4.",
            world.head
        ),
        "entry 2 in a form that does not fit the chain".to_owned(),
        "Nothing was changed. To mend the book, give --write and --aside DIR too.".to_owned(),
    ] {
        assert!(told.contains(&said), "{said}: {told}");
    }
    assert_eq!(world.there(), before);
    let in_node = fs::read_dir(world.place.path("node")).unwrap();
    let names = in_node.map(|held| held.unwrap().file_name().into_string().unwrap());
    assert!(!names.into_iter().any(|name| name.contains("mending")));

    // Whoever serves may not; then whoever owns the tables.
    let aside = world.place.path("aside");
    let words = world.writing(&aside);
    let said = world.mend("bench", &as_str(&words)).output().unwrap();
    refuses(
        &said,
        1,
        "have to be replaced, which no role that serves may do.",
    );
    assert_eq!(world.there(), before);
    assert!(
        !aside.exists(),
        "nothing was changed, so nothing is kept aside"
    );
    let told = world.mended("keeper", &as_str(&words));
    let goes_on = format!(
        "the book goes on after entry {}, as another life of it",
        world.head
    );
    assert!(told.contains(&goes_on), "{told}");
    assert_eq!(verified(&rows(&world.place, "rows")), world.whole);
    let told = world.mended("bench", &[]);
    assert!(
        told.contains("every entry fits the one before") && !told.contains("To mend the book"),
        "{told}"
    );
    let life =
        "SELECT incarnation <> id AND since_seq = head_seq AND moved IS NULL FROM fettle.book";
    assert_eq!(world.place.ask(life), "t");
    assert_eq!(world.place.ask("SELECT count(*) FROM fettle.answer"), "0");

    // What was there is aside, byte for byte, as lines of a journal and by itself.
    let journal = fs::read_to_string(aside.join("journal/000000000001.jsonl")).unwrap();
    assert!(
        journal.contains(&harmed) && !journal.contains("{\"seq\":4,"),
        "{journal}"
    );
    let left_out = fs::read_to_string(aside.join("left-out.bytes")).unwrap();
    assert!(left_out.contains(&harmed), "{left_out}");
    assert!(
        fs::read_to_string(aside.join("left-out.txt"))
            .unwrap()
            .contains("entry 2 in a form")
    );
    assert!(!aside.join("unfinished.txt").exists());
    let opened = refused(&fettle(Shop::Solo(&aside), &["kit", "list"]));
    assert!(
        opened.contains("has a journal but no book.json"),
        "{opened}"
    );
    world.goes_on();
}

#[test]
fn an_end_that_nothing_has_is_cut_and_told_and_what_stood_behind_it_is_kept() {
    let Some(world) = World::new() else { return };
    // One is gone that the backup has not got; what is behind it leads nowhere.
    let gone = world.head - 1;
    world.harm(&format!("DELETE FROM fettle.entry WHERE seq = {gone}"));
    let last = world.place.ask(&format!(
        "SELECT convert_from(bytes, 'UTF8') FROM fettle.entry WHERE seq = {}",
        world.head
    ));
    let aside = world.place.path("aside");
    let told = world.mended("keeper", &as_str(&world.writing(&aside)));
    for said in [
        format!("entry {gone} of the journal is missing"),
        format!("Kept: entries 1 to {}.", gone - 1),
        format!(
            "entry {}, which nothing that is kept leads up to",
            world.head
        ),
    ] {
        assert!(told.contains(&said), "{said}: {told}");
    }
    assert_eq!(
        fs::read_to_string(aside.join("left-out.bytes"))
            .unwrap()
            .matches(&last)
            .count(),
        1
    );
    let ends = format!(
        "SELECT count(*) = {0} AND max(seq) = {0} FROM fettle.entry",
        gone - 1
    );
    assert_eq!(world.place.ask(&ends), "t");
    world.goes_on();
}

#[test]
fn an_end_that_lies_elsewhere_than_the_book_says_is_mended_by_whoever_serves() {
    let Some(world) = World::new() else { return };
    // The last entry is gone where the book says that it ends, and nothing has to be taken away.
    world.harm(&format!(
        "DELETE FROM fettle.entry WHERE seq = {}",
        world.head
    ));
    let aside = world.place.path("aside");
    let told = world.mended("bench", &as_str(&world.writing(&aside)));
    let said = format!(
        "entry {0} of the journal is missing, and the book says that it ends with entry {0}",
        world.head
    );
    assert!(told.contains(&said), "{told}");
    assert!(told.contains("Nothing is left out."), "{told}");
    world.goes_on();
    // The row says less than there is: what fits the chain is kept.
    let head = world.place.ask("SELECT head_seq FROM fettle.book");
    world.harm(
        "UPDATE fettle.book SET head_seq = 3, head_chain = (SELECT chain FROM fettle.entry WHERE seq = 3)",
    );
    let again = world.place.path("again");
    let told = world.mended("bench", &as_str(&world.writing(&again)));
    assert!(told.contains("entry 4 of the journal lies behind its end, and the book says that it ends with entry 3"), "{told}");
    assert_eq!(world.place.ask("SELECT head_seq FROM fettle.book"), head);
    world.goes_on();
}

#[test]
fn what_keeps_a_book_in_an_engine_from_being_mended_is_told_and_nothing_changes() {
    let Some(world) = World::new() else { return };
    let place = &world.place;
    world.harm(HARMED);
    let aside = place.path("aside");
    let words = world.writing(&aside);
    let mended = |role: &str, more: &[&str]| world.mend(role, more).output().unwrap();

    // In use, by whom.
    let served = place.serve(&[]);
    let in_use = format!("is in use at {}", served.address());
    refuses(&mended("keeper", &as_str(&words)), 5, &in_use);
    served.stop();
    let before = world.there();

    for (more, code, told) in [
        (&["--write"][..], 2, "--aside"),
        (&["--aside", "a"], 2, "--write"),
        (
            &["--book-id", "01890000-0000-7000-8000-000000000001"],
            1,
            "has no book 01890000",
        ),
        (
            &["--with", place.path("node").to_str().unwrap()],
            1,
            "has no backup.json",
        ),
        (
            &["--write", "--aside", world.backup.to_str().unwrap()],
            1,
            "is not empty, and nothing is ever written over",
        ),
        (
            &["--write", "--aside", "/proc/nowhere"],
            1,
            "/proc/nowhere failed",
        ),
    ] {
        refuses(&mended("keeper", more), code, told);
    }
    let other = place.path("other");
    done(
        Shop::Solo(&other),
        &["start", "--kit", "big-small", "--yes"],
    );
    let of_other = place.path("of-other");
    done(
        Shop::Solo(&other),
        &["book", "backup", "--to", of_other.to_str().unwrap()],
    );
    refuses(
        &mended("keeper", &["--with", of_other.to_str().unwrap()]),
        1,
        "is of another book",
    );
    refuses(
        &mended("reports", &[]),
        1,
        "permission denied for table book",
    );
    assert!(!aside.exists());
    assert_eq!(world.there(), before);

    // Nothing of it can be proved.
    world.harm("UPDATE fettle.entry SET bytes = bytes || ' '::bytea WHERE seq = 1");
    refuses(&mended("keeper", &[]), 8, "Not one entry of ");
}

/// Whether somebody waits for what [`BEFORE_IT_BEGINS`] makes them wait for.
const WAITS: &str = "SELECT count(*) > 0 FROM pg_stat_activity
    WHERE datname = current_database() AND wait_event = 'advisory'";

/// Holds a mend up once all was read and before its first change, until the lock is let go.
const BEFORE_IT_BEGINS: &str = "
    CREATE FUNCTION wait_here() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER AS $$
    BEGIN PERFORM pg_advisory_xact_lock_shared(2202); RETURN NULL; END $$;
    CREATE TRIGGER wait_here BEFORE UPDATE OF moved ON fettle.book
        FOR EACH STATEMENT EXECUTE FUNCTION wait_here();";

/// What ended in vain, said once it is over.
fn ended(child: Child) -> Output {
    child.wait_with_output().unwrap()
}

#[test]
fn a_book_in_an_engine_that_others_change_while_it_is_mended_is_left_to_them() {
    let Some(world) = World::new() else { return };
    let place = &world.place;
    world.harm(HARMED);
    let before = world.there();
    let begun = |name: &str| {
        let mut command = world.mend("keeper", &as_str(&world.writing(&place.path(name))));
        let silent = command.stdout(Stdio::piped()).stderr(Stdio::piped());
        silent.spawn().unwrap()
    };

    // Another has the right as soon as it was taken.
    let watch = "CREATE FUNCTION depose() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER AS $$
        BEGIN NEW.holder := '{\"process\":1,\"since\":\"2026-01-01T00:00:00Z\"}'; RETURN NEW; END $$;
        CREATE TRIGGER depose BEFORE UPDATE OF holder ON fettle.book FOR EACH ROW
            WHEN (NEW.holder IS NOT NULL) EXECUTE FUNCTION depose();";
    world.harm(watch);
    let backup = world.backup.to_str().unwrap();
    let told = world.mend("keeper", &["--with", backup]).output();
    refuses(&told.unwrap(), 1, "another took the book over meanwhile");
    world.harm("DROP TRIGGER depose ON fettle.book; DROP FUNCTION depose");
    world.harm("UPDATE fettle.book SET holder = NULL");
    assert_eq!(world.there(), before);

    world.harm(BEFORE_IT_BEGINS);
    // Another takes it once all was read; then somebody adds an entry by hand.
    for (at, last, told) in [
        (
            "second",
            "UPDATE fettle.book SET holder = NULL",
            "another took the book over meanwhile",
        ),
        (
            "third",
            "INSERT INTO fettle.entry SELECT book, 99, chain, after, gen_random_uuid(), bytes FROM fettle.entry WHERE seq = 1",
            "entries were changed meanwhile",
        ),
    ] {
        let held = hold(place, "SELECT pg_advisory_lock(2202)");
        let mending = begun(at);
        until(place, "it waits", WAITS);
        world.harm(last);
        drop(held);
        refuses(&ended(mending), 1, told);
        world.harm("DELETE FROM fettle.entry WHERE seq = 99");
        assert_eq!(world.there(), before);
        assert!(!place.path(at).exists(), "nothing was changed");
    }

    // What is put there is not what comes to be there.
    world.harm(
        "CREATE FUNCTION spoil() RETURNS trigger LANGUAGE plpgsql AS $$
         BEGIN NEW.bytes := NEW.bytes || ' '::bytea; RETURN NEW; END $$;
         CREATE TRIGGER spoil BEFORE INSERT ON fettle.entry FOR EACH ROW EXECUTE FUNCTION spoil();",
    );
    refuses(
        &ended(begun("fourth")),
        8,
        "is not whole when it is read back: entry 2 of the journal ",
    );
    assert!(place.path("fourth/left-out.bytes").exists());
}

#[test]
fn a_mend_in_an_engine_that_is_cut_off_is_all_or_nothing() {
    let Some(world) = World::new() else { return };
    let place = &world.place;
    world.harm(HARMED);
    let before = world.there();
    let aside = |name: &str| world.writing(&place.path(name));

    // Killed among what it puts there.
    let held = hold(
        place,
        "BEGIN; LOCK TABLE fettle.answer IN ACCESS EXCLUSIVE MODE",
    );
    killed_while_it_waits(place, begun(world.mend("keeper", &as_str(&aside("first")))));
    drop(held);
    assert_eq!(world.there(), before);

    // Its commit is taken back by the engine.
    let ends = HELD_UP.replace(
        "pg_advisory_xact_lock_shared(2201)",
        "pg_terminate_backend(pg_backend_pid())",
    );
    place.engine.run(&place.database, &ends);
    let said = world
        .mend("keeper", &as_str(&aside("second")))
        .output()
        .unwrap();
    refuses(&said, 1, "Nothing was changed in postgres://keeper@");
    assert_eq!(world.there(), before);

    // Killed at its commit, which counts.
    let again = "DROP TRIGGER hold_up ON fettle.book; DROP FUNCTION hold_up";
    place
        .engine
        .run(&place.database, &format!("{again}; {HELD_UP}"));
    let held = hold(place, "SELECT pg_advisory_lock(2201)");
    killed_while_it_waits(place, begun(world.mend("keeper", &as_str(&aside("third")))));
    drop(held);
    until(
        place,
        "it was mended",
        "SELECT incarnation <> id FROM fettle.book",
    );
    assert_eq!(verified(&rows(place, "rows")), world.whole);
    world.goes_on();
}
