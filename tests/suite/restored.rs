//! A book that is brought back from a backup into an engine, with the real binaries: whole, as another life of it,
//! with nobody let in who was before, and all or nothing.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use crate::binaries::{Fettled, Shop, done, fettle, json};
use crate::in_engine::{Place, ROLES, fettled, refused, tables, verified};
use crate::moved::{
    HELD_UP, begun, code_for_a_van, down, hold, killed_while_it_waits, rows, some_book, until, up,
};
use crate::python::succeeded;

/// `fettled restore` of a backup, not started yet.
fn restore(place: &Place, role: &str, backup: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
    command.env("FETTLED_STORE", place.url(role)).arg("restore");
    command.arg("--from").arg(backup);
    command.arg("--node").arg(place.path("node"));
    command.stdin(Stdio::null());
    command
}

fn restored(place: &Place, backup: &Path) -> String {
    succeeded(&restore(place, "bench", backup).output().unwrap())
}

/// That it is refused with these words and this exit code.
fn refuses(output: &Output, code: i32, told: &str) {
    assert_eq!(output.status.code(), Some(code), "{output:?}");
    let said = refused(output);
    assert!(said.contains(told), "{told}: {said}");
}

/// A backup of what is served.
fn backed_up(place: &Place, shop: Shop<'_>, name: &str) -> PathBuf {
    let backup = place.path(name);
    done(shop, &["book", "backup", "--to", backup.to_str().unwrap()]);
    backup
}

/// Everything that is there of books.
fn there(place: &Place) -> String {
    place.ask("SELECT * FROM fettle.book") + &place.ask("SELECT * FROM fettle.paper")
}

#[test]
fn a_backup_comes_back_into_an_engine_as_another_life_that_lets_nobody_in() {
    let Some(place) = Place::new() else { return };
    let book = place.path("book");
    let served = Fettled::serve_tls(&book);
    let home = tempfile::tempdir().unwrap();
    let van = Shop::Paired(home.path());
    done(van, &["shop", "pair", &code_for_a_van(&book)]);
    done(van, &["start", "--kit", "big-small", "--yes"]);
    done(van, &["wash", "P-01"]);
    let backup = backed_up(&place, van, "backup");
    let head = json(van, &["book", "where"])["book"]["headSeq"].clone();
    served.stop();

    let mut command = restore(&place, "bench", &backup);
    let told = succeeded(&command.args(["--name", "north"]).output().unwrap());
    let id = place.ask("SELECT id FROM fettle.book WHERE name = 'north'");
    for said in [
        format!("The book {id} with "),
        format!("It goes on after entry {}", head.as_str().unwrap()),
        format!("--book-id {id} --name bench"),
    ] {
        assert!(told.contains(&said), "{said}: {told}");
    }
    assert_eq!(
        verified(&rows(&place, "rows")),
        verified(&backup.join("journal"))
    );
    let life = "SELECT incarnation <> id AND since_seq = head_seq AND head_seq = max(seq)
                       AND count(request) = count(*)
                FROM fettle.book, fettle.entry GROUP BY fettle.book.id";
    assert_eq!(place.ask(life), "t");
    assert_eq!(place.ask("SELECT count(*) FROM fettle.paper"), "0");

    // It is there now, and nothing is written over.
    let before = there(&place);
    refuses(
        &restore(&place, "bench", &backup).output().unwrap(),
        5,
        &format!("has the book {id} already, and nothing is ever written over."),
    );
    assert_eq!(there(&place), before);

    // It goes on, verified, and lets in whoever is paired anew and nobody else.
    let served = place.serve(&["--tls"]);
    let node = place.path("node");
    let words = ["pair", "--name", "van-b", "--role", "own", "--node"];
    let words = [&words[..], &[node.to_str().unwrap()]].concat();
    let made = succeeded(&fettled(&place.url("bench"), &words));
    let code = made
        .split_whitespace()
        .find(|word| word.starts_with("FETTLE:"));
    let other = tempfile::tempdir().unwrap();
    let newcomer = Shop::Paired(other.path());
    done(newcomer, &["shop", "pair", code.unwrap()]);
    assert_eq!(json(newcomer, &["book", "verify"])["whole"], true);
    done(newcomer, &["wash", "P-02"]);
    let old = fettle(van, &["shop", "address", served.address()]);
    assert!(!old.status.success(), "{old:?}");
    assert_eq!(
        place.ask(&format!(
            "SELECT head_seq > {} AND since_seq = {0} FROM fettle.book",
            head.as_str().unwrap()
        )),
        "t"
    );
}

