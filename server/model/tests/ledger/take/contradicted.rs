//! What a take contradicts in the book, and what it does not.

use fettlebook_model::check::LineKind;
use fettlebook_model::command::JobTake;
use fettlebook_model::job::PanelNote;
use fettlebook_model::take::Picked;
use fettlebook_model::{Deed, Entry};
use fettlebook_quantity::{Thickness, Volume};

use super::{book_at, check, picked_for, take, taking, try_take, two_days};
use crate::kept::kept;
use crate::shop::{Shop, at, flags, id, tag};

/// Takes for one job what was taken for Thursday's.
fn take_the_same(shop: &mut Shop, job: &str) -> Entry {
    let same = JobTake {
        picked: picked_for(shop, "thursday"),
        ..taking(job)
    };
    try_take(shop, same).unwrap()
}

fn said(entry: &Entry) -> String {
    flags(entry).join("\n")
}

/// A machine goes to jobs on two days, and not to two places on one.
#[test]
fn a_machine_taken_to_two_places_on_one_day_is_told() {
    let mut shop = two_days();
    book_at(&mut shop, "away", "2026-03-05 13:00", "van-a");
    take(&mut shop, "thursday");
    let told = "M-01 is taken for thursday too";
    assert!(!said(&take_the_same(&mut shop, "friday")).contains(told));
    let away = take_the_same(&mut shop, "away");
    assert!(said(&away).contains(told), "{}", said(&away));
}

/// A plate that another job has taken goes only where there is no other.
#[test]
fn of_two_plates_the_one_that_no_other_job_has_taken_goes() {
    let mut shop = two_days();
    shop.receive("plate-125-m8", 1);
    take(&mut shop, "thursday");
    let plates = |shop: &Shop| {
        let lines = check(shop, "friday").lines.into_iter();
        let mut plates = lines.filter(|line| line.kind == LineKind::Plate);
        plates.next().unwrap().picks[0].tag
    };
    assert_eq!(plates(&shop), tag("BP-02"));
    shop.lose("BP-02");
    assert_eq!(plates(&shop), tag("BP-01"));
}

/// A bottle goes to two jobs as long as it holds enough for both.
#[test]
fn a_bottle_that_does_not_hold_enough_for_both_is_told() {
    for (left_ul, is_enough) in [(900_000, true), (100_000, false)] {
        let mut shop = two_days();
        shop.count("B-01", left_ul);
        take(&mut shop, "thursday");
        let taken = picked_for(&shop, "thursday");
        let of_bottle = taken.iter().find(|one| one.tag == tag("B-01")).unwrap();
        let quantity = Volume::from_ul(of_bottle.quantity);
        assert!(quantity < Volume::from_ul(100_000) && quantity > Volume::from_ul(50_000));
        let friday = said(&take_the_same(&mut shop, "friday"));
        let told = friday.contains("B-01 is taken for thursday too");
        assert_eq!(told, !is_enough, "{left_ul}: {friday}");
    }
}

/// A pad that dries now is dry by Friday; a bundle of which some is soiled has clean towels still.
#[test]
fn what_is_ready_by_the_start_is_no_contradiction() {
    let mut shop = two_days();
    shop.wash("P-01");
    shop.count_towels("T-01", 20, 4);
    let picked = |shop: &Shop, job| {
        let mut looked = shop.clone();
        take(&mut looked, job);
        picked_for(&looked, job)
    };
    let mut pick = picked(&shop, "friday");
    let cut = pick.iter().find(|one| one.tag.letters() == "P").unwrap();
    let washed = Picked {
        tag: tag("P-01"),
        ..cut.clone()
    };
    pick.push(washed);
    let friday = JobTake {
        picked: pick,
        ..taking("friday")
    };
    let entry = try_take(&mut shop, friday).unwrap();
    assert_eq!(flags(&entry), [""; 0]);
}

#[test]
fn a_piece_that_is_picked_for_two_steps_is_told_of_once() {
    let mut shop = two_days();
    take(&mut shop, "thursday");
    let mut pick = picked_for(&shop, "thursday");
    let machines = pick.iter().filter(|one| one.tag == tag("M-01")).count();
    assert_eq!(machines, 2, "one a step");
    shop.set_aside("M-01");
    pick.retain(|one| one.tag == tag("M-01"));
    let seen = shop.book.head();
    shop.lose("T-01");
    let kept_take = JobTake {
        said: kept("van-a", seen, at("2026-03-04 16:00")),
        picked: pick,
        ..taking("thursday")
    };
    let entry = try_take(&mut shop, kept_take).unwrap();
    let aside = said(&entry).matches("M-01 was aside in the book").count();
    assert_eq!(aside, 1, "{}", said(&entry));
}

/// The pads that work come first, in whichever order they were taken.
#[test]
fn a_spare_that_was_taken_first_is_a_spare_still() {
    let mut shop = two_days();
    let cut = |shop: &Shop| {
        let lines = check(shop, "thursday").lines.into_iter();
        let mut lines = lines.filter(|line| line.step == Some(id("cut")));
        lines
            .find(|line| line.make == Some(id("coarse-foam-150")))
            .unwrap()
    };
    let need = usize::try_from(cut(&shop).need).unwrap();
    let pad = |number: usize, spare| Picked {
        tag: tag(&format!("P-{number:02}")),
        step: Some(id("cut")),
        quantity: 1,
        spare,
    };
    let working = (2..2 + need).map(|number| pad(number, false));
    let picked = std::iter::once(pad(1, true)).chain(working).collect();
    let spare_first = JobTake {
        picked,
        despite: "no more is shown of it".to_owned(),
        ..taking("thursday")
    };
    let seen = shop.book.head();
    shop.lose("B-02");
    let kept_take = JobTake {
        said: kept("van-a", seen, at("2026-03-04 16:00")),
        ..spare_first
    };
    try_take(&mut shop, kept_take).unwrap();
    let spares: Vec<String> = cut(&shop)
        .picks
        .iter()
        .filter(|pick| pick.spare)
        .map(|pick| pick.tag.to_string())
        .collect();
    assert_eq!(spares, ["P-01"]);
}

/// A van that had not seen the film takes despite something else: its reason stands, and passes no film.
#[test]
fn a_reason_that_a_van_kept_stays_and_passes_nothing_that_is_never_passed() {
    let mut shop = two_days();
    let seen = shop.book.head();
    take(&mut shop, "thursday");
    let shown = picked_for(&shop, "thursday");
    let kept_take = JobTake {
        said: kept("van-a", seen, at("2026-03-04 16:00")),
        picked: shown,
        despite: "the towels come by post".to_owned(),
        ..taking("thursday")
    };
    let passed = |entry: &Entry| match &entry.deeds[..] {
        [Deed::JobTaken { despite, .. }] => despite.clone().unwrap(),
        deeds => panic!("{deeds:?}"),
    };
    let goes = passed(&try_take(&mut shop, kept_take.clone()).unwrap());
    assert_eq!(
        (goes.why.as_str(), goes.passed.len()),
        ("the towels come by post", 0)
    );
    shop.edit_saloon(|car| {
        car.panels = vec![PanelNote {
            panel: "bonnet".parse().unwrap(),
            area_mm2: None,
            left_out: false,
            split: None,
            film_um: Some(Thickness::from_um(60)),
        }];
    });
    let entry = try_take(&mut shop, kept_take).unwrap();
    assert_eq!(passed(&entry).passed, [""; 0]);
    assert!(
        said(&entry).contains("The check of thursday says stop."),
        "{}",
        said(&entry)
    );
}
