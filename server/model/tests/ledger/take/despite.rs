//! What the check stops: passed where a person says why, and never for plate, film and vibration.

use fettlebook_model::check::Verdict;
use fettlebook_model::command::JobTake;
use fettlebook_model::job::PanelNote;
use fettlebook_model::panel::Panel;
use fettlebook_model::{Deed, Reason};
use fettlebook_quantity::Thickness;

use super::{check, picked_for, take, taking, try_take, two_days};
use crate::shop::{Shop, flags, id};

const WHY: &str = "the customer waits at the door";

/// The job, all the same.
fn despite() -> JobTake {
    JobTake {
        despite: WHY.to_owned(),
        ..taking("thursday")
    }
}

/// A shop whose towels are gone.
fn without_towels() -> Shop {
    let mut shop = two_days();
    shop.lose("T-01 T-02");
    assert_eq!(check(&shop, "thursday").verdict, Verdict::Stop);
    shop
}

#[test]
fn what_the_check_stops_is_taken_only_with_a_reason_which_stays_with_the_job() {
    let mut shop = without_towels();
    let refused = try_take(&mut shop, taking("thursday")).unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::CheckStops, "despite")
    );
    assert!(
        refused.what.contains("edgeless towel 400g: Short by"),
        "{}",
        refused.what
    );
    assert!(refused.todo.contains("Buy"), "{}", refused.todo);
    let entry = try_take(&mut shop, despite()).unwrap();
    let [
        Deed::JobTaken {
            despite: Some(passed),
            ..
        },
    ] = &entry.deeds[..]
    else {
        panic!("{:?}", entry.deeds)
    };
    assert_eq!(passed.why, WHY);
    assert_eq!(passed.passed.len(), 1, "{:?}", passed.passed);
    assert!(passed.passed[0].contains("Short by"), "{:?}", passed.passed);
    assert!(flags(&entry)[0].contains(WHY), "{:?}", flags(&entry));
    // The check has no override, and the job and its log tell what was passed.
    let check = check(&shop, "thursday");
    assert_eq!(check.verdict, Verdict::Stop);
    let taken = check.job.taken.unwrap();
    assert_eq!(taken.despite.unwrap().why, WHY);
    shop.go_to("2026-03-05 15:00");
    let log = shop.log("thursday").clone();
    let said = flags(&log).join("\n");
    assert!(
        said.contains("taken despite a stop") && said.contains(WHY),
        "{said}"
    );
    let done = shop.book.job(&id("thursday")).unwrap();
    assert!(done.taken.as_ref().unwrap().despite.is_some());
}

#[test]
fn what_goes_needs_no_reason_and_keeps_none() {
    let mut shop = two_days();
    assert_ne!(check(&shop, "thursday").verdict, Verdict::Stop);
    let entry = try_take(&mut shop, despite()).unwrap();
    assert!(matches!(
        &entry.deeds[..],
        [Deed::JobTaken { despite: None, .. }]
    ));
    take(&mut shop, "friday");
}

/// Film of 60 µm, a machine that shakes above the limit, and a plate that is gone: no reason passes any, and
/// each says what ends it.
#[test]
fn film_vibration_and_plate_are_never_passed() {
    let mut shop = two_days();
    shop.edit_saloon(|car| {
        car.panels = vec![PanelNote {
            panel: Panel::Bonnet,
            area_mm2: None,
            left_out: false,
            split: None,
            film_um: Some(Thickness::from_um(60)),
        }];
    });
    let refused = try_take(&mut shop, despite()).unwrap_err();
    assert_eq!(refused.reason, Reason::NeverPassed);
    assert!(refused.what.contains("60 µm"), "{}", refused.what);
    assert!(
        refused.todo.contains("never passed; it ends so: "),
        "{}",
        refused.todo
    );
    shop.edit_saloon(|car| car.panels = Vec::new());
    shop.edit_orbital(|orbital| {
        orbital.vibration_mm_per_s2 = Some(9_000);
        orbital.vibration_measured = true;
    });
    let refused = try_take(&mut shop, despite()).unwrap_err();
    assert_eq!(refused.reason, Reason::NeverPassed);
    let ends = "take a machine with less vibration";
    assert!(refused.todo.contains(ends), "{}", refused.todo);
    shop.edit_orbital(|orbital| orbital.vibration_mm_per_s2 = None);
    shop.lose("BP-01");
    let refused = try_take(&mut shop, despite()).unwrap_err();
    assert_eq!(refused.reason, Reason::NeverPassed);
    assert!(refused.todo.contains("Fit a plate"), "{}", refused.todo);
    assert_eq!(picked_for(&shop, "thursday"), []);
}

#[test]
fn a_reason_is_one_line_of_text() {
    let mut shop = without_towels();
    let long = JobTake {
        despite: "x".repeat(501),
        ..despite()
    };
    assert_eq!(try_take(&mut shop, long).unwrap_err().field, "despite");
}
