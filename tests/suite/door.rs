//! What everyone is shown by a node whose engine gets a second book, with the real binaries: devices with `fettle`,
//! codes made before a node runs and beside it, and scripts, which say in no handshake what they believe.

use std::fs;
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::Output;
use std::time::{Duration, Instant};

use tempfile::TempDir;

use crate::binaries::{Fettled, Shop, done, fettle, json};
use crate::devices_of_many::book_in;
use crate::in_engine::{Place, fettled, refused};
use crate::ports::free;
use crate::python::{run_script, succeeded};

/// A node looks every two seconds which books there are. Source: the README.
const SEEN_WITHIN: Duration = Duration::from_secs(20);

/// Begins a book; gives its id and what was said.
fn begin(place: &Place, name: &str) -> (String, String) {
    let node = place.path("node");
    let words = ["begin", "--node", node.to_str().unwrap(), "--name", name];
    let said = succeeded(&fettled(&place.url("bench"), &words));
    (book_in(&said), said)
}

/// The two forms of a code for an owner of a book, made beside a node: typed and long.
fn codes(place: &Place, book: Option<&str>, name: &str, options: &[&str]) -> (String, String) {
    let node = place.path("node");
    let words = ["pair", "--name", name, "--role", "own", "--node"];
    let words = [&words[..], &[node.to_str().unwrap()], options].concat();
    let book = book.map(|book| ["--book-id", book]);
    let words = [&words[..], book.as_ref().map_or(&[], |book| &book[..])].concat();
    let said = succeeded(&fettled(&place.url("bench"), &words));
    let after = |start: &str| {
        let rest = said.split_once(start).unwrap().1;
        rest.split_whitespace().next().unwrap().to_owned()
    };
    (after("fettle shop pair "), after("code         "))
}

/// Pairs a device by a code.
fn tried(code: &str) -> (TempDir, Output) {
    let home = tempfile::tempdir().unwrap();
    let out = fettle(Shop::Paired(home.path()), &["shop", "pair", code]);
    (home, out)
}

fn paired(code: &str) -> TempDir {
    let (home, out) = tried(code);
    succeeded(&out);
    home
}

/// The same, for a node that has yet to see that there is another book.
fn paired_soon(code: &str) -> TempDir {
    let until = Instant::now() + SEEN_WITHIN;
    loop {
        let (home, out) = tried(code);
        if out.status.success() {
            return home;
        }
        assert!(Instant::now() < until, "{}", refused(&out));
        std::thread::sleep(Duration::from_millis(500));
    }
}

/// The book that a device is paired with, as it is asked for it.
fn book_of(home: &TempDir) -> String {
    let told = json(Shop::Paired(home.path()), &["shops"]);
    told["shops"][0]["bookId"].as_str().unwrap().to_owned()
}

/// A key for a script, by a device that owns the shop; gives the folder's two files.
fn key(home: &TempDir, to: &Path, name: &str) -> [PathBuf; 2] {
    let to_text = to.to_str().unwrap();
    let words = ["shop", "export-key", "--for", name, "--to", to_text];
    done(Shop::Paired(home.path()), &words);
    ["pem", "token"].map(|kind| to.join(format!("{name}.{kind}")))
}

/// What a script comes to that believes a certificate alone: the status of its call, or why it does not believe.
fn asked(node: &Fettled, [pem, token]: &[PathBuf; 2]) -> Option<String> {
    let args = [node.address(), pem.to_str()?, token.to_str()?];
    let out = run_script("grpc_web_by_key.py", &["ssl"], &args)?;
    Some(succeeded(&out).trim().to_owned())
}

fn serve(place: &Place, listen: &str, options: &[&str]) -> Fettled {
    let words = [&["--tls", "--listen", listen], options].concat();
    Fettled::serve_from(&place.url("bench"), &place.path("node"), &words)
}

