//! A count is relative to what the device had seen, so that what others used meanwhile stays used.

use fettlebook_model::command::{Counted, Weighing};
use fettlebook_model::kept::SeenLevel;
use fettlebook_model::sums::Sums;
use fettlebook_model::{Command, Deed, Seq};
use fettlebook_quantity::{Mass, Volume};

use super::{count, kept, kept_with, left, loose, use_sundry, with_level};
use crate::shop::{Shop, at, flags, tag};

/// The stocked shop at noon, and the last entry that both vans have seen.
fn noon() -> (Shop, Seq) {
    let mut shop = Shop::stocked();
    shop.go_to("2026-03-05 12:00");
    let seen = shop.book.head();
    (shop, seen)
}

#[test]
fn a_count_that_meets_a_use_by_another_changes_the_level_by_the_difference() {
    let (mut shop, seen) = noon();
    let held = left(&shop, "S-01");
    let nine = at("2026-03-05 09:00");
    use_sundry(&mut shop, kept("van-b", seen, nine), "S-01", 5);
    let said = kept_with(kept("van-a", seen, at("2026-03-05 10:00")), "S-01", held);
    let entry = shop.say(count(said, "S-01", held - 2)).clone();
    assert_eq!(left(&shop, "S-01"), held - 5 - 2);
    assert!(shop.piece("S-01").needs_count);
    let told = flags(&entry).concat();
    for part in ["48 pairs", "50 pairs", "43 pairs", "Count it again"] {
        assert!(told.contains(part), "{told}");
    }
}

/// The verification of a book sums its entries by itself, and must not find fault with such a level.
#[test]
fn a_level_below_nothing_is_what_its_entries_add_up_to() {
    let (mut shop, seen) = noon();
    let held = left(&shop, "S-01");
    let nine = at("2026-03-05 09:00");
    use_sundry(&mut shop, kept("van-b", seen, nine), "S-01", held);
    let said = kept_with(kept("van-a", seen, at("2026-03-05 10:00")), "S-01", held);
    shop.say(count(said, "S-01", 0));
    assert_eq!(left(&shop, "S-01"), -held);
    let mut sums = Sums::default();
    shop.entries.iter().for_each(|entry| sums.take(entry));
    assert_eq!(sums.differences(&shop.book), [""; 0]);
}

#[test]
fn a_count_that_meets_nobody_is_a_count() {
    let (mut shop, seen) = noon();
    let ten = at("2026-03-05 10:00");
    let held = left(&shop, "S-01");
    let said = kept_with(kept("van-a", seen, ten), "S-01", held);
    let entry = shop.say(count(said, "S-01", 40)).clone();
    assert_eq!(flags(&entry), [""; 0]);
    assert_eq!(
        entry.deeds,
        [Deed::SundryCounted {
            tag: tag("S-01"),
            left_quantity: 40,
            seen_quantity: None,
        }]
    );
    assert!(!shop.piece("S-01").needs_count);
    assert_eq!(left(&shop, "S-01"), 40);
}

#[test]
fn a_use_before_the_count_of_another_stays_used_when_it_comes_late() {
    let (mut shop, seen) = noon();
    let held = left(&shop, "S-01");
    let said = kept_with(kept("van-a", seen, at("2026-03-05 10:00")), "S-01", held);
    shop.say(count(said, "S-01", held - 2));
    let nine = at("2026-03-05 09:00");
    let late = use_sundry(&mut shop, kept("van-b", seen, nine), "S-01", 5).clone();
    assert_eq!(left(&shop, "S-01"), held - 2 - 5);
    assert!(
        flags(&late).concat().contains("was counted in entry"),
        "{late:?}"
    );
    assert!(shop.piece("S-01").needs_count);
}

#[test]
fn a_use_that_the_counting_device_itself_reports_late_is_in_its_count() {
    let (mut shop, seen) = noon();
    let held = left(&shop, "S-01");
    let said = kept_with(kept("van-a", seen, at("2026-03-05 10:00")), "S-01", held);
    shop.say(count(said, "S-01", held - 2));
    let nine = at("2026-03-05 09:00");
    use_sundry(&mut shop, kept("van-a", seen, nine), "S-01", 2);
    assert_eq!(left(&shop, "S-01"), held - 2);
}

#[test]
fn a_level_below_nothing_is_kept_as_it_is_and_a_count_is_asked_for() {
    let (mut shop, seen) = noon();
    let held = left(&shop, "S-01");
    use_sundry(
        &mut shop,
        kept("van-b", seen, at("2026-03-05 09:00")),
        "S-01",
        45,
    );
    let said = kept_with(kept("van-a", seen, at("2026-03-05 10:00")), "S-01", held);
    shop.say(count(said, "S-01", 10));
    assert_eq!(left(&shop, "S-01"), held - 45 - (held - 10));
    assert!(shop.piece("S-01").needs_count);
}

#[test]
fn a_count_without_what_was_seen_stands_and_is_flagged_where_others_were() {
    let (mut shop, seen) = noon();
    let ten = at("2026-03-05 10:00");
    let entry = shop
        .say(count(kept("van-a", seen, ten), "S-01", 40))
        .clone();
    assert_eq!(flags(&entry), [""; 0], "nobody else was there");
    use_sundry(
        &mut shop,
        kept("van-b", seen, at("2026-03-05 10:30")),
        "S-01",
        5,
    );
    let entry = shop.say(count(
        kept("van-a", seen, at("2026-03-05 11:00")),
        "S-01",
        33,
    ));
    let told = flags(entry).concat();
    assert!(told.contains("by van-b too"), "{told}");
    assert_eq!(left(&shop, "S-01"), 33);
}