#[test]
fn what_cannot_be_brought_back_is_told_and_nothing_changes() {
    let Some(place) = Place::new() else { return };
    let book = some_book(&place, "book");
    let backup = backed_up(&place, Shop::Solo(&book), "backup");
    let node = place.path("node");
    let words = ["restore", "--from", backup.to_str().unwrap(), "--node"];
    let words = [&words[..], &[node.to_str().unwrap()]].concat();
    for (url, told) in [
        (
            "postgres://bench@127.0.0.1",
            "The address in --store cannot be used: it names no database",
        ),
        (
            "postgres://bench@127.0.0.1:1/kit",
            "bench@127.0.0.1:1/kit cannot be used: it cannot be reached:",
        ),
        (
            &place.url("stranger"),
            "permission denied for schema fettle",
        ),
        (&place.url("reports"), "permission denied for table book"),
    ] {
        refuses(&fettled(url, &words), 1, told);
    }
    refuses(
        &restore(&place, "bench", &book).output().unwrap(),
        1,
        "has no backup.json: it is not a backup",
    );
    for (more, says) in [
        (&["--name", ""][..], "north"),
        (&["--from", "again"], "--from"),
    ] {
        refuses(
            &restore(&place, "bench", &backup)
                .args(more)
                .output()
                .unwrap(),
            2,
            says,
        );
    }
    let mut versions = String::from("INSERT INTO fettle.schema_version VALUES (9)");
    for told in ["were made by a later fettled", "fettled tables --from 1 |"] {
        place.engine.run(&place.database, &versions);
        refuses(
            &restore(&place, "bench", &backup).output().unwrap(),
            1,
            told,
        );
        "DELETE FROM fettle.schema_version WHERE version > 1".clone_into(&mut versions);
    }
    assert_eq!(there(&place), "");
    place
        .engine
        .run(&place.database, "DROP SCHEMA fettle CASCADE");
    refuses(
        &restore(&place, "bench", &backup).output().unwrap(),
        1,
        "has no tables for books.",
    );
    place
        .engine
        .run(&place.database, &[tables(&[]).as_str(), ROLES].concat());

    // Changed since it was made.
    let segment = backup.join("journal/000000000001.jsonl");
    let text = fs::read_to_string(&segment).unwrap();
    fs::write(&segment, text.replacen("\"did\":\"", "\"did\":\"x", 1)).unwrap();
    refuses(
        &restore(&place, "bench", &backup).output().unwrap(),
        8,
        "is damaged",
    );
    assert_eq!(there(&place), "");
}

