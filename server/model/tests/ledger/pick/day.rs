//! Two jobs of one day: no pad goes to both, not even as a spare, while there are others.

use std::collections::BTreeSet;

use fettlebook_model::check::{JobCheck, LineKind, check_jobs};
use fettlebook_model::command::NotebookRow;
use fettlebook_model::deed::Deed;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Command, Entry, Tag};

use super::{COARSE, FINE, worn};
use crate::shop::{Shop, done, id, pad_use, saloon_job, step, tag, tags_of};

/// The stocked shop with so many pads for cutting and for finishing, and two jobs on Thursday.
fn two_jobs(coarse: i64, fine: i64) -> Shop {
    let mut shop = Shop::new();
    shop.receive(COARSE, coarse);
    shop.receive(FINE, fine);
    shop.receive("coarse-compound-1l", 1);
    shop.receive("fine-polish-500ml", 1);
    shop.receive_towels(60, 0);
    shop.receive("nitrile-gloves", 1);
    shop.set_policy(PolicyKey::SparePadsCount, 1);
    shop.book_saloon("morning", "2026-03-05 08:00");
    shop.book_saloon("evening", "2026-03-05 16:00");
    shop
}

fn picked(check: &JobCheck) -> BTreeSet<Tag> {
    let pads = check.lines.iter().filter(|line| line.kind == LineKind::Pad);
    pads.flat_map(|line| &line.picks)
        .map(|pick| pick.tag)
        .collect()
}

/// Pads of the cut that worked, and those that went along.
fn worked_and_along(entry: &Entry) -> (Vec<Tag>, Vec<Tag>) {
    let (mut worked, mut along) = (Vec::new(), Vec::new());
    for deed in &entry.deeds {
        match deed {
            Deed::PadUsed { tag, within, .. } if within.step == Some(id("cut")) => {
                worked.push(*tag)
            }
            Deed::TakenAlong { tag, within, .. } if within.step == Some(id("cut")) => {
                along.push(*tag);
            }
            _ => {}
        }
    }
    (worked, along)
}

fn checks(shop: &Shop) -> Vec<JobCheck> {
    check_jobs(&shop.book, &[id("morning"), id("evening")], shop.now).unwrap()
}

#[test]
fn no_pad_is_picked_for_two_jobs_of_a_day_spares_included() {
    let shop = two_jobs(12, 10);
    let checks = checks(&shop);
    let (morning, evening) = (picked(&checks[0]), picked(&checks[1]));
    assert_eq!((morning.len(), evening.len()), (11, 11));
    assert!(morning.is_disjoint(&evening), "{morning:?} {evening:?}");
    assert!(
        checks[1]
            .lines
            .iter()
            .all(|line| line.kind != LineKind::Pad || line.short == 0)
    );
}

#[test]
fn with_one_pad_fewer_the_second_job_goes_without_a_spare_and_does_not_share_that_of_the_first() {
    let shop = two_jobs(11, 10);
    let checks = checks(&shop);
    let cut = checks[1]
        .lines
        .iter()
        .find(|line| line.kind == LineKind::Pad)
        .unwrap();
    assert_eq!((cut.need, cut.have, cut.short), (5, 5, 0));
    assert!(cut.picks.iter().all(|pick| !pick.spare));
    assert!(picked(&checks[0]).is_disjoint(&picked(&checks[1])));
}

/// What is logged of the first job bars its spare from the second as what was imagined did.
#[test]
fn a_spare_is_kept_for_its_job_for_the_day_and_free_on_the_next() {
    let mut shop = two_jobs(12, 10);
    shop.go_to("2026-03-05 12:00");
    shop.log("morning");
    let spare = shop.piece("P-06").pad().unwrap();
    assert_eq!(spare.taken_along_on, Some("2026-03-05".parse().unwrap()));
    assert_eq!(
        (spare.use_count, shop.piece("P-06").readiness.word()),
        (0, "ready")
    );
    let evening = &check_jobs(&shop.book, &[id("evening")], shop.now).unwrap()[0];
    assert!(!picked(evening).contains(&tag("P-06")));
    shop.book_saloon("friday", "2026-03-06 08:00");
    let friday = &check_jobs(&shop.book, &[id("friday")], shop.now).unwrap()[0];
    assert!(picked(friday).contains(&tag("P-06")));
}

#[test]
fn a_spare_of_a_log_that_is_reversed_is_free_again() {
    let mut shop = two_jobs(12, 10);
    shop.go_to("2026-03-05 12:00");
    let seq = shop.log("morning").seq;
    shop.reverse(seq).unwrap();
    assert_eq!(shop.piece("P-06").pad().unwrap().taken_along_on, None);
}

