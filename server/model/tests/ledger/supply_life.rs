//! The life of a bottle, a bundle and a pack: what each gave, how many jobs it has left, and its last.
//!
//! The two-step is planned to take 61.5 mL of compound from a full bottle of a litre, whose empty weight is 60 g;
//! compound weighs 1.1 g/mL, and the last 30 mL are its heel.

use fettlebook_model::Command;
use fettlebook_model::command::{Said, Weighing};
use fettlebook_model::real_use::RealUse;
use fettlebook_model::supply_life::{GivenBasis, SupplyLife, supply_life};
use fettlebook_quantity::Mass;

use crate::shop::{Shop, at, id, tag};

const PLANNED_UL: i64 = 61_500;
const COMPOUND: &str = "coarse-compound-1l";

fn life(shop: &Shop, piece: &str) -> SupplyLife {
    supply_life(&shop.book, shop.piece(piece), &shop.entries, shop.now).unwrap()
}

/// Works the two-step on a day of March, everything clean and dry again after it.
fn work(shop: &mut Shop, day: u8) {
    let job = format!("job-{day}");
    shop.book_saloon(&job, &format!("2026-03-{day:02} 08:00"));
    shop.go_to(&format!("2026-03-{day:02} 15:00"));
    shop.log(&job);
    let pads: Vec<String> = (shop.book.pieces())
        .filter(|piece| piece.pad().is_some())
        .map(|piece| piece.tag.to_string())
        .collect();
    shop.mark_dry(&pads.join(" "));
}

fn weigh(shop: &mut Shop, left_ul: i64) {
    let weighing = Weighing {
        tag: tag("B-01"),
        gross_mg: Mass::from_mg(60_000 + left_ul * 11 / 10),
    };
    shop.say(Command::Weigh {
        said: Said::default(),
        weighings: vec![weighing],
    });
}

/// Source: arithmetic: 140 mL gone over two jobs of the same plan are 70 mL each; the third is not weighed yet.
#[test]
fn a_bottle_tells_what_it_gave_to_each_job_and_how_that_is_known() {
    let mut shop = Shop::stocked();
    work(&mut shop, 5);
    work(&mut shop, 6);
    weigh(&mut shop, 860_000);
    work(&mut shop, 7);
    let life = life(&shop, "B-01");
    let given: Vec<_> = life
        .given
        .iter()
        .map(|one| {
            (
                one.job.clone().unwrap(),
                one.planned,
                one.quantity,
                one.basis,
            )
        })
        .collect();
    let planned = Some(PLANNED_UL);
    assert_eq!(
        given[0],
        (id("job-5"), planned, 70_000, GivenBasis::Weighed)
    );
    assert_eq!(
        given[1],
        (id("job-6"), planned, 70_000, GivenBasis::Weighed)
    );
    assert_eq!((given[2].1, given[2].3), (planned, GivenBasis::Planned));
    assert_eq!(life.reading_count, 1);
}

/// What was taken back was not given.
#[test]
fn what_was_taken_back_is_no_part_of_its_life() {
    let mut shop = Shop::stocked();
    work(&mut shop, 5);
    let logged = shop.entries.iter().rev().nth(1).unwrap().seq;
    assert_eq!(life(&shop, "B-01").given.len(), 1);
    shop.reverse(logged).unwrap();
    assert_eq!(life(&shop, "B-01").given, []);
}

/// Source: the definition of the range: with the jobs told as the low end nine in ten use no more than is left
/// above the heel, with those of the high end one in ten; the plan is the same for every saloon.
#[test]
fn jobs_left_are_those_that_the_bottle_carries_nine_five_and_one_times_in_ten() {
    let mut shop = Shop::stocked();
    for day in 5..11 {
        work(&mut shop, day);
        weigh(&mut shop, 1_000_000 - i64::from(day - 4) * 72_000);
    }
    let left = life(&shop, "B-01").jobs_left.unwrap();
    let real = RealUse::of(&shop.book, &id(COMPOUND), PLANNED_UL);
    let usable = shop.left_ul("B-01") - 30_000;
    let carries = |jobs: f64| {
        let planned = (PLANNED_UL as f64 * jobs).round() as i64;
        real.of_job(planned).at_most(usable)
    };
    for (jobs, times) in [(left.low, 0.9), (left.typical, 0.5), (left.high, 0.1)] {
        assert!((carries(jobs) - times).abs() < 1e-3, "{left:?}");
    }
    let mean = real.of_job(PLANNED_UL).expected;
    assert!((left.typical * mean as f64 / usable as f64 - 1.0).abs() < 0.02);
    let said = life(&shop, "B-01").rests_on;
    assert!(said.contains("538 mL are left above the heel"), "{said}");
    assert!(
        said.ends_with("You use 17 % more than planned, from 6 jobs."),
        "{said}"
    );
}

