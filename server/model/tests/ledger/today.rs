//! Where the shop stands: what a careful person would have on a slip of paper in the evening.

use fettlebook_model::Command;
use fettlebook_model::bottle_jobs::BottleJobs;
use fettlebook_model::check::check_jobs;
use fettlebook_model::job::PanelNote;
use fettlebook_model::panel::Panel;
use fettlebook_model::reorder::reorder_list;
use fettlebook_model::today::{Today, today};
use fettlebook_quantity::Seconds;

use crate::shop::{Shop, at, id, saloon_job, tag, tern_quay};

fn seen(shop: &Shop) -> Today {
    today(&shop.book, None, shop.now)
}

fn unlogged(shop: &Shop) -> Vec<String> {
    let jobs = seen(shop).unlogged.into_iter();
    jobs.map(|job| job.id.to_string()).collect()
}

fn next(shop: &Shop) -> Option<String> {
    seen(shop).next.map(|next| next.job.id.to_string())
}

#[test]
fn a_job_is_next_until_its_time_is_over_and_then_it_is_to_be_logged() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.book_saloon("saturday", "2026-03-07 08:00");
    for moment in ["2026-03-05 07:00", "2026-03-05 10:00"] {
        shop.go_to(moment);
        assert_eq!(unlogged(&shop), Vec::<String>::new(), "{moment}");
        assert_eq!(next(&shop).as_deref(), Some("thursday"), "{moment}");
    }
    shop.go_to("2026-03-06 07:00");
    assert_eq!(unlogged(&shop), ["thursday"]);
    assert_eq!(next(&shop).as_deref(), Some("saturday"));
    shop.log("thursday");
    assert_eq!(unlogged(&shop), Vec::<String>::new());
}

#[test]
fn its_check_is_the_check_and_what_to_order_is_the_list() {
    let mut shop = Shop::stocked();
    shop.supply(tern_quay());
    shop.book_saloon("monday", "2026-03-09 08:00");
    shop.count_towels("T-01", 0, 0);
    let checked = check_jobs(&shop.book, &[id("monday")], shop.now).unwrap();
    let seen = seen(&shop);
    assert_eq!(seen.next.unwrap().check.unwrap(), checked[0]);
    let list = reorder_list(&shop.book, None, None, shop.now).unwrap();
    let mut lines: Vec<_> = list.baskets.into_iter().flat_map(|one| one.lines).collect();
    assert!(!lines.is_empty());
    lines.sort_by_key(|line| (line.order_by, line.make.clone()));
    assert_eq!(seen.to_order.unwrap(), lines);
}

/// Source: arithmetic: what dries so long has to be washed so long before the start.
#[test]
fn what_is_soiled_is_told_by_place_with_when_to_wash_it() {
    let mut shop = Shop::worked();
    shop.go_to("2026-03-05 18:00");
    shop.log("thursday");
    shop.book_saloon("saturday", "2026-03-07 08:00");
    let dry = Seconds::from_s(86_400);
    let told = seen(&shop).to_wash;
    assert_eq!(told.len(), 1);
    let bench = &told[0];
    assert_eq!(bench.place.to_string(), "bench");
    assert!(bench.tags.contains(&tag("T-01")) && bench.tags.contains(&tag("P-01")));
    assert_eq!(bench.towel_count, shop.towels("T-01").1);
    let start = at("2026-03-07 08:00").as_second();
    assert_eq!(bench.wash_by.unwrap().as_second(), start - dry.s());
    assert_eq!(bench.dry_at.as_second(), shop.now.as_second() + dry.s());
    shop.move_to("P-01", "van-a");
    let told = seen(&shop).to_wash;
    let places: Vec<_> = told.iter().map(|one| one.place.to_string()).collect();
    assert_eq!(places, ["bench", "van-a"]);
    // No job is booked at the van, so nothing there is due.
    assert_eq!(told[1].wash_by, None);
    // Too late to be dry in time: no moment is told that has passed.
    shop.go_to("2026-03-06 20:00");
    assert_eq!(seen(&shop).to_wash[0].wash_by, None);
}

