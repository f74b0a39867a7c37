//! Keep levels over some weeks: when a make has to be ordered, and what goes round in a busy stretch.
//!
//! Goal: one order serves several makes, and none is asked for before it has to be. Method: the stocked shop
//! with a two-step a week, seen with more and less on the shelf.

use fettlebook_model::policy::PolicyKey;
use fettlebook_model::reorder::{Cause, ReorderLine, reorder_list};
use jiff::ToSpan as _;
use jiff::civil::Date;
use jiff::tz::Offset;

use crate::shop::{Shop, offer, supplier, tag, tern_quay};

/// Does a two-step on each of these days, washes in the evening, and goes on to the evening of a day.
fn works(shop: &mut Shop, days: &[Date], until: &str) {
    for day in days {
        let job = format!("job-{day}");
        shop.book_saloon(&job, &format!("{day} 08:00"));
        shop.go_to(&format!("{day} 15:00"));
        shop.log(&job);
        wash(shop);
    }
    shop.go_to(until);
}

fn wash(shop: &mut Shop) {
    let soiled = shop.book.pieces().filter(|piece| {
        piece.readiness.word() == "soiled"
            || piece.bundle().is_some_and(|bundle| bundle.soiled_count > 0)
    });
    let tags: Vec<String> = soiled.map(|piece| piece.tag.to_string()).collect();
    shop.wash(&tags.join(" "));
}

/// So many days, every `step` days from Monday the 9th of March 2026.
fn from_the_ninth(count: i64, step: i64) -> Vec<Date> {
    let first: Date = "2026-03-09".parse().unwrap();
    (0..count).map(|at| first + (step * at).days()).collect()
}

/// The shop with Tern Quay Supplies and enough to be kept of everything else, after a job in each of five
/// weeks.
fn five_weeks() -> Shop {
    let mut shop = Shop::stocked();
    shop.set_policy(PolicyKey::UnbookedFromDays, 0);
    shop.set_policy(PolicyKey::UnbookedFromJobs, 0);
    shop.supply(tern_quay());
    shop.receive("coarse-foam-150", 20);
    shop.receive("fine-foam-150", 20);
    works(&mut shop, &from_the_ninth(5, 7), "2026-04-07 16:00");
    shop
}

fn line(shop: &Shop, make: &str) -> Option<ReorderLine> {
    let list = reorder_list(&shop.book, None, None, shop.now).unwrap();
    let mut lines = list.baskets.into_iter().flat_map(|basket| basket.lines);
    lines.find(|line| line.make.as_str() == make)
}

/// Leaves so many pairs in the box, the others used for work that nobody booked, which says nothing of jobs.
fn leave(shop: &mut Shop, pairs: i64) {
    let used = shop.piece("S-01").sundry_left().unwrap() - pairs;
    shop.log_loose(|loose| loose.sundries = vec![(tag("S-01"), used)])
        .unwrap();
}

/// With so many pairs of gloves left: boxes to order, and days from today to order them by.
fn gloves(shop: &Shop, pairs: i64) -> Option<(i64, i64)> {
    let mut shop = shop.clone();
    leave(&mut shop, pairs);
    let line = line(&shop, "nitrile-gloves")?;
    let today = Offset::UTC.to_datetime(shop.now).date();
    let days = today.until(line.order_by).unwrap().get_days();
    Some((line.need_count, i64::from(days)))
}

/// Source: by hand. Five jobs in five weeks, with a week's doubt, make 5/6 a week, of two pairs each. Over
/// the eleven days till the delivery after the next look they take at most 16 pairs, over the four of a
/// delivery at most 10, each with 0.99^(1/6) by a gamma of their moments (2.619 and 6.610, 0.952 and 2.086;
/// quantiles bisected on the series of the incomplete gamma function). Of 14 pairs four are used in sixteen
/// days at 5/6 · 2 · 52/365 a day, less four for the delivery.
#[test]
fn an_opened_pack_counts_as_what_it_holds_and_is_replaced_before_it_has_to_be() {
    let shop = five_weeks();
    for (pairs, told) in [
        (16, None),
        (15, Some((1, 17))),
        (14, Some((1, 12))),
        (10, Some((1, 0))),
        (3, Some((1, 0))),
        (0, Some((1, 0))),
    ] {
        assert_eq!(gloves(&shop, pairs), told, "{pairs}");
    }
}

