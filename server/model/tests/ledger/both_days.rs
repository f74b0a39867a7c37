//! Goal: a pad works on both days of a job where it can be washed and dry between, and its life is counted once.
//!
//! Method: the saloon worked twice over with coarse foam, a step a day, 77 sections and five pads each, from Thursday,
//! 5 March 2026, on, with as many pads as one day takes. A day's machines run 11 088 s, so that it ends at 14:09:36
//! (twice that: common practice, no source), and thin foam dries for 24 h (common practice, no source).

use fettlebook_model::check::{JobCheck, Line, LineKind, Verdict, check_jobs};
use fettlebook_model::command::{JobTake, Said};
use fettlebook_model::job::{Job, JobState, SecondDay};
use fettlebook_model::kit::Readiness;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::take::Picked;
use fettlebook_model::{Command, Deed, Reason, Refusal, Seq};

use crate::kept::kept;
use crate::shop::{Shop, at, flags, id, pad_use, routine, saloon_job, step, tag};

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

/// Source: common practice, no source: washed by Friday at eight, dry 24 h later.
#[test]
fn a_pad_that_can_be_dry_by_then_works_both_days() {
    let shop = saturday();
    let line = pads(&shop, "again");
    assert_eq!((line.short, line.verdict), (0, Verdict::Watch));
    assert_eq!(picks(&line), PADS);
    assert!(line.reason.contains("Work both days: P-01"), "{line:?}");
    let wash = "P-05 by Fri 6 Mar 2026 08:00 to be dry for the second.";
    assert!(
        line.todos.iter().any(|todo| todo.ends_with(wash)),
        "{line:?}"
    );
    assert_eq!(pads(&shop, "cut").verdict, Verdict::Go);
}

#[test]
fn a_pad_that_cannot_be_dry_by_then_is_not_offered_again() {
    let shop = twice_over("2026-03-06 08:00", "coarse-compound-1l");
    let line = pads(&shop, "again");
    assert_eq!((line.short, line.verdict), (5, Verdict::Stop));
    let told = "Work on the first day, and not dry by the second: P-01";
    assert!(line.reason.contains(told), "{line:?}");
    assert!(
        line.todos
            .iter()
            .any(|todo| todo.contains("dry on Fri 6 Mar 2026 14:09")),
        "{line:?}"
    );
    // From then on they are offered, to the second.
    let minute = |start: &str| pads(&twice_over(start, "coarse-compound-1l"), "again").short;
    assert_eq!(
        (minute("2026-03-06 14:09"), minute("2026-03-06 14:10")),
        (5, 0)
    );
}

/// The check and the book agree on what the first day leaves of a pad: its work, and the wash.
///
/// Source: Palmgren–Miner by hand: 77 sections over five pads are 16 each, of a rating of 130 and 20 washes.
#[test]
fn what_it_did_on_the_first_day_counts() {
    let mut shop = saturday();
    let foretold = pads(&shop, "again").picks[0].damage.unwrap();
    assert!(
        (foretold - (16.0 / 130.0 + 1.0 / 20.0)).abs() < 1e-9,
        "{foretold}"
    );
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    shop.go_to("2026-03-05 18:00");
    shop.wash(&PADS.join(" "));
    let found = pads(&shop, "again");
    assert!(
        (found.picks[0].damage.unwrap() - foretold).abs() < 1e-9,
        "{found:?}"
    );
    assert!(!found.reason.contains("both days"), "{found:?}");
}

/// Source: by hand, every job being ordinary and nothing known but the rating, which is a rate of gamma(1, 1): all of
/// five pads last so much damage x with 1 / (1 + 5 x³), and x is that of both days and the wash between.
#[test]
fn its_life_is_counted_once() {
    let mut shop = saturday();
    shop.set_policy(PolicyKey::SeverityLogSdPermille, 0);
    let check = checked(&shop, &["saloon"]).remove(0);
    let x: f64 = 2.0 * 16.0 / 130.0 + 1.0 / 20.0;
    let both = 1.0 / (1.0 + 5.0 * x.powi(3));
    let of = |kind| {
        let lines = check.lines.iter().filter(move |line| line.kind == kind);
        lines.filter_map(|line| line.chance)
    };
    let again = of(LineKind::Pad).next_back().unwrap();
    assert!((again - both).abs() < 1e-6, "{again} {both}");
    let liquid: f64 = of(LineKind::Liquid).product();
    let whole = check.carry_chance.unwrap();
    assert!(
        (whole - both * liquid).abs() < 1e-6,
        "{whole} {both} {liquid}"
    );
}