/// A spare that worked after all, or was swapped in, went along for more than the ride.
#[test]
fn a_spare_that_worked_is_no_spare() {
    let mut shop = two_jobs(12, 10);
    shop.go_to("2026-03-05 12:00");
    let entry = shop
        .log_as("morning", |log| {
            log.swaps = vec![(tag("P-01"), tag("P-06"))]
        })
        .unwrap();
    let (worked, along) = worked_and_along(entry);
    assert_eq!(worked, tags_of("P-06 P-02 P-03 P-04 P-05"));
    assert_eq!(along, []);
    assert_eq!(shop.piece("P-06").pad().unwrap().taken_along_on, None);
}

#[test]
fn the_log_of_the_second_job_leaves_the_spare_of_the_first_while_others_suffice() {
    let mut shop = two_jobs(11, 10);
    shop.go_to("2026-03-05 20:00");
    let morning = worked_and_along(shop.log("morning"));
    assert_eq!(
        morning,
        (tags_of("P-01 P-02 P-03 P-04 P-05"), tags_of("P-06"))
    );
    let evening = worked_and_along(shop.log("evening"));
    assert_eq!(evening, (tags_of("P-07 P-08 P-09 P-10 P-11"), Vec::new()));
}

/// The work was done, with whatever there was.
#[test]
fn the_log_of_the_second_job_takes_the_spare_of_the_first_rather_than_refuse() {
    let mut shop = two_jobs(10, 10);
    shop.go_to("2026-03-05 20:00");
    shop.log("morning");
    let evening = worked_and_along(shop.log("evening"));
    assert_eq!(evening, (tags_of("P-06 P-07 P-08 P-09 P-10"), Vec::new()));
    let mut shop = two_jobs(6, 10);
    shop.go_to("2026-03-05 20:00");
    shop.log("morning");
    assert_eq!(worked_and_along(shop.log("evening")).0, tags_of("P-06"));
}

/// Pads that came after the start were not there: they make up the number, and no more than that.
#[test]
fn looking_back_what_came_after_the_start_only_makes_up_the_number() {
    for (before, expected) in [
        (5, "P-01 P-02 P-03 P-04 P-05"),
        (4, "P-50 P-01 P-02 P-03 P-04"),
        (0, "P-50 P-51 P-52 P-53 P-54"),
    ] {
        let mut shop = two_jobs(1, 10);
        shop.lose("P-01");
        let rows = (1..=before).map(|at| NotebookRow {
            tag: tag(&format!("P-{:02}", 20 + at)),
            ..worn("P-20", COARSE, 0)
        });
        let rows: Vec<NotebookRow> = rows.collect();
        if !rows.is_empty() {
            shop.import(rows);
        }
        shop.go_to("2026-03-05 20:00");
        // More worn, so that cutting would have them first.
        let late = (50..=59).map(|at| worn(&format!("P-{at}"), COARSE, 300));
        shop.import(late.collect());
        let expected = expected.replace("P-0", "P-2");
        assert_eq!(
            worked_and_along(shop.log("morning")).0,
            tags_of(&expected),
            "{before}"
        );
    }
}

/// A spare of that day was there at all, so it comes before what came later.
/// What another van carries was hardly in the hand: of the kit at the bench and in that van the bench's goes
/// before it, however worn.
#[test]
fn looking_back_the_pads_of_another_van_come_last() {
    let mut shop = Shop::stocked();
    shop.lose("P-07");
    shop.log_loose(|loose| {
        loose.step = Some(step("spot", "coarse-foam-150", "coarse-compound-1l"));
        loose.section_count = 20;
        loose.pads = vec![pad_use("P-06")];
    })
    .unwrap();
    shop.wash("P-06");
    shop.mark_dry("P-06");
    shop.move_to("P-01 P-02 P-03 P-04", "van-a");
    shop.move_to("P-06", "van-b");
    let mut job = saloon_job("thursday", "2026-03-05 08:00");
    job.place = id("van-a");
    shop.say(Command::BookJob { job });
    shop.go_to("2026-03-05 15:00");
    let (worked, _) = worked_and_along(shop.log("thursday"));
    assert!(
        worked.starts_with(&tags_of("P-01 P-02 P-03 P-04 P-05")),
        "{worked:?}"
    );
}

#[test]
fn looking_back_a_spare_of_the_day_comes_before_what_came_later() {
    let mut shop = two_jobs(10, 10);
    shop.go_to("2026-03-05 20:00");
    shop.import(vec![worn("A-01", COARSE, 300)]);
    shop.log("morning");
    let evening = worked_and_along(shop.log("evening"));
    assert_eq!(evening.0, tags_of("P-06 P-07 P-08 P-09 P-10"));
}

/// Looking back, a day is the local day of the start, not that of the report.
#[test]
fn a_job_logged_days_later_keeps_its_spare_for_its_own_day() {
    let mut shop = two_jobs(12, 10);
    shop.go_to("2026-03-09 09:00");
    shop.log_as("morning", |log| log.said = done("2026-03-05 15:00"))
        .unwrap();
    let kept = shop.piece("P-06").pad().unwrap().taken_along_on;
    assert_eq!(kept, Some("2026-03-05".parse().unwrap()));
}
