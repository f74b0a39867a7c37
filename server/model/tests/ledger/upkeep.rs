//! Moving, washing, drying, setting aside, bringing back and binning, as it is reported.

use fettlebook_model::command::Said;
use fettlebook_model::kit::Readiness;
use fettlebook_model::{Command, Entry, Reason, Refusal};

use crate::shop::{Shop, at, done, flags, id, tag, tags_of, weighing};

fn give_back<'a>(shop: &'a mut Shop, tags: &str) -> Result<&'a Entry, Refusal> {
    shop.try_say(Command::Return {
        said: Said::default(),
        tags: tags_of(tags),
        check_due: None,
        is_clean: None,
    })
}

/// Of a pad that comes back somebody must say whether it is clean; where nobody did it wants a wash.
#[test]
fn a_pad_comes_back_soiled_unless_somebody_says_that_it_is_clean() {
    let told = "Nobody said whether P-01 came back clean: it is taken as soiled, to be washed.";
    for (is_clean, readiness, flagged) in [
        (Some(true), Readiness::Ready, false),
        (Some(false), Readiness::Soiled, false),
        (None, Readiness::Soiled, true),
    ] {
        let mut shop = Shop::stocked();
        shop.set_aside("P-01 M-01");
        let back = Command::Return {
            said: Said::default(),
            tags: tags_of("P-01 M-01"),
            check_due: None,
            is_clean,
        };
        let entry = shop.say(back);
        let expected: &[&str] = if flagged { &[told] } else { &[] };
        assert_eq!(flags(entry), expected);
        assert_eq!(shop.piece("P-01").readiness, readiness);
        assert_eq!(shop.piece("M-01").readiness, Readiness::Ready);
    }
}

fn bin(shop: &mut Shop, tags: &str, count: i64) -> Result<(), Refusal> {
    shop.try_say(Command::Bin {
        said: Said::default(),
        tags: tags_of(tags),
        reason: "torn".parse().unwrap(),
        count: Some(count),
    })
    .map(|_| ())
}

#[test]
fn a_pad_marked_dry_without_a_wash_is_ready_and_flagged() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    let entry = shop.mark_dry("P-01 P-06");
    assert_eq!(
        flags(entry),
        ["No wash of P-01 is in the book since its last use."]
    );
    assert_eq!(shop.piece("P-01").readiness, Readiness::Ready);
    shop.wash("P-02");
    assert!(shop.mark_dry("P-02").flags.is_empty());
}

#[test]
fn what_is_binned_in_the_book_is_taken_in_and_flagged() {
    let mut shop = Shop::stocked();
    shop.lose("P-01");
    let said = "P-01 is binned in the book.";
    assert_eq!(flags(shop.move_to("P-01 P-02", "van-a")), [said]);
    assert_eq!(shop.piece("P-01").place, id("van-a"));
    assert_eq!(flags(shop.wash("P-01")), [said]);
    assert_eq!(flags(shop.mark_dry("P-01")), [said]);
    assert_eq!(flags(shop.set_aside("P-01")), [said]);
    assert!(shop.piece("P-01").is_binned());
}

#[test]
fn a_pad_comes_back_to_be_washed_and_a_plate_ready() {
    let mut shop = Shop::stocked();
    shop.set_aside("P-01 BP-01");
    assert_eq!(shop.piece("P-01").readiness.word(), "aside");
    let entry = give_back(&mut shop, "P-01 BP-01").unwrap();
    assert_eq!(entry.flags.len(), 1, "{:?}", entry.flags);
    assert_eq!(shop.piece("P-01").readiness, Readiness::Soiled);
    assert_eq!(shop.piece("BP-01").readiness, Readiness::Ready);
}

#[test]
fn only_what_is_aside_comes_back() {
    let mut shop = Shop::stocked();
    shop.set_aside("P-01");
    let refused = give_back(&mut shop, "P-01 P-02").unwrap_err();
    assert_eq!(refused.reason, Reason::WrongSort);
    assert!(
        refused.what.contains("P-02 is ready, not aside"),
        "{refused}"
    );
    assert_eq!(shop.piece("P-01").readiness.word(), "aside");
}

#[test]
fn a_pad_that_is_aside_stays_aside_through_a_wash_and_counts_it() {
    let mut shop = Shop::stocked();
    shop.set_aside("P-01");
    shop.wash("P-01");
    let pad = shop.piece("P-01");
    assert_eq!(pad.readiness.word(), "aside");
    assert_eq!(pad.pad().unwrap().wash_count, 1);
}

