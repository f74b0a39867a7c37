//! Goal: a pad works on both days of a job where it can be washed and dry between, and its life is counted once.
//!
//! Method: the saloon worked twice over with coarse foam, a step a day, 77 sections and five pads each, from Thursday,
//! 5 March 2026, on, with as many pads as one day takes. A day's machines run 11 088 s, so that it ends at 14:09:36
//! (twice that: common practice, no source), and thin foam dries for 24 h (common practice, no source).

mod between;
mod counted;
mod logged;
mod offered;

use fettlebook_model::Command;
use fettlebook_model::check::{JobCheck, Line, LineKind, check_jobs};
use fettlebook_model::job::{Job, SecondDay};

use crate::shop::{Shop, at, id, routine, saloon_job, step};

const PADS: [&str; 5] = ["P-01", "P-02", "P-03", "P-04", "P-05"];

/// The saloon twice over, on Thursday and on another day, with this liquid then.
fn twice_over(second: &str, liquid: &str) -> Shop {
    let mut shop = Shop::new();
    shop.receive("coarse-foam-150", 5);
    shop.receive("coarse-compound-1l", 1);
    shop.receive("fine-polish-500ml", 1);
    shop.receive_towels(24, 0);
    let steps = vec![
        step("cut", "coarse-foam-150", "coarse-compound-1l"),
        step("again", "coarse-foam-150", liquid),
    ];
    let mut routine = routine("twice-over", steps);
    routine.towel_make = Some(id("edgeless-towel-400g"));
    shop.say(Command::CreateRoutine { routine });
    let job = Job {
        routine: id("twice-over"),
        second_day: Some(SecondDay {
            starts_at: at(second),
            from_step: None,
        }),
        ..saloon_job("saloon", "2026-03-05 08:00")
    };
    shop.say(Command::BookJob { job });
    shop
}

/// Thursday, and Saturday at eight: washed by Friday at eight a pad is dry.
fn saturday() -> Shop {
    twice_over("2026-03-07 08:00", "coarse-compound-1l")
}

fn checked(shop: &Shop, jobs: &[&str]) -> Vec<JobCheck> {
    let ids: Vec<_> = jobs.iter().map(|job| id(job)).collect();
    check_jobs(&shop.book, &ids, shop.now).unwrap()
}

/// The pad line of a step.
fn pads(shop: &Shop, of: &str) -> Line {
    let check = checked(shop, &["saloon"]).remove(0);
    let mut lines = check.lines.into_iter();
    let is_it = |line: &Line| line.kind == LineKind::Pad && line.step == Some(id(of));
    lines.find(is_it).unwrap()
}

fn picks(line: &Line) -> Vec<String> {
    line.picks.iter().map(|pick| pick.tag.to_string()).collect()
}

fn log_first(shop: &mut Shop) {
    shop.log_as("saloon", |log| log.first_day = true).unwrap();
}

fn job(shop: &Shop) -> &Job {
    shop.book.job(&id("saloon")).unwrap()
}

/// How often a pad worked and was washed.
fn life(shop: &Shop, pad: &str) -> (i64, i64) {
    let pad = shop.piece(pad).pad().unwrap();
    (pad.use_count, pad.wash_count)
}
