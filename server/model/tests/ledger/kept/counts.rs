//! Readings are readings: the newest by when it was done stands, what was done after it comes off, and the
//! others are shown.

use fettlebook_model::command::{Counted, LiquidAmount, Said, Weighing};
use fettlebook_model::sums::Sums;
use fettlebook_model::{Command, Deed, Format, Seq};
use fettlebook_quantity::{Mass, Volume};

use super::{count, kept, left, loose, use_sundry};
use crate::shop::{Shop, at, flags, tag};

/// The stocked shop at noon, and the last entry that both vans have seen.
fn noon() -> (Shop, Seq) {
    let mut shop = Shop::stocked();
    shop.go_to("2026-03-05 12:00");
    let seen = shop.book.head();
    (shop, seen)
}

fn hour(hour: &str) -> fettlebook_model::Moment {
    at(&format!("2026-03-05 {hour}"))
}

fn pour(shop: &mut Shop, said: Said, volume_ul: i64) {
    let amount = LiquidAmount::Volume(Volume::from_ul(volume_ul));
    loose(shop, said, |loose| {
        loose.bottles = vec![(tag("B-01"), amount)]
    });
}

/// Source: by hand: read at 930, 850 and 900 mL in this order of time; 30 mL go at nine, before the last
/// reading, and 45 after it: 900 − 45 = 855, whichever comes first.
#[test]
fn the_newest_of_three_readings_stands_less_what_was_used_after_it_in_any_order() {
    let deeds = [
        ("van-a", "07:00", Some(930_000), 0),
        ("van-b", "08:00", Some(850_000), 0),
        ("van-b", "09:00", None, 30_000),
        ("bench", "10:00", Some(900_000), 0),
        ("van-a", "11:00", None, 45_000),
    ];
    for order in [
        [0, 1, 2, 3, 4],
        [4, 3, 2, 1, 0],
        [3, 4, 0, 1, 2],
        [1, 4, 0, 3, 2],
        [2, 0, 4, 1, 3],
    ] {
        let (mut shop, seen) = noon();
        for (by, time, found, used) in order.map(|at| deeds[at]) {
            let said = kept(by, seen, hour(time));
            match found {
                Some(found) => {
                    shop.say(count(said, "B-01", found));
                }
                None => pour(&mut shop, said, used),
            }
        }
        assert_eq!(shop.left_ul("B-01"), 855_000, "{order:?}");
    }
}

#[test]
fn a_count_is_what_there_was_whatever_others_used_before_it() {
    let (mut shop, seen) = noon();
    let held = left(&shop, "S-01");
    use_sundry(&mut shop, kept("van-b", seen, hour("09:00")), "S-01", 5);
    let said = kept("van-a", seen, hour("10:00"));
    let entry = shop.say(count(said, "S-01", held - 2)).clone();
    assert_eq!(flags(&entry), [""; 0], "nobody else counted");
    assert_eq!(left(&shop, "S-01"), held - 2);
    assert!(!shop.piece("S-01").needs_count);
    assert_eq!(entry.format, Format::FIRST);
}

#[test]
fn a_use_before_the_count_of_another_is_in_it_when_it_comes_late() {
    let (mut shop, seen) = noon();
    let held = left(&shop, "S-01");
    let said = kept("van-a", seen, hour("10:00"));
    shop.say(count(said, "S-01", held - 2));
    let late = use_sundry(&mut shop, kept("van-b", seen, hour("09:00")), "S-01", 5).clone();
    assert_eq!(left(&shop, "S-01"), held - 2);
    assert_eq!(flags(&late), [""; 0]);
    assert_eq!(
        late.format.to_string(),
        "3",
        "to earlier programs it is off"
    );
}

#[test]
fn a_use_after_the_count_of_another_comes_off_when_the_count_comes_late() {
    let (mut shop, seen) = noon();
    use_sundry(&mut shop, kept("van-b", seen, hour("11:00")), "S-01", 5);
    let late = shop
        .say(count(kept("van-a", seen, hour("10:00")), "S-01", 40))
        .clone();
    assert_eq!(left(&shop, "S-01"), 35);
    assert_eq!(flags(&late), [""; 0]);
    assert_eq!(late.format.to_string(), "3");
}

#[test]
fn a_reading_that_is_not_the_newest_is_shown_and_changes_nothing() {
    let (mut shop, seen) = noon();
    shop.say(count(kept("van-b", seen, hour("11:00")), "S-01", 40));
    let told = |shop: &Shop| flags(shop.entries.last().unwrap()).concat();
    for said in [
        kept("van-a", seen, hour("10:00")),
        Said {
            done_at: Some(hour("09:30")),
            ..Said::default()
        },
    ] {
        shop.say(count(said, "S-01", 33));
        let told = told(&shop);
        for part in [
            "S-01",
            "33 pairs",
            "40 pairs left now",
            "by van-b",
            "newest",
        ] {
            assert!(told.contains(part), "{told}");
        }
        assert_eq!(left(&shop, "S-01"), 40);
        assert!(!shop.piece("S-01").needs_count);
    }
}