/// Has the saloon worked a third time, on its second day too.
fn three_steps(shop: &mut Shop) {
    let steps = ["cut", "again", "more"];
    let steps = steps.map(|name| step(name, "coarse-foam-150", "coarse-compound-1l"));
    let routine = routine("three", steps.to_vec());
    shop.say(Command::CreateRoutine { routine });
    let was = job(shop).clone();
    let mut edited = was.clone();
    edited.routine = id("three");
    edited.second_day.as_mut().unwrap().from_step = Some(id("again"));
    shop.say(Command::EditJob { was, job: edited });
}

/// A pad works in one step of a day, also on the second.
#[test]
fn a_pad_works_in_one_step_of_each_day() {
    let mut shop = saturday();
    three_steps(&mut shop);
    shop.receive("coarse-foam-150", 2);
    let (again, more) = (pads(&shop, "again"), pads(&shop, "more"));
    assert_eq!((again.short, more.short), (0, 3), "{again:?} {more:?}");
    let twice = picks(&again)
        .into_iter()
        .filter(|tag| picks(&more).contains(tag));
    assert_eq!(twice.count(), 0);
}

/// Fresh pads go first: nobody has to wash in the evening who need not.
#[test]
fn fresh_pads_go_before_those_that_would_have_to_be_washed() {
    let mut shop = saturday();
    shop.receive("coarse-foam-150", 3);
    let line = pads(&shop, "again");
    let both = line.picks.iter().filter(|pick| pick.damage.unwrap() > 0.0);
    assert_eq!((line.short, both.count()), (0, 2), "{line:?}");
    shop.receive("coarse-foam-150", 2);
    let line = pads(&shop, "again");
    assert!(!line.reason.contains("both days"), "{line:?}");
}

#[test]
fn after_a_coarser_liquid_it_is_offered_last() {
    let mut shop = twice_over("2026-03-07 08:00", "fine-polish-500ml");
    let line = pads(&shop, "again");
    assert_eq!(picks(&line), PADS);
    assert!(
        line.reason.contains("Washed after a coarser liquid: P-01"),
        "{line:?}"
    );
    // Another make that does for it goes before it.
    let make = fettlebook_model::make::Make {
        id: id("other-foam-150"),
        ..shop
            .book
            .make(&id("coarse-foam-150"))
            .unwrap()
            .as_ref()
            .clone()
    };
    shop.say(Command::CreateMake { make });
    shop.receive("other-foam-150", 5);
    let line = pads(&shop, "again");
    assert!(!line.reason.contains("coarser"), "{line:?}");
    assert!(
        picks(&line).iter().all(|tag| !PADS.contains(&tag.as_str())),
        "{line:?}"
    );
}

/// Logged in its evening, washed, and the rest logged after the second day: all stands in order.
#[test]
fn the_log_of_the_first_day_leaves_the_job_booked() {
    let mut shop = saturday();
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    let entry = shop.entries.last().unwrap().clone();
    assert_eq!(flags(&entry), [""; 0]);
    assert_eq!(job(&shop).state, JobState::Booked);
    assert_eq!(
        job(&shop).first_day_done.as_ref().unwrap().at,
        at("2026-03-05 15:00")
    );
    assert_eq!(life(&shop, "P-01"), (1, 0));
    assert_eq!(shop.piece("P-01").readiness, Readiness::Soiled);
    shop.go_to("2026-03-05 18:00");
    assert_eq!(flags(shop.wash(&PADS.join(" "))), [""; 0]);
    shop.go_to("2026-03-07 15:00");
    let rest = shop.log("saloon").clone();
    assert_eq!(flags(&rest), [""; 0]);
    assert_eq!(job(&shop).state, JobState::Done(at("2026-03-07 15:00")));
    for pad in PADS {
        assert_eq!(life(&shop, pad), (2, 1), "{pad}");
        assert_eq!(shop.piece(pad).readiness, Readiness::Soiled);
    }
}

/// A wash that nobody told: they worked all the same, and the book says what it had.
#[test]
fn a_wash_that_nobody_told_is_asked_for() {
    let mut shop = saturday();
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    shop.go_to("2026-03-07 15:00");
    let entry = shop.log("saloon").clone();
    let told = PADS.map(|pad| format!("{pad} was soiled in the book."));
    assert_eq!(flags(&entry), told);
    assert_eq!(life(&shop, "P-01"), (2, 0));
    // Of one that was soiled before the job it is not taken for granted.
    let mut shop = saturday();
    shop.receive("coarse-foam-150", 1);
    shop.log_loose(|log| {
        log.pads = vec![pad_use("P-06")];
        log.step = Some(step("loose", "coarse-foam-150", "coarse-compound-1l"));
        log.section_count = 1;
    })
    .unwrap();
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    shop.go_to("2026-03-07 15:00");
    shop.log("saloon");
    assert_eq!(life(&shop, "P-06"), (1, 0));
}

