//! What was kept is never refused for what others did meanwhile, nor for a clock that is off.

use fettlebook_model::command::{JobLog, Said};
use fettlebook_model::wear::BinReason;
use fettlebook_model::{Command, Deed, Entry, Reason, Seq};

use super::{count, kept, use_pad, use_sundry};
use crate::shop::{Shop, at, flags, id, tag, tags_of, weighing};

fn noon() -> (Shop, Seq) {
    let mut shop = Shop::stocked();
    shop.go_to("2026-03-05 12:00");
    let seen = shop.book.head();
    (shop, seen)
}

#[test]
fn uses_of_two_devices_add_up() {
    let (mut shop, seen) = noon();
    let held = super::left(&shop, "S-01");
    for (by, quantity) in [("van-a", 3), ("van-b", 4), ("van-a", 5)] {
        let entry = use_sundry(
            &mut shop,
            kept(by, seen, at("2026-03-05 09:00")),
            "S-01",
            quantity,
        );
        assert_eq!(flags(entry), [""; 0]);
    }
    assert_eq!(super::left(&shop, "S-01"), held - 12);
}

#[test]
fn an_entry_says_how_its_device_kept_it() {
    let (mut shop, seen) = noon();
    let said = kept("van-a", seen, at("2026-03-05 09:00"));
    let mark = said.kept.as_ref().unwrap().mark;
    let entry = use_sundry(&mut shop, said, "S-01", 1);
    assert_eq!((entry.kept, entry.by.as_str()), (Some(mark), "van-a"));
    assert_eq!(shop.count("S-01", 7).kept, None);
}

/// A line as it was written before deeds could be kept.
#[test]
fn an_entry_of_an_older_journal_is_read_as_before() {
    let line = r#"{"seq":7,"recorded_at":"2026-03-05T12:00:00Z","done_at":"2026-03-05T12:00:00Z",
        "request":"00000000-0000-0000-0000-000000000000","body":"00000000000000000000000000000000",
        "by":"test","deeds":[{"did":"sundry_counted","tag":"S-01","left_quantity":7}]}"#;
    let entry: Entry = serde_json::from_str(line).unwrap();
    assert_eq!(entry.kept, None);
    assert_eq!(
        entry.deeds,
        [Deed::SundryCounted {
            tag: tag("S-01"),
            left_quantity: 7,
            seen_quantity: None,
        }]
    );
}

#[test]
fn a_clock_that_is_off_is_named_and_the_deed_is_done_now() {
    let (mut shop, seen) = noon();
    for off in ["2026-03-06 12:00", "1970-01-01 00:07"] {
        let entry = use_sundry(&mut shop, kept("van-a", seen, at(off)), "S-01", 1).clone();
        assert_eq!(entry.done_at, shop.now);
        let told = flags(&entry).concat();
        assert!(
            told.contains("clock of van-a") && told.contains(&at(off).to_string()),
            "{told}"
        );
    }
    let fast = use_sundry(
        &mut shop,
        kept("van-a", seen, at("2026-03-05 12:03")),
        "S-01",
        1,
    );
    assert_eq!(flags(fast), [""; 0], "a few minutes are no matter");
}

#[test]
fn what_is_not_said_to_have_been_done_at_a_time_was_done_when_it_was_kept() {
    let (mut shop, seen) = noon();
    let said = Said {
        done_at: None,
        ..kept("van-a", seen, at("2026-03-05 09:00"))
    };
    let entry = use_sundry(&mut shop, said, "S-01", 1);
    assert_eq!(entry.done_at, at("2026-03-05 09:00"));
}

#[test]
fn what_is_kept_of_a_piece_that_was_binned_meanwhile_is_flagged() {
    let (mut shop, seen) = noon();
    shop.lose("P-01 B-01 S-01");
    let nine = at("2026-03-05 09:00");
    let said = || kept("van-a", seen, nine);
    let all = [
        use_pad(&mut shop, said(), "P-01").clone(),
        shop.say(count(said(), "S-01", 7)).clone(),
        shop.say(Command::Weigh {
            said: said(),
            weighings: vec![weighing("B-01", 500)],
        })
        .clone(),
        shop.say(Command::Return {
            said: said(),
            tags: tags_of("P-01"),
            check_due: None,
            is_clean: None,
        })
        .clone(),
        shop.say(Command::Move {
            said: said(),
            tags: tags_of("P-01"),
            place: id("van-a"),
        })
        .clone(),
    ];
    for entry in &all {
        assert!(
            flags(entry).concat().contains("binned in the book"),
            "{entry:?}"
        );
    }
}

#[test]
fn what_came_back_was_demoted_or_binned_twice_is_taken_in() {
    let (mut shop, seen) = noon();
    let said = || kept("van-a", seen, at("2026-03-05 09:00"));
    let back = Command::Return {
        said: said(),
        tags: tags_of("P-01"),
        check_due: None,
        is_clean: None,
    };
    assert!(flags(shop.say(back)).concat().contains("not aside"));
    let all = shop.piece("T-01").bundle().unwrap().total_count();
    let gone = Command::Bin {
        said: said(),
        tags: tags_of("T-01"),
        reason: BinReason::Torn,
        count: Some(all + 2),
    };
    assert!(flags(shop.say(gone)).concat().contains("fewer than"));
    assert_eq!(shop.towels("T-01"), (0, 0));
    let grade = shop.piece("T-01").bundle().unwrap().grade;
    let down = Command::Demote {
        said: said(),
        tag: tag("T-01"),
        grade,
    };
    assert!(flags(shop.say(down)).concat().contains("already"));
    assert_eq!(shop.piece("T-01").bundle().unwrap().grade, grade);
    let at_once = Command::Return {
        said: Said::default(),
        tags: tags_of("P-01"),
        check_due: None,
        is_clean: None,
    };
    assert_eq!(shop.try_say(at_once).unwrap_err().reason, Reason::WrongSort);
}

/// The other van has used the pads up that this one swapped and worked with.
#[test]
fn a_log_whose_pads_the_book_would_not_pick_any_more_is_taken_in() {
    let mut shop = Shop::worked();
    let seen = shop.book.head();
    shop.lose("P-01 P-02 P-03");
    let log = JobLog {
        job: Some(id("thursday")),
        said: kept("van-a", seen, at("2026-03-05 14:00")),
        swaps: vec![(tag("P-01"), tag("P-07"))],
        ..JobLog::default()
    };
    let entry = shop.say(Command::LogJob(Box::new(log))).clone();
    assert!(
        flags(&entry).concat().contains("P-07 worked for P-01"),
        "{entry:?}"
    );
    let worked = |pad: &str| {
        let mut deeds = entry.deeds.iter();
        deeds.any(|deed| matches!(deed, Deed::PadUsed { tag: used, .. } if *used == tag(pad)))
    };
    assert!(worked("P-07") && !worked("P-01"));
}

#[test]
fn a_log_for_which_no_pad_is_left_is_taken_in_without() {
    let mut shop = Shop::worked();
    let seen = shop.book.head();
    shop.lose("P-01 P-02 P-03 P-04 P-05 P-06 P-07");
    let log = JobLog {
        job: Some(id("thursday")),
        said: kept("van-a", seen, at("2026-03-05 14:00")),
        ..JobLog::default()
    };
    let entry = shop.say(Command::LogJob(Box::new(log)));
    assert!(
        flags(entry)
            .concat()
            .contains("no ready pad of coarse-foam-150"),
        "{entry:?}"
    );
}
