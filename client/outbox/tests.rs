//! What the lines of an outbox come to, whatever they are.

use jiff::Timestamp;
use proptest::prelude::*;

use super::fold::{Folded, Standing, mend};
use super::line::{KINDS, Line, Unread};
use super::{NotKept, Outbox, ToKeep, rescue, unread};
use crate::exit::Exit;
use crate::shop::folder;
use crate::testing::Device;
use crate::testing::device::Trouble;

fn deed(id: &str) -> ToKeep {
    ToKeep {
        request_id: id.to_owned(),
        method: "/fettlebook.v1.KitService/WashKit".to_owned(),
        body: id.as_bytes().to_vec(),
        kept_time: Timestamp::from_second(1_795_676_400).unwrap(),
        told: format!("wash {id}"),
    }
}

/// A step of an outbox, about any number.
#[derive(Clone, Copy, Debug)]
enum Step {
    Keep,
    Sent(i64),
    Parked(i64),
    Again(i64),
    Dropped(i64),
    Refused(i64),
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let number = || 0_i64..12;
    let step = prop_oneof![
        4 => Just(Step::Keep),
        2 => number().prop_map(Step::Sent),
        2 => number().prop_map(Step::Parked),
        1 => number().prop_map(Step::Again),
        1 => number().prop_map(Step::Dropped),
        1 => number().prop_map(Step::Refused),
    ];
    prop::collection::vec(step, 0..60)
}

fn line(step: Step, next: i64) -> Line {
    match step {
        Step::Keep => Line::kept(next, deed(&next.to_string())),
        Step::Sent(number) => Line::Sent {
            number,
            seq: number + 100,
            incarnation_id: String::new(),
        },
        Step::Parked(number) => Line::Parked {
            number,
            reason: "TAG_UNKNOWN".to_owned(),
            message: String::new(),
            todo: String::new(),
        },
        Step::Again(number) => Line::Again { number },
        Step::Dropped(number) => Line::Dropped { number },
        Step::Refused(number) => Line::Refused {
            number,
            reason: "TAG_UNKNOWN".to_owned(),
        },
    }
}

/// Lines that may be written, in order, made of any steps: those that may not are left out.
fn written(steps: &[Step]) -> (Vec<Vec<u8>>, Folded) {
    let (mut lines, mut folded) = (Vec::new(), Folded::default());
    for step in steps {
        let line = line(*step, folded.next_number());
        let before = folded.clone();
        match folded.apply(line.clone()) {
            Ok(()) => lines.push(line.to_json().unwrap()),
            Err(_) => assert_eq!(folded, before, "a line that is refused changes nothing"),
        }
    }
    (lines, folded)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Numbers are dense, deeds are sent in order, and none is both to be sent and over.
    #[test]
    fn whatever_is_written_folds_to_dense_numbers_in_order(steps in steps()) {
        let (lines, folded) = written(&steps);
        let kept = steps.iter().filter(|step| matches!(step, Step::Keep)).count();
        prop_assert_eq!(folded.next_number(), i64::try_from(kept).unwrap() + 1);
        for number in 1..folded.next_number() {
            let deed = folded.deed(number).unwrap();
            prop_assert_eq!(deed.number, number);
            // A book that is restored may want what was sent once more.
            let is_over = matches!(deed.standing, Standing::Dropped | Standing::Refused);
            prop_assert_eq!(deed.body.is_empty(), is_over);
        }
        prop_assert!(folded.waiting().map(|deed| deed.number).is_sorted());
        let parked: Vec<_> = folded.parked().map(|deed| deed.number).collect();
        prop_assert!(folded.waiting().all(|deed| !parked.contains(&deed.number)));
        prop_assert_eq!(Folded::read(&lines).unwrap(), folded);
    }

    /// Once the shop has a deed, it is never sent again and never anything else.
    #[test]
    fn what_was_sent_stays_sent(steps in steps(), more in steps()) {
        let (_, mut folded) = written(&steps);
        let sent: Vec<i64> = (1..folded.next_number())
            .filter(|number| matches!(folded.deed(*number).unwrap().standing, Standing::Sent(_)))
            .collect();
        for step in more {
            let line = line(step, folded.next_number());
            let _ = folded.apply(line);
        }
        for number in sent {
            let standing = &folded.deed(number).unwrap().standing;
            prop_assert_eq!(standing, &Standing::Sent(number + 100));
        }
    }

    /// Of a damaged outbox every deed that can be read stands where it stood, or waits again; no
    /// number is given twice.
    #[test]
    fn mending_loses_nothing_that_can_be_read(steps in steps(), bad in prop::collection::vec(any::<prop::sample::Index>(), 1..4)) {
        let (lines, folded) = written(&steps);
        let mut found: Vec<_> = lines.iter().cloned().map(Some).collect();
        for at in bad {
            if !found.is_empty() {
                let at = at.index(found.len());
                found[at] = None;
            }
        }
        let mended = mend(&found).unwrap();
        let read = Folded::read(&mended.lines).unwrap();
        prop_assert!(read.next_number() >= folded.next_number());
        for line in found.iter().flatten() {
            if let Line::Kept { number, request_id, .. } = Line::from_json(line).unwrap() {
                prop_assert_eq!(&read.deed(number).unwrap().request_id, &request_id);
            }
        }
        for number in &mended.lost {
            prop_assert_eq!(&read.deed(*number).unwrap().standing, &Standing::Lost);
        }
    }
}

