//! What a van means by the next job: its own, with signal and without, and never another van's in silence.

use std::path::Path;

use serde_json::Value;

use crate::binaries::{Fettled, Shop, done, fettle};
use crate::paired::Device;

/// A shop whose next job is van-b's, with one for van-a after it and none for van-c.
fn set_up(book: &Path) {
    let solo = |args: &[&str]| {
        done(Shop::Solo(book), args);
    };
    solo(&["start", "--kit", "big", "--yes"]);
    solo(&["car", "add", "saloon-silver", "--class", "medium-saloon"]);
    for (job, place, start) in [
        ("early", "van-b", "tomorrow 08:00"),
        ("late", "van-a", "+2 days"),
    ] {
        solo(&[
            "job",
            "add",
            job,
            "--car",
            "saloon-silver",
            "--routine",
            "one-step",
            "--start",
            start,
            "--place",
            place,
            "--new-place",
        ]);
    }
}

/// What is answered, whatever the verdict, and what is said.
fn said(device: &Device, args: &[&str]) -> (String, String) {
    let output = fettle(device.shop(), args);
    let text = |bytes: &[u8]| {
        let text = String::from_utf8_lossy(bytes).into_owned();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    (text(&output.stdout), text(&output.stderr))
}

fn checked(device: &Device, args: &[&str]) -> (Vec<String>, Value) {
    let (answer, talk) = said(device, &[&["--json", "check"], args].concat());
    let answer: Value = serde_json::from_str(&answer).unwrap_or_else(|_| panic!("{answer}{talk}"));
    let checks = answer["checks"].as_array().unwrap().iter();
    let jobs = checks.map(|check| check["job"].as_str().unwrap().to_owned());
    (jobs.collect(), answer["nextElsewhere"]["job"].clone())
}

#[test]
fn the_next_job_of_a_van_is_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path();
    set_up(book);
    let fettled = Fettled::serve_tls(book);
    let [bench, van_a, van_b, van_c] =
        ["bench", "van-a", "van-b", "van-c"].map(|name| Device::pair(book, name, "keep"));
    let each_its_own = || {
        assert_eq!(
            checked(&bench, &[]),
            (vec!["early".to_owned()], Value::Null)
        );
        assert_eq!(checked(&van_a, &[]), (vec!["late".to_owned()], Value::Null));
        assert_eq!(
            checked(&van_b, &[]),
            (vec!["early".to_owned()], Value::Null)
        );
        assert_eq!(checked(&van_c, &[]), (Vec::new(), Value::from("early")));
        let (told, _) = said(&van_c, &["check"]);
        assert!(
            told.starts_with("No job is booked at van-c. The shop's next is early, "),
            "{told}"
        );
        assert!(told.ends_with("at van-b: 'fettle check early'."), "{told}");
        // Where it is asked for, another's and the whole shop's.
        let (jobs, _) = checked(&van_c, &["--place", "van-a"]);
        assert_eq!(jobs, ["late"]);
        let (jobs, _) = checked(&van_a, &["--week"]);
        assert_eq!(jobs, ["early", "late"]);
        // A place with jobs is one before any kit is there; another is none.
        let (told, _) = said(&van_c, &["check", "--place", "van-b", "--through", "today"]);
        assert!(
            told.starts_with("No job is booked at van-b for these days."),
            "{told}"
        );
        let (_, talk) = said(&van_c, &["check", "--place", "van-q"]);
        assert!(
            talk.contains("'van-q' is no place yet; there is bench."),
            "{talk}"
        );
        // An example is of the van's own job.
        let (_, talk) = said(&van_a, &["take"]);
        assert!(talk.contains(" take late"), "{talk}");
    };
    each_its_own();
    for van in [&bench, &van_a, &van_b, &van_c] {
        done(van.shop(), &["shop", "sync"]);
    }
    fettled.stop();
    each_its_own();
}
