//! Pads: enough of them, clean, dry, whole, of the right past, and taken in the right order.

use fettlebook_model::check::{Line, LineKind, Verdict};
use fettlebook_model::job::{Job, Step};
use fettlebook_model::make::{Figures, Grade, MachineFigures, PadFigures, PadMaterial};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear::Work;
use fettlebook_model::{Command, Tag};

use super::{asks, check, cut_twice, line, says, thursday_line};
use crate::shop::{
    Shop, done, foam, id, make, orbital, pad_use, routine, saloon_job, step, tag, tags_of,
};

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

/// Basis: common practice, no source: a spare is no need.
#[test]
fn a_step_needs_the_pads_that_work_and_no_spare() {
    let mut shop = Shop::stocked();
    let all = cut(&mut shop);
    assert_eq!((all.need, all.have), (5, 7));
    shop.set_policy(PolicyKey::CarryTargetPermille, 900);
    assert!(cut(&mut shop).picks.iter().all(|pick| !pick.spare));
    shop.set_policy(PolicyKey::CarryTargetPermille, 999);
    assert_eq!(cut(&mut shop).picks.len(), 7);
    shop.set_policy(PolicyKey::CarryTargetPermille, 900);
    shop.lose("P-06 P-07");
    let enough = cut(&mut shop);
    assert_eq!((enough.short, enough.verdict), (0, Verdict::Go));
    shop.set_policy(PolicyKey::SparePadsCount, 1);
    let without = cut(&mut shop);
    assert_eq!((without.short, without.verdict), (0, Verdict::Go));
    shop.receive("coarse-foam-150", 1);
    let spares: Vec<bool> = cut(&mut shop).picks.iter().map(|pick| pick.spare).collect();
    assert_eq!(spares, [false, false, false, false, false, true]);
}

/// Source: by hand, every job being ordinary: three of a rating alone wear with the sum of what each
/// takes, (b / (b + Σx))^a with a = b = 1; 77 sections between three are 26 of 130 each.
#[test]
fn fewer_pads_than_the_step_needs_take_all_of_it_and_the_chance_says_what_that_costs() {
    let mut shop = Shop::stocked();
    shop.set_policy(PolicyKey::SeverityLogSdPermille, 0);
    shop.lose("P-04 P-05 P-06 P-07");
    let few = cut(&mut shop);
    assert_eq!((few.need, few.have, few.short), (5, 3, 2));
    let expected = 1.0 / (1.0 + 3.0 * (26.0_f64 / 130.0).powi(3));
    assert!((few.chance.unwrap() - expected).abs() < 1e-6, "{few:?}");
    assert_eq!(few.verdict, Verdict::Watch);
    assert!(says(&few, "Short by 2."), "{}", few.reason);
    let why = "The 3 there take all of it, more work each: enough for 98 times in 100.";
    assert!(says(&few, why), "{}", few.reason);
    assert!(!says(&few, "P-04"), "lost, and no matter: {}", few.reason);
    assert!(asks(
        &few,
        "Clean them after every section and let them cool."
    ));
    assert!(asks(&few, "Buy 2 more of coarse foam 150"));
}

/// A pad that would take all the work of five gives out more likely than not once it has worked.
#[test]
fn so_few_pads_that_they_more_likely_give_out_stop_the_job() {
    let mut shop = Shop::stocked();
    shop.lose("P-01 P-02 P-03 P-04 P-05 P-06 P-07");
    receive_worn(&mut shop, "coarse-foam-150", 100);
    let one = cut(&mut shop);
    assert!(one.chance.unwrap() < 0.5, "{:?}", one.chance);
    assert_eq!((one.have, one.verdict), (1, Verdict::Stop));
    assert!(says(&one, "The 1 there takes all of it"), "{}", one.reason);
    assert!(!asks(&one, "Clean them"), "{:?}", one.todos);
    shop.lose("P-13");
    let none = cut(&mut shop);
    assert_eq!((none.have, none.verdict), (0, Verdict::Stop));
}

