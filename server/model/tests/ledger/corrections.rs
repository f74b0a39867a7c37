//! Logging a job with corrections: what was said replaces the plan, and what contradicts the book is
//! taken in and flagged.

use fettlebook_model::Reason;
use fettlebook_model::command::{JobLog, LiquidAmount, PadUse};
use fettlebook_model::deed::Deed;
use fettlebook_model::panel::Panel;
use fettlebook_quantity::{Count, Volume};

use crate::shop::{Shop, flags, id, pad_use, routine, saloon_job, step, tag, weighing};

fn torn(pad: &str) -> PadUse {
    PadUse {
        found: Some("torn".parse().unwrap()),
        ..pad_use(pad)
    }
}

#[test]
fn a_torn_pad_leaves_the_kit_and_the_spare_takes_the_rest() {
    let mut shop = Shop::worked();
    shop.log_as("thursday", |log| {
        let first = PadUse {
            section_count: Some(5),
            ..torn("P-01")
        };
        log.pads = vec![first, pad_use("P-06")];
    })
    .unwrap();
    assert_eq!(shop.work("P-01"), 5_000_000);
    assert!(shop.piece("P-01").is_binned());
    let all: i64 = (1..=6).map(|n| shop.work(&format!("P-{n:02}"))).sum();
    assert_eq!(all, 77_000_000);
    assert_eq!(shop.work("P-06"), 14_000_000);
}

#[test]
fn a_pad_set_aside_in_the_log_stays_off_paint() {
    let mut shop = Shop::worked();
    shop.log_as("thursday", |log| {
        log.pads = vec![PadUse {
            aside: Some("dropped".parse().unwrap()),
            ..pad_use("P-02")
        }];
    })
    .unwrap();
    assert_eq!(shop.piece("P-02").readiness.word(), "aside");
    assert_eq!(shop.work("P-02"), 16_000_000);
}

#[test]
fn a_swap_puts_the_work_on_the_other_pad() {
    let mut shop = Shop::worked();
    let swap = |a, b| vec![(tag(a), tag(b))];
    let stray = shop
        .log_as("thursday", |log| log.swaps = swap("P-07", "P-06"))
        .unwrap_err();
    assert_eq!(
        (stray.reason, stray.field.as_str()),
        (Reason::NoPick, "swaps.planned")
    );
    assert!(stray.what.contains("P-01, P-02"), "{}", stray.what);
    shop.log_as("thursday", |log| log.swaps = swap("P-02", "P-07"))
        .unwrap();
    assert_eq!((shop.work("P-02"), shop.work("P-07")), (0, 16_000_000));
}

#[test]
fn a_pad_swapped_out_because_it_was_torn_leaves_the_kit_unworked() {
    let mut shop = Shop::worked();
    shop.log_as("thursday", |log| {
        log.swaps = vec![(tag("P-02"), tag("P-07"))];
        log.pads = vec![torn("P-02")];
    })
    .unwrap();
    assert_eq!((shop.work("P-02"), shop.work("P-07")), (0, 16_000_000));
    assert!(shop.piece("P-02").is_binned());
}

#[test]
fn a_pad_swapped_out_half_way_keeps_the_sections_that_were_said() {
    let mut shop = Shop::worked();
    shop.log_as("thursday", |log| {
        log.swaps = vec![(tag("P-02"), tag("P-07"))];
        log.pads = vec![PadUse {
            section_count: Some(7),
            ..torn("P-02")
        }];
    })
    .unwrap();
    assert_eq!(shop.work("P-02"), 7_000_000);
    // 70 sections over the other five, P-07 in the place of P-02.
    assert_eq!(shop.work("P-07"), 14_000_000);
    assert!(shop.piece("P-02").is_binned());
}

#[test]
fn a_pad_no_step_works_with_is_refused() {
    let mut shop = Shop::worked();
    let other = fettlebook_model::make::Grade::Medium;
    shop.say(fettlebook_model::Command::CreateMake {
        make: crate::shop::make("medium-foam-150", crate::shop::foam(other, 150)),
    });
    shop.receive("medium-foam-150", 1);
    let stray = shop
        .log_as("thursday", |log| log.pads = vec![pad_use("P-13")])
        .unwrap_err();
    assert_eq!(
        (stray.reason, stray.field.as_str()),
        (Reason::NoPick, "pads.tag")
    );
}

