//! The whole main job with the real binaries: alone, served, killed, and given bad input.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

use serde_json::Value;

use crate::binaries::{Fettled, Shop, done, fettle, json, kept_demo, state_folder};

/// A kept demo book.
fn demo_book(folder: &Path) -> PathBuf {
    kept_demo(folder, &[])
}

/// Every file of a book but the lock and the rebuildable shelf, with its bytes.
fn journal_bytes(book: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found: Vec<_> = fs::read_dir(book.join("journal"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.display().to_string(), fs::read(&path).unwrap()))
        .collect();
    found.sort();
    assert!(!found.is_empty());
    found
}

#[test]
fn a_person_alone_sets_up_checks_logs_and_sees_the_wear() {
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::Solo(folder.path());
    for words in SET_UP {
        done(shop, words);
    }
    let check = fettle(shop, &["--json", "check", "thursday"]);
    let answer: Value = serde_json::from_slice(&check.stdout).unwrap();
    assert_ne!(answer["verdict"], "VERDICT_STOP", "{answer:#}");
    let before = json(shop, &["kit", "show", "P-01"]);
    done(
        shop,
        &[
            "log",
            "thursday",
            "--pad",
            "P-01:torn",
            "--weigh",
            "B-01=700g",
            "--towels",
            "dropped=1",
        ],
    );
    let after = json(shop, &["kit", "show", "P-01"]);
    let work = |shown: &Value| {
        shown["piece"]["pad"]["workMicroSections"]
            .as_str()
            .unwrap()
            .parse::<i64>()
            .unwrap()
    };
    assert!(work(&after) > work(&before), "{after:#}");
    assert_eq!(after["piece"]["readiness"], "READINESS_BINNED");
    // (700 g − 82 g) / 1.10 g/mL = 561.8 mL: arithmetic.
    let bottle = json(shop, &["kit", "show", "B-01"]);
    assert_eq!(bottle["piece"]["bottle"]["leftUl"], "561818");
    assert_eq!(json(shop, &["book", "verify"])["whole"], true);
}

/// A shop set up from nothing, as a person types it.
const SET_UP: &[&[&str]] = &[
    &[
        "make",
        "add",
        "machine",
        "orbital-150",
        "--name",
        "150 mm orbital, 15 mm throw",
        "--action",
        "orbital",
        "--throw",
        "15 mm",
        "--thread",
        "M8",
        "--max-speed",
        "4800",
        "--work-speed",
        "4500",
    ],
    &[
        "make",
        "add",
        "plate",
        "plate-125-m8",
        "--name",
        "plate 125 M8",
        "--diameter",
        "125 mm",
        "--thread",
        "M8",
        "--rated-speed",
        "12000",
    ],
    &[
        "make",
        "add",
        "pad",
        "coarse-foam-150",
        "--name",
        "coarse foam 150",
        "--material",
        "thin-foam",
        "--grade",
        "coarse",
        "--face",
        "150 mm",
        "--price",
        "18.90 EUR",
        "--pack",
        "2",
    ],
    &[
        "make",
        "add",
        "liquid",
        "coarse-compound-1l",
        "--name",
        "coarse compound 1 L",
        "--grade",
        "coarse",
        "--bottle",
        "1 l",
        "--tare",
        "82 g",
        "--density",
        "1.10",
    ],
    &[
        "make",
        "add",
        "towel",
        "edgeless-towel-400g",
        "--name",
        "edgeless towel 400 g",
        "--weight",
        "400",
    ],
    &["receive", "orbital-150"],
    &["receive", "plate-125-m8"],
    &["receive", "coarse-foam-150", "--count", "7"],
    &["receive", "coarse-compound-1l"],
    &["receive", "edgeless-towel-400g", "--towels", "24"],
    &[
        "car",
        "add",
        "medium-saloon-silver",
        "--class",
        "medium-saloon",
        "--note",
        "silver",
    ],
    &[
        "routine",
        "add",
        "one-step",
        "--name",
        "one-step",
        "--step",
        "cut: machine=orbital-150, pad=coarse-foam-150, liquid=coarse-compound-1l, press=moderate",
        "--towel",
        "edgeless-towel-400g",
    ],
    &[
        "job",
        "add",
        "thursday",
        "--car",
        "medium-saloon-silver",
        "--routine",
        "one-step",
        "--start",
        "+2 h",
    ],
];