#[test]
fn the_newest_reading_says_where_another_made_it_something_else() {
    let (mut shop, seen) = noon();
    let other = shop.say(count(kept("van-b", seen, hour("09:00")), "B-01", 234_000));
    let seq = other.seq.to_string();
    pour(&mut shop, kept("van-b", seen, hour("09:30")), 4_000);
    let entry = shop
        .say(count(kept("van-a", seen, hour("10:00")), "B-01", 225_000))
        .clone();
    let told = flags(&entry).concat();
    for part in ["B-01", "225 mL", "230 mL", &seq, "van-b", "newest"] {
        assert!(told.contains(part), "{told}");
    }
    assert_eq!(shop.left_ul("B-01"), 225_000);
    let alike = shop.say(count(kept("van-b", seen, hour("11:00")), "B-01", 225_000));
    assert_eq!(
        flags(alike),
        [""; 0],
        "where they agree there is nothing to say"
    );
    let known = shop.book.head();
    let seen_all = shop.say(count(kept("van-a", known, hour("11:30")), "B-01", 200_000));
    assert_eq!(flags(seen_all), [""; 0], "who had seen the other knows");
}

#[test]
fn a_use_from_before_a_reading_is_not_held_against_what_is_left_after_it() {
    let (mut shop, seen) = noon();
    shop.say(count(kept("van-a", seen, hour("11:00")), "S-01", 2));
    let late = use_sundry(&mut shop, kept("van-b", seen, hour("09:00")), "S-01", 5);
    assert_eq!(flags(late), [""; 0]);
    let after = use_sundry(&mut shop, kept("van-b", seen, hour("11:30")), "S-01", 5);
    assert!(flags(after).concat().contains("less than the 5 pairs used"));
    assert_eq!(left(&shop, "S-01"), -3);
}

/// The verification of a book sums its entries by itself, and must not find fault with such a level.
#[test]
fn a_level_below_nothing_is_what_its_entries_add_up_to() {
    let (mut shop, seen) = noon();
    let held = left(&shop, "S-01");
    shop.say(count(kept("van-a", seen, hour("08:00")), "S-01", 1));
    use_sundry(&mut shop, kept("van-b", seen, hour("09:00")), "S-01", held);
    assert_eq!(left(&shop, "S-01"), 1 - held);
    assert!(shop.piece("S-01").needs_count);
    let mut sums = Sums::default();
    shop.entries.iter().for_each(|entry| sums.take(entry));
    assert_eq!(sums.differences(&shop.book), [""; 0]);
}

fn weigh(said: Said, gross_g: i64) -> Command {
    Command::Weigh {
        said,
        weighings: vec![Weighing {
            tag: tag("B-01"),
            gross_mg: Mass::from_mg(gross_g * 1_000),
        }],
    }
}

/// What is left at a weight, by a weigh-in of a shop of its own, µL.
fn left_at(gross_g: i64) -> i64 {
    let mut shop = Shop::stocked();
    shop.say(weigh(Said::default(), gross_g));
    shop.left_ul("B-01")
}

#[test]
fn a_weigh_in_that_meets_a_use_by_another_stays_a_weigh_in_and_teaches() {
    let mut shop = Shop::stocked();
    shop.book_saloon("morning", "2026-03-05 08:00");
    shop.go_to("2026-03-05 12:00");
    let seen = shop.book.head();
    shop.say(Command::LogJob(Box::new(
        fettlebook_model::command::JobLog {
            job: Some("morning".parse().unwrap()),
            said: kept("van-b", seen, hour("09:00")),
            ..Default::default()
        },
    )));
    pour(&mut shop, kept("van-b", seen, hour("11:00")), 10_000);
    let entry = shop
        .say(weigh(kept("van-a", seen, hour("10:00")), 900))
        .clone();
    assert!(matches!(entry.deeds.as_slice(), [Deed::Weighed { .. }]));
    assert_eq!(shop.left_ul("B-01"), left_at(900) - 10_000);
    let stretches = &shop.piece("B-01").bottle().unwrap().tally.stretches;
    let told: Vec<_> = stretches
        .iter()
        .map(|one| (one.until, one.job_count))
        .collect();
    assert_eq!(told, [(hour("10:00"), 1)]);
    let full = shop.piece("B-01").bottle().unwrap().full_ul.ul();
    assert_eq!(
        stretches[0].actual_quantity,
        full - left_at(900),
        "not what went after it"
    );
    // What went after it belongs to the next stretch.
    shop.say(weigh(kept("van-a", seen, hour("11:30")), 880));
    let stretches = &shop.piece("B-01").bottle().unwrap().tally.stretches;
    assert_eq!(stretches.len(), 1, "no job took of it since");
}