#[test]
fn panels_left_out_and_towels_dropped_are_followed() {
    let mut shop = Shop::worked();
    shop.log_as("thursday", |log| {
        log.left_out = vec![Panel::Roof];
        log.dropped_towel_count = 2;
    })
    .unwrap();
    let cut: i64 = (1..=7).map(|n| shop.work(&format!("P-{n:02}"))).sum();
    // (12.2 − 1.42) m² over 0.2025 m² · 0.787: 67.6 sections.
    assert_eq!(cut, 68_000_000);
    // 2 · (12.2 − 1.42) m² over 8 sides of 0.51 m²: 5.3, so 6, and the 2 that fell.
    assert_eq!(shop.towels("T-01").1, 8);
    let job = shop.book.job(&id("thursday")).unwrap();
    assert_eq!(job.left_out, [Panel::Roof]);
}

#[test]
fn what_was_said_of_a_bottle_replaces_the_plan_for_its_make() {
    let mut shop = Shop::worked();
    shop.log_as("thursday", |log| {
        log.bottles = vec![
            (tag("B-01"), LiquidAmount::Volume(Volume::from_ul(35_000))),
            (tag("B-02"), LiquidAmount::Dots(Count::new(8))),
        ];
    })
    .unwrap();
    assert_eq!(shop.left_ul("B-01"), 965_000);
    assert_eq!(shop.left_ul("B-02"), 498_000);
}

#[test]
fn the_planned_volume_falls_to_the_stated_ones_in_proportion() {
    let mut shop = Shop::worked();
    shop.receive("coarse-compound-1l", 1);
    let volume = |ul| LiquidAmount::Volume(Volume::from_ul(ul));
    shop.log_as("thursday", |log| {
        log.bottles = vec![(tag("B-03"), volume(20_000)), (tag("B-01"), volume(30_000))];
    })
    .unwrap();
    let poured: Vec<_> = shop
        .entries
        .last()
        .unwrap()
        .deeds
        .iter()
        .filter_map(|deed| match deed {
            Deed::LiquidUsed {
                tag,
                volume_ul,
                planned_ul,
                stated,
                ..
            } => Some((tag.to_string(), volume_ul.ul(), planned_ul.ul(), *stated)),
            _ => None,
        })
        .collect();
    assert_eq!(
        poured,
        [
            ("B-03".to_owned(), 20_000, 24_600, true),
            ("B-01".to_owned(), 30_000, 36_900, true),
            ("B-02".to_owned(), 60_750, 60_750, false),
        ]
    );
}

#[test]
fn a_bottle_of_a_step_that_was_not_worked_is_taken_in_too() {
    let mut shop = Shop::stocked();
    let roof_only = {
        let mut roof_only = step("finish", "fine-foam-150", "fine-polish-500ml");
        roof_only.panels = vec![Panel::Roof];
        roof_only
    };
    shop.say(fettlebook_model::Command::CreateRoutine {
        routine: routine(
            "cut-and-finish-the-roof",
            vec![
                step("cut", "coarse-foam-150", "coarse-compound-1l"),
                roof_only,
            ],
        ),
    });
    shop.say(fettlebook_model::Command::BookJob {
        job: fettlebook_model::job::Job {
            routine: id("cut-and-finish-the-roof"),
            ..saloon_job("thursday", "2026-03-05 08:00")
        },
    });
    shop.go_to("2026-03-05 15:00");
    shop.log_as("thursday", |log| {
        log.left_out = vec![Panel::Roof];
        log.bottles = vec![(tag("B-02"), LiquidAmount::Dots(Count::new(4)))];
        log.bundles = vec![(tag("T-01"), 3)];
    })
    .unwrap();
    assert_eq!(shop.left_ul("B-02"), 499_000);
    // The routine takes no towels; three were used all the same.
    assert_eq!(shop.towels("T-01"), (21, 3));
}

#[test]
fn what_was_said_of_sundries_and_bundles_replaces_the_plan() {
    let mut shop = Shop::worked();
    shop.receive_towels(12, 0);
    shop.log_as("thursday", |log| {
        log.sundries = vec![(tag("S-01"), 5)];
        log.bundles = vec![(tag("T-01"), 12), (tag("T-02"), 3)];
        log.dropped_towel_count = 1;
    })
    .unwrap();
    assert_eq!(shop.piece("S-01").sundry_left(), Some(45));
    assert_eq!(
        (shop.towels("T-01"), shop.towels("T-02")),
        ((12, 12), (9, 3))
    );
    let dropped: Vec<i64> = shop
        .entries
        .last()
        .unwrap()
        .deeds
        .iter()
        .filter_map(|deed| match deed {
            Deed::TowelsUsed { dropped_count, .. } => Some(*dropped_count),
            _ => None,
        })
        .collect();
    assert_eq!(dropped, [1, 0]);
}

