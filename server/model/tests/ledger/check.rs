//! What the check says, and that it says why.

mod pads;
mod people;
mod places;
mod stock;
mod tools;
mod which;

use fettlebook_model::check::{JobCheck, Line, LineKind, Verdict, check_jobs};
use fettlebook_model::job::Job;
use fettlebook_model::{Command, Deed, Reason};

use crate::shop::{Shop, id, make, plate, routine, saloon_job, step, tag};

fn check(shop: &Shop, jobs: &[&str]) -> Vec<JobCheck> {
    let ids: Vec<_> = jobs.iter().map(|job| id(job)).collect();
    check_jobs(&shop.book, &ids, shop.now).unwrap()
}

/// The line about this in the check of the two-step on Thursday morning, booked on the way.
fn thursday_line(shop: &mut Shop, kind: LineKind, step: Option<&str>) -> Line {
    if shop.book.job(&id("thursday")).is_none() {
        shop.book_saloon("thursday", "2026-03-05 08:00");
    }
    line(&check(shop, &["thursday"])[0], kind, step).clone()
}

fn line<'a>(check: &'a JobCheck, kind: LineKind, step: Option<&str>) -> &'a Line {
    let step = step.map(id);
    check
        .lines
        .iter()
        .find(|line| line.kind == kind && line.step == step)
        .unwrap()
}

/// A job on Thursday whose two steps take pads of one make.
fn cut_twice(shop: &mut Shop) {
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
}

fn says(line: &Line, why: &str) -> bool {
    line.reason.contains(why)
}

fn asks(line: &Line, todo: &str) -> bool {
    line.todos.iter().any(|said| said.contains(todo))
}

#[test]
fn kit_that_is_all_there_goes_once_the_film_is_measured() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let film = line(&checks[0], LineKind::Film, None);
    assert_eq!(film.verdict, Verdict::Watch);
    assert!(says(film, "not measured"), "{}", film.reason);
    let others = checks[0]
        .lines
        .iter()
        .filter(|line| line.kind != LineKind::Film);
    for line in others {
        assert!(line.short == 0 && line.verdict == Verdict::Go, "{line:?}");
    }
    assert_eq!(checks[0].verdict, Verdict::Watch);
}

#[test]
fn the_second_job_of_a_day_meets_the_towels_and_pads_the_first_left() {
    let mut shop = Shop::stocked();
    shop.book_saloon("morning", "2026-03-05 08:00");
    shop.book_saloon("evening", "2026-03-05 16:00");
    let checks = check(&shop, &["evening", "morning"]);
    assert_eq!(checks[0].job.id, id("morning"));
    assert_eq!(line(&checks[0], LineKind::Towel, None).short, 0);
    assert_eq!(line(&checks[1], LineKind::Towel, None).have, 18);
    let cut = line(&checks[1], LineKind::Pad, Some("cut"));
    assert_eq!(cut.have, 1);
    assert!(
        says(cut, "A spare for another job that day: P-06."),
        "{}",
        cut.reason
    );
    assert_eq!(checks[1].verdict, Verdict::Stop);
    let alone = check(&shop, &["evening"]);
    assert_eq!(line(&alone[0], LineKind::Towel, None).short, 0);
}

#[test]
fn a_first_job_without_a_pad_still_leaves_soiled_towels_for_the_second() {
    let mut shop = Shop::stocked();
    shop.set_aside("P-01 P-02 P-03 P-04 P-05 P-06 P-07");
    shop.book_saloon("morning", "2026-03-05 08:00");
    shop.book_saloon("evening", "2026-03-05 16:00");
    let checks = check(&shop, &["morning", "evening"]);
    assert_eq!(line(&checks[0], LineKind::Pad, Some("cut")).have, 0);
    assert_eq!(line(&checks[1], LineKind::Towel, None).have, 18);
    assert_eq!(line(&checks[1], LineKind::Pad, Some("finish")).have, 0);
}

#[test]
fn a_job_named_twice_is_checked_once() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    assert_eq!(check(&shop, &["thursday", "thursday"]).len(), 1);
}

#[test]
fn only_booked_jobs_are_checked() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    let reason = |job: &str| {
        check_jobs(&shop.book, &[id(job)], shop.now)
            .unwrap_err()
            .reason
    };
    assert_eq!(reason("thursday"), Reason::JobState);
    assert_eq!(reason("unheard-of"), Reason::JobUnknown);
}

#[test]
fn a_check_reads_the_book_and_leaves_it_as_it_was() {
    let mut shop = Shop::stocked();
    shop.book_saloon("morning", "2026-03-05 08:00");
    shop.book_saloon("evening", "2026-03-05 16:00");
    let before = shop.book.clone();
    check(&shop, &["morning", "evening"]);
    assert_eq!(shop.book, before);
}

#[test]
fn the_log_takes_what_the_check_picked() {
    let mut shop = Shop::stocked();
    // Kit that could be mistaken for the better pick: a plate of unknown rating, towels washed
    // more, a bottle that expires, an opened box of gloves.
    shop.say(Command::CreateMake {
        make: make("plate-unmarked", plate(135, None)),
    });
    shop.receive("plate-unmarked", 1);
    shop.receive_towels(9, 12);
    shop.receive_as("coarse-compound-1l", 1, |receipt| {
        receipt.expiry = Some("2026-09-01".parse().unwrap());
        receipt.volume_ul = Some(fettlebook_quantity::Volume::from_ul(40_000));
    });
    shop.receive_as("nitrile-gloves", 1, |receipt| receipt.quantity = Some(1));
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check(&shop, &["thursday"]);
    let mut picked: Vec<_> = checks[0]
        .lines
        .iter()
        .flat_map(|line| &line.picks)
        .map(|pick| pick.tag)
        .collect();
    shop.go_to("2026-03-05 15:00");
    let entry = shop.log("thursday");
    let mut used: Vec<_> = entry
        .deeds
        .iter()
        .filter(|deed| deed.within().is_some())
        .filter_map(|deed| match deed.subject() {
            fettlebook_model::Subject::Piece(tag) => Some(tag),
            _ => None,
        })
        .collect();
    picked.sort();
    used.sort();
    assert_eq!(used, picked);
    assert!(picked.contains(&tag("T-02")) && picked.contains(&tag("S-02")));
    assert!(
        entry
            .deeds
            .iter()
            .all(|deed| !matches!(deed, Deed::LiquidUsed { stated: true, .. }))
    );
}
