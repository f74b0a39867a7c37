//! A van is a place: what is there goes, what is elsewhere is brought only where it can be there before the
//! start, and nobody is sent for what stands in the van.
//!
//! Method: 500 random shops of a bench and two vans, their kit strewn over all three, with jobs of one day
//! and of the next, looked at at some hour before and between them; what can be there is worked out here
//! from the list of jobs. Basis of the rules: common practice, no source.

use fettlebook_model::check::{JobCheck, Line, LineKind, Verdict, check_jobs};
use fettlebook_model::command::Said;
use fettlebook_model::kit::Piece;
use fettlebook_model::{Command, Moment};
use jiff::SignedDuration;
use proptest::collection::vec;
use proptest::prelude::{ProptestConfig, Strategy, prop_assert, proptest};

use super::{asks, check, line, says};
use crate::shop::{Shop, at, id, saloon_job, tag};

const PLACES: [&str; 3] = ["bench", "van-a", "van-b"];

/// The default of the policy. From memory.
const BRING_MIN: i64 = 30;

/// Kit enough for two jobs, all of it at the bench.
fn stocked() -> Shop {
    let mut shop = Shop::stocked();
    shop.receive("orbital-150", 1);
    shop.receive("plate-125-m8", 1);
    shop.receive("coarse-foam-150", 5);
    shop.receive("fine-foam-150", 4);
    for (compound, polish) in [(400_000, 300_000), (1_000_000, 500_000)] {
        shop.receive_as("coarse-compound-1l", 1, |receipt| {
            receipt.volume_ul = Some(fettlebook_quantity::Volume::from_ul(compound));
        });
        shop.receive_as("fine-polish-500ml", 1, |receipt| {
            receipt.volume_ul = Some(fettlebook_quantity::Volume::from_ul(polish));
        });
    }
    shop.receive_towels(24, 3);
    shop.receive("nitrile-gloves", 1);
    shop
}

/// A job at a place of those above, so many quarters of an hour after six.
type Start = (usize, i64);

#[derive(Debug, Clone)]
struct World {
    /// A place for each piece.
    lies: Vec<usize>,
    jobs: Vec<Start>,
    now: i64,
}

fn worlds() -> impl Strategy<Value = World> {
    let start = (0_usize..3, 0_i64..140);
    (vec(0_usize..3, 64), vec(start, 1..5), -8_i64..60).prop_map(|(lies, jobs, now)| World {
        lies,
        jobs,
        now,
    })
}

fn quarter(quarters: i64) -> Moment {
    at("2026-03-05 06:00") + SignedDuration::from_mins(15 * quarters)
}

fn built(world: &World) -> (Shop, Vec<String>) {
    let mut shop = stocked();
    let tags: Vec<String> = shop
        .book
        .pieces()
        .map(|piece| piece.tag.to_string())
        .collect();
    for (place, name) in PLACES.iter().enumerate().skip(1) {
        let there = tags
            .iter()
            .zip(&world.lies)
            .filter(|(_, lies)| **lies == place);
        let there: Vec<&str> = there.map(|(tag, _)| tag.as_str()).collect();
        if !there.is_empty() {
            shop.move_to(&there.join(" "), name);
        }
    }
    let mut jobs = Vec::new();
    for (at, (place, start)) in world.jobs.iter().enumerate() {
        let name = format!("job-{at}");
        let mut job = saloon_job(&name, "2026-03-05 06:00");
        job.place = id(PLACES[*place]);
        job.starts_at = quarter(*start);
        shop.say(Command::BookJob { job });
        jobs.push(name);
    }
    shop.now = quarter(world.now);
    (shop, jobs)
}

/// Whether a piece at one place can be at a job, by the list of jobs.
fn can_be_there(shop: &Shop, lies: &str, job: &str) -> bool {
    let job = shop.book.job(&id(job)).unwrap();
    let goes = job.place.as_str();
    if lies == goes {
        return true;
    }
    let that_day = |place: &str| {
        let day = job.starts_at.to_string()[..10].to_owned();
        let jobs = shop.book.jobs();
        jobs.filter(|other| other.place.as_str() == place)
            .filter(|other| other.starts_at.to_string()[..10] == day)
            .map(|other| other.starts_at)
            .collect::<Vec<_>>()
    };
    // A van is not emptied for another, nor for the bench on a day on which it works.
    if lies != "bench" && (goes != "bench" || !that_day(lies).is_empty()) {
        return false;
    }
    // A van leaves for its first job; the bench stays.
    let leaves = match goes {
        "bench" => job.starts_at,
        van => that_day(van).into_iter().min().unwrap().min(job.starts_at),
    };
    shop.now <= leaves - SignedDuration::from_mins(BRING_MIN)
}

