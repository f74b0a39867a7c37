//! Pads: enough of them, clean, dry, whole, of the right past, and taken in the right order.

use fettlebook_model::check::{Line, LineKind, Verdict};
use fettlebook_model::job::Job;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear::Work;
use fettlebook_model::{Command, Tag};

use super::{asks, check, line, says, thursday_line};
use crate::shop::{Shop, id, routine, saloon_job, step, tag, tags_of};

fn cut(shop: &mut Shop) -> Line {
    thursday_line(shop, LineKind::Pad, Some("cut"))
}

fn picks(line: &Line) -> Vec<Tag> {
    line.picks.iter().map(|pick| pick.tag).collect()
}

/// Takes a pad into the kit that has worked so many reference sections.
fn receive_worn(shop: &mut Shop, make: &str, sections: i64) {
    shop.receive_as(make, 1, |receipt| {
        receipt.work = Some(Work::from_micro_sections(sections * 1_000_000));
    });
}

/// Basis: common practice, no source: one spare pad for a step.
#[test]
fn a_step_needs_its_working_pads_and_a_spare() {
    let mut shop = Shop::stocked();
    let all = cut(&mut shop);
    assert_eq!((all.need, all.have, all.picks.len()), (6, 7, 6));
    let spares: Vec<bool> = all.picks.iter().map(|pick| pick.spare).collect();
    assert_eq!(spares, [false, false, false, false, false, true]);
    shop.lose("P-06 P-07");
    let short = cut(&mut shop);
    assert_eq!((short.short, short.verdict), (1, Verdict::Stop));
    assert!(says(&short, "Short by 1."), "{}", short.reason);
    assert!(asks(&short, "Buy 1 more of coarse foam 150"));
    shop.set_policy(PolicyKey::SparePadsCount, 0);
    assert_eq!(cut(&mut shop).short, 0);
}

/// Basis: common practice, no source: thin foam dries 24 h.
#[test]
fn a_pad_washed_at_six_is_not_ready_at_eight_unless_marked_dry() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.go_to("2026-03-04 18:00");
    shop.wash("P-01 P-02");
    let line = cut(&mut shop);
    assert_eq!((line.have, line.short), (5, 1));
    assert_eq!(line.verdict, Verdict::Stop);
    assert!(says(&line, "Drying: P-01 and P-02"), "{}", line.reason);
    assert!(asks(&line, "should be dry on Thu 5 Mar 2026 18:00"));
    shop.mark_dry("P-01 P-02");
    assert_eq!(cut(&mut shop).have, 7);
}

/// Basis: common practice, no source: thin foam dries 24 h, so a wash by the same hour a day before.
#[test]
fn soiled_pads_are_to_be_washed_in_time_to_dry() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    shop.book_saloon("saturday", "2026-03-07 08:00");
    let checks = check(&shop, &["saturday"]);
    let cut = line(&checks[0], LineKind::Pad, Some("cut"));
    assert_eq!(cut.have, 2);
    assert!(
        asks(cut, "by Fri 6 Mar 2026 08:00 to be dry in time"),
        "{:?}",
        cut.todos
    );
    shop.go_to("2026-03-06 08:01");
    let checks = check(&shop, &["saturday"]);
    let cut = line(&checks[0], LineKind::Pad, Some("cut"));
    assert!(asks(cut, "cannot dry by the start"), "{:?}", cut.todos);
}

/// Basis: common practice, no source: liquid and grade never go backwards, washed or not.
#[test]
fn a_pad_that_carried_compound_is_not_offered_for_polish() {
    let mut shop = Shop::stocked();
    shop.say(Command::CreateRoutine {
        routine: routine(
            "finish-on-coarse-foam",
            vec![step("finish", "coarse-foam-150", "fine-polish-500ml")],
        ),
    });
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.go_to("2026-03-05 14:00");
    shop.log("thursday");
    shop.wash("P-01 P-02 P-03 P-04 P-05");
    shop.say(Command::BookJob {
        job: Job {
            routine: id("finish-on-coarse-foam"),
            ..saloon_job("monday", "2026-03-09 08:00")
        },
    });
    let checks = check(&shop, &["monday"]);
    let pads = line(&checks[0], LineKind::Pad, Some("finish"));
    assert_eq!(pads.have, 2);
    let why = "Carried a coarser liquid: P-01, P-02, P-03, P-04 and P-05";
    assert!(says(pads, why), "{}", pads.reason);
}