#[test]
fn a_restore_into_an_engine_that_is_cut_off_is_all_or_nothing() {
    let Some(place) = Place::new() else { return };
    let book = some_book(&place, "book");
    let backup = backed_up(&place, Shop::Solo(&book), "backup");
    let count = |place: &Place| {
        place.ask("SELECT (SELECT count(*) FROM fettle.book) + (SELECT count(*) FROM fettle.entry)")
    };

    // Killed among its entries.
    let held = hold(
        &place,
        "BEGIN; LOCK TABLE fettle.entry IN ACCESS EXCLUSIVE MODE",
    );
    killed_while_it_waits(&place, begun(restore(&place, "bench", &backup)));
    drop(held);
    assert_eq!(count(&place), "0");

    // Its commit is taken back by the engine.
    let ends = HELD_UP.replace(
        "pg_advisory_xact_lock_shared(2201)",
        "pg_terminate_backend(pg_backend_pid())",
    );
    place.engine.run(&place.database, &ends);
    refuses(
        &restore(&place, "bench", &backup).output().unwrap(),
        1,
        "Nothing was changed in postgres://bench@",
    );
    assert_eq!(count(&place), "0");

    // Killed at its commit, which counts: whoever says it again is told that the book is there.
    let again = "DROP TRIGGER hold_up ON fettle.book; DROP FUNCTION hold_up";
    place
        .engine
        .run(&place.database, &format!("{again}; {HELD_UP}"));
    let held = hold(&place, "SELECT pg_advisory_lock(2201)");
    killed_while_it_waits(&place, begun(restore(&place, "bench", &backup)));
    drop(held);
    until(&place, "it came", "SELECT count(*) = 1 FROM fettle.book");
    refuses(
        &restore(&place, "bench", &backup).output().unwrap(),
        5,
        "already, and nothing is ever written over.",
    );
    let served = place.serve(&[]);
    done(Shop::At(&served.url), &["wash", "P-02"]);
}

#[test]
fn a_book_that_left_an_engine_comes_back_from_a_later_backup_without_its_devices() {
    let Some(place) = Place::new() else { return };
    let book = some_book(&place, "book");
    let early = backed_up(&place, Shop::Solo(&book), "early");
    done(Shop::Solo(&book), &["wash", "P-02"]);
    let served = Fettled::serve_tls(&book);
    let home = tempfile::tempdir().unwrap();
    let van = Shop::Paired(home.path());
    done(van, &["shop", "pair", &code_for_a_van(&book)]);
    served.stop();
    succeeded(&up(&place, "bench", &book).output().unwrap());
    let away = place.path("away");
    succeeded(&down(&place, &away).output().unwrap());
    done(Shop::Solo(&away), &["wash", "P-01"]);
    let late = backed_up(&place, Shop::Solo(&away), "late");
    let papers = "SELECT count(*) FROM fettle.paper WHERE bytes <> ''";
    assert_eq!(place.ask(papers), "4");

    // One that lacks what is there; and one that may have arrived where it went.
    let before = there(&place);
    refuses(
        &restore(&place, "bench", &early).output().unwrap(),
        1,
        "is not the one that comes",
    );
    assert_eq!(there(&place), before);
    let arrived = |from: &str, to: &str| {
        let said = format!(
            "UPDATE fettle.book SET moved = replace(moved, '\"arrived\":{from}', '\"arrived\":{to}')"
        );
        place.engine.run(&place.database, &said);
    };
    arrived("true", "false");
    refuses(
        &restore(&place, "bench", &late).output().unwrap(),
        1,
        "was on its way to ",
    );
    arrived("false", "true");
    assert_eq!(there(&place), before);

    let told = restored(&place, &late);
    let went = format!(":{} on ", away.display());
    assert!(
        told.contains("It had moved from there to ") && told.contains(&went),
        "{told}"
    );
    assert_eq!(place.ask(papers), "0");
    assert_eq!(
        verified(&rows(&place, "rows")),
        verified(&late.join("journal"))
    );

    // Where it went it was brought back from a backup too, and moves up: what that folder has not got lets nobody in
    // from here.
    let served = place.serve(&["--tls"]);
    served.stop();
    let again = place.path("again");
    succeeded(&down(&place, &again).output().unwrap());
    assert_ne!(place.ask(papers), "0");
    let third = place.path("third");
    let words = ["book", "restore", "--from", late.to_str().unwrap(), "--to"];
    done(
        Shop::Solo(&third),
        &[&words[..], &[third.to_str().unwrap()]].concat(),
    );
    succeeded(&up(&place, "bench", &third).output().unwrap());
    assert_eq!(place.ask(papers), "0");
    let served = place.serve(&["--tls"]);
    let old = fettle(van, &["shop", "address", served.address()]);
    assert!(!old.status.success(), "{old:?}");
}
