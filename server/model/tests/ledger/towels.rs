//! Towels: how many a job takes, what the shop's own logs teach, and when too few stop it.

use fettlebook_model::check::{Line, LineKind, Verdict, check_jobs};
use fettlebook_model::plan::plan_job;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::reorder::reorder_list;
use fettlebook_model::towel::TowelGrade;
use fettlebook_model::towel_use::TowelUse;
use fettlebook_model::{Command, Reason};

use crate::shop::{Shop, id, make, tag, tern_quay};

/// Towels that the two-step on Thursday will likely take, booked on the way.
fn likely(shop: &mut Shop) -> TowelUse {
    if shop.book.job(&id("thursday")).is_none() {
        shop.book_saloon("thursday", "2026-09-03 08:00");
    }
    let job = shop.book.job(&id("thursday")).unwrap();
    let plan = plan_job(&shop.book, job).unwrap();
    let routine = shop.book.routine(&job.routine).unwrap();
    TowelUse::of(&shop.book, routine, &plan)
}

/// Works so many jobs, a week apart, in each of which a person said this of towels: used, dropped.
fn work(shop: &mut Shop, job_count: i64, said: Option<(i64, i64)>) {
    for turn in 0..job_count {
        let day = 5 + turn;
        let job = format!("job-{turn}");
        shop.book_saloon(&job, &format!("2026-03-{day:02} 08:00"));
        shop.go_to(&format!("2026-03-{day:02} 18:00"));
        shop.log_as(&job, |log| {
            if let Some((used, dropped)) = said {
                log.bundles = vec![(tag("T-01"), used)];
                log.dropped_towel_count = dropped;
            }
        })
        .unwrap();
        shop.wash("T-01");
        shop.mark_dry("T-01");
        let soiled: Vec<String> = (shop.book.pieces())
            .filter(|piece| piece.pad().is_some())
            .map(|piece| piece.tag.to_string())
            .collect();
        shop.wash(&soiled.join(" "));
        shop.mark_dry(&soiled.join(" "));
    }
}

/// Source: Bühlmann and Straub by hand: three jobs count as much as the plan of three, so that nine
/// towels where 5.98 are planned make a factor of (1.505 + 1) / 2, and 7.49 towels.
#[test]
fn logs_that_say_how_many_towels_teach_how_many_to_take() {
    let mut shop = Shop::stocked();
    assert_eq!(likely(&mut shop).count(), 6);
    assert_eq!(likely(&mut shop).rests_on(), "");
    work(&mut shop, 3, Some((9, 0)));
    let use_now = likely(&mut shop);
    assert_eq!(use_now.count(), 8);
    let (low, high) = use_now.range();
    assert!(low <= 8 && 8 <= high && low < high, "{low} {high}");
    assert_eq!(
        use_now.rests_on(),
        "You use 50 % more than planned, from 3 jobs whose towels were counted."
    );
    // A log in which nobody says how many takes what is likely.
    shop.go_to("2026-09-03 18:00");
    shop.log("thursday");
    assert_eq!(shop.towels("T-01"), (16, 8));
}

#[test]
fn towels_taken_as_planned_teach_nothing_and_those_that_fell_are_not_counted() {
    let mut shop = Shop::stocked();
    work(&mut shop, 3, None);
    assert_eq!(likely(&mut shop).rests_on(), "");
    let mut shop = Shop::stocked();
    work(&mut shop, 3, Some((12, 6)));
    assert_eq!(likely(&mut shop).count(), 6);
}

/// Source: the rule itself: what counts by the area is learnt by the area, so sides a section stand.
#[test]
fn sides_a_section_that_the_book_set_stand_whatever_the_logs_say() {
    let mut shop = Shop::stocked();
    work(&mut shop, 3, Some((9, 0)));
    shop.set_policy(PolicyKey::CellsPerSection, 1);
    let planned = {
        let job = shop.book.job(&id("thursday"));
        assert!(job.is_none());
        likely(&mut shop)
    };
    let job = shop.book.job(&id("thursday")).unwrap();
    let plan = plan_job(&shop.book, job).unwrap();
    assert!(plan.towel_count > 8);
    assert_eq!(planned.count(), plan.towel_count);
}

