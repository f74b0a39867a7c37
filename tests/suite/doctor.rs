//! `doctor`: what is well and what is not, of a book alone and on the devices of a shop.

use serde_json::Value;

use crate::binaries::{Fettled, Shop, done, fettle, kept_demo};
use crate::paired::Device;

/// The page of a look, read word by word, and how the look ended.
fn looked(shop: Shop<'_>) -> (Option<i32>, String) {
    let output = fettle(shop, &["doctor"]);
    let page = String::from_utf8(output.stdout).unwrap();
    assert!(page.lines().count() <= 24, "{page}");
    let words: Vec<&str> = page.split_whitespace().collect();
    (output.status.code(), words.join(" "))
}

fn assert_tells(page: &str, told: &[&str]) {
    for told in told {
        assert!(page.contains(told), "{told}\n{page}");
    }
}

/// What is well of a book alone: everything but that nobody backed it up yet.
#[test]
fn doctor_tells_what_is_not_well_and_ends_by_it() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let sick = fettle(shop, &["doctor"]);
    let page = String::from_utf8(sick.stdout).unwrap();
    assert_eq!(sick.status.code(), Some(3), "{page}");
    assert!(page.contains("→ fettle book backup --to DIR"), "{page}");
    assert!(page.lines().count() <= 24, "{page}");
    let backup = folder.path().join("backup");
    done(shop, &["book", "backup", "--to", backup.to_str().unwrap()]);
    done(shop, &["book", "verify"]);
    let page = done(shop, &["doctor"]);
    assert!(page.contains("All is well."), "{page}");
    assert!(page.contains("and nothing was recorded since"), "{page}");
    // Half of its journal gone, it is damaged.
    let journal = book.join("journal/000000000001.jsonl");
    let bytes = std::fs::read(&journal).unwrap();
    std::fs::write(&journal, &bytes[..bytes.len() / 2]).unwrap();
    let damaged = fettle(shop, &["--json", "doctor"]);
    assert_eq!(damaged.status.code(), Some(8));
    let told: Value = serde_json::from_slice(&damaged.stdout).unwrap();
    assert_eq!(
        (&told["well"], &told["condition"]["damaged"]),
        (&false.into(), &true.into())
    );
}

/// Whoever owns the shop is told what to do; another device, whom to ask; without signal, what it still knows.
#[test]
fn doctor_on_the_devices_of_a_shop_tells_each_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let fettled = Fettled::serve_tls(&book);
    let bench = Device::pair(&book, "bench", "own");
    let van = Device::pair(&book, "van-a", "work");

    let (ending, page) = looked(bench.shop());
    assert_eq!(ending, Some(3), "{page}");
    let version = env!("CARGO_PKG_VERSION");
    let programs = format!("fettle {version}, and fettled {version} (commit ");
    let place = format!("{}; this is bench, role own", fettled.address());
    let told = [
        &programs,
        &place,
        "2 devices, none of another version",
        "none is known of this book",
        "→ fettle book backup --to DIR",
        "Certificate good until",
    ];
    assert_tells(&page, &told);
    let (ending, page) = looked(van.shop());
    assert_eq!(ending, Some(3), "{page}");
    assert_tells(
        &page,
        &[
            "this is van-a, role work",
            "Ask whoever owns the shop for 'fettle book backup --to DIR'.",
        ],
    );
    assert!(!page.contains("Devices"), "{page}");

    let backup = folder.path().join("backup");
    done(
        bench.shop(),
        &["book", "backup", "--to", backup.to_str().unwrap()],
    );
    done(bench.shop(), &["wash", "P-01"]);
    let (ending, page) = looked(van.shop());
    assert_eq!(ending, Some(0), "{page}");
    let told = ["1 entry since", "Outbox nothing waits", "All is well."];
    assert_tells(&page, &told);

    fettled.stop();
    done(van.shop(), &["wash", "P-02"]);
    let (ending, page) = looked(van.shop());
    assert_eq!(ending, Some(6), "{page}");
    assert_tells(
        &page,
        &[
            "is out of reach",
            "1 deed waits for signal",
            "of its book nothing is known",
        ],
    );
}