/// The fuller the box, the later it has to be ordered; it is never later than with more in it.
#[test]
fn the_day_to_order_by_goes_with_what_is_left() {
    let shop = five_weeks();
    let days: Vec<i64> = (0..=20)
        .filter_map(|pairs| gloves(&shop, pairs))
        .map(|(_, days)| days)
        .collect();
    assert!(days.is_sorted(), "{days:?}");
    assert!(days.first() < days.last(), "{days:?}");
}

/// Source: by hand: of 17 pairs four booked jobs in two weeks leave nine, which is below ten from the fourth
/// on, the 23rd: by the 19th.
#[test]
fn what_booked_jobs_take_brings_the_day_forward() {
    let mut shop = five_weeks();
    assert_eq!(gloves(&shop, 17), None);
    for day in 20..=23 {
        shop.book_saloon(&format!("day-{day}"), &format!("2026-04-{day} 08:00"));
    }
    assert_eq!(gloves(&shop, 17), Some((1, 12)));
    assert_eq!(gloves(&shop, 13), Some((1, 10)));
}

/// Source: by hand: of 40 pairs that are left by the plan 30 are there, so that jobs take twice of what is planned,
/// and five of them are Z = 5/8: 3¼ pairs are reckoned with, and more have to be kept.
#[test]
fn what_counts_say_of_real_use_raises_what_is_kept() {
    let mut shop = five_weeks();
    assert_eq!(gloves(&shop, 17), None);
    shop.count("S-01", 30);
    assert!(gloves(&shop, 17).is_some());
}

/// A supplier that is quicker and dearer is for what is urgent; what is kept bridges the usual one.
#[test]
fn what_is_kept_lasts_until_the_usual_supplier_delivers() {
    let mut shop = five_weeks();
    let dear = vec![offer("nitrile-gloves", 1, &[(1, "19.00")])];
    shop.supply(supplier("millrace", 1, dear));
    assert_eq!(gloves(&shop, 15), Some((1, 17)));
}

/// Towels that the list asks for where four are there.
fn towels_wanted(mut shop: Shop) -> i64 {
    shop.count_towels("T-01", 4, 0);
    line(&shop, "edgeless-towel-400g").unwrap().need_count
}

/// Source: by hand: a saloon takes six towels, which dry for a day. Jobs a week apart have six away at
/// once, jobs on two days in a row twelve.
#[test]
fn after_four_weeks_the_busiest_stretch_says_how_many_towels_go_round() {
    assert_eq!(towels_wanted(five_weeks()), 6 - 4);
    let mut busy = five_weeks();
    let tuesday: Date = "2026-04-08".parse().unwrap();
    works(
        &mut busy,
        &[tuesday, tuesday + 1.days()],
        "2026-04-10 16:00",
    );
    assert_eq!(towels_wanted(busy), 12 - 4);
}

/// A bundle that has to go down a grade is not there for paint.
#[test]
fn towels_washed_too_often_are_not_counted_as_there() {
    let mut shop = five_weeks();
    shop.lose("T-01");
    shop.receive_towels(24, 60);
    let towels = line(&shop, "edgeless-towel-400g").unwrap();
    assert_eq!(towels.need_count, 6, "{}", towels.reason);
}

/// Pads that booked jobs will wear out are not there for the next of them: with more jobs booked than are to
/// be expected, five pads would do for each, and ten are there; yet with pads that last a job or two some of
/// the ten will be gone.
#[test]
fn more_pads_are_kept_where_booked_jobs_will_wear_some_out() {
    let mut shop = five_weeks();
    let extra: Vec<String> = (33..=47).map(|at| format!("P-{at}")).collect();
    shop.lose(&extra.join(" "));
    for day in ["08", "10", "13"] {
        shop.book_saloon(&format!("day-{day}"), &format!("2026-04-{day} 08:00"));
    }
    assert_eq!(line(&shop, "fine-foam-150"), None);
    // The shorter pads last the more are kept, before the booked jobs themselves lack any.
    let first = (12..=22).rev().find_map(|tens| {
        shop.edit_pad("fine-foam-150", |figures| {
            figures.rated_work_sections = Some(5 * tens);
        });
        line(&shop, "fine-foam-150")
    });
    let pads = first.unwrap();
    assert_eq!((pads.cause, pads.need_count), (Cause::KeepLevel, 1));
}