/// Both logs together use what one log of the whole job would.
#[test]
fn two_logs_use_what_one_does() {
    let mut halves = saturday();
    let mut whole = halves.clone();
    halves.go_to("2026-03-05 15:00");
    log_first(&mut halves);
    halves.go_to("2026-03-05 18:00");
    halves.wash(&PADS.join(" "));
    for shop in [&mut halves, &mut whole] {
        shop.go_to("2026-03-07 15:00");
        shop.log("saloon");
    }
    for pad in PADS {
        assert_eq!(halves.work(pad), whole.work(pad));
    }
    assert_eq!(halves.left_ul("B-01"), whole.left_ul("B-01"));
    assert_eq!(halves.towels("T-01"), whole.towels("T-01"));
}

/// Nobody logged the first day: one log after the second has the pads in both steps, once each.
#[test]
fn without_a_log_of_the_first_day_the_log_tells_of_both() {
    let mut shop = saturday();
    shop.go_to("2026-03-07 15:00");
    let entry = shop.log("saloon").clone();
    let steps = |pad: &str| {
        let used = entry.deeds.iter().filter_map(|deed| match deed {
            Deed::PadUsed {
                tag: used, within, ..
            } if *used == tag(pad) => within.step.clone(),
            _ => None,
        });
        used.map(|step| step.to_string()).collect::<Vec<_>>()
    };
    for pad in PADS {
        assert_eq!(steps(pad), ["cut", "again"], "{pad}");
        assert_eq!(life(&shop, pad), (2, 0), "{pad}");
    }
    assert_eq!(flags(&entry), [""; 0]);
}

#[test]
fn an_undo_takes_back_one_day_after_the_other() {
    let mut shop = saturday();
    shop.go_to("2026-03-05 15:00");
    let booked = job(&shop).clone();
    log_first(&mut shop);
    let first = shop.book.head();
    let begun = job(&shop).clone();
    shop.go_to("2026-03-07 15:00");
    let rest = shop
        .log_as("saloon", |log| log.pads = vec![pad_use("P-01")])
        .unwrap()
        .seq;
    let stands = |shop: &Shop| Job {
        last_seq: Seq::default(),
        ..job(shop).clone()
    };
    let was = |job: Job| Job {
        last_seq: Seq::default(),
        ..job
    };
    shop.reverse(rest).unwrap();
    assert_eq!(stands(&shop), was(begun));
    shop.reverse(first).unwrap();
    assert_eq!(stands(&shop), was(booked));
    assert_eq!(life(&shop, "P-01"), (0, 0));
}

#[test]
fn a_pad_binned_in_the_evening_is_missing_on_the_second_day() {
    let mut shop = saturday();
    shop.go_to("2026-03-05 15:00");
    let torn = |log: &mut fettlebook_model::command::JobLog| {
        log.first_day = true;
        log.pads = vec![pad_use("P-03")];
        log.pads[0].found = Some("torn".parse().unwrap());
    };
    shop.log_as("saloon", torn).unwrap();
    shop.wash("P-01 P-02 P-04 P-05");
    let line = pads(&shop, "again");
    assert_eq!((line.need, line.short), (5, 1));
    assert_eq!(picks(&line), ["P-01", "P-02", "P-04", "P-05"]);
    shop.go_to("2026-03-07 15:00");
    shop.log("saloon");
    assert_eq!((life(&shop, "P-03"), life(&shop, "P-04")), ((1, 0), (2, 1)));
}

#[test]
fn a_pad_washed_too_late_is_not_dry_on_the_second_day() {
    let mut shop = saturday();
    // Nobody has logged or washed by Friday at nine.
    shop.go_to("2026-03-06 09:00");
    let line = pads(&shop, "again");
    assert_eq!(line.short, 5);
    assert!(line.reason.contains("not dry by the second"), "{line:?}");
    log_first(&mut shop);
    shop.wash(&PADS.join(" "));
    let line = pads(&shop, "again");
    assert_eq!(line.short, 5);
    assert!(line.reason.contains("Drying: P-01"), "{line:?}");
    // Washed in time though the log was not told: the wash counts.
    let mut shop = saturday();
    shop.go_to("2026-03-05 18:00");
    shop.wash(&PADS.join(" "));
    shop.go_to("2026-03-06 19:00");
    assert_eq!(
        (pads(&shop, "cut").short, pads(&shop, "again").short),
        (0, 0)
    );
}