#[test]
fn a_weigh_in_with_a_log_takes_the_use_of_that_log_off_once() {
    let (mut shop, seen) = noon();
    pour(&mut shop, kept("van-b", seen, hour("09:00")), 30_000);
    let amount = LiquidAmount::Volume(Volume::from_ul(90_000));
    let said = kept("van-a", seen, hour("10:00"));
    let entry = loose(&mut shop, said, |loose| {
        loose.bottles = vec![(tag("B-01"), amount)];
        loose.weighings = vec![Weighing {
            tag: tag("B-01"),
            gross_mg: Mass::from_mg(900_000),
        }];
    });
    assert_eq!(flags(entry), [""; 0]);
    assert_eq!(shop.left_ul("B-01"), left_at(900));
}

/// Source: by hand: 20 clean and 4 soiled at ten, 6 used at eleven; what went before is in the count.
#[test]
fn towels_are_what_was_counted_and_what_became_of_them_since() {
    let (mut shop, seen) = noon();
    let use_towels = |shop: &mut Shop, by, time, used| {
        loose(shop, kept(by, seen, hour(time)), |loose| {
            loose.bundles = vec![(tag("T-01"), used)]
        });
    };
    use_towels(&mut shop, "van-b", "11:00", 6);
    let entry = shop
        .say(Command::Count {
            said: kept("van-a", seen, hour("10:00")),
            tag: tag("T-01"),
            count: Counted {
                quantity: None,
                clean_count: Some(20),
                soiled_count: Some(4),
            },
        })
        .clone();
    assert_eq!(flags(&entry), [""; 0]);
    assert_eq!(shop.towels("T-01"), (14, 10));
    use_towels(&mut shop, "van-b", "09:00", 5);
    assert_eq!(shop.towels("T-01"), (14, 10), "it was in the count");
}

/// Source: by hand: 24 clean; 6 used at nine, all washed at ten, 3 used at eleven.
#[test]
fn a_wash_takes_what_was_soiled_by_then_in_whatever_order_it_is_told() {
    for order in [[0, 1, 2], [2, 1, 0], [1, 0, 2], [1, 2, 0]] {
        let (mut shop, seen) = noon();
        for act in order {
            let said = kept("van-a", seen, hour(["09:00", "10:00", "11:00"][act]));
            if act == 1 {
                shop.say(Command::Wash {
                    said,
                    tags: vec![tag("T-01")],
                    inspections: Vec::new(),
                });
            } else {
                loose(&mut shop, said, |loose| {
                    loose.bundles = vec![(tag("T-01"), [6, 0, 3][act])]
                });
            }
        }
        let bundle = shop.piece("T-01").bundle().unwrap();
        let lie = (bundle.clean_count, bundle.drying_count, bundle.soiled_count);
        assert_eq!(lie, (15, 6, 3), "{order:?}");
    }
}

/// A level is folded again without what was reversed.
#[test]
fn a_reading_that_is_reversed_leaves_the_one_before_it_and_all_uses_since() {
    let (mut shop, seen) = noon();
    shop.say(count(kept("van-a", seen, hour("08:00")), "S-01", 40));
    use_sundry(&mut shop, kept("van-b", seen, hour("09:00")), "S-01", 5);
    let wrong = shop
        .say(count(kept("van-a", seen, hour("10:00")), "S-01", 4))
        .seq;
    assert_eq!(left(&shop, "S-01"), 4);
    shop.reverse(wrong).unwrap();
    assert_eq!(left(&shop, "S-01"), 35);
}

/// What is added up so that a record stays small cannot be told apart by a reading from before.
#[test]
fn a_reading_from_before_very_much_is_left_out_and_a_count_is_asked_for() {
    let (mut shop, seen) = noon();
    let held = left(&shop, "S-01");
    for _ in 0..40 {
        use_sundry(&mut shop, kept("van-b", seen, hour("09:00")), "S-01", 1);
        use_sundry(&mut shop, kept("van-b", seen, hour("10:00")), "S-01", 0);
    }
    let late = shop
        .say(count(kept("van-a", seen, hour("08:00")), "S-01", 30))
        .clone();
    assert!(flags(&late).concat().contains("cannot be told"), "{late:?}");
    assert_eq!(left(&shop, "S-01"), held - 40);
    assert!(shop.piece("S-01").needs_count);
    shop.say(count(kept("van-a", seen, hour("09:30")), "S-01", 30));
    assert_eq!(left(&shop, "S-01"), 30, "what came after it is known");
    let mut sums = Sums::default();
    shop.entries.iter().for_each(|entry| sums.take(entry));
    assert_eq!(sums.differences(&shop.book), [""; 0]);
}