#[test]
fn plates_and_bottles_are_not_washed() {
    let mut shop = Shop::stocked();
    for tags in ["BP-01", "P-01 B-01"] {
        for command in [
            Command::Wash {
                said: Said::default(),
                tags: tags_of(tags),
                inspections: Vec::new(),
            },
            Command::MarkDry {
                said: Said::default(),
                tags: tags_of(tags),
            },
        ] {
            let refused = shop.try_say(command).unwrap_err();
            assert_eq!(refused.reason, Reason::WrongSort, "{refused}");
        }
    }
}

#[test]
fn tags_are_named_and_named_once() {
    let mut shop = Shop::stocked();
    let wash = |tags| Command::Wash {
        said: Said::default(),
        tags,
        inspections: Vec::new(),
    };
    for (tags, reason) in [
        (Vec::new(), Reason::FieldMissing),
        (tags_of("P-01 P-02 P-01"), Reason::FieldInvalid),
        (tags_of("P-01 P-99"), Reason::TagUnknown),
        (vec![tag("P-01"); 501], Reason::FieldInvalid),
    ] {
        let refused = shop.try_say(wash(tags)).unwrap_err();
        assert_eq!((refused.reason, refused.field.as_str()), (reason, "tags"));
    }
}

#[test]
fn a_bottle_is_weighed_once_in_one_breath() {
    let mut shop = Shop::stocked();
    let refused = shop
        .try_say(Command::Weigh {
            said: Said::default(),
            weighings: vec![weighing("B-01", 900), weighing("B-01", 800)],
        })
        .unwrap_err();
    assert_eq!(refused.reason, Reason::FieldInvalid);
}

#[test]
fn a_weigh_in_from_before_the_last_use_is_what_that_came_off() {
    let mut shop = Shop::worked();
    let full = shop.left_ul("B-01");
    shop.log("thursday");
    let used = full - shop.left_ul("B-01");
    let entry = shop.say(Command::Weigh {
        said: done("2026-03-05 09:00"),
        weighings: vec![weighing("B-01", 500)],
    });
    assert_eq!(flags(entry), [""; 0]);
    // 500 g with the bottle's 60 g: 440 g at 1.10 g/mL are 400 mL.
    assert_eq!(shop.left_ul("B-01"), 400_000 - used);
    assert!(!shop.piece("B-01").needs_count);
}

#[test]
fn all_towels_of_a_bundle_bin_the_bundle_and_more_are_refused() {
    let mut shop = Shop::stocked();
    assert_eq!(
        bin(&mut shop, "T-01", 25).unwrap_err().reason,
        Reason::QuantityInvalid
    );
    assert_eq!(
        bin(&mut shop, "P-01", 1).unwrap_err().reason,
        Reason::WrongSort
    );
    bin(&mut shop, "T-01", 24).unwrap();
    assert!(shop.piece("T-01").is_binned());
}

#[test]
fn soiled_towels_leave_a_bundle_before_clean_ones() {
    let mut shop = Shop::stocked();
    shop.count_towels("T-01", 20, 4);
    bin(&mut shop, "T-01", 6).unwrap();
    assert_eq!(shop.towels("T-01"), (18, 0));
}

#[test]
fn a_thing_done_earlier_than_the_last_does_not_turn_what_came_after() {
    let mut shop = Shop::stocked();
    shop.go_to("2026-03-06 12:00");
    shop.set_aside("P-01");
    shop.say(Command::MarkDry {
        said: done("2026-03-06 09:00"),
        tags: tags_of("P-01"),
    });
    assert_eq!(shop.piece("P-01").readiness.word(), "aside");
    assert_eq!(shop.piece("P-01").since, at("2026-03-06 12:00"));
}

#[test]
fn numbers_of_taken_back_tags_are_not_given_again_and_letters_count_apart() {
    let mut shop = Shop::stocked();
    shop.receive("coarse-foam-150", 3);
    let seq = shop.book.head();
    shop.reverse(seq).unwrap();
    assert!(shop.book.piece(tag("P-13")).is_none());
    assert_eq!(shop.book.next_tags("P", 2), tags_of("P-16 P-17"));
    assert_eq!(shop.book.next_tags("T", 1), tags_of("T-02"));
    assert_eq!(shop.book.next_tags("X", 1), tags_of("X-01"));
    shop.receive("fine-foam-150", 1);
    assert!(shop.book.piece(tag("P-16")).is_some());
}