/// What is to come of a job whose first day is logged is its second: no line and no amount of the first is told.
#[test]
fn a_check_between_the_days_is_of_the_second() {
    let mut shop = saturday();
    let before = checked(&shop, &["saloon"]).remove(0);
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    let after = checked(&shop, &["saloon"]).remove(0);
    let steps = |check: &JobCheck| {
        let pads = check.lines.iter().filter(|line| line.kind == LineKind::Pad);
        pads.filter_map(|line| line.step.as_ref().map(ToString::to_string))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        (steps(&before), steps(&after)),
        (vec!["cut".into(), "again".into()], vec!["again".into()])
    );
    let need = |check: &JobCheck, kind| {
        let mut lines = check.lines.iter();
        lines.find(|line| line.kind == kind).unwrap().need
    };
    assert_eq!(
        need(&after, LineKind::Liquid) * 2,
        need(&before, LineKind::Liquid)
    );
    let of_vibration = |line: &&Line| line.kind == LineKind::Vibration;
    let told: Vec<&str> = after
        .lines
        .iter()
        .filter(of_vibration)
        .map(|line| line.what.as_str())
        .collect();
    assert_eq!(told, ["hand-arm vibration, second day"]);
    // The day that is over still counts for whoever works another job on it.
    shop.say(Command::BookJob {
        job: saloon_job("evening", "2026-03-05 16:00"),
    });
    let evening = checked(&shop, &["evening"]).remove(0).exposure.a8_m_per_s2;
    assert!(
        (evening - 2.0 * (33_264.0_f64 / 28_800.0).sqrt()).abs() < 5e-4,
        "{evening}"
    );
    shop.say(Command::CallOff {
        said: Said::default(),
        job: id("saloon"),
    });
    let evening = checked(&shop, &["evening"]).remove(0).exposure.a8_m_per_s2;
    assert!(
        (evening - 2.0 * (33_264.0_f64 / 28_800.0).sqrt()).abs() < 5e-4,
        "{evening}"
    );
}

/// A job after both days has the pads as two uses and the wash between leave them, washed again.
#[test]
fn later_jobs_have_what_both_days_leave() {
    let mut shop = saturday();
    shop.book_saloon("later", "2026-03-09 08:00");
    shop.receive("fine-foam-150", 5);
    let checks = checked(&shop, &["saloon", "later"]);
    let mut lines = checks[1].lines.iter();
    let cut = lines.find(|line| line.step == Some(id("cut")) && line.kind == LineKind::Pad);
    let found = cut.unwrap().picks[0].damage.unwrap();
    assert!(
        (found - (32.0 / 130.0 + 2.0 / 20.0)).abs() < 1e-9,
        "{found}"
    );
}

fn take(shop: &mut Shop, picked: Vec<Picked>) -> Result<(), Refusal> {
    let take = JobTake {
        said: Said::default(),
        job: id("saloon"),
        is_released: false,
        picked,
        despite: "a trial".to_owned(),
    };
    shop.try_say(Command::TakeJob(Box::new(take))).map(|_| ())
}

fn picked(pad: &str, of: &str) -> Picked {
    Picked {
        tag: tag(pad),
        step: Some(id(of)),
        quantity: 1,
        spare: false,
    }
}

#[test]
fn a_pad_is_taken_for_a_step_of_each_day_and_for_no_two_of_one() {
    let mut shop = saturday();
    take(&mut shop, Vec::new()).unwrap();
    let taken = &job(&shop).taken.as_ref().unwrap().picked;
    let steps = taken.iter().filter(|one| one.tag == tag("P-01"));
    assert_eq!(steps.count(), 2);
    let both: Vec<Picked> = PADS
        .iter()
        .flat_map(|pad| [picked(pad, "cut"), picked(pad, "again")])
        .collect();
    take(&mut shop, both).unwrap();
    let mut other = saturday();
    three_steps(&mut other);
    let twice = vec![picked("P-01", "again"), picked("P-01", "more")];
    let refused = take(&mut other, twice).unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::FieldInvalid, "picked.tag")
    );
    take(&mut shop, Vec::new()).unwrap();
    // What its first day took is no more kept for it; what its second takes is.
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    let left = &job(&shop).taken.as_ref().unwrap().picked;
    assert!(left.iter().any(|one| one.tag == tag("B-01")), "{left:?}");
    let of_cut = left.iter().filter(|one| one.step == Some(id("cut")));
    assert!(of_cut.clone().all(|one| one.tag == tag("B-01")), "{left:?}");
    assert!(
        left.iter().any(|one| *one == picked("P-01", "again")),
        "{left:?}"
    );
    shop.wash(&PADS.join(" "));
    shop.go_to("2026-03-07 15:00");
    assert_eq!(
        flags(shop.log("saloon")),
        ["saloon was taken despite a stop of the check: a trial."; 0]
    );
    assert_eq!(life(&shop, "P-01"), (2, 1));
}