/// Another make of the same material, grade and size makes up the number, is named, and is what the log
/// takes too.
#[test]
fn another_make_that_does_for_a_short_one_is_taken_and_named() {
    let mut shop = Shop::stocked();
    shop.say(Command::CreateMake {
        make: make("other-coarse-foam-150", foam(Grade::Coarse, 150)),
    });
    shop.receive("other-coarse-foam-150", 8);
    let enough = cut(&mut shop);
    let is_own = |tag: &Tag| tags_of("P-01 P-02 P-03 P-04 P-05 P-06 P-07").contains(tag);
    assert!(picks(&enough).iter().all(is_own));
    assert_eq!(enough.verdict, Verdict::Go);
    shop.lose("P-01 P-02 P-03 P-04 P-05 P-06");
    let mixed = cut(&mut shop);
    assert_eq!(
        (mixed.need, mixed.have, mixed.short, mixed.buy),
        (5, 5, 0, 0)
    );
    assert_eq!(picks(&mixed), tags_of("P-07 P-13 P-14 P-15 P-16"));
    assert_eq!(mixed.verdict, Verdict::Watch);
    let why =
        "Too few of coarse foam 150: P-13, P-14, P-15 and P-16, other coarse foam 150, do for it.";
    assert!(says(&mixed, why), "{}", mixed.reason);
    assert!(asks(
        &mixed,
        "Take P-13, P-14, P-15 and P-16, other coarse foam 150, instead"
    ));
    assert!(
        mixed.rests_on.contains("Of other coarse foam 150:"),
        "{}",
        mixed.rests_on
    );
    shop.go_to("2026-03-05 15:00");
    shop.log("thursday");
    let worked = |tag: &str| shop.piece(tag).pad().unwrap().use_count;
    assert_eq!(["P-07", "P-13", "P-16", "P-17"].map(worked), [1, 1, 1, 0]);
}

/// A make of another material, grade or size does not do, nor one that another step works with.
#[test]
fn another_make_does_only_where_material_grade_and_size_are_the_same() {
    let mut shop = Shop::stocked();
    let Figures::Pad(coarse) = foam(Grade::Coarse, 150) else {
        panic!("a pad")
    };
    let wool = PadFigures {
        material: PadMaterial::Wool,
        ..coarse.clone()
    };
    for (key, figures) in [
        ("wool-150", Figures::Pad(wool)),
        ("medium-foam-150", foam(Grade::Medium, 150)),
        ("coarse-foam-145", foam(Grade::Coarse, 145)),
    ] {
        shop.say(Command::CreateMake {
            make: make(key, figures),
        });
        shop.receive(key, 8);
    }
    shop.lose("P-06 P-07");
    shop.set_aside("P-01 P-02 P-03 P-04");
    let short = cut(&mut shop);
    assert_eq!((short.have, short.short), (1, 4));
    shop.say(Command::CreateMake {
        make: make("second-foam-150", foam(Grade::Coarse, 150)),
    });
    shop.receive("second-foam-150", 8);
    shop.say(Command::CreateRoutine {
        routine: routine(
            "cut-twice",
            vec![
                step("cut", "coarse-foam-150", "coarse-compound-1l"),
                step("again", "second-foam-150", "coarse-compound-1l"),
            ],
        ),
    });
    shop.say(Command::BookJob {
        job: Job {
            routine: id("cut-twice"),
            ..saloon_job("friday", "2026-03-06 08:00")
        },
    });
    assert_eq!(cut_line(&shop, "friday").have, 1);
    assert_eq!(cut(&mut shop).have, 5);
}

/// Basis: common practice, no source: a pad that follows contours goes without a spare, and a small
/// machine leaves the spares of a make to the big one.
#[test]
fn spares_go_to_the_big_machine_first_and_none_to_a_pencil_pad() {
    let mut shop = Shop::stocked();
    let spot = MachineFigures {
        spot: true,
        cordless: false,
        ..orbital()
    };
    shop.say(Command::CreateMake {
        make: make("spot-orbital", Figures::Machine(spot)),
    });
    shop.receive("spot-orbital", 1);
    shop.say(Command::CreateMake {
        make: make("pencil-foam-30", foam(Grade::Coarse, 30)),
    });
    shop.receive("pencil-foam-30", 60);
    shop.receive("coarse-foam-150", 40);
    shop.set_policy(PolicyKey::SparePadsCount, 1);
    let of = |machine: &str, name: &str, pad: &str, panel: &str| Step {
        machine_make: Some(id(machine)),
        panels: vec![panel.parse().unwrap()],
        ..step(name, pad, "coarse-compound-1l")
    };
    shop.say(Command::CreateRoutine {
        routine: routine(
            "big-and-small",
            vec![
                of("spot-orbital", "spot", "coarse-foam-150", "roof"),
                of("orbital-150", "big", "coarse-foam-150", "bonnet"),
                of("orbital-150", "edges", "pencil-foam-30", "boot"),
            ],
        ),
    });
    shop.say(Command::BookJob {
        job: Job {
            routine: id("big-and-small"),
            ..saloon_job("friday", "2026-03-06 08:00")
        },
    });
    let checks = check(&shop, &["friday"]);
    let spares = ["spot", "big", "edges"].map(|step| {
        let line = line(&checks[0], LineKind::Pad, Some(step));
        line.picks.iter().filter(|pick| pick.spare).count()
    });
    assert_eq!(spares, [0, 1, 0]);
}

