//! Devices of several books on one node, with the real binaries: paired before their book came to others and after,
//! by each kind of code, on two nodes and away from them again.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;
use tempfile::TempDir;
use uuid::Uuid;

use crate::binaries::{Fettled, Shop, done, fettle};
use crate::in_engine::{Place, fettled, refused};
use crate::many_books::until;
use crate::paired::Device;
use crate::ports::free;
use crate::python::{run_script, succeeded};

/// An engine with books, and the nodes that serve all of them.
struct Chain {
    place: Place,
    /// What is told of where devices reach the nodes.
    reached_at: [String; 2],
}

impl Chain {
    /// Without a book; none where the machine has no PostgreSQL.
    fn new() -> Option<Self> {
        let place = Place::new()?;
        let reached_at = [free(), free()];
        Some(Self { place, reached_at })
    }

    fn node_folder(&self, number: usize) -> String {
        let folder = self.place.path(&format!("node-{number}"));
        folder.to_str().unwrap().to_owned()
    }

    /// A node, which names its own address first.
    fn serve(&self, number: usize, options: &[&str]) -> Fettled {
        let (own, other) = (&self.reached_at[number], &self.reached_at[1 - number]);
        let reached = format!("{own},{other}");
        let words = ["--tls", "--listen", own, "--reached-at", &reached];
        let words = [&words[..], options].concat();
        let folder = self.node_folder(number);
        Fettled::serve_from(&self.place.url("bench"), Path::new(&folder), &words)
    }

    /// Begins a book, by the program; gives its id.
    fn begin(&self, name: &str) -> String {
        let words = ["begin", "--node", &self.node_folder(0), "--name", name];
        let said = succeeded(&fettled(&self.place.url("bench"), &words));
        assert!(
            said.contains(&format!(" called {name}, and is empty:")),
            "{said}"
        );
        book_in(&said)
    }

    /// Brings a book up that was served from a folder.
    fn bring_up(&self, book: &Path) -> String {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
        command.env("FETTLED_TO_STORE", self.place.url("bench"));
        command.args(["move", "--node", &self.node_folder(0), "--book"]);
        let said = succeeded(&command.arg(book).stdin(Stdio::null()).output().unwrap());
        said.split_whitespace().nth(2).unwrap().to_owned()
    }

    /// What a code for a device of a book is printed with, beside the first node.
    fn code(&self, book: &str, name: &str) -> String {
        self.code_beside(0, book, name)
    }

    fn code_beside(&self, number: usize, book: &str, name: &str) -> String {
        let words = ["pair", "--name", name, "--role", "own", "--node"];
        let more = [&self.node_folder(number), "--book-id", book];
        succeeded(&fettled(
            &self.place.url("bench"),
            &[&words[..], &more].concat(),
        ))
    }

    /// The certificate that the devices of a book hold on to.
    fn authority(&self, book: &str) -> String {
        let paper = format!(
            "SELECT convert_from(bytes, 'UTF8') FROM fettle.paper WHERE book = '{book}' AND kind = 'authority'"
        );
        self.place.ask(&paper).replace('\r', "").trim().to_owned()
    }
}

/// The id of the book that is printed first.
pub(crate) fn book_in(said: &str) -> String {
    let ids = said
        .split_whitespace()
        .filter(|word| word.parse::<Uuid>().is_ok());
    ids.map(str::to_owned)
        .next()
        .unwrap_or_else(|| panic!("{said}"))
}

/// The word of what is printed that begins so.
fn word<'a>(said: &'a str, start: &str) -> &'a str {
    let found = said.split_whitespace().find(|word| word.starts_with(start));
    found.unwrap_or_else(|| panic!("{start}: {said}"))
}

/// Pairs a device by a code.
fn paired(code: &str) -> TempDir {
    let home = tempfile::tempdir().unwrap();
    done(Shop::Paired(home.path()), &["shop", "pair", code]);
    home
}

/// What a device holds.
fn held(home: &TempDir, what: &str) -> String {
    let text = fs::read(home.path().join("shop.json")).unwrap();
    let held: Value = serde_json::from_slice(&text).unwrap();
    held[what].as_str().unwrap().trim().to_owned()
}

/// The cars of a device's book: each book has one that is its own.
fn cars(home: &TempDir) -> String {
    done(Shop::Paired(home.path()), &["car", "list", "--csv"])
}

fn add_car(home: &TempDir, name: &str) {
    let words = ["car", "add", name, "--class", "medium-saloon"];
    done(Shop::Paired(home.path()), &words);
}

