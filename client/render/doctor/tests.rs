//! The screen of what is well and what is not, and from when on.

use fettlebook_contract::v1::{Device, GetConditionResponse, ShelfCondition};
use jiff::{SignedDuration, Timestamp};
use serde_json::Value;

use super::{Answered, Facts, Held, Line, Place, document, is_well, lines, page};
use crate::render::scenario::{plain, screen};

const OURS: &str = env!("CARGO_PKG_VERSION");

fn now() -> Timestamp {
    "2026-11-26T07:00:00Z".parse().unwrap()
}

fn hours_ago(hours: i64) -> Option<prost_types::Timestamp> {
    let then = now()
        .checked_sub(SignedDuration::from_hours(hours))
        .unwrap();
    Some(prost_types::Timestamp {
        seconds: then.as_second(),
        nanos: 0,
    })
}

fn good() -> GetConditionResponse {
    GetConditionResponse {
        version: OURS.to_owned(),
        commit: "0123456789ab".to_owned(),
        service_time: hours_ago(0),
        head_seq: 1204,
        newest_entry_time: hours_ago(3),
        disk_free_bytes: Some(12_300_000_000),
        disk_size_bytes: Some(100_000_000_000),
        journal_bytes: 34_000_000,
        shelf_bytes: 2_100_000,
        shelf: ShelfCondition::InUse.into(),
        verified_time: hours_ago(24 * 3),
        unverified_count: 12,
        backup_time: hours_ago(26),
        unsaved_count: 4,
        certificate_end_time: hours_ago(-24 * 400),
        ..GetConditionResponse::default()
    }
}

fn device(name: &str, version: &str) -> Device {
    Device {
        name: name.to_owned(),
        version: version.to_owned(),
        ..Device::default()
    }
}

fn shop(role: &str) -> Place {
    Place::Shop {
        address: "192.168.1.7:7420".to_owned(),
        device: "bench".to_owned(),
        role: role.to_owned(),
        is_here: false,
    }
}

fn facts(condition: GetConditionResponse) -> Facts {
    Facts {
        now: now(),
        place: shop("own"),
        answered: Answered::Condition(Box::new(condition)),
        held: Some(Held {
            copied: Some(now()),
            ..Held::default()
        }),
        devices: vec![device("van-a", OURS), device("telephone", "")],
    }
}

fn judged(facts: &Facts) -> Vec<Line> {
    lines(&screen(80), facts)
}

/// What is not well, each by the word it begins with.
fn bad(facts: &Facts) -> Vec<&'static str> {
    let all = judged(facts).into_iter();
    all.filter(|line| line.todo.is_some())
        .map(|line| line.about)
        .collect()
}

#[test]
fn all_is_well() {
    let facts = facts(good());
    let told = judged(&facts);
    assert!(is_well(&told));
    insta::assert_snapshot!("all_is_well", plain(&page(&screen(80), &facts, &told)));
}

/// Everything at once that can be: it still fits a small window, and each has what to do.
fn worst() -> Facts {
    let condition = GetConditionResponse {
        version: "0.0.9".to_owned(),
        read_only_reason: "Entry 812 of the journal is not the one that was recorded.".to_owned(),
        damaged: true,
        newest_entry_time: hours_ago(-5),
        disk_free_bytes: Some(3_200_000),
        shelf: ShelfCondition::OutOfUse.into(),
        verified_time: None,
        unverified_count: 1204,
        backup_time: hours_ago(24 * 40),
        certificate_end_time: hours_ago(-24 * 3),
        ..good()
    };
    Facts {
        held: Some(Held {
            waiting_count: 3,
            parked_count: 2,
            ..Held::default()
        }),
        devices: vec![device("van-a", OURS), device("van-b", "0.0.8")],
        ..facts(condition)
    }
}

#[test]
fn whatever_is_not_well_fits_a_small_window_with_what_to_do() {
    let facts = worst();
    let told = judged(&facts);
    assert_eq!(told.iter().filter(|line| line.todo.is_none()).count(), 1);
    let text = plain(&page(&screen(80), &facts, &told));
    insta::assert_snapshot!("nothing_is_well", text);
}