#[test]
fn a_first_day_is_logged_once_and_of_two_only() {
    let mut shop = saturday();
    shop.book_saloon("one-day", "2026-03-05 08:00");
    shop.go_to("2026-03-05 15:00");
    let refused = shop
        .log_as("one-day", |log| log.first_day = true)
        .unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::FieldInvalid, "first_day")
    );
    log_first(&mut shop);
    let first = shop.book.head();
    let refused = shop
        .log_as("saloon", |log| log.first_day = true)
        .unwrap_err();
    assert_eq!(refused.reason, Reason::JobState);
    assert!(
        refused.to_string().contains(&format!("entry {first}")),
        "{refused}"
    );
}

/// Two vans that tell it while they have no signal: the second is further use, and flagged.
#[test]
fn a_first_day_that_two_devices_tell_is_flagged() {
    let mut shop = saturday();
    shop.book_saloon("one-day", "2026-03-05 08:00");
    shop.go_to("2026-03-05 15:00");
    let seen = shop.book.head();
    let mut tell = |by: &str| {
        let said = kept(by, seen, at("2026-03-05 14:30"));
        shop.log_as("saloon", |log| (log.first_day, log.said) = (true, said))
            .unwrap()
            .clone()
    };
    let first = tell("van-a");
    let second = tell("van-b");
    assert_eq!(flags(&first), [""; 0]);
    let told = format!(
        "The first day of saloon was logged in entry {} by van-a too",
        first.seq
    );
    assert!(
        flags(&second).iter().any(|flag| flag.starts_with(&told)),
        "{second:?}"
    );
    let says = |entry: &fettlebook_model::Entry| {
        let mut deeds = entry.deeds.iter();
        deeds.any(|deed| matches!(deed, Deed::FirstDayDone { .. }))
    };
    assert!(says(&first) && !says(&second));
    let used =
        |entry: &fettlebook_model::Entry| entry.deeds.iter().filter_map(Deed::within).count();
    assert!(used(&second) > 0);
    // Of a job that takes one day by then it is the log of all of it.
    let said = kept("van-b", seen, at("2026-03-05 14:30"));
    let entry = shop
        .log_as("one-day", |log| (log.first_day, log.said) = (true, said))
        .unwrap();
    assert!(
        flags(entry).concat().contains("takes one day in the book"),
        "{entry:?}"
    );
    let one_day = shop.book.job(&id("one-day")).unwrap();
    assert!(matches!(one_day.state, JobState::Done(_)));
}

#[test]
fn a_first_day_that_is_logged_stays_as_it_was() {
    let mut shop = saturday();
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    // It says itself from now on which step the second day begins with.
    assert_eq!(
        job(&shop).second_day.as_ref().unwrap().from_step,
        Some(id("again"))
    );
    let edit = |shop: &mut Shop, change: &dyn Fn(&mut Job)| {
        let was = job(shop).clone();
        let mut edited = was.clone();
        change(&mut edited);
        shop.try_say(Command::EditJob { was, job: edited })
            .map(|_| ())
    };
    let told = |refused: Result<(), Refusal>| {
        let refused = refused.unwrap_err();
        (refused.reason, refused.field)
    };
    for (change, field) in [
        (
            (|job| job.starts_at = at("2026-03-06 08:00")) as fn(&mut Job),
            "job.start_time",
        ),
        (|job| job.routine = id("two-step"), "job.routine"),
        (|job| job.second_day = None, "job.second_start_time"),
    ] {
        assert_eq!(
            told(edit(&mut shop, &change)),
            (Reason::JobState, field.to_owned())
        );
    }
    edit(&mut shop, &|job| {
        job.second_day.as_mut().unwrap().starts_at = at("2026-03-09 08:00");
    })
    .unwrap();
    assert!(job(&shop).has_first_day_behind());
    assert_eq!(job(&shop).next_start(), at("2026-03-09 08:00"));
    shop.go_to("2026-03-09 15:00");
    shop.log("saloon");
    assert!(!job(&shop).has_first_day_behind());
}