#[test]
fn devices_of_several_books_go_on_on_two_nodes_and_away_from_them_however_they_were_paired() {
    let Some(chain) = Chain::new() else { return };
    // A shop of its own, with a device that knows nothing of others.
    let book = chain.place.path("book");
    let served = Fettled::serve_tls(&book);
    let early = Device::pair(&book, "van-e", "own");
    done(
        early.shop(),
        &["car", "add", "east-car", "--class", "medium-saloon"],
    );
    served.stop();
    let (north, south) = (chain.begin("north"), chain.begin("south"));
    let east = chain.bring_up(&book);

    let first = chain.serve(0, &[]);
    // It says which certificate it believes, and is shown that.
    done(early.shop(), &["shop", "address", first.address()]);
    done(early.shop(), &["car", "list"]);
    let url = chain.place.url("bench");
    let words = ["pair", "--name", "van-n", "--role", "own", "--node"];
    let unsaid = fettled(&url, &[&words[..], &[&chain.node_folder(0)]].concat());
    assert_eq!(unsaid.status.code(), Some(2));
    let unsaid = refused(&unsaid);
    for told in [
        format!("{north} north, 0 entries"),
        format!("{south} south, 0 entries"),
        format!("{east} no name, 1 entry"),
    ] {
        assert!(unsaid.contains(&told), "{told}: {unsaid}");
    }
    // By each kind of code into the book that it is of, and to hold on to that book's own certificate.
    let by_long = paired(word(&chain.code(&north, "van-n"), "FETTLE:"));
    let typed = chain.code(&south, "van-s");
    let by_typed = paired(word(&typed, &format!("{}/", first.address())));
    for (home, book, name) in [
        (&by_long, &north, "north-car"),
        (&by_typed, &south, "south-car"),
    ] {
        assert_eq!(held(home, "book_id"), *book);
        assert_eq!(held(home, "certificate"), chain.authority(book));
        add_car(home, name);
    }
    assert_ne!(chain.authority(&north), chain.authority(&south));
    by_page(&chain, &first, &south);
    by_script(&chain, &by_long);
    wrong_codes(&chain, &north);

    // Another node needs nothing but the seal, and takes over.
    fs::create_dir(chain.node_folder(1)).unwrap();
    let seal = |number| Path::new(&chain.node_folder(number)).join("seal.key");
    fs::copy(seal(0), seal(1)).unwrap();
    let (given, key) = (chain.place.path("given.pem"), chain.place.path("given.key"));
    let root = given_certificate(&chain, &given, &key);
    let words = [
        "--certificate",
        given.to_str().unwrap(),
        "--key",
        key.to_str().unwrap(),
    ];
    let second = chain.serve(1, &words);
    first.stop();
    for (home, own) in [(&by_long, "north-car"), (&by_typed, "south-car")] {
        let listed = cars(home);
        let of_others = ["north-car", "south-car", "east-car"].iter();
        let mut of_others = of_others.filter(|car| **car != own);
        assert!(listed.contains(own), "{own}: {listed}");
        assert!(!of_others.any(|car| listed.contains(car)), "{listed}");
    }
    done(early.shop(), &["shop", "address", second.address()]);
    let listed = done(early.shop(), &["car", "list", "--csv"]);
    assert!(listed.contains("east-car"), "{listed}");
    // Whoever gives a certificate has new devices hold on to that, and shows others their own still.
    let by_given = paired(word(&chain.code_beside(1, &south, "van-g"), "FETTLE:"));
    assert_eq!(held(&by_given, "certificate"), root);
    assert!(cars(&by_given).contains("south-car"));
    second.stop();

    // A book that leaves takes its devices along, those too that came in beside the others.
    let own = chain.place.path("own");
    let words = [
        "move",
        "--to-book",
        own.to_str().unwrap(),
        "--book-id",
        &north,
        "--node",
    ];
    succeeded(&fettled(
        &url,
        &[&words[..], &[&chain.node_folder(0)]].concat(),
    ));
    let served = Fettled::serve_tls(&own);
    let shop = Shop::Paired(by_long.path());
    done(shop, &["shop", "address", served.address()]);
    assert!(cars(&by_long).contains("north-car"));
}

/// Who asks at once with a token that is wrong; more than are looked at from one place. Source: `WRONG_TRIES_MAX`.
const STRANGERS: usize = 12;

