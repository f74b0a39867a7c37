//! Receiving, washing, weighing, counting, setting aside.

use fettlebook_model::command::{Counted, Receipt, Said, Weighing};
use fettlebook_model::kit::Readiness;
use fettlebook_model::make::{Figures, Grade};
use fettlebook_model::{Command, Reason};
use fettlebook_quantity::Mass;

use crate::shop::{Shop, at, done, foam, id, make, receipt, tag};

#[test]
fn new_pieces_get_the_next_tags_of_their_sort() {
    let mut shop = Shop::stocked();
    let tags: Vec<String> = shop
        .book
        .pieces()
        .map(|piece| piece.tag.to_string())
        .collect();
    assert_eq!(tags.iter().filter(|tag| tag.starts_with("P-")).count(), 12);
    shop.receive("coarse-foam-150", 1);
    assert!(shop.book.piece(tag("P-13")).is_some());
}

#[test]
fn a_tag_is_never_used_again_even_when_its_receipt_was_reversed() {
    let mut shop = Shop::stocked();
    let taken = |tags: &str| {
        Command::Receive(Box::new(Receipt {
            tags: vec![tag(tags)],
            ..receipt("coarse-foam-150", 0)
        }))
    };
    assert_eq!(
        shop.try_say(taken("P-07")).unwrap_err().reason,
        Reason::TagTaken
    );
    let seq = shop.say(taken("P-77")).seq;
    shop.say(Command::Reverse {
        said: Said::default(),
        seq,
        past: None,
    });
    assert!(shop.book.piece(tag("P-77")).is_none());
    assert_eq!(
        shop.try_say(taken("P-77")).unwrap_err().reason,
        Reason::TagTaken
    );
    shop.receive("coarse-foam-150", 1);
    assert!(shop.book.piece(tag("P-78")).is_some());
}

/// Basis: common practice, no source: 130 reference sections and 20 washes for coarse foam.
#[test]
fn open_ratings_are_filled_from_the_policy_when_a_make_is_set_up() {
    let mut shop = Shop::empty();
    shop.say(Command::CreateMake {
        make: make("coarse-foam-140", foam(Grade::Coarse, 140)),
    });
    let held = shop.book.make(&id("coarse-foam-140")).unwrap();
    let Figures::Pad(pad) = &held.figures else {
        panic!("a pad")
    };
    assert_eq!(
        (
            pad.rated_work_sections,
            pad.rated_wash_count,
            pad.load_sections
        ),
        (Some(130), Some(20), Some(18))
    );
}

/// Source: arithmetic of MODELS §3: (412 g − 60 g) / 1.10 g/mL = 320 mL.
#[test]
fn a_weigh_in_says_what_is_left() {
    let mut shop = Shop::stocked();
    let weighings = vec![Weighing {
        tag: tag("B-01"),
        gross_mg: Mass::from_mg(412_000),
    }];
    shop.say(Command::Weigh {
        said: Said::default(),
        weighings,
    });
    assert_eq!(shop.left_ul("B-01"), 320_000);
}

#[test]
fn a_bottle_lighter_than_empty_is_refused_and_one_heavier_than_full_is_flagged() {
    let mut shop = Shop::stocked();
    let weigh = |grams: i64| Command::Weigh {
        said: Said::default(),
        weighings: vec![Weighing {
            tag: tag("B-01"),
            gross_mg: Mass::from_mg(grams * 1000),
        }],
    };
    assert_eq!(
        shop.try_say(weigh(40)).unwrap_err().reason,
        Reason::QuantityInvalid
    );
    assert!(
        shop.say(weigh(1400)).flags[0]
            .text
            .contains("more than a full bottle")
    );
    assert!(shop.book.piece(tag("B-01")).unwrap().needs_count);
}

#[test]
fn a_count_settles_what_was_in_doubt() {
    let mut shop = Shop::stocked();
    shop.say(Command::LogLoose(Box::new(
        fettlebook_model::command::LooseLog {
            said: Said::default(),
            step: None,
            machine: None,
            plate: None,
            section_count: 0,
            pads: Vec::new(),
            bottles: Vec::new(),
            bundles: Vec::new(),
            sundries: vec![(tag("S-01"), 60)],
            weighings: Vec::new(),
        },
    )));
    assert!(shop.book.piece(tag("S-01")).unwrap().needs_count);
    let count = Counted {
        quantity: Some(12),
        ..Counted::default()
    };
    shop.say(Command::Count {
        said: Said::default(),
        tag: tag("S-01"),
        count,
    });
    let piece = shop.book.piece(tag("S-01")).unwrap();
    assert_eq!((piece.needs_count, piece.sundry_left()), (false, Some(12)));
}

#[test]
fn a_use_reported_late_does_not_soil_a_pad_that_was_washed_since() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.go_to("2026-03-05 18:00");
    shop.say(Command::Wash {
        said: done("2026-03-05 17:00"),
        tags: vec![tag("P-01")],
    });
    shop.say(Command::LogJob(Box::new(
        fettlebook_model::command::JobLog {
            said: done("2026-03-05 14:00"),
            job: Some(id("thursday")),
            ..Default::default()
        },
    )));
    let washed = shop.book.piece(tag("P-01")).unwrap();
    assert_eq!(washed.readiness, Readiness::Drying(at("2026-03-06 17:00")));
    assert!(shop.work("P-01") > 0);
    assert_eq!(
        shop.book.piece(tag("P-02")).unwrap().readiness,
        Readiness::Soiled
    );
}

#[test]
fn towels_go_down_a_grade_and_never_up() {
    let mut shop = Shop::stocked();
    let demote = |grade: &str| Command::Demote {
        said: Said::default(),
        tag: tag("T-01"),
        grade: grade.parse().unwrap(),
    };
    shop.say(demote("wheels"));
    assert_eq!(
        shop.try_say(demote("residue")).unwrap_err().reason,
        Reason::FieldInvalid
    );
}

#[test]
fn only_part_of_a_bundle_can_be_binned() {
    let mut shop = Shop::stocked();
    shop.say(Command::Bin {
        said: Said::default(),
        tags: vec![tag("T-01")],
        reason: "torn".parse().unwrap(),
        count: Some(3),
    });
    let bundle = shop.book.piece(tag("T-01")).unwrap();
    assert_eq!(
        (bundle.bundle().unwrap().clean_count, bundle.is_binned()),
        (21, false)
    );
}