/// What a job used of two bundles is shared between them by their towels, and learnt once.
#[test]
fn a_job_that_took_of_two_bundles_is_one_wiping() {
    let mut shop = Shop::stocked();
    shop.receive_towels(12, 0);
    shop.book_saloon("monday", "2026-03-05 08:00");
    shop.go_to("2026-03-05 18:00");
    shop.log_as("monday", |log| {
        log.bundles = vec![(tag("T-01"), 6), (tag("T-02"), 3)];
    })
    .unwrap();
    let wiped = |bundle: &str| {
        let bundle = shop.piece(bundle).bundle().unwrap();
        bundle
            .wipings
            .iter()
            .map(|one| (one.area_mm2.mm2(), one.towel_count))
            .collect::<Vec<_>>()
    };
    // 2 · 12.2 m² in the proportion of 6 to 3.
    assert_eq!(wiped("T-01"), [(16_266_666, 6)]);
    assert_eq!(wiped("T-02"), [(8_133_334, 3)]);
}

fn towel_line(shop: &Shop, job: &str) -> Line {
    let checks = check_jobs(&shop.book, &[id(job)], shop.now).unwrap();
    let lines = checks.into_iter().flat_map(|check| check.lines);
    let mut towels = lines.filter(|line| line.kind == LineKind::Towel);
    towels.next().unwrap()
}

/// Basis: common practice, no source: a third of the towels missing stops a job, fewer are watched.
#[test]
fn a_third_of_the_towels_missing_stops_a_job_and_fewer_are_watched() {
    for (side_mm2, need, have, verdict) in [
        (510_000, 6, 6, Verdict::Go),
        (510_000, 6, 5, Verdict::Watch),
        (510_000, 6, 4, Verdict::Stop),
        (510_000, 6, 0, Verdict::Stop),
        (102_000, 30, 21, Verdict::Watch),
        (102_000, 30, 20, Verdict::Stop),
    ] {
        let mut shop = Shop::stocked();
        shop.set_policy(PolicyKey::TowelSideMm2, side_mm2);
        shop.book_saloon("thursday", "2026-03-05 08:00");
        shop.count_towels("T-01", have, 0);
        let line = towel_line(&shop, "thursday");
        assert_eq!((line.need, line.have), (need, have));
        assert_eq!(line.verdict, verdict, "{have} of {need}: {}", line.reason);
        assert_eq!(line.todos.is_empty(), verdict == Verdict::Go);
        let folds = line.todos.iter().any(|todo| todo.contains("every side"));
        assert_eq!(folds, verdict == Verdict::Watch, "{:?}", line.todos);
    }
}

/// Towels that a reason tells as soiled in the bundle.
fn soiled_told(reason: &str) -> Option<i64> {
    let (before, _) = reason.split_once(" soiled in T-01.")?;
    before.rsplit(' ').next()?.parse().ok()
}

#[test]
fn a_bundle_is_never_told_more_soiled_than_it_has() {
    let mut shop = Shop::stocked();
    shop.count_towels("T-01", 8, 0);
    let mut jobs = Vec::new();
    for hour in ["06:00", "11:00", "16:00"] {
        let job = format!("thursday-{}", &hour[..2]);
        shop.book_saloon(&job, &format!("2026-03-05 {hour}"));
        jobs.push(id(&job));
    }
    let checks = check_jobs(&shop.book, &jobs, shop.now).unwrap();
    let lines = checks.iter().flat_map(|check| &check.lines);
    let towels: Vec<&Line> = lines.filter(|line| line.kind == LineKind::Towel).collect();
    let have: Vec<i64> = towels.iter().map(|line| line.have).collect();
    assert_eq!(have, [8, 2, 0]);
    for line in &towels {
        assert!(
            soiled_told(&line.reason).is_none_or(|told| told <= 8),
            "{}",
            line.reason
        );
    }
    // More used than there were is flagged, and makes no towels.
    shop.log_loose(|loose| loose.bundles = vec![(tag("T-01"), 30)])
        .unwrap();
    assert_eq!(shop.towels("T-01"), (0, 8));
    assert!(shop.piece("T-01").needs_count);
    let line = towel_line(&shop, "thursday-06");
    assert_eq!(soiled_told(&line.reason), Some(8), "{}", line.reason);
}

/// The jobs of a week wash what they soil: the same towels carry each of them.
#[test]
fn what_a_job_soils_is_washed_before_the_job_of_the_next_day_but_one() {
    let mut shop = Shop::stocked();
    shop.count_towels("T-01", 6, 0);
    shop.book_saloon("monday", "2026-03-09 08:00");
    shop.book_saloon("wednesday", "2026-03-11 08:00");
    let jobs = [id("monday"), id("wednesday")];
    let checks = check_jobs(&shop.book, &jobs, shop.now).unwrap();
    for check in &checks {
        let towels = check.lines.iter().find(|line| line.kind == LineKind::Towel);
        assert_eq!(towels.unwrap().verdict, Verdict::Go, "{}", check.job.id);
    }
}

