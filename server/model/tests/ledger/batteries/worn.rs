//! How batteries wear: their clock, what will have to be replaced, and the life of one.

use fettlebook_model::kit_budget::kit_budget;
use fettlebook_model::kit_wear::{Clock, Clocks, is_clocked};
use fettlebook_model::supply_life::{GivenBasis, SupplyLife, supply_life};
use fettlebook_model::wear::Band;
use fettlebook_model::{Entry, Subject};

use super::{Shop, shop, tag};
use crate::shop::id;

/// Source: by hand: after half of 500 charges 0.8^½ of 150 min (from memory) are 134 min 9.8 s.
#[test]
fn a_battery_goes_by_its_charges_and_says_what_a_charge_holds_now() {
    let mut shop = shop(0);
    shop.receive_as("battery-18", 1, |receipt| receipt.charge_count = Some(250));
    let worn = Clocks::of(&shop.book, shop.now)
        .read(shop.piece("BT-01"))
        .unwrap();
    let clock = |count, rated| {
        Some(Clock {
            count,
            rated: Some(rated),
        })
    };
    assert_eq!(worn.charge_count, clock(250, 500));
    assert_eq!(worn.charge_run_s, clock(8_049, 9_000));
    assert_eq!((worn.damage, worn.band), (Some(0.5), Some(Band::Sound)));
    assert_eq!(worn.run_time_s, None);
    assert_eq!(
        worn.rests_on,
        "Rests on the rating: no log says yet which batteries ran."
    );
    shop.lose("BT-01");
    assert!(!is_clocked(shop.piece("BT-01")));
}

fn to_replace(shop: &Shop) -> Option<(f64, Option<String>)> {
    let budget = kit_budget(&shop.book, shop.now).unwrap();
    let lines = budget.lines.into_iter();
    let mut of_make = lines.filter(|line| line.make == id("battery-18") && line.weeks == 4);
    let line = of_make.next()?;
    Some((
        line.count.mean,
        line.cost.map(|cost| cost.mean.amount.to_string()),
    ))
}

/// Source: by hand: after 499 of 500 charges a charge is 120 min, so that a saloon takes four batteries, a charge
/// of each: the four there are end with the first of two jobs, at 60.00 each. Of 250 charges there is no end.
#[test]
fn batteries_past_their_charges_will_have_to_be_replaced() {
    let mut shop = shop(0);
    shop.price("battery-18", "60.00", 1);
    shop.receive_as("battery-18", 4, |receipt| receipt.charge_count = Some(250));
    shop.book_saloon("friday", "2026-03-06 08:00");
    assert_eq!(to_replace(&shop), None);
    shop.lose("BT-01 BT-02 BT-03 BT-04");
    shop.receive_as("battery-18", 4, |receipt| receipt.charge_count = Some(499));
    let (count, cost) = to_replace(&shop).unwrap();
    assert!((count - 4.0).abs() < 1e-6, "{count}");
    assert_eq!(cost.as_deref(), Some("240.00"));
}

fn life(shop: &Shop, piece: &str) -> SupplyLife {
    let is_about = |entry: &&Entry| {
        let mut subjects = entry.deeds.iter().map(|deed| deed.subject());
        subjects.any(|subject| subject == Subject::Piece(tag(piece)))
    };
    let about: Vec<Entry> = shop.entries.iter().filter(is_about).cloned().collect();
    supply_life(&shop.book, shop.piece(piece), &about, shop.now).unwrap()
}

/// Source: by hand: a saloon is 22,176 s, shared by three. Of 500 charges two are over after the one that follows
/// the job, and at a charge a job 498 are left, typically for as many jobs.
#[test]
fn a_battery_says_what_it_gave_and_how_many_jobs_it_has_left() {
    let mut shop = shop(3);
    shop.charge("BT-01 BT-02 BT-03");
    let new = life(&shop, "BT-01");
    assert_eq!(new.given, []);
    assert_eq!(new.booked_job_count, 1);
    assert_eq!(
        new.rests_on,
        "499 charges are left of 500. A charge after each job is reckoned with: none is told yet."
    );
    shop.go_to("2026-03-05 15:00");
    shop.log("thursday");
    shop.charge("BT-01 BT-02 BT-03");
    let worked = life(&shop, "BT-01");
    let given: Vec<_> = (worked.given.iter())
        .map(|one| (one.job.clone(), one.quantity, one.basis))
        .collect();
    assert_eq!(given, [(Some(id("thursday")), 7_392, GivenBasis::Planned)]);
    let left = worked.jobs_left.unwrap();
    assert!(
        left.low < left.typical && left.typical < left.high,
        "{left:?}"
    );
    assert!((left.typical / 498.0 - 1.0).abs() < 0.02, "{left:?}");
    assert_eq!(
        worked.rests_on,
        "498 charges are left of 500. 1.0 charges a job are reckoned with, from 1 job."
    );
}

/// One that ends with a booked job says so.
#[test]
fn a_battery_says_which_booked_job_is_its_last() {
    let mut shop = shop(0);
    shop.receive_as("battery-18", 4, |receipt| receipt.charge_count = Some(498));
    shop.charge("BT-01 BT-02 BT-03 BT-04");
    shop.book_saloon("friday", "2026-03-06 08:00");
    let last = life(&shop, "BT-01").last_job.unwrap();
    assert_eq!(last.job, id("thursday"));
    assert_eq!(life(&shop, "BT-01").booked_job_count, 1);
}
