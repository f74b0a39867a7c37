//! What is in the kit and what is left of it: receiving, weighing, counting, grades.

use fettlebook_model::command::{JobLog, LiquidAmount, Receipt, Said};
use fettlebook_model::kit::Readiness;
use fettlebook_model::make::{Figures, Grade};
use fettlebook_model::{Command, Reason};
use fettlebook_quantity::Volume;

use crate::shop::{
    Shop, at, done, flags, foam, id, make, pad_use, receipt, step, tag, tags_of, weighing,
};

fn weigh(grams: i64) -> Command {
    Command::Weigh {
        said: Said::default(),
        weighings: vec![weighing("B-01", grams)],
    }
}

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
    shop.reverse(seq).unwrap();
    assert!(shop.book.piece(tag("P-77")).is_none());
    assert_eq!(
        shop.try_say(taken("P-77")).unwrap_err().reason,
        Reason::TagTaken
    );
    shop.receive("coarse-foam-150", 1);
    assert!(shop.book.piece(tag("P-78")).is_some());
}

/// Basis: from memory: 185 reference sections and 28 washes for coarse foam.
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
        (Some(185), Some(28), Some(18))
    );
}

/// Source: arithmetic: (412 g − 60 g) / 1.10 g/mL = 320 mL.
#[test]
fn a_weigh_in_says_what_is_left() {
    let mut shop = Shop::stocked();
    shop.say(weigh(412));
    assert_eq!(shop.left_ul("B-01"), 320_000);
}

/// Source: arithmetic: full is 60 g + 1 L · 1.10 g/mL = 1160 g; a tenth more is 1270 g.
#[test]
fn a_bottle_lighter_than_empty_is_refused_and_one_heavier_than_full_is_flagged() {
    let mut shop = Shop::stocked();
    let refused = shop.try_say(weigh(59)).unwrap_err();
    assert_eq!(refused.reason, Reason::QuantityInvalid);
    assert!(shop.say(weigh(1_270)).flags.is_empty());
    let entry = shop.say(weigh(1_271));
    assert!(flags(entry)[0].contains("more than a full bottle"));
    assert!(shop.piece("B-01").needs_count);
}

#[test]
fn a_count_settles_what_was_in_doubt() {
    let mut shop = Shop::stocked();
    shop.log_loose(|loose| loose.sundries = vec![(tag("S-01"), 60)])
        .unwrap();
    assert!(shop.piece("S-01").needs_count);
    shop.count("S-01", 12);
    let piece = shop.piece("S-01");
    assert_eq!((piece.needs_count, piece.sundry_left()), (false, Some(12)));
}

#[test]
fn only_what_runs_out_is_counted() {
    let mut shop = Shop::stocked();
    let refused = shop
        .try_say(Command::Count {
            said: Said::default(),
            tag: tag("P-01"),
            count: Default::default(),
        })
        .unwrap_err();
    assert_eq!(refused.reason, Reason::WrongSort);
}

#[test]
fn a_use_reported_late_does_not_soil_a_pad_that_was_washed_since() {
    let mut shop = Shop::worked();
    shop.go_to("2026-03-05 18:00");
    shop.say(Command::Wash {
        said: done("2026-03-05 17:00"),
        tags: tags_of("P-01"),
        inspections: Vec::new(),
    });
    let entry = shop.say(Command::LogJob(Box::new(JobLog {
        said: done("2026-03-05 14:00"),
        job: Some(id("thursday")),
        ..JobLog::default()
    })));
    assert!(entry.flags.is_empty(), "{:?}", entry.flags);
    let washed = shop.piece("P-01").readiness;
    assert_eq!(washed, Readiness::Drying(at("2026-03-06 17:00")));
    assert!(shop.work("P-01") > 0);
    assert_eq!(shop.piece("P-02").readiness, Readiness::Soiled);
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
    for grade in ["residue", "wheels"] {
        let refused = shop.try_say(demote(grade)).unwrap_err();
        assert_eq!(refused.reason, Reason::FieldInvalid, "{grade}");
    }
}

#[test]
fn only_part_of_a_bundle_can_be_binned() {
    let mut shop = Shop::stocked();
    shop.say(Command::Bin {
        said: Said::default(),
        tags: tags_of("T-01"),
        reason: "torn".parse().unwrap(),
        count: Some(3),
    });
    assert_eq!(shop.towels("T-01"), (21, 0));
    assert!(!shop.piece("T-01").is_binned());
}

#[test]
fn a_count_of_towels_leaves_none_drying() {
    let mut shop = Shop::stocked();
    shop.count_towels("T-01", 14, 10);
    shop.wash("T-01");
    shop.count_towels("T-01", 20, 4);
    let bundle = shop.piece("T-01").bundle().unwrap();
    assert_eq!(bundle.total_count(), 24);
    assert_eq!(shop.towels("T-01"), (20, 4));
}

#[test]
fn a_count_of_what_is_binned_in_the_book_is_flagged() {
    let mut shop = Shop::stocked();
    shop.lose("B-01");
    let entry = shop.count("B-01", 500_000);
    assert_eq!(flags(entry), ["B-01 is binned in the book."]);
}

#[test]
fn a_bottle_is_open_from_its_first_use_whenever_that_is_reported() {
    let mut shop = Shop::worked();
    assert_eq!(shop.piece("B-01").bottle().unwrap().opened_at, None);
    shop.log("thursday");
    shop.log_loose(|loose| {
        loose.said = done("2026-03-05 09:00");
        loose.bottles = vec![(tag("B-01"), LiquidAmount::Volume(Volume::from_ul(1_000)))];
    })
    .unwrap();
    let bottle = shop.piece("B-01").bottle().unwrap();
    assert_eq!(bottle.opened_at, Some(at("2026-03-05 09:00")));
    assert_eq!(bottle.used_at, Some(at("2026-03-05 15:00")));
}

/// Basis: common practice, no source: liquid and grade never go backwards.
#[test]
fn a_pad_remembers_the_coarsest_liquid_it_carried() {
    let mut shop = Shop::worked();
    for liquid in [
        "fine-polish-500ml",
        "coarse-compound-1l",
        "fine-polish-500ml",
    ] {
        shop.log_loose(|loose| {
            loose.step = Some(step("test", "fine-foam-150", liquid));
            loose.section_count = 1;
            loose.pads = vec![pad_use("P-08")];
        })
        .unwrap();
    }
    let pad = shop.piece("P-08").pad().unwrap();
    assert_eq!(pad.coarsest_liquid, Some(Grade::Coarse));
    assert_eq!(pad.unwashed_liquid(), Some(Grade::Coarse));
    assert_eq!(pad.use_count, 3);
    shop.wash("P-08");
    let pad = shop.piece("P-08").pad().unwrap();
    assert_eq!(pad.coarsest_liquid, Some(Grade::Coarse));
    assert_eq!(pad.unwashed_liquid(), None);
}