/// Basis: common practice, no source: thin foam dries 24 h.
#[test]
fn a_pad_washed_at_six_is_not_ready_at_eight_unless_marked_dry() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.go_to("2026-03-04 18:00");
    shop.wash("P-01 P-02 P-03");
    let line = cut(&mut shop);
    assert_eq!((line.have, line.short), (4, 1));
    assert_eq!(line.verdict, Verdict::Watch);
    assert!(
        says(&line, "Drying: P-01, P-02 and P-03"),
        "{}",
        line.reason
    );
    assert!(asks(&line, "should be dry on Thu 5 Mar 2026 18:00"));
    shop.mark_dry("P-01 P-02 P-03");
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
    let why = "Washed after a coarser liquid: P-03, P-04 and P-05.";
    assert!(says(&washed, why), "{}", washed.reason);
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
    shop.lose("P-12");
    let line = cut_line(&shop, "thursday");
    assert_eq!(line.verdict, Verdict::Watch);
    let why = "Kept for fine, and to carry a coarse liquid: P-08";
    assert!(says(&line, why), "{}", line.reason);
    assert!(asks(&line, "Take pads kept for coarse"), "{:?}", line.todos);
    shop.go_to("2026-03-05 15:00");
    let told = "P-08 is kept for fine and carries a coarse liquid";
    let entry = shop.log("thursday");
    assert!(entry.flags.iter().any(|flag| flag.text.contains(told)));
    shop.wash("P-08 P-09 P-10 P-11");
    shop.mark_dry("P-08 P-09 P-10 P-11");
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
    // What is told late was done before the compound was on it.
    let late = shop.log_loose(|loose| {
        loose.said = done("2026-03-04 15:00");
        loose.step = Some(step("before", "fine-foam-150", "fine-polish-500ml"));
        loose.section_count = 1;
        loose.pads = vec![pad_use("P-08")];
    });
    let flags = &late.unwrap().flags;
    assert!(
        !flags.iter().any(|flag| flag.text.contains("coarse")),
        "{flags:?}"
    );
}

/// A pad that drips and one that nobody washed are told of alike.
#[test]
fn a_log_of_a_pad_that_was_wet_or_soiled_is_flagged() {
    let mut shop = Shop::stocked();
    shop.wash("P-08");
    for told in [
        "P-08 was not dry in the book.",
        "P-08 was soiled in the book.",
    ] {
        let entry = shop.log_loose(|loose| {
            loose.step = Some(step("touch-up", "fine-foam-150", "fine-polish-500ml"));
            loose.section_count = 1;
            loose.pads = vec![pad_use("P-08")];
        });
        let flags = &entry.unwrap().flags;
        assert!(flags.iter().any(|flag| flag.text == told), "{flags:?}");
    }
}

#[test]
fn two_steps_with_one_make_of_pad_never_share_a_pad() {
    let mut shop = Shop::stocked();
    cut_twice(&mut shop);
    let checks = check(&shop, &["thursday"]);
    let first = line(&checks[0], LineKind::Pad, Some("first"));
    let second = line(&checks[0], LineKind::Pad, Some("second"));
    assert_eq!(picks(second), tags_of("P-06 P-07"));
    assert_eq!(picks(first).len(), 5);
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
    shop.set_aside("P-01 P-02 P-03");
    receive_worn(&mut shop, "coarse-foam-150", 130);
    let cut = cut(&mut shop);
    assert_eq!(cut.have, 5);
    assert_eq!(cut.verdict, Verdict::Watch);
    let why = "Spent by the rating, and still working: P-13.";
    assert!(says(&cut, why), "{}", cut.reason);
    shop.set_aside("P-13");
    let line = self::cut(&mut shop);
    assert_eq!(line.have, 4);
    assert!(
        says(&line, "Set aside: P-01, P-02, P-03 and P-13"),
        "{}",
        line.reason
    );
}
