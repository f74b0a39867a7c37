//! A shop through clients that we did not write: over TLS, with the tokens of its devices. They do a
//! day's work, meet every refusal of such a day, and are told why they are not let in.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::{SignedDuration, Timestamp};
use serde_json::Value;
use tempfile::TempDir;
use uuid::Uuid;

use crate::binaries::{Fettled, done, kept_demo};
use crate::clients;
use crate::paired::{Device, authority, code, secret};

/// Longer than a code is open. Source: the contract, InviteDevice: ten minutes.
const AGED: SignedDuration = SignedDuration::from_mins(11);

/// The demo's book in a folder that is removed at the end.
fn shop() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    (folder, book)
}

/// Has every client that is here do something over TLS, with these further options; says how many did.
fn all(fettled: &Fettled, book: &Path, what: &str, options: &[&str]) -> usize {
    let authority = authority(book);
    let mut given = vec!["--ca", authority.to_str().unwrap()];
    given.extend(options);
    let working = clients::start(fettled.address(), what, &given);
    let count = working.count();
    working.finish();
    count
}

/// What is recorded, byte by byte.
fn journal(book: &Path) -> Vec<u8> {
    fs::read(book.join("journal/000000000001.jsonl")).unwrap()
}

/// Uses of kit that a device reported.
fn uses_by(book: &Path, device: &str) -> usize {
    let text = String::from_utf8(journal(book)).unwrap();
    let lines = text.lines().filter(|line| line.starts_with('{'));
    let entries = lines.map(|line| serde_json::from_str::<Value>(line).unwrap()["entry"].take());
    let uses = entries.filter(|entry| {
        let note = entry["note"].as_str().unwrap_or_default();
        entry["by"] == device && note.starts_with("job ")
    });
    uses.count()
}

#[test]
fn three_clients_of_a_shop_meet_every_refusal_of_an_ordinary_day_and_do_a_vans_work() {
    let (_folder, book) = shop();
    let fettled = Fettled::serve_tls(&book);
    let owner = Device::pair(&book, "bench", "own");
    let keeper = Device::pair(&book, "desk", "keep");
    let van = Device::pair(&book, "van-a", "work");
    all(&fettled, &book, "rows", &["--token", &owner.token]);
    let keep = format!("keep={}", keeper.token);
    let options = ["--token", &van.token, "--as", &keep];
    let count = all(&fettled, &book, "use", &options);
    fettled.stop();
    // Each logged in the name of the van, once, though each sent it twice.
    assert_eq!(uses_by(&book, "van-a"), count);
}

/// Makes a code and lets eleven minutes go by for it: every moment that stands in the file of the codes is
/// put back by as much. The clock of the machine stays as it is, and nobody waits.
fn aged_code(book: &Path) -> String {
    let code = code(book, "late", "work");
    let path = book.join("access/codes.json");
    let mut file: Value = serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
    let codes = file["codes"].as_array_mut().unwrap();
    let late = codes.iter_mut().find(|code| code["name"] == "late");
    let late = late.unwrap();
    for moment in ["made_at", "expires_at"] {
        let told: Timestamp = late[moment].as_str().unwrap().parse().unwrap();
        late[moment] = (told - AGED).to_string().into();
    }
    fs::write(&path, serde_json::to_vec(&file).unwrap()).unwrap();
    code
}

/// The token of a device of another book, and its service is gone.
fn other_books_token() -> String {
    let other = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve_tls(other.path());
    let device = Device::pair(other.path(), "bench", "own");
    fettled.stop();
    device.token
}

/// A token as the book might have given it, for a device that it never heard of.
fn strangers_token(token: &str) -> String {
    let parts: Vec<&str> = token.split('.').collect();
    let nobody = Uuid::now_v7().simple().to_string();
    [parts[0], &nobody, parts[2]].join(".")
}

#[test]
fn three_clients_are_told_why_they_are_not_let_in() {
    let (_folder, book) = shop();
    let fettled = Fettled::serve_tls(&book);
    let owner = Device::pair(&book, "bench", "own");
    let looker = Device::pair(&book, "tablet", "look");
    let lost = Device::pair(&book, "van-b", "work");
    done(owner.shop(), &["shop", "devices", "--revoke", "van-b"]);
    let expired = aged_code(&book);
    let options = [
        ("--as", format!("own={}", owner.token)),
        ("--as", format!("look={}", looker.token)),
        ("--as", format!("revoked={}", lost.token)),
        ("--as", format!("other-book={}", other_books_token())),
        (
            "--as",
            format!("stranger={}", strangers_token(&owner.token)),
        ),
        ("--given", format!("used_secret={}", owner.code_secret)),
        ("--given", format!("expired_secret={}", secret(&expired))),
        ("--given", "unknown_secret=AAAAAAAAAAAAAAAA".to_owned()),
    ];
    let options: Vec<&str> = options
        .iter()
        .flat_map(|(option, text)| [*option, text])
        .collect();
    // Three clients at one address have ten wrong tries in a minute; a service that is started again
    // has counted none.
    all(
        &fettled,
        &book,
        "TOKEN_MISSING TOKEN_UNKNOWN TOKEN_OTHER_BOOK ROLE_TOO_LOW",
        &options,
    );
    fettled.stop();
    let fettled = Fettled::serve_tls(&book);
    let codes = "DEVICE_REVOKED CODE_UNKNOWN CODE_EXPIRED CODE_USED";
    all(&fettled, &book, codes, &options);
    // Whoever has a good token is answered after all the wrong tries, too.
    all(&fettled, &book, "TRIES_USED_UP", &options);
    all(&fettled, &book, "DEVICE_UNKNOWN LAST_OWNER", &options);
    fettled.stop();
}

#[test]
fn in_the_clear_or_with_trust_in_somebody_else_there_is_no_way_in_and_nothing_is_recorded() {
    let (_folder, book) = shop();
    let fettled = Fettled::serve_tls(&book);
    let owner = Device::pair(&book, "bench", "own");
    let other = tempfile::tempdir().unwrap();
    Fettled::serve_tls(other.path()).stop();
    let before = journal(&book);
    let other_authority = authority(other.path());
    let wrong = ["--ca", other_authority.to_str().unwrap()];
    for way in [&[][..], &wrong] {
        let mut options = vec!["--token", &owner.token];
        options.extend(way);
        clients::start(fettled.address(), "unreached", &options).finish();
    }
    assert!(journal(&book) == before, "something was recorded");
    // The same wash, with the right trust, is.
    done(owner.shop(), &["wash", "P-01"]);
    assert!(journal(&book) != before);
    fettled.stop();
}