fn picked<'a>(shop: &'a Shop, line: &Line) -> Vec<(&'a Piece, i64)> {
    let piece = |pick: &fettlebook_model::check::Pick| {
        let piece = shop.book.piece(pick.tag).unwrap();
        (piece.as_ref(), pick.quantity)
    };
    line.picks.iter().map(piece).collect()
}

/// The same shop with nothing in it but what lies at a place.
fn alone(shop: &Shop, place: &str) -> Shop {
    let mut alone = shop.clone();
    let elsewhere: Vec<String> = shop
        .book
        .pieces()
        .filter(|piece| piece.place.as_str() != place)
        .map(|piece| piece.tag.to_string())
        .collect();
    if !elsewhere.is_empty() {
        alone.lose(&elsewhere.join(" "));
    }
    alone
}

fn same<'a>(check: &'a JobCheck, line: &Line) -> &'a Line {
    let mut lines = check.lines.iter();
    lines
        .find(|other| (other.kind, &other.step, &other.make) == (line.kind, &line.step, &line.make))
        .unwrap()
}

/// How much of a line's kit lies at a place and may be used.
fn left_there(shop: &Shop, line: &Line, place: &str) -> i64 {
    let Some(make) = &line.make else { return 0 };
    let there = shop
        .book
        .pieces_of(make)
        .filter(|piece| piece.place.as_str() == place);
    let picked: Vec<_> = line.picks.iter().map(|pick| pick.tag).collect();
    there.filter(|piece| !picked.contains(&piece.tag)).count() as i64
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn no_check_goes_on_kit_that_cannot_be_there_nor_sends_for_what_stands_in_the_van(
        world in worlds(),
    ) {
        let (shop, jobs) = built(&world);
        let ids: Vec<_> = jobs.iter().map(|job| id(job)).collect();
        for check in check_jobs(&shop.book, &ids, shop.now).unwrap() {
            let job = check.job.id.to_string();
            for line in &check.lines {
                for (piece, _) in picked(&shop, line) {
                    let lies = piece.place.as_str();
                    prop_assert!(can_be_there(&shop, lies, &job), "{job}: {} of {line:?}", piece.tag);
                }
            }
        }
        for (job, (place, _)) in jobs.iter().zip(&world.jobs) {
            let place = PLACES[*place];
            let checked = check(&shop, &[job]);
            let with_less = alone(&shop, place);
            let with_less = check(&with_less, &[job]);
            for line in &checked[0].lines {
                let picked = picked(&shop, line);
                for (piece, _) in &picked {
                    let lies = piece.place.as_str();
                    prop_assert!(can_be_there(&shop, lies, job), "{job}: {} of {line:?}", piece.tag);
                }
                // What goes is all there, by the pieces that are named.
                let there: i64 = line.picks.iter().map(|pick| pick.quantity).sum();
                let has_kit = matches!(
                    line.kind,
                    LineKind::Pad | LineKind::Plate | LineKind::Machine | LineKind::Liquid
                        | LineKind::Towel | LineKind::Sundry
                );
                prop_assert!(
                    line.verdict > Verdict::Go || !has_kit || there >= line.need,
                    "{job}: {line:?}"
                );
                let sent_for = picked.iter().any(|(piece, _)| piece.place.as_str() != place);
                prop_assert!(!sent_for || line.verdict > Verdict::Go, "{job}: {line:?}");
                // All there is goes, or what is there would not do, or not as surely.
                let here = same(&with_less[0], line);
                let is_surer = line.chance > here.chance;
                let all_go = left_there(&shop, line, place) == 0;
                prop_assert!(
                    !sent_for || all_go || is_surer || here.verdict > Verdict::Go,
                    "{job}: {line:?}\n{here:?}"
                );
                // What runs out is poured out here before anything is brought.
                let runs_out = matches!(line.kind, LineKind::Liquid | LineKind::Towel | LineKind::Sundry);
                prop_assert!(!sent_for || !runs_out || all_go, "{job}: {line:?}");
            }
        }
    }
}