fn weigh(said: fettlebook_model::command::Said, gross_g: i64) -> Command {
    Command::Weigh {
        said,
        weighings: vec![Weighing {
            tag: tag("B-01"),
            gross_mg: Mass::from_mg(gross_g * 1_000),
        }],
    }
}

/// Weight of the bottle with so much left, g, by a weigh-in of a shop of its own.
fn gross_g(left_ul: i64) -> i64 {
    let at_weight = |gross: i64| {
        let mut shop = Shop::stocked();
        shop.say(weigh(fettlebook_model::command::Said::default(), gross));
        shop.left_ul("B-01")
    };
    (61..2_000)
        .find(|gross| at_weight(*gross) >= left_ul)
        .unwrap()
}

#[test]
fn a_weigh_in_that_meets_a_use_by_another_becomes_a_level_and_teaches_nothing() {
    let (mut shop, seen) = noon();
    let full = shop.left_ul("B-01");
    loose(
        &mut shop,
        kept("van-b", seen, at("2026-03-05 09:00")),
        |loose| {
            let amount = fettlebook_model::command::LiquidAmount::Volume(Volume::from_ul(30_000));
            loose.bottles = vec![(tag("B-01"), amount)];
        },
    );
    let gross = gross_g(full - 100_000);
    let said = kept_with(kept("van-a", seen, at("2026-03-05 10:00")), "B-01", full);
    let entry = shop.say(weigh(said, gross)).clone();
    let found = match entry.deeds.as_slice() {
        [
            Deed::VolumeRead {
                left_ul, seen_ul, ..
            },
        ] => {
            assert_eq!(*seen_ul, Some(Volume::from_ul(full)));
            left_ul.ul()
        }
        other => panic!("{other:?}"),
    };
    assert_eq!(shop.left_ul("B-01"), full - 30_000 - (full - found));
    assert!(
        shop.piece("B-01")
            .bottle()
            .unwrap()
            .tally
            .stretches
            .is_empty()
    );
    let told = flags(&entry).concat();
    assert!(
        told.contains("weighed") && told.contains(&format!("{}", Mass::from_mg(gross * 1_000))),
        "{told}"
    );
    assert!(shop.piece("B-01").needs_count);
}

#[test]
fn a_weigh_in_that_meets_nobody_is_a_weigh_in() {
    let (mut shop, seen) = noon();
    let full = shop.left_ul("B-01");
    let said = kept_with(kept("van-a", seen, at("2026-03-05 10:00")), "B-01", full);
    let entry = shop.say(weigh(said, gross_g(full - 100_000)));
    assert!(matches!(entry.deeds.as_slice(), [Deed::Weighed { .. }]));
    assert_eq!(flags(entry), [""; 0]);
}

#[test]
fn a_weigh_in_with_a_log_takes_the_use_of_that_log_off_once() {
    let (mut shop, seen) = noon();
    let full = shop.left_ul("B-01");
    let pour = |volume_ul| {
        let amount = fettlebook_model::command::LiquidAmount::Volume(Volume::from_ul(volume_ul));
        vec![(tag("B-01"), amount)]
    };
    loose(
        &mut shop,
        kept("van-b", seen, at("2026-03-05 09:00")),
        |loose| {
            loose.bottles = pour(30_000);
        },
    );
    let said = kept_with(kept("van-a", seen, at("2026-03-05 10:00")), "B-01", full);
    let gross_mg = Mass::from_mg(gross_g(full - 100_000) * 1_000);
    let entry = loose(&mut shop, said, |loose| {
        loose.bottles = pour(90_000);
        loose.weighings = vec![Weighing {
            tag: tag("B-01"),
            gross_mg,
        }];
    });
    let found = entry.deeds.iter().find_map(|deed| match deed {
        Deed::VolumeRead { left_ul, .. } => Some(left_ul.ul()),
        _ => None,
    });
    assert_eq!(
        shop.left_ul("B-01"),
        full - 30_000 - (full - found.unwrap())
    );
}

#[test]
fn clean_and_soiled_towels_are_each_taken_by_the_difference() {
    let (mut shop, seen) = noon();
    let (clean, soiled) = shop.towels("T-01");
    loose(
        &mut shop,
        kept("van-b", seen, at("2026-03-05 09:00")),
        |loose| {
            loose.bundles = vec![(tag("T-01"), 4)];
        },
    );
    let said = with_level(
        kept("van-a", seen, at("2026-03-05 10:00")),
        SeenLevel {
            tag: tag("T-01"),
            quantity: None,
            clean_count: Some(clean),
            soiled_count: Some(soiled),
            drying_count: None,
        },
    );
    let entry = shop.say(Command::Count {
        said,
        tag: tag("T-01"),
        count: Counted {
            quantity: None,
            clean_count: Some(clean - 3),
            soiled_count: Some(soiled + 2),
        },
    });
    assert!(flags(entry).concat().contains("Count it again"));
    assert_eq!(shop.towels("T-01"), (clean - 4 - 3, soiled + 4 + 2));
}

/// A difference stands whatever else is taken back: it is folded again without the use.
#[test]
fn a_use_that_is_reversed_later_is_given_back_beside_the_difference() {
    let (mut shop, seen) = noon();
    let held = left(&shop, "S-01");
    let used = use_sundry(
        &mut shop,
        kept("van-b", seen, at("2026-03-05 09:00")),
        "S-01",
        5,
    )
    .seq;
    let said = kept_with(kept("van-a", seen, at("2026-03-05 10:00")), "S-01", held);
    shop.say(count(said, "S-01", held - 2));
    shop.reverse(used).unwrap();
    assert_eq!(left(&shop, "S-01"), held - 2);
}
