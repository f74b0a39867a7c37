//! The same thing told by two devices is kept and flagged, for only a person knows whether it was one.

use fettlebook_model::command::JobLog;
use fettlebook_model::job::JobState;
use fettlebook_model::{Command, Deed, Entry, Reason, Refusal, Seq};

use super::{kept, loose, use_pad};
use crate::shop::{Shop, at, flags, id, tag, tags_of};

/// The shop at three, the job of the morning not logged, and what both vans have seen.
fn afternoon() -> (Shop, Seq) {
    let shop = Shop::worked();
    let seen = shop.book.head();
    (shop, seen)
}

#[test]
fn a_pad_that_two_devices_log_is_worn_by_both_and_flagged() {
    let (mut shop, seen) = afternoon();
    let nine = at("2026-03-05 09:00");
    let first = use_pad(&mut shop, kept("van-b", seen, nine), "P-01").clone();
    assert_eq!(flags(&first), [""; 0]);
    let once = shop.work("P-01");
    let second = use_pad(&mut shop, kept("van-a", seen, nine), "P-01").clone();
    assert_eq!(shop.work("P-01"), 2 * once);
    let said = format!("P-01 was logged in entry {} by van-b too", first.seq);
    assert!(
        flags(&second).iter().any(|flag| flag.starts_with(&said)),
        "{second:?}"
    );
}

#[test]
fn a_use_that_the_device_had_seen_or_made_itself_is_not_told_twice() {
    let (mut shop, seen) = afternoon();
    let nine = at("2026-03-05 09:00");
    let first = use_pad(&mut shop, kept("van-b", seen, nine), "P-01").seq;
    let twice = |entry: &Entry| flags(entry).iter().any(|flag| flag.contains("too, which"));
    assert!(!twice(use_pad(
        &mut shop,
        kept("van-b", seen, nine),
        "P-01"
    )));
    assert!(!twice(use_pad(
        &mut shop,
        kept("van-a", Seq(first.0 + 1), nine),
        "P-01"
    )));
    assert!(twice(use_pad(
        &mut shop,
        kept("van-a", first, nine),
        "P-01"
    )));
}

/// A device's own entry in between must not hide that of another before it.
#[test]
fn an_entry_of_its_own_hides_nobody() {
    let (mut shop, seen) = afternoon();
    let nine = at("2026-03-05 09:00");
    use_pad(&mut shop, kept("van-b", seen, nine), "P-01");
    use_pad(&mut shop, kept("van-a", seen, nine), "P-01");
    let third = use_pad(&mut shop, kept("van-a", seen, nine), "P-01");
    assert!(
        flags(third)
            .iter()
            .any(|flag| flag.contains("by van-b too"))
    );
}

#[test]
fn a_use_that_was_reversed_is_no_first_one() {
    let (mut shop, seen) = afternoon();
    let nine = at("2026-03-05 09:00");
    let first = use_pad(&mut shop, kept("van-b", seen, nine), "P-01").seq;
    shop.reverse(first).unwrap();
    let second = use_pad(&mut shop, kept("van-a", seen, nine), "P-01");
    assert_eq!(flags(second), [""; 0]);
}

#[test]
fn a_bundle_that_two_devices_use_is_flagged() {
    let (mut shop, seen) = afternoon();
    let nine = at("2026-03-05 09:00");
    let (clean, soiled) = shop.towels("T-01");
    for van in ["van-a", "van-b"] {
        loose(&mut shop, kept(van, seen, nine), |loose| {
            loose.bundles = vec![(tag("T-01"), 3)];
        });
    }
    assert_eq!(shop.towels("T-01"), (clean - 6, soiled + 6));
    let last = shop.entries.last().unwrap();
    assert!(flags(last).concat().contains("by van-a too"), "{last:?}");
}

fn log(shop: &mut Shop, by: &str, seen: Seq) -> Result<Entry, Refusal> {
    let log = JobLog {
        job: Some(id("thursday")),
        said: kept(by, seen, at("2026-03-05 14:00")),
        ..JobLog::default()
    };
    shop.try_say(Command::LogJob(Box::new(log))).cloned()
}