#[test]
fn alone_and_served_give_the_same_json_byte_for_byte() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo_book(folder.path());
    let reads: &[&[&str]] = &[
        &["kit", "list", "--binned"],
        &["kit", "show", "P-03"],
        &["make", "list"],
        &["car", "list"],
        &["routine", "list"],
        &["job", "list"],
        &["job", "plan", "black-suv"],
        &["book", "entries"],
        &["book", "policy"],
        &["book", "verify"],
        &["kit", "show", "P-99"],
    ];
    let typed = |shop: Shop<'_>| match shop {
        Shop::Solo(folder) => format!("--book {}", folder.display()),
        Shop::At(url) => format!("--at {url}"),
        Shop::Paired(folder) => format!("--shop {}", folder.display()),
    };
    let ask = |shop| -> Vec<(Option<i32>, Vec<u8>)> {
        reads
            .iter()
            .map(|words| {
                let with: Vec<&str> = ["--json"].iter().chain(*words).copied().collect();
                let output = fettle(shop, &with);
                // An example is typed for the book that was asked.
                let said = String::from_utf8(output.stdout).unwrap();
                let said = said.replace(&typed(shop), "WHERE");
                (output.status.code(), said.into_bytes())
            })
            .collect()
    };
    let alone = ask(Shop::Solo(&book));
    let fettled = Fettled::serve(&book);
    let served = ask(Shop::At(&fettled.url));
    for ((words, alone), served) in reads.iter().zip(&alone).zip(&served) {
        assert_eq!(alone, served, "{words:?}");
        assert!(!alone.1.is_empty(), "{words:?}");
    }
    assert_eq!(alone.last().unwrap().0, Some(4));
    fettled.stop();
}

#[test]
fn the_same_story_can_be_told_against_a_service() {
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve(folder.path());
    for words in SET_UP {
        done(Shop::At(&fettled.url), words);
    }
    done(Shop::At(&fettled.url), &["log", "thursday"]);
    let url = fettled.url.clone();
    fettled.kill();
    let gone = fettle(Shop::At(&url), &["kit", "list"]);
    assert_eq!(gone.status.code(), Some(6));
    let job = json(Shop::Solo(folder.path()), &["job", "show", "thursday"]);
    assert_eq!(job["job"]["state"], "JOB_STATE_DONE");
}

#[test]
fn killed_anywhere_nothing_acknowledged_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::Solo(folder.path());
    for words in SET_UP {
        done(shop, words);
    }
    let mut acknowledged = json(shop, &["kit", "list"])["pieces"]
        .as_array()
        .unwrap()
        .len();
    for at_ms in 0..24_u64 {
        let mut child = Command::new(env!("CARGO_BIN_EXE_fettle"))
            .env("XDG_STATE_HOME", state_folder())
            .arg("--book")
            .arg(folder.path())
            .args(["receive", "coarse-foam-150"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_millis(at_ms * 3));
        // It may have ended by itself; then its answer counts.
        let _ = child.kill();
        let answered = !child.wait_with_output().unwrap().stdout.is_empty();
        let there = json(shop, &["kit", "list"])["pieces"]
            .as_array()
            .unwrap()
            .len();
        assert!(
            there >= acknowledged + usize::from(answered),
            "lost at {at_ms}"
        );
        assert!(there <= acknowledged + 1, "doubled at {at_ms}");
        acknowledged = there;
    }
    assert_eq!(json(shop, &["book", "verify"])["whole"], true);
}