/// On a van its own comes first: what is to be logged, the next job, what is soiled and what dries there.
#[test]
fn what_is_at_the_place_of_whoever_asks_comes_first() {
    let mut shop = Shop::stocked();
    for (job, place, start) in [
        ("thursday", "bench", "2026-03-05 07:00"),
        ("bench-done", "bench", "2026-03-05 08:00"),
        ("van-done", "van-a", "2026-03-05 09:00"),
        ("bench-saturday", "bench", "2026-03-07 08:00"),
        ("van-saturday", "van-a", "2026-03-07 13:00"),
    ] {
        let mut job = saloon_job(job, start);
        job.place = id(place);
        shop.say(Command::BookJob { job });
    }
    shop.go_to("2026-03-06 18:00");
    shop.log("thursday");
    shop.move_to("P-01 P-02", "van-a");
    shop.wash("P-02 P-03");
    let seen = |place: Option<&str>| {
        let place = place.map(id);
        let told = today(&shop.book, place.as_ref(), shop.now);
        let next = told.next.map(|next| next.job.id.to_string());
        let unlogged: Vec<_> = told.unlogged.iter().map(|job| job.id.to_string()).collect();
        let soiled: Vec<_> = told
            .to_wash
            .iter()
            .map(|one| one.place.to_string())
            .collect();
        let drying: Vec<_> = told
            .drying
            .iter()
            .map(|one| one.place.to_string())
            .collect();
        (next.unwrap_or_default(), unlogged, soiled, drying)
    };
    let words = |words: [&str; 2]| words.map(str::to_owned).to_vec();
    let shop_wide = (
        "bench-saturday".to_owned(),
        words(["bench-done", "van-done"]),
        words(["bench", "van-a"]),
        words(["bench", "van-a"]),
    );
    assert_eq!(seen(None), shop_wide);
    assert_eq!(seen(Some("van-b")), shop_wide, "nothing is there");
    let of_van = (
        "van-saturday".to_owned(),
        words(["van-done", "bench-done"]),
        words(["van-a", "bench"]),
        words(["van-a", "bench"]),
    );
    assert_eq!(seen(Some("van-a")), of_van);
}

#[test]
fn what_dries_is_told_until_it_is_dry() {
    let mut shop = Shop::worked();
    shop.go_to("2026-03-05 18:00");
    shop.log("thursday");
    assert!(seen(&shop).drying.is_empty());
    shop.wash("P-01 P-02");
    let told = seen(&shop).drying;
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].tags, [tag("P-01"), tag("P-02")]);
    assert_eq!(told[0].until, at("2026-03-06 18:00"));
    shop.go_to("2026-03-06 18:00");
    assert!(seen(&shop).drying.is_empty());
}

#[test]
fn an_order_is_on_its_way_and_late_after_its_day() {
    let mut shop = Shop::stocked();
    shop.supply(tern_quay());
    let order = shop.order_packs("tern-quay", "coarse-foam-150", 1);
    let due = shop.order_now(&order).due_on.unwrap();
    let late = |shop: &Shop| {
        seen(shop)
            .on_their_way
            .iter()
            .map(|one| one.is_late)
            .collect::<Vec<_>>()
    };
    assert_eq!(late(&shop), [false]);
    shop.go_to(&format!("{due} 20:00"));
    assert_eq!(late(&shop), [false]);
    shop.go_to(&format!("{} 08:00", due.tomorrow().unwrap()));
    assert_eq!(late(&shop), [true]);
}

#[test]
fn a_job_that_cannot_be_planned_is_told_with_why() {
    let mut shop = Shop::stocked();
    assert_eq!(next(&shop), None);
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.edit_saloon(|car| {
        let left_out = |panel: &Panel| PanelNote {
            panel: *panel,
            area_mm2: None,
            left_out: true,
            split: None,
            film_um: None,
        };
        car.panels = Panel::ALL.iter().map(left_out).collect();
    });
    let next = seen(&shop).next.unwrap();
    assert!(
        next.check
            .unwrap_err()
            .what
            .contains("every panel is left out")
    );
}

/// Source: arithmetic. A job of this shop takes 61.5 mL of compound (five pads of 6 dots and 72 sections more
/// of 3, a dot of 250 µL); a litre keeps a heel of 30 mL, so that 970 mL last for fifteen jobs.
#[test]
fn a_bottle_lasts_for_whole_jobs_beyond_its_heel() {
    let mut shop = Shop::stocked();
    let left = |shop: &Shop, tag: &str| BottleJobs::of(&shop.book).left(shop.piece(tag));
    assert_eq!(left(&shop, "B-01"), None, "no job takes of it");
    shop.book_saloon("thursday", "2026-03-05 08:00");
    assert_eq!(left(&shop, "B-01"), Some(15));
    assert_eq!(left(&shop, "P-01"), None);
    shop.count("B-01", 30_000 + 2 * 61_500);
    assert_eq!(left(&shop, "B-01"), Some(2));
    shop.count("B-01", 30_000 + 2 * 61_500 - 1);
    assert_eq!(left(&shop, "B-01"), Some(1));
    shop.count("B-01", 12_000);
    assert_eq!(left(&shop, "B-01"), Some(0));
}