#[test]
fn a_book_is_opened_for_its_devices_alone_and_others_hear_what_it_would_say_itself() {
    let Some(chain) = Chain::new() else { return };
    let (north, _) = (chain.begin("north"), chain.begin("south"));
    let _node = chain.serve(0, &["--let-go-after", "1s"]);
    let pair = |name: &str| paired(word(&chain.code(&north, name), "FETTLE:"));
    let (van, lost) = (pair("van-n"), pair("van-x"));
    add_car(&van, "north-car");
    done(
        Shop::Paired(van.path()),
        &["shop", "devices", "--revoke", "van-x"],
    );
    let of_row = |what: &str| {
        let row = format!("SELECT {what} FROM fettle.book WHERE id = '{north}'");
        chain.place.ask(&row)
    };
    let asks = |home: &TempDir| {
        let shop = Shop::Paired(home.path());
        refused(&fettle(shop, &["--now", "car", "list"]))
    };
    let stranger = guessing(&van);
    let before = of_row("epoch");
    until("it is let go, though a stranger asks for it", || {
        drop(asks(&stranger));
        of_row("holder IS NULL") == "t"
    });
    let said = asks(&lost);
    assert!(said.contains("The device van-x was revoked."), "{said}");
    let [unknown, too_many] = [
        "The token is not one that this book gave.",
        "Too many tokens",
    ];
    let said = asks(&stranger);
    assert!(said.contains(unknown), "{said}");
    let said = std::thread::scope(|all| {
        let asking: Vec<_> = (0..STRANGERS)
            .map(|_| all.spawn(|| asks(&stranger)))
            .collect();
        let said = asking.into_iter().map(|one| one.join().unwrap());
        said.collect::<Vec<_>>()
    });
    let of = |words: &str| said.iter().filter(|said| said.contains(words)).count();
    assert_eq!(of(unknown) + of(too_many), STRANGERS, "{said:?}");
    assert!(of(too_many) > 0, "{said:?}");
    assert_eq!([of_row("epoch"), of_row("holder IS NULL")], [&*before, "t"]);

    // A good token always passes, from there too.
    assert!(cars(&van).contains("north-car"));
    let after: i64 = of_row("epoch").parse().unwrap();
    assert_eq!(after, before.parse::<i64>().unwrap() + 1);
}

/// Another who knows all that a device does, but for the secret of its token.
fn guessing(device: &TempDir) -> TempDir {
    let home = tempfile::tempdir().unwrap();
    let [of_device, own] = [device, &home].map(|home| home.path().join("shop.json"));
    // With its mode: what others may read is not used.
    fs::copy(&of_device, &own).unwrap();
    let token = held(device, "token");
    let (start, secret) = token.rsplit_once('.').unwrap();
    let wrong = format!("{start}.{}", "A".repeat(secret.len()));
    let text = fs::read_to_string(&own).unwrap();
    fs::write(&own, text.replace(&token, &wrong)).unwrap();
    home
}

/// Writes a certificate and its key that are not of any book here; gives the one that the other rests on.
fn given_certificate(chain: &Chain, certificate: &Path, key: &Path) -> String {
    let folder = chain.place.path("elsewhere");
    Fettled::serve_tls(&folder).stop();
    let made = |name: &str| fs::read_to_string(folder.join("access").join(name)).unwrap();
    fs::write(certificate, made("leaf.pem") + &made("authority.pem")).unwrap();
    fs::write(key, made("leaf.key")).unwrap();
    made("authority.pem").replace('\r', "").trim().to_owned()
}

/// A telephone opens the page without a token, pairs by a code, and sees the kit of that book.
fn by_page(chain: &Chain, node: &Fettled, book: &str) {
    let code = chain.code(book, "telephone");
    let (_, letters) = word(&code, "https://").rsplit_once('#').unwrap();
    let Some(output) = run_script("page_pairs.py", &["ssl"], &[node.address(), letters]) else {
        return;
    };
    let said = succeeded(&output);
    let said: Vec<&str> = said.lines().collect();
    assert_eq!(said[..3], ["200", "303", "200"], "{said:?}");
}

/// What is of no book is refused, and soon not looked at.
fn wrong_codes(chain: &Chain, book: &str) {
    let good = word(&chain.code(book, "van-x"), "FETTLE:").to_owned();
    let (start, _) = good.rsplit_once('/').unwrap();
    let wrong = format!("{start}/ABCDEFGHIJ234567");
    let home = tempfile::tempdir().unwrap();
    let mut last = String::new();
    for _ in 0..11 {
        last = refused(&fettle(
            Shop::Paired(home.path()),
            &["shop", "pair", &wrong],
        ));
        if last.contains("Too many") {
            break;
        }
        assert!(last.contains("No pairing code that is open"), "{last}");
    }
    assert!(last.contains("Too many tokens or codes"), "{last}");
}

/// A script says in no handshake what it believes: it holds on to what everyone is shown.
fn by_script(chain: &Chain, home: &TempDir) {
    let folder = chain.place.path("keys");
    fs::create_dir(&folder).unwrap();
    let to = folder.to_str().unwrap();
    let words = ["shop", "export-key", "--for", "report", "--to", to];
    done(Shop::Paired(home.path()), &words);
    let held = fs::read_to_string(folder.join("report.pem")).unwrap();
    let of_all = chain.authority("00000000-0000-0000-0000-000000000000");
    assert_eq!(held.trim(), of_all);
}