/// What is typed, how it ends, and a word of what it says.
const BAD: &[(&[&str], i32, &str)] = &[
    (&["kit", "show", "P-99"], 4, "P-99"),
    (&["wash", "P-99"], 4, "P-99"),
    (&["log", "nobody"], 4, "nobody"),
    (&["weigh", "B-01=-5g"], 2, "negative"),
    (&["weigh", "B-01=900000kg"], 2, "kg"),
    (&["weigh", "B-01=400ml"], 2, "g"),
    (&["count", "B-01", "--left", "1,500 ml"], 2, "1,500"),
    (&["count", "B-01", "--left", "30m"], 2, "another unit"),
    (&["receive", "coarse-foam-150", "--tag", "P-01"], 5, "P-01"),
    (&["receive", "coarse-foam-150", "--count", "-3"], 2, "-3"),
    (
        &[
            "make",
            "add",
            "pad",
            "huge",
            "--name",
            "huge",
            "--material",
            "wool",
            "--grade",
            "fine",
            "--face",
            "2000 mm",
        ],
        2,
        "between 10 mm and 300 mm",
    ),
    (
        &[
            "job",
            "add",
            "late",
            "--car",
            "medium-saloon-silver",
            "--routine",
            "two-step",
            "--start",
            "2020-01-01 08:00",
        ],
        2,
        "past",
    ),
    (
        &[
            "job",
            "add",
            "odd",
            "--car",
            "medium-saloon-silver",
            "--routine",
            "two-step",
            "--start",
            "tomorrow 08:00",
            "--panels",
            "-spoiler",
        ],
        2,
        "spoiler",
    ),
    (&["book", "reverse", "9999"], 4, "9999"),
    (&["bin", "P-01", "--because", "boredom"], 2, "boredom"),
];

/// A list that is narrowed says that nothing is so, and not that there is no kit.
#[test]
fn a_list_of_what_is_not_there_does_not_say_that_there_is_no_kit() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo_book(folder.path());
    let narrowed = ["kit", "list", "--place", "van-a", "--readiness", "soiled"];
    let said = done(Shop::Solo(&book), &narrowed);
    assert!(said.starts_with("Nothing in the kit is so."), "{said}");
    let empty = folder.path().join("empty");
    let said = done(Shop::Solo(&empty), &["kit", "list"]);
    assert!(said.starts_with("No kit to show."), "{said}");
}

#[test]
fn bad_input_gets_a_clear_error_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo_book(folder.path());
    let shop = Shop::Solo(&book);
    let before = journal_bytes(&book);
    for (words, code, says) in BAD {
        let output = fettle(shop, words);
        let talk = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(*code), "{words:?}: {talk}");
        assert!(talk.contains(says), "{words:?}: {talk}");
        let with: Vec<&str> = ["--json"].iter().chain(*words).copied().collect();
        let document: Value = serde_json::from_slice(&fettle(shop, &with).stdout).unwrap();
        assert_eq!(
            document["error"]["exitCode"], *code,
            "{words:?}: {document:#}"
        );
        assert_eq!(journal_bytes(&book), before, "{words:?} wrote something");
    }
}

#[test]
fn a_book_in_use_says_who_holds_it() {
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve(folder.path());
    let output = fettle(Shop::Solo(folder.path()), &["kit", "list"]);
    let talk = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(5), "{talk}");
    assert!(talk.contains("process"), "{talk}");
    fettled.stop();
}

#[test]
fn a_slip_of_the_finger_is_answered_with_what_was_perhaps_meant() {
    let folder = tempfile::tempdir().unwrap();
    let book = demo_book(folder.path());
    for (line, meant) in [
        (&["kit", "show", "P-70"][..], "Perhaps P-0"),
        (&["check", "silver-salon"], "Perhaps silver-saloon"),
        (
            &["make", "show", "coarse-faom-150"],
            "Perhaps coarse-foam-150",
        ),
    ] {
        let output = fettle(Shop::Solo(&book), line);
        let told = String::from_utf8_lossy(&output.stderr).replace("\n", " ");
        assert_eq!(output.status.code(), Some(4), "{told}");
        assert!(told.contains(meant), "{line:?}: {told}");
    }
}