/// The stocked shop with a job in van-a at eight, seen at an hour of its morning.
fn van_at_eight(now: &str) -> Shop {
    let mut shop = Shop::stocked();
    let mut job = saloon_job("thursday", "2026-03-05 08:00");
    job.place = id("van-a");
    shop.say(Command::BookJob { job });
    shop.now = at(&format!("2026-03-05 {now}"));
    shop
}

#[test]
fn what_is_at_the_bench_is_brought_until_the_van_leaves_for_its_first_job() {
    let pads = |shop: &Shop, job: &str| {
        let checks = check(shop, &[job]);
        line(&checks[0], LineKind::Pad, Some("cut")).clone()
    };
    let mut shop = van_at_eight("07:30");
    let in_time = pads(&shop, "thursday");
    assert_eq!((in_time.have, in_time.short), (0, 0));
    assert!(asks(
        &in_time,
        "from bench to van-a by Thu 5 Mar 2026 07:30."
    ));
    let mut later = saloon_job("noon", "2026-03-05 12:00");
    later.place = id("van-a");
    shop.say(Command::BookJob { job: later });
    shop.go_to("2026-03-05 09:00");
    let out = pads(&shop, "noon");
    assert_eq!((out.short, out.verdict), (out.need, Verdict::Stop));
    assert!(
        says(&out, "at bench: too late to be brought"),
        "{}",
        out.reason
    );
    assert!(asks(&out, "Or start later, once"), "{:?}", out.todos);
    // Once the first job is done, or called off, the van may come by.
    let mut without = shop.clone();
    call_off(&mut without, "thursday");
    for mut shop in [shop, without] {
        if shop.book.booked_job_count() == 2 {
            shop.log("thursday");
        }
        assert!(asks(&pads(&shop, "noon"), "by Thu 5 Mar 2026 11:30."));
    }
}

#[test]
fn nobody_is_sent_for_what_another_van_carries() {
    let mut shop = van_at_eight("06:00");
    shop.move_to("B-01", "van-b");
    let checks = check(&shop, &["thursday"]);
    let compound = line(&checks[0], LineKind::Liquid, Some("cut"));
    assert_eq!((compound.have, compound.verdict), (0, Verdict::Stop));
    assert!(says(
        compound,
        "B-01 at van-b, which has jobs or kit of its own."
    ));
    assert!(!asks(compound, "B-01"), "{:?}", compound.todos);
}

#[test]
fn a_van_is_emptied_for_the_bench_only_on_a_day_without_jobs_of_its_own() {
    let mut shop = Shop::stocked();
    shop.move_to("B-01", "van-a");
    shop.book_saloon("bench-job", "2026-03-05 10:00");
    let compound = |shop: &Shop| {
        let checks = check(shop, &["bench-job"]);
        line(&checks[0], LineKind::Liquid, Some("cut")).clone()
    };
    assert!(asks(
        &compound(&shop),
        "Move B-01 from van-a to bench by Thu 5 Mar 2026 09:30."
    ));
    let mut job = saloon_job("van-job", "2026-03-05 14:00");
    job.place = id("van-a");
    shop.say(Command::BookJob { job });
    assert_eq!(compound(&shop).verdict, Verdict::Stop);
    call_off(&mut shop, "van-job");
    assert!(asks(&compound(&shop), "Move B-01 from van-a to bench"));
}

fn call_off(shop: &mut Shop, job: &str) {
    shop.say(Command::CallOff {
        said: Said::default(),
        job: id(job),
    });
}

/// A full bottle in the van is poured before an opened one at the bench.
#[test]
fn nobody_is_sent_for_an_opened_bottle_where_a_full_one_is_in_the_van() {
    let mut shop = van_at_eight("06:00");
    shop.receive_as("coarse-compound-1l", 1, |receipt| {
        receipt.volume_ul = Some(fettlebook_quantity::Volume::from_ul(400_000));
    });
    shop.move_to("B-01", "van-a");
    let checks = check(&shop, &["thursday"]);
    let compound = line(&checks[0], LineKind::Liquid, Some("cut"));
    let picks: Vec<_> = compound.picks.iter().map(|pick| pick.tag).collect();
    assert_eq!(picks, [tag("B-01")]);
    assert_eq!(compound.verdict, Verdict::Go);
}
