//! Books that come and go by `fettled move` while a node serves.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use uuid::Uuid;

use crate::binaries::{Shop, done};
use crate::in_engine::refused;
use crate::many_books::{World, asked, channel, reason, until};
use crate::python::succeeded;

/// A book in a folder, and its id.
fn some_book(world: &World, name: &str) -> (PathBuf, Uuid) {
    let book = world.path(name);
    done(Shop::Solo(&book), &["start", "--kit", "big-small", "--yes"]);
    let told = std::fs::read_to_string(book.join("book.json")).unwrap();
    let told: serde_json::Value = serde_json::from_str(&told).unwrap();
    (book, told["book_id"].as_str().unwrap().parse().unwrap())
}

/// `fettled move`, in a folder that no node has.
fn moving(world: &World, url: &str, words: &[&str], folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
    command.env(url, world.place.url("bench")).arg("move");
    command
        .args(words)
        .arg(folder)
        .arg("--node")
        .arg(world.path("mover"));
    command
}

#[test]
fn a_book_that_comes_or_goes_is_served_or_refused_without_a_restart() {
    let Some(world) = World::with(0) else { return };
    let (home, lone) = some_book(&world, "home");
    succeeded(
        &moving(&world, "FETTLED_TO_STORE", &["--book"], &home)
            .output()
            .unwrap(),
    );
    let node = world.node("node", &["--let-go-after", "1s"]);
    // The only one is held at once, and whoever names none means it.
    assert_eq!(world.of(lone, "holder IS NULL"), "f");
    let count = world.makes(&node, None).unwrap();
    assert!(count > 0);
    assert_eq!(world.makes(&node, Some(lone)).unwrap(), count);

    let (branch, second) = some_book(&world, "branch");
    let unknown = world.makes(&node, Some(second)).unwrap_err();
    assert_eq!(reason(&unknown), "TOKEN_OTHER_BOOK");
    succeeded(
        &moving(&world, "FETTLED_TO_STORE", &["--book"], &branch)
            .output()
            .unwrap(),
    );
    assert_eq!(world.makes(&node, Some(second)).unwrap(), count);
    world.record(&node, Some(second)).unwrap();
    until("whoever names none is asked which", || {
        world.makes(&node, None).map_err(|told| reason(&told)) == Err("TOKEN_MISSING".to_owned())
    });

    // While it is in use it does not go.
    let id = second.to_string();
    let back = world.path("back");
    let down = || {
        moving(
            &world,
            "FETTLED_STORE",
            &["--book-id", &id, "--to-book"],
            &back,
        )
    };
    let _watch = world.runtime.block_on(async {
        let mut book = BookServiceClient::new(channel(&node).await);
        let request = asked(Some(second), v1::WatchEntriesRequest::default());
        book.watch_entries(request).await.unwrap().into_inner()
    });
    let told = refused(&down().output().unwrap());
    assert!(told.contains("in use"), "{told}");
    world.record(&node, Some(second)).unwrap();
    drop(_watch);
    until("nobody uses it", || {
        world.of(second, "holder IS NULL") == "t"
    });
    succeeded(&down().output().unwrap());

    let told = world.makes(&node, Some(second)).unwrap_err();
    assert_eq!(reason(&told), "TOKEN_OTHER_BOOK");
    assert!(told.message().contains("it was moved"), "{told}");
    until("the one that is left is the only one", || {
        world.makes(&node, None).is_ok_and(|makes| makes == count)
    });
    std::thread::sleep(Duration::from_secs(2));
    assert_eq!(world.of(lone, "holder IS NULL"), "f");
    assert!(done(Shop::Solo(&back), &["book", "verify"]).contains("whole"));
}