/// The shop whose cut ends with a wipe-down by towels of a make of their own.
fn wiping_down() -> Shop {
    let mut shop = Shop::stocked();
    let towel = shop.book.make(&id("edgeless-towel-400g")).unwrap();
    let make = make("final-towel-350g", towel.figures.clone());
    shop.say(Command::CreateMake { make });
    let was = shop.book.routine(&id("two-step")).unwrap().as_ref().clone();
    let mut routine = was.clone();
    routine.steps[0].wipe_down_make = Some(id("final-towel-350g"));
    shop.say(Command::EditRoutine { was, routine });
    shop.receive_as("final-towel-350g", 1, |receipt| receipt.towel_count = 10);
    shop
}

/// Source: arithmetic: 12.2 m² over 4 sides of 0.51 m² are 5.98 towels; a third of six missing stops.
#[test]
fn a_wipe_down_after_a_step_takes_towels_of_grade_final_on_a_line_of_its_own() {
    let mut shop = wiping_down();
    let new = shop.piece("T-02").bundle().unwrap();
    assert_eq!(new.grade, TowelGrade::Final);
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let lines = |shop: &Shop| -> Vec<Line> {
        let checks = check_jobs(&shop.book, &[id("thursday")], shop.now).unwrap();
        let lines = checks.into_iter().flat_map(|check| check.lines);
        lines.filter(|line| line.kind == LineKind::Towel).collect()
    };
    let told: Vec<_> = (lines(&shop).iter())
        .map(|line| (line.what.clone(), line.need, line.have, line.verdict))
        .collect();
    let residue = ("edgeless towel 400g".to_owned(), 6, 24, Verdict::Go);
    let wipe_down = ("final towel 350g, wipe-down".to_owned(), 6, 10, Verdict::Go);
    assert_eq!(told, [residue, wipe_down]);
    shop.count_towels("T-02", 4, 0);
    assert_eq!(lines(&shop)[1].verdict, Verdict::Stop);
    shop.count_towels("T-02", 10, 0);
    // Wiped down after both steps it is one line, of twice as many.
    let mut twice = shop.clone();
    let was = twice.book.routine(&id("two-step")).unwrap();
    let was = was.as_ref().clone();
    let mut routine = was.clone();
    routine.steps[1].wipe_down_make = Some(id("final-towel-350g"));
    twice.say(Command::EditRoutine { was, routine });
    let told = lines(&twice);
    assert_eq!((told.len(), told[1].need, told[1].short), (2, 12, 2));
    shop.go_to("2026-03-05 15:00");
    shop.log("thursday");
    assert_eq!(
        (shop.towels("T-01"), shop.towels("T-02")),
        ((18, 6), (4, 6))
    );
}

#[test]
fn what_a_person_said_of_wipe_down_towels_is_not_taken_for_residue() {
    let mut shop = wiping_down();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.go_to("2026-03-05 15:00");
    shop.log_as("thursday", |log| log.bundles = vec![(tag("T-02"), 8)])
        .unwrap();
    assert_eq!(
        (shop.towels("T-01"), shop.towels("T-02")),
        ((18, 6), (2, 8))
    );
}

#[test]
fn towels_are_listed_for_a_wipe_down_and_bought_as_final_ones() {
    let mut shop = wiping_down();
    shop.supply(tern_quay());
    shop.count_towels("T-02", 1, 0);
    shop.book_saloon("monday", "2026-03-16 08:00");
    let list = reorder_list(&shop.book, None, None, shop.now).unwrap();
    let lines = list.baskets.iter().flat_map(|basket| &basket.lines);
    let told: Vec<_> = lines
        .map(|line| (line.make.as_str(), line.need_count))
        .collect();
    assert_eq!(told, [("final-towel-350g", 5)]);
}

#[test]
fn a_make_of_towel_takes_residue_or_wipes_down_and_never_both() {
    let mut shop = wiping_down();
    let mut both = shop.book.routine(&id("two-step")).unwrap().as_ref().clone();
    both.id = id("both");
    both.steps[0].wipe_down_make = None;
    both.towel_make = Some(id("final-towel-350g"));
    let refused = |shop: &mut Shop, routine| {
        let refusal = shop
            .try_say(Command::CreateRoutine { routine })
            .unwrap_err();
        (refusal.reason, refusal.field)
    };
    let (reason, field) = refused(&mut shop, both.clone());
    assert_eq!(
        (reason, field.as_str()),
        (Reason::FieldInvalid, "routine.towel_make")
    );
    both.towel_make = None;
    both.steps[1].wipe_down_make = Some(id("edgeless-towel-400g"));
    let (reason, field) = refused(&mut shop, both);
    let at = "routine.steps.finish.wipe_down_make";
    assert_eq!((reason, field.as_str()), (Reason::FieldInvalid, at));
}