/// Source: arithmetic: (1100 g − 60 g) / 1.10 g/mL = 945.455 mL.
#[test]
fn a_weigh_in_after_the_job_settles_the_level() {
    let mut shop = Shop::worked();
    let entry = shop
        .log_as("thursday", |log| {
            log.weighings = vec![weighing("B-01", 1_100)]
        })
        .unwrap();
    assert!(entry.flags.is_empty());
    assert_eq!(shop.left_ul("B-01"), 945_455);
}

#[test]
fn a_use_that_empties_more_than_there_was_is_flagged_unless_it_is_weighed() {
    for (weighed, flagged) in [(false, 1), (true, 0)] {
        let mut shop = Shop::worked();
        shop.count("B-01", 10_000);
        let entry = shop
            .log_as("thursday", |log| {
                if weighed {
                    log.weighings = vec![weighing("B-01", 62)];
                }
            })
            .unwrap();
        assert_eq!(entry.flags.len(), flagged, "{:?}", entry.flags);
        assert_eq!(shop.piece("B-01").needs_count, !weighed);
    }
}

#[test]
fn what_contradicts_the_book_is_taken_in_and_flagged() {
    let mut shop = Shop::worked();
    shop.now = crate::shop::at("2026-03-05 07:00");
    shop.lose("P-07");
    shop.go_to("2026-03-05 15:00");
    let entry = shop
        .log_as("thursday", |log| {
            log.pads = vec![pad_use("P-07")];
            log.bundles = vec![(tag("T-01"), 30)];
        })
        .unwrap();
    let said = flags(entry);
    assert!(said[0].contains("P-07 was binned"), "{said:?}");
    assert!(said[1].contains("24 clean towels"), "{said:?}");
    assert!(shop.work("P-07") > 0);
    assert!(shop.piece("T-01").needs_count);
    assert!(!shop.piece("P-07").needs_count);
}

#[test]
fn kit_that_is_aside_in_the_book_is_used_flagged_and_stays_aside() {
    let mut shop = Shop::worked();
    shop.now = crate::shop::at("2026-03-05 07:00");
    shop.set_aside("P-07 T-01");
    shop.go_to("2026-03-05 15:00");
    let entry = shop
        .log_as("thursday", |log| {
            log.pads = vec![pad_use("P-07")];
            log.bundles = vec![(tag("T-01"), 6)];
        })
        .unwrap();
    assert_eq!(
        flags(entry),
        [
            "P-07 was aside in the book: inspect.",
            "T-01 was aside in the book: inspect."
        ]
    );
    assert_eq!(shop.piece("P-07").readiness.word(), "aside");
    assert!(!shop.piece("T-01").needs_count);
}

#[test]
fn a_tag_named_twice_or_of_another_sort_is_refused() {
    let mut shop = Shop::worked();
    for (pad, again, reason) in [
        ("P-01", "P-01", Reason::FieldInvalid),
        ("P-01", "B-01", Reason::WrongSort),
        ("P-01", "P-99", Reason::TagUnknown),
    ] {
        let refused = shop
            .log_as("thursday", |log| {
                log.pads = vec![pad_use(pad), pad_use(again)]
            })
            .unwrap_err();
        assert_eq!(
            (refused.reason, refused.field.as_str()),
            (reason, "pads.tag")
        );
    }
}

type Correction<'a> = &'a dyn Fn(&mut JobLog);

#[test]
fn figures_that_cannot_be_are_refused_where_they_stand() {
    let too_many = vec![pad_use("P-01"); 201];
    let over_full = LiquidAmount::Volume(Volume::from_ul(1_000_001));
    let cases: [(&str, Reason, Correction<'_>); 2] = [
        ("pads", Reason::FieldInvalid, &|log| {
            log.pads = too_many.clone()
        }),
        ("bottles.amount", Reason::QuantityInvalid, &|log| {
            log.bottles = vec![(tag("B-01"), over_full)];
        }),
    ];
    let mut shop = Shop::worked();
    for (field, reason, say) in cases {
        let refused = shop.log_as("thursday", say).unwrap_err();
        assert_eq!((refused.reason, refused.field.as_str()), (reason, field));
    }
}