/// Source: arithmetic: 130 mL above the heel at 61.5 mL a job are two jobs, and the third takes the rest.
#[test]
fn the_booked_job_that_empties_a_bottle_is_told() {
    let mut shop = Shop::stocked();
    shop.count("B-01", 160_000);
    for day in [9, 10] {
        shop.book_saloon(&format!("job-{day}"), &format!("2026-03-{day:02} 08:00"));
    }
    let lasts = life(&shop, "B-01");
    assert_eq!((lasts.booked_job_count, lasts.last_job), (2, None));
    for day in [12, 16] {
        shop.book_saloon(&format!("job-{day}"), &format!("2026-03-{day:02} 08:00"));
    }
    let life = life(&shop, "B-01");
    let last = life.last_job.unwrap();
    assert_eq!(
        (last.job, last.starts_at),
        (id("job-12"), at("2026-03-12 08:00"))
    );
    assert_eq!(life.booked_job_count, 3);
}

/// Source: by hand: three jobs at a wash each are a factor of 1, so that 47 washes are 47 jobs; with two jobs to
/// a wash three times over, Z = 6/9 and the factor is 2/3 · 1/2 + 1/3.
#[test]
fn a_bundle_goes_by_the_washes_that_its_jobs_have_cost_it() {
    let mut shop = Shop::stocked();
    for day in 5..8 {
        work(&mut shop, day);
        shop.wash("T-01");
        shop.mark_dry("T-01");
    }
    let each = life(&shop, "T-01");
    let said = "47 washes are left of 50. 1.0 washes a job are reckoned with, from 3 jobs.";
    assert_eq!(each.rests_on, said);
    let left = each.jobs_left.unwrap();
    assert!(
        (left.typical - 47.0).abs() < 1.5 && left.low < 45.0 && left.high > 49.0,
        "{left:?}"
    );
    assert_eq!(each.given.len(), 3);

    let mut shop = Shop::stocked();
    for day in (5..17).step_by(4) {
        work(&mut shop, day);
        work(&mut shop, day + 2);
        shop.wash("T-01");
        shop.mark_dry("T-01");
    }
    let said = life(&shop, "T-01").rests_on;
    assert!(
        said.ends_with("0.7 washes a job are reckoned with, from 6 jobs."),
        "{said}"
    );
}

#[test]
fn the_booked_job_after_which_towels_go_down_a_grade_is_told() {
    let mut shop = Shop::stocked();
    shop.lose("T-01");
    shop.receive_towels(24, 48);
    for day in [9, 11, 13] {
        shop.book_saloon(&format!("job-{day}"), &format!("2026-03-{day:02} 08:00"));
    }
    let last = life(&shop, "T-02").last_job.unwrap();
    assert_eq!(last.job, id("job-11"));
}

/// Source: arithmetic: 50 pairs at two a job.
#[test]
fn a_pack_lasts_for_as_many_jobs_as_its_content_does() {
    let mut shop = Shop::stocked();
    work(&mut shop, 5);
    let gloves = life(&shop, "S-01");
    assert!((gloves.jobs_left.unwrap().typical - 24.0).abs() < 1e-6);
    assert_eq!(
        gloves.rests_on,
        "A job takes 2 pairs on average, by the one job with it."
    );
    assert_eq!(gloves.given[0].quantity, 2);
}

#[test]
fn pads_and_what_is_binned_have_no_such_life() {
    let mut shop = Shop::stocked();
    let of = |shop: &Shop, piece: &str| {
        supply_life(&shop.book, shop.piece(piece), &shop.entries, shop.now).is_none()
    };
    assert!(of(&shop, "P-01") && of(&shop, "M-01") && !of(&shop, "B-01"));
    shop.bin("B-01", "lost");
    assert!(of(&shop, "B-01"));
}