#[test]
fn each_bound_parts_well_from_not_well() {
    type Change = fn(&mut GetConditionResponse);
    let cases: [(&str, Change, Change); 8] = [
        (
            "Disk",
            |c| c.disk_free_bytes = Some(1_000_000_000),
            |c| c.disk_free_bytes = Some(999_999_999),
        ),
        (
            "Backup",
            |c| c.backup_time = hours_ago(24 * 7),
            |c| c.backup_time = hours_ago(24 * 7 + 1),
        ),
        (
            "Backup",
            |c| (c.backup_every_s, c.backup_time) = (86_400, hours_ago(48)),
            |c| (c.backup_every_s, c.backup_time) = (86_400, hours_ago(49)),
        ),
        (
            "Backup",
            |c| (c.backup_time, c.unsaved_count) = (hours_ago(24 * 90), 0),
            |c| c.backup_time = None,
        ),
        (
            "Verified",
            |c| (c.verified_time, c.unverified_count) = (None, 1000),
            |c| (c.verified_time, c.unverified_count) = (None, 1001),
        ),
        (
            "Certificate",
            |c| c.certificate_end_time = hours_ago(-24 * 30),
            |c| c.certificate_end_time = hours_ago(-24 * 30 + 1),
        ),
        (
            "Clock",
            |c| c.newest_entry_time = hours_ago(0),
            |c| c.newest_entry_time = hours_ago(-1),
        ),
        ("Shelf", |_| {}, |c| c.shelf = ShelfCondition::Lost.into()),
    ];
    for (number, (about, is_well, is_not)) in cases.into_iter().enumerate() {
        let changed = |change: Change| {
            let mut condition = good();
            change(&mut condition);
            bad(&facts(condition))
        };
        assert_eq!(changed(is_well), [""; 0], "{number}");
        assert_eq!(changed(is_not), [about], "{number}");
    }
}

#[test]
fn a_clock_that_is_off_a_waiting_deed_and_an_old_program_are_told() {
    let mut off = facts(good());
    off.now = now().checked_add(SignedDuration::from_mins(3)).unwrap();
    assert_eq!(bad(&off), ["Clock"]);
    let mut waiting = facts(good());
    waiting.held.as_mut().unwrap().waiting_count = 1;
    assert_eq!(bad(&waiting), ["Outbox"]);
    let mut device_of_old = facts(good());
    device_of_old.devices.push(device("van-c", "0.0.9"));
    assert_eq!(bad(&device_of_old), ["Devices"]);
    let mut service_of_old = facts(good());
    service_of_old.answered = Answered::Older;
    assert_eq!(bad(&service_of_old), ["Program"]);
    // Whoever may not back up is told whom to ask.
    let mut without = facts(GetConditionResponse {
        backup_time: None,
        ..good()
    });
    without.place = shop("work");
    let todo = judged(&without).into_iter().find_map(|line| line.todo);
    assert!(todo.unwrap().starts_with("Ask whoever owns"));
}

#[test]
fn out_of_reach_what_this_device_holds_is_told_all_the_same() {
    let away = Facts {
        answered: Answered::Away("no signal".to_owned()),
        devices: Vec::new(),
        held: Some(Held {
            waiting_count: 3,
            copied: Some(now()),
            ..Held::default()
        }),
        ..facts(good())
    };
    // Deeds wait as they should where there is no signal.
    assert_eq!(bad(&away), ["Shop"]);
    let told = judged(&away);
    let said = document(&away, &told).unwrap();
    assert_eq!(said["condition"], Value::Null);
    assert_eq!(
        (&said["well"], &said["reached"]),
        (&false.into(), &false.into())
    );
    assert!(
        told.iter()
            .any(|line| line.told == "3 deeds wait for signal")
    );
}

#[test]
fn at_every_width_nothing_is_wider_than_the_window() {
    for width in [40, 45, 60, 80, 120] {
        let facts = worst();
        let screen = screen(width);
        let text = plain(&page(&screen, &facts, &lines(&screen, &facts)));
        let widest = text.lines().map(textwrap::core::display_width).max();
        assert!(widest.unwrap() <= width, "{width}\n{text}");
        if width >= 80 {
            assert!(text.lines().count() <= 24, "{text}");
        }
    }
}