#[test]
fn a_line_that_does_not_follow_is_damage_and_named() {
    let kept = Line::kept(1, deed("a")).to_json().unwrap();
    let cases: [(&[u8], &str); 4] = [
        (
            b"{\"line\":\"sent\",\"number\":2,\"seq\":9}",
            "its line 2 is about deed 2",
        ),
        (
            b"{\"line\":\"again\",\"number\":1}",
            "its line 2 takes deed 1",
        ),
        (b"{\"line\":\"kept\"}", "its line 2 cannot be read"),
        (&kept, "its line 2 keeps deed 1 where deed 2 belongs"),
    ];
    for (line, told) in cases {
        let Unread::Spoilt(why) = Folded::read(&[kept.clone(), line.to_vec()]).unwrap_err() else {
            panic!("{told}: taken for a later program's");
        };
        assert!(why.starts_with(told), "{why}");
    }
}

/// The lines as they are written, so that no later program reads them otherwise.
#[test]
fn a_line_is_documented_json() {
    let line = |line: &Line| String::from_utf8(line.to_json().unwrap()).unwrap();
    insta::assert_snapshot!(line(&Line::kept(7, deed("P-01"))), @r#"{"line":"kept","number":7,"request_id":"P-01","method":"/fettlebook.v1.KitService/WashKit","body":"UC0wMQ==","kept_time":"2026-11-26T07:00:00Z","told":"wash P-01"}"#);
    let sent = |incarnation_id: &str| Line::Sent {
        number: 7,
        seq: 120,
        incarnation_id: incarnation_id.to_owned(),
    };
    insta::assert_snapshot!(line(&sent("")), @r#"{"line":"sent","number":7,"seq":120}"#);
    insta::assert_snapshot!(line(&sent("0198")), @r#"{"line":"sent","number":7,"seq":120,"incarnation_id":"0198"}"#);
    insta::assert_snapshot!(line(&Line::Missed { number: 7 }), @r#"{"line":"missed","number":7}"#);
}

/// The story: the book was restored from a backup that ends before a deed of this device.
#[test]
fn a_deed_that_the_book_has_lost_waits_again_as_it_was_kept() {
    let device = Device::new();
    let mut outbox = open(device);
    let number = outbox.keep(deed("a")).unwrap();
    let kept = outbox.folded().deed(number).unwrap().clone();
    let missed = Line::Missed { number };
    assert!(
        outbox.mark(std::slice::from_ref(&missed)).is_err(),
        "it was not sent yet"
    );
    let sent = Line::Sent {
        number,
        seq: 134,
        incarnation_id: "one".to_owned(),
    };
    outbox.mark(&[sent]).unwrap();
    outbox.mark(&[missed]).unwrap();
    assert_eq!(open(device).folded().deed(number), Some(&kept));
}

fn open(device: &Device) -> Outbox {
    Outbox::open(device, &folder::outbox(&device.folder())).unwrap()
}

#[test]
fn a_full_disk_keeps_nothing_and_the_number_is_free_again() {
    let device = Device::new();
    let mut outbox = open(device);
    device.suffer(Some(Trouble::Full));
    assert_eq!(outbox.keep(deed("a")).unwrap_err().exit, Exit::Failed);
    device.suffer(None);
    assert_eq!(outbox.keep(deed("b")).unwrap(), 1);
    assert_eq!(open(device).folded().deed(1).unwrap().request_id, "b");
}

#[test]
fn mending_says_what_was_lost_and_goes_on() {
    let device = Device::new();
    let mut outbox = open(device);
    for id in ["a", "b", "c"] {
        outbox.keep(deed(id)).unwrap();
    }
    drop(outbox);
    let place = folder::outbox(&device.folder());
    let fault = rescue(device, &place).unwrap_err();
    assert!(fault.message.contains("nothing to mend"), "{fault:?}");
    device.suffer(Some(Trouble::Damaged));
    let (aside, lost) = rescue(device, &place).unwrap();
    assert!(aside.ends_with("outbox.damaged-1"), "{aside:?}");
    assert_eq!(lost, [2]);
    let mut outbox = open(device);
    let waiting: Vec<_> = outbox.folded().waiting().map(|deed| deed.number).collect();
    assert_eq!(waiting, [1, 3]);
    assert_eq!(outbox.keep(deed("d")).unwrap(), 4);
}

#[test]
fn the_kinds_of_lines_are_the_ones_that_are_read() {
    let error = serde_json::from_str::<Line>(r#"{"line":"?"}"#).unwrap_err();
    let read: Vec<_> = KINDS.iter().map(|kind| format!("`{kind}`")).collect();
    let said = format!("expected one of {}", read.join(", "));
    assert!(error.to_string().contains(&said), "{error}");
}

/// Lines as a later program may write them.
const LATER: [&str; 2] = [
    r#"{"line":"lent","number":1,"to":"van-b"}"#,
    r#"{"format":2,"line":"sent","number":1,"entries":[7,8]}"#,
];

#[test]
fn a_line_of_a_later_fettle_is_told_from_damage_and_never_mended_away() {
    let kept = Line::kept(1, deed("a")).to_json().unwrap();
    for later in LATER {
        let lines = [kept.clone(), later.as_bytes().to_vec()];
        let why = Folded::read(&lines).unwrap_err();
        assert!(matches!(&why, Unread::Newer(_)), "{why:?}");
        let fault = unread(why, &std::path::PathBuf::from("shop/outbox"));
        assert_eq!(
            (fault.reason, fault.exit),
            ("NEWER_THAN_THIS", Exit::Failed)
        );
        let said = "its line 2 was written by a later fettle";
        assert!(fault.message.contains(said), "{}", fault.message);
        let [kept, later] = lines;
        let why = mend(&[Some(kept), None, Some(later)]).unwrap_err();
        assert!(matches!(&why, Unread::Newer(_)), "{why:?}");
    }
}

#[test]
fn an_outbox_of_a_later_fettle_keeps_nothing_more_and_loses_nothing() {
    let device = Device::new();
    open(device).keep(deed("a")).unwrap();
    let place = folder::outbox(&device.folder());
    let mut lines = std::fs::read(place.join("lines")).unwrap();
    lines.extend(format!("\n{}", LATER[0]).bytes());
    std::fs::write(place.join("lines"), &lines).unwrap();
    for fault in [
        Outbox::open(device, &place)
            .err()
            .map(NotKept::into_fault)
            .unwrap(),
        rescue(device, &place).unwrap_err(),
    ] {
        assert_eq!(fault.reason, "NEWER_THAN_THIS", "{}", fault.message);
    }
    assert_eq!(std::fs::read(place.join("lines")).unwrap(), lines);
}

/// What a later program put into a line outlives the mending of those beside it.
#[test]
fn mending_leaves_the_lines_that_can_be_read_as_they_are() {
    let later = r#"{"line":"parked","number":1,"reason":"R","message":"M","todo":"","by":"van-b"}"#;
    let kept = Line::kept(1, deed("a")).to_json().unwrap();
    let lines = vec![kept, later.as_bytes().to_vec()];
    let mended = mend(&[Some(lines[0].clone()), Some(lines[1].clone())]).unwrap();
    assert_eq!(mended.lines, lines);
}

/// The outboxes of every format that was ever written; see `tests/journals`.
#[test]
fn outboxes_of_every_format_are_read() {
    let journals = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/journals");
    let mut read = 0;
    for kept in std::fs::read_dir(journals).unwrap() {
        let file = kept.unwrap().path().join("outbox/000000000001.jsonl");
        let text = std::fs::read_to_string(file).unwrap();
        let lines = text.lines().map(|line| {
            let line: serde_json::Value = serde_json::from_str(line).unwrap();
            serde_json::to_vec(&line["entry"]["line"]).unwrap()
        });
        let folded = Folded::read(&lines.collect::<Vec<_>>()).unwrap();
        assert!(folded.next_number() > 1);
        read += 1;
    }
    assert!(read > 0);
}
