//! The demo with the real binary: its story, the machines and batteries in it, and its pages of the day.

use std::fs;
use std::process::Command;

use serde_json::Value;

use crate::binaries::{Shop, done, fettle, json, kept_demo};

/// The makes that work a step of a routine.
fn machines_of(step: &Value) -> Vec<&str> {
    let shares = step["shares"].as_array().unwrap().iter();
    std::iter::once(step)
        .chain(shares)
        .map(|one| one["machineMake"].as_str().unwrap())
        .collect()
}

#[test]
fn the_demo_tells_its_story_and_something_is_honestly_wrong_in_it() {
    let output = Command::new(env!("CARGO_BIN_EXE_fettle"))
        .args(["--json", "demo", "--today", "2026-03-13"])
        .env("TZ", "UTC")
        .output()
        .unwrap();
    assert!(output.status.success());
    let told: Value = serde_json::from_slice(&output.stdout).unwrap();
    let checks: Vec<&Value> = told["scenes"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|scene| scene["command"] == "fettle check silver-saloon")
        .collect();
    assert_eq!(checks[0]["exitCode"], 3);
    assert_eq!(checks[0]["answer"]["verdict"], "VERDICT_STOP");
    assert_eq!(checks[1]["exitCode"], 0);
    assert_eq!(checks[1]["answer"]["verdict"], "VERDICT_WATCH");
    let stopped = checks[0]["answer"]["checks"][0]["lines"]
        .as_array()
        .unwrap();
    let reason = |kind: &str| {
        let line = stopped
            .iter()
            .find(|line| line["kind"] == kind && line["verdict"] == "VERDICT_STOP");
        line.map(|line| line["reason"].as_str().unwrap_or_default().to_owned())
            .unwrap_or_default()
    };
    assert!(
        reason("CHECK_LINE_KIND_TOWEL").contains("soiled in T-01"),
        "{stopped:#?}"
    );
    assert!(
        reason("CHECK_LINE_KIND_PLATE").contains("BP-01 is rated 4200/min"),
        "{stopped:#?}"
    );
}

#[test]
fn the_two_step_of_the_demo_is_shared_by_three_machines_and_each_of_them_wears() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let routine = json(shop, &["routine", "show", "two-step"]);
    for step in routine["routine"]["steps"].as_array().unwrap() {
        let three = ["orbital-150", "cordless-75", "spindle-30"];
        assert_eq!(machines_of(step), three, "{step}");
    }
    let log = json(shop, &["log", "black-suv", "--dry-run"]);
    let deeds = log["entry"]["deeds"].as_array().unwrap().iter();
    let used = |kind: &str| -> Vec<&str> {
        let of_kind = deeds.clone().filter(|deed| deed["kind"] == kind);
        of_kind
            .map(|deed| deed["subject"].as_str().unwrap())
            .collect()
    };
    let twice = |tags: [&'static str; 3]| [tags, tags].concat();
    assert_eq!(
        used("DEED_KIND_MACHINE_USED"),
        twice(["M-01", "M-02", "M-03"])
    );
    assert_eq!(
        used("DEED_KIND_PLATE_USED"),
        twice(["BP-02", "BP-03", "BP-04"])
    );
    // One machine alone works the finish, as ever.
    let finish = json(shop, &["log", "silver-finish", "--dry-run"]);
    let told = finish["entry"]["deeds"].to_string();
    assert!(told.contains("M-01") && !told.contains("M-02"), "{told}");
}

/// What the spot machine runs on is seen wherever a person looks: picked, taken, emptied by the job, told by the day,
/// charged in a word, and worn by its charges.
#[test]
fn the_batteries_of_the_demo_are_seen_from_the_check_to_the_wear() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let line = |job: &str| {
        let check = fettle(shop, &["--json", "check", job]);
        let check: Value = serde_json::from_slice(&check.stdout).unwrap();
        let lines = check["checks"][0]["lines"].as_array().unwrap().iter();
        let mut batteries = lines.filter(|line| line["kind"] == "CHECK_LINE_KIND_BATTERY");
        batteries.next().unwrap().clone()
    };
    let charged = line("black-suv");
    assert_eq!(charged["verdict"], "VERDICT_GO", "{charged:#}");
    let picks = charged["picks"].as_array().unwrap().iter();
    let mut tags: Vec<&str> = picks.map(|pick| pick["tag"].as_str().unwrap()).collect();
    tags.sort_unstable();
    assert_eq!(tags, ["BT-01", "BT-02", "BT-03", "BT-04"]);
    let taken = done(shop, &["take", "black-suv", "--dry-run"]);
    assert!(taken.contains("batteries  BT-01…BT-04"), "{taken}");
    let shown = json(shop, &["kit", "show", "BT-01"]);
    let charges = &shown["piece"]["battery"]["chargeCount"];
    let charges: i64 = charges.as_str().unwrap().parse().unwrap();
    assert!(charges > 140, "{shown:#}");
    let wear = json(shop, &["wear", "--pieces"]);
    let pieces = wear["pieces"].as_array().unwrap();
    let runs = |tag: &str| -> i64 {
        let piece = pieces.iter().find(|piece| piece["tag"] == tag).unwrap();
        piece["chargeRunTimeS"].as_str().unwrap().parse().unwrap()
    };
    // The older two have 140 charges behind them, and give less.
    assert!(runs("BT-01") < runs("BT-03"), "{pieces:#?}");
    done(shop, &["log", "black-suv"]);
    assert!(done(shop, &["today"]).contains("BT-01…BT-04 at bench: fettle charge"));
    assert_eq!(line("red-city-again")["verdict"], "VERDICT_WATCH");
    done(shop, &["charge", "all"]);
    assert_eq!(line("red-city-again")["verdict"], "VERDICT_GO");
}

#[test]
fn a_corrupt_demo_file_is_named_and_leaves_no_book() {
    let folder = tempfile::tempdir().unwrap();
    let stock = folder.path().join("stock");
    fs::create_dir(&stock).unwrap();
    for name in ["makes.json", "kit.json", "cars.json", "routines.json"] {
        let from = crate::python::root().join("demo-stock").join(name);
        fs::copy(from, stock.join(name)).unwrap();
    }
    fs::write(
        stock.join("kit.json"),
        "[{\"make\": \"orbital-150\", \"tags\": [\"M-01\"",
    )
    .unwrap();
    let kept = folder.path().join("kept");
    let output = Command::new(env!("CARGO_BIN_EXE_fettle"))
        .args(["demo", "--stock"])
        .arg(&stock)
        .arg("--keep")
        .arg(&kept)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("kit.json"));
    assert!(!kept.exists());
}

/// A window of 24 lines holds each page of the day, once the cautions of the job's liquids were shown.
#[test]
fn the_pages_of_the_day_are_read_without_scrolling() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let pages: [&[&str]; 5] = [
        &["today"],
        &["check"],
        &["check", "saloon-edges"],
        &["check", "--week"],
        &["take", "silver-finish", "--dry-run"],
    ];
    for page in pages {
        fettle(Shop::Solo(&book), page);
        let output = fettle(Shop::Solo(&book), page);
        let text = String::from_utf8(output.stdout).unwrap();
        let lines = text.lines().count();
        assert!((1..=22).contains(&lines), "{page:?}: {lines} lines\n{text}");
    }
}