#[test]
fn a_job_that_two_devices_log_is_further_use_the_second_time() {
    let (mut shop, seen) = afternoon();
    let first = log(&mut shop, "van-b", seen).unwrap();
    let second = log(&mut shop, "van-a", seen).unwrap();
    let done = |entry: &Entry| {
        let mut deeds = entry.deeds.iter();
        deeds.any(|deed| matches!(deed, Deed::JobDone { .. }))
    };
    assert!(done(&first) && !done(&second));
    let used = |entry: &Entry| {
        let deeds = entry.deeds.iter().filter_map(Deed::within);
        deeds
            .filter(|within| within.job == Some(id("thursday")))
            .count()
    };
    assert!(used(&second) > 0);
    let said = format!("was logged in entry {} by van-b too", first.seq);
    assert!(
        flags(&second).iter().any(|flag| flag.contains(&said)),
        "{second:?}"
    );
    let job = shop.book.job(&id("thursday")).unwrap();
    assert_eq!(job.state, JobState::Done(at("2026-03-05 14:00")));
}

#[test]
fn a_job_that_the_device_knew_to_be_logged_is_refused() {
    let (mut shop, seen) = afternoon();
    let first = log(&mut shop, "van-b", seen).unwrap().seq;
    for (by, seen) in [("van-b", seen), ("van-a", first)] {
        let refused = log(&mut shop, by, seen).unwrap_err();
        assert_eq!(refused.reason, Reason::JobState, "{by}");
    }
    let refused = shop.log_as("thursday", |_| {}).unwrap_err();
    assert_eq!(refused.reason, Reason::JobState);
}

fn wash<'a>(shop: &'a mut Shop, by: &str, seen: Seq, hour: &str, what: &str) -> &'a Entry {
    shop.say(Command::Wash {
        said: kept(by, seen, at(&format!("2026-03-05 {hour}"))),
        tags: tags_of(what),
        inspections: Vec::new(),
    })
}

/// Two devices tell one wash, each before it could see the other's, whichever comes to the book first.
#[test]
fn a_wash_that_two_devices_tell_within_minutes_is_flagged() {
    for (first, second, when) in [
        ("10:00", "10:09", "9 min before"),
        ("10:09", "10:00", "9 min after"),
        ("10:00", "10:15", "15 min before"),
        ("10:00", "10:00", "at the same time"),
    ] {
        let (mut shop, seen) = afternoon();
        shop.log("thursday");
        let of = wash(&mut shop, "van-b", seen, first, "P-01 T-01").seq;
        // Somebody used the pad after it: that does not hide the wash.
        use_pad(
            &mut shop,
            kept("van-b", seen, at("2026-03-05 14:00")),
            "P-01",
        );
        let told = flags(wash(&mut shop, "van-a", seen, second, "P-01 T-01"));
        for tag in ["P-01", "T-01"] {
            let said = format!("{tag} was washed in entry {of} by van-b too, {when}, which");
            assert!(
                told.iter().any(|flag| flag.starts_with(&said)),
                "{first}, {second}: {told:?}"
            );
        }
    }
}

#[test]
fn a_wash_of_another_hour_or_that_the_device_had_seen_is_no_second_telling() {
    let (mut shop, seen) = afternoon();
    shop.log("thursday");
    let other = wash(&mut shop, "van-b", seen, "10:00", "P-01").seq;
    let twice = |entry: &Entry| {
        flags(entry)
            .iter()
            .any(|flag| flag.contains("by van-b too"))
    };
    for (seen, hour) in [(seen, "10:16"), (seen, "09:44"), (other, "10:05")] {
        assert!(
            !twice(wash(&mut shop, "van-a", seen, hour, "P-01")),
            "{hour}"
        );
    }
    // The same device tells of two washes of its own.
    assert!(!twice(wash(&mut shop, "van-b", seen, "10:05", "P-01")));
}
