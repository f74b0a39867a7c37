//! Which pads are offered and taken for the second day: those that can be dry by then, fresh ones before them.

use fettlebook_model::check::Verdict;
use fettlebook_model::command::{JobTake, Said};
use fettlebook_model::take::Picked;
use fettlebook_model::{Command, Reason, Refusal};

use super::{PADS, job, life, log_first, pads, picks, saturday, twice_over};
use crate::shop::{Shop, flags, id, routine, step, tag};

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