#[test]
fn two_steps_with_one_make_of_pad_never_share_a_pad() {
    let mut shop = Shop::stocked();
    shop.say(Command::CreateRoutine {
        routine: routine(
            "cut-twice",
            vec![
                step("first", "coarse-foam-150", "coarse-compound-1l"),
                step("second", "coarse-foam-150", "coarse-compound-1l"),
            ],
        ),
    });
    shop.say(Command::BookJob {
        job: Job {
            routine: id("cut-twice"),
            ..saloon_job("thursday", "2026-03-05 08:00")
        },
    });
    let checks = check(&shop, &["thursday"]);
    let first = line(&checks[0], LineKind::Pad, Some("first"));
    let second = line(&checks[0], LineKind::Pad, Some("second"));
    assert_eq!(picks(second), [tag("P-07")]);
    assert!(!picks(first).contains(&tag("P-07")));
    assert!(says(second, "Taken for another step"), "{}", second.reason);
}

/// Basis: common practice, no source.
#[test]
fn cutting_takes_worn_pads_first_and_finishing_the_least_worn() {
    let mut shop = Shop::new();
    for (make, half) in [("coarse-foam-150", 65), ("fine-foam-150", 55)] {
        shop.receive(make, 3);
        receive_worn(&mut shop, make, half);
    }
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let of = |step| picks(line(&checks[0], LineKind::Pad, Some(step)));
    assert_eq!(of("cut"), tags_of("P-04 P-01 P-02 P-03"));
    assert_eq!(of("finish"), tags_of("P-05 P-06 P-07 P-08"));
}

#[test]
fn pads_at_the_place_come_before_those_in_the_van() {
    let mut shop = Shop::stocked();
    shop.move_to("P-01", "van-a");
    let line = cut(&mut shop);
    assert_eq!(picks(&line), tags_of("P-02 P-03 P-04 P-05 P-06 P-07"));
    assert_eq!(line.verdict, Verdict::Go);
}

/// Source: Palmgren–Miner by hand: 80 of 130 reference sections is 0.615, tired from 0.6; the job
/// adds at most 16/130 + 1/20 = 0.173, so the pad stays below 1.
#[test]
fn a_tired_pad_is_watched() {
    let mut shop = Shop::stocked();
    receive_worn(&mut shop, "coarse-foam-150", 80);
    let line = cut(&mut shop);
    assert_eq!(picks(&line)[0], tag("P-13"));
    assert_eq!(line.verdict, Verdict::Watch);
    assert!(says(&line, "Tired: P-13."), "{}", line.reason);
    assert!(asks(&line, "Look at face and edge"));
}

/// Source: Palmgren–Miner by hand: 108 of 130 is 0.831; 0.831 + 0.173 is past 1, while 107 of 130
/// is 0.823, and 0.823 + 0.173 is 0.996.
#[test]
fn a_pad_that_the_job_would_carry_past_its_rating_works_and_is_said_to() {
    let mut shop = Shop::stocked();
    receive_worn(&mut shop, "coarse-foam-150", 108);
    let line = cut(&mut shop);
    assert_eq!(picks(&line)[0], tag("P-13"));
    assert_eq!((line.short, line.verdict), (0, Verdict::Watch));
    let why = "This job carries P-13 past the rated life.";
    assert!(says(&line, why), "{}", line.reason);
    assert!(asks(&line, "Plan to replace P-13 after this job."));
    shop.lose("P-13");
    receive_worn(&mut shop, "coarse-foam-150", 107);
    let line = cut(&mut shop);
    assert_eq!(picks(&line)[0], tag("P-14"));
    assert!(says(&line, "Tired: P-14."), "{}", line.reason);
}

/// Source: MODELS' rule that the shop's own retirements correct a rating: a pad past its rating that
/// still works is counted, and the carry chance says what it is worth.
#[test]
fn a_pad_set_aside_is_not_counted_and_a_spent_one_is_watched() {
    let mut shop = Shop::stocked();
    shop.set_aside("P-01 P-02");
    receive_worn(&mut shop, "coarse-foam-150", 130);
    let cut = cut(&mut shop);
    assert_eq!(cut.have, 6);
    assert_eq!(cut.verdict, Verdict::Watch);
    let why = "Spent by the rating, and still working: P-13.";
    assert!(says(&cut, why), "{}", cut.reason);
    shop.set_aside("P-13");
    let line = self::cut(&mut shop);
    assert_eq!(line.have, 5);
    assert!(
        says(&line, "Set aside: P-01, P-02 and P-13"),
        "{}",
        line.reason
    );
}