#[test]
fn a_second_book_has_its_devices_let_in_by_a_node_that_was_started_with_one() {
    let Some(place) = Place::new() else { return };
    let (north, said) = begin(&place, "north");
    assert!(!said.contains("export-key"), "{said}");
    let listen = free();
    let node = serve(&place, &listen, &[]);
    let early = paired(&codes(&place, None, "van-n", &[]).0);
    let keys = place.path("keys");
    fs::create_dir(&keys).unwrap();
    let script = key(&early, &keys, "early");
    // Beside one book a script needs to say nothing.
    let before = asked(&node, &script);
    assert!(
        before.as_deref().is_none_or(|said| said == "0"),
        "{before:?}"
    );

    let (south, said) = begin(&place, "south");
    assert!(said.contains("fettle shop export-key"), "{said}");
    // What it says to type works as it stands where the environment names the engine, as here.
    let to_type = format!(
        "fettled pair --node {} --book-id {south}",
        place.path("node").display()
    );
    assert!(said.contains(&to_type), "{said}");
    let (typed, _) = codes(&place, Some(&south), "van-s", &["--at", &listen]);
    let by_typed = paired_soon(&typed);
    let by_long = paired(&codes(&place, Some(&south), "van-l", &["--at", &listen]).1);
    assert_eq!([book_of(&by_typed), book_of(&by_long)], [&*south, &*south]);
    // Those of the first book go on, and invite others: by a code for what everyone is shown now.
    assert_eq!(book_of(&early), north);
    let invited = json(
        Shop::Paired(early.path()),
        &["shop", "pair", "--name", "van-i"],
    );
    for form in ["typedCode", "code"] {
        let (home, out) = tried(invited[form].as_str().unwrap());
        if form == "typedCode" {
            succeeded(&out);
            assert_eq!(book_of(&home), north);
        } else {
            assert!(refused(&out).contains("used"), "{}", refused(&out));
        }
    }
    // A script of before cannot say what it believes: it is told so by its own library, and has a new key.
    if let Some(said) = asked(&node, &script) {
        assert!(said.contains("certificate verify failed"), "{said}");
    }
    for (home, name) in [(&early, "north-later"), (&by_long, "south-later")] {
        let script = key(home, &keys, name);
        let said = asked(&node, &script);
        assert!(said.as_deref().is_none_or(|said| said == "0"), "{said:?}");
    }
    node.stop();

    // Nothing is another after a restart, whatever a node noted before.
    let code = codes(&place, Some(&south), "van-r", &[]).0;
    let node = serve(&place, &listen, &[]);
    assert_eq!(book_of(&paired(&code)), south);
    assert_eq!([book_of(&early), book_of(&by_typed)], [&*north, &*south]);
    node.stop();
}

#[test]
fn a_node_for_one_of_several_books_shows_what_a_code_says_that_was_made_before_it_ran() {
    let Some(place) = Place::new() else { return };
    let books = ["north", "south"].map(|name| begin(&place, name).0);
    assert!(!place.path("node").exists());
    let listen = free();
    let (typed, _) = codes(&place, Some(&books[1]), "van-a", &["--at", &listen]);
    let (_, long) = codes(&place, Some(&books[1]), "van-b", &["--at", &listen]);
    let node = serve(&place, &listen, &["--book-id", &books[1]]);
    let devices = [paired(&typed), paired(&long)];
    let beside = codes(&place, Some(&books[1]), "van-c", &[]).0;
    for home in devices.iter().chain([&paired(&beside)]) {
        assert_eq!(book_of(home), books[1]);
    }
    node.stop();
}

/// As a node of one book is: nobody could come in, so that it would be open to strangers alone.
#[test]
fn a_node_of_several_books_off_this_machine_wants_somebody_who_can_come_in() {
    let Some(place) = Place::new() else { return };
    let books = ["north", "south"].map(|name| begin(&place, name).0);
    let node = place.path("node");
    let words = ["--listen", "0.0.0.0:0", "--node", node.to_str().unwrap()];
    let said = refused(&fettled(&place.url("bench"), &words));
    for told in [
        "any of the 2 books",
        "fettled pair --store URL --node",
        "--book-id ID --name bench --role own",
        "fettle shop pair CODE",
    ] {
        assert!(said.contains(told), "{told}: {said}");
    }
    // A code for one of them is enough, whichever it is: it comes as far as what is wrong next.
    codes(&place, Some(&books[1]), "bench", &[]);
    let held = TcpListener::bind("127.0.0.1:0").unwrap();
    let taken = held.local_addr().unwrap().to_string();
    let words = [&words[..], &["--metrics", &taken]].concat();
    let said = refused(&fettled(&place.url("bench"), &words));
    assert!(
        said.contains(&format!("Nothing can listen on {taken}")),
        "{said}"
    );
}
