//! The calendar with the real binary, read by a general library that is not ours (icalendar for Python).

use std::path::Path;

use crate::binaries::{Shop, done, fettle, json, kept_demo};
use crate::python::{run_script, succeeded};

/// What the library makes of calendars read one after the other; nothing where Python is skipped.
fn read(files: &[&Path]) -> Option<String> {
    let files: Vec<&str> = files.iter().map(|file| file.to_str().unwrap()).collect();
    Some(succeeded(&run_script(
        "calendar_read.py",
        &["icalendar"],
        &files,
    )?))
}

/// The lines of the events that an id begins with.
fn of<'a>(read: &'a str, what: &str) -> Vec<&'a str> {
    read.lines().filter(|line| line.starts_with(what)).collect()
}

#[test]
fn a_calendar_read_twice_moves_what_moved_and_drops_what_was_called_off() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let (first, second) = (folder.path().join("a.ics"), folder.path().join("b.ics"));
    let list = |file: &Path| {
        done(shop, &["job", "list", "--ics", file.to_str().unwrap()]);
    };
    let booked = |shop| json(shop, &["job", "list", "--state", "booked"]);
    // What a job soils is to be washed for the next.
    let next = booked(shop)["jobs"][0]["job"].clone();
    done(shop, &["log", next.as_str().unwrap()]);
    list(&first);
    let jobs = booked(shop);
    let ids: Vec<&str> = jobs["jobs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|job| job["job"].as_str().unwrap())
        .collect();
    let (moved, dropped) = (ids[0], ids[1]);
    done(shop, &["job", "edit", moved, "--start", "+25 days"]);
    let start = json(shop, &["job", "show", moved])["job"]["startTime"].clone();
    let (day, _) = start.as_str().unwrap().split_once('T').unwrap();
    done(shop, &["job", "call-off", dropped]);
    list(&second);
    let Some(alone) = read(&[&second]) else {
        return;
    };
    let both = read(&[&first, &second]).unwrap();
    let of_job = |read: &str, id: &str| {
        let found = of(read, &format!("job-{id}@"));
        found
            .iter()
            .map(|line| (*line).to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(of_job(&both, moved).len(), 1);
    assert!(
        of_job(&both, moved)[0].contains(&format!("{day}T")),
        "{both}"
    );
    assert_eq!(of_job(&both, dropped).len(), 0);
    assert_eq!(of(&both, "job-"), of(&alone, "job-"));
    assert!(!of(&both, "order-").is_empty(), "{both}");
    assert!(!of(&both, "wash-").is_empty(), "{both}");
}

#[test]
fn a_calendar_is_never_written_over_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let file = folder.path().join("jobs.ics");
    let path = file.to_str().unwrap();
    std::fs::write(&file, "mine").unwrap();
    let refused = fettle(shop, &["job", "list", "--ics", path]);
    assert_eq!(refused.status.code(), Some(2));
    let said = String::from_utf8(refused.stderr).unwrap();
    assert!(
        said.contains("is there already") && said.contains("--force"),
        "{said}"
    );
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
    done(shop, &["job", "list", "--ics", path, "--force"]);
    assert!(
        std::fs::read_to_string(&file)
            .unwrap()
            .starts_with("BEGIN:VCALENDAR")
    );
}
