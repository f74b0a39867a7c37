//! Pads: enough of them, clean, dry, whole, of the right past, and taken in the right order.

use fettlebook_model::check::{Line, LineKind, Verdict};
use fettlebook_model::job::Job;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear::Work;
use fettlebook_model::{Command, Tag};

use super::{asks, check, line, says, thursday_line};
use crate::shop::{Shop, id, pad_use, routine, saloon_job, step, tag, tags_of};

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

/// A shop whose five pads for cutting have cut, and a job on Monday that finishes with their make.
fn finish_on_coarse_foam() -> Shop {
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
    shop.say(Command::BookJob {
        job: Job {
            routine: id("finish-on-coarse-foam"),
            ..saloon_job("monday", "2026-03-09 08:00")
        },
    });
    shop
}

fn monday(shop: &Shop) -> Line {
    let checks = check(shop, &["monday"]);
    line(&checks[0], LineKind::Pad, Some("finish")).clone()
}

/// Basis: common practice, no source: liquid and grade never go backwards but through a wash.
#[test]
fn a_pad_that_carried_compound_is_not_offered_for_polish_until_it_is_washed() {
    let mut shop = finish_on_coarse_foam();
    shop.mark_dry("P-01 P-02 P-03 P-04 P-05");
    let unwashed = monday(&shop);
    assert_eq!(picks(&unwashed), tags_of("P-06 P-07"));
    let why = "Carried a coarser liquid and not washed since: P-01, P-02, P-03, P-04 and P-05";
    assert!(says(&unwashed, why), "{}", unwashed.reason);
    let todo = "Wash P-01, P-02, P-03, P-04 and P-05 by Sun 8 Mar 2026 08:00 to be dry in time.";
    assert!(asks(&unwashed, todo), "{:?}", unwashed.todos);
}

/// Basis: common practice, no source: after the wash it is the last choice, with a look for leftovers.
#[test]
fn a_pad_that_was_washed_after_compound_finishes_where_no_other_is_there() {
    let mut shop = finish_on_coarse_foam();
    shop.wash("P-01 P-02 P-03 P-04 P-05");
    let washed = monday(&shop);
    let picked = picks(&washed);
    assert!(picked.contains(&tag("P-06")) && picked.contains(&tag("P-07")));
    assert!(washed.short < 3, "{washed:?}");
    assert_eq!(washed.verdict.max(Verdict::Watch), washed.verdict);
    assert!(says(&washed, "Washed after a coarser liquid: P-01"));
    assert!(asks(&washed, "for leftovers of the coarser liquid"));
    shop.receive("coarse-foam-150", 8);
    let others = monday(&shop);
    let is_washed = |tag: &Tag| tags_of("P-01 P-02 P-03 P-04 P-05").contains(tag);
    assert!(!picks(&others).iter().any(is_washed), "{others:?}");
    assert!(!says(&others, "Washed after"), "{}", others.reason);
}

/// The check says so before a pad carries what is coarser than it is kept for, and is silent about those
/// that have carried it.
#[test]
fn a_finishing_pad_that_is_to_carry_compound_is_told_before() {
    let mut shop = Shop::stocked();
    let cut = step("cut", "fine-foam-150", "coarse-compound-1l");
    shop.say(Command::CreateRoutine {
        routine: routine("cut-on-fine-foam", vec![cut]),
    });
    let of_routine = |job, start| Job {
        routine: id("cut-on-fine-foam"),
        ..saloon_job(job, start)
    };
    let job = of_routine("thursday", "2026-03-05 08:00");
    shop.say(Command::BookJob { job });
    let line = cut_line(&shop, "thursday");
    assert_eq!(line.verdict, Verdict::Watch);
    let why = "Kept for fine, and to carry a coarse liquid: P-08";
    assert!(says(&line, why), "{}", line.reason);
    assert!(asks(&line, "Take pads kept for coarse"), "{:?}", line.todos);
    shop.go_to("2026-03-05 15:00");
    let told = "P-08 is kept for fine and carries a coarse liquid";
    let entry = shop.log("thursday");
    assert!(entry.flags.iter().any(|flag| flag.text.contains(told)));
    shop.wash("P-08 P-09 P-10 P-11 P-12");
    shop.mark_dry("P-08 P-09 P-10 P-11 P-12");
    shop.count("B-01", 900_000);
    let job = of_routine("friday", "2026-03-06 08:00");
    shop.say(Command::BookJob { job });
    let again = cut_line(&shop, "friday");
    assert!(!says(&again, "Kept for fine"), "{}", again.reason);
}

fn cut_line(shop: &Shop, job: &str) -> Line {
    line(&check(shop, &[job])[0], LineKind::Pad, Some("cut")).clone()
}

/// What was not washed out is flagged when it goes on a finer liquid all the same.
#[test]
fn a_log_of_a_pad_with_compound_in_it_under_polish_is_flagged() {
    let mut shop = Shop::stocked();
    for (liquid, told) in [
        ("coarse-compound-1l", "P-08 is kept for fine"),
        (
            "fine-polish-500ml",
            "P-08 carried a coarse liquid and was not washed since",
        ),
    ] {
        let entry = shop.log_loose(|loose| {
            loose.step = Some(step("touch-up", "fine-foam-150", liquid));
            loose.section_count = 1;
            loose.pads = vec![pad_use("P-08")];
        });
        let flags = &entry.unwrap().flags;
        assert!(
            flags.iter().any(|flag| flag.text.contains(told)),
            "{flags:?}"
        );
    }
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
