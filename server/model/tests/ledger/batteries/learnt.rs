//! What the shop's own logs say of a charge.

use fettlebook_model::batteries::likely_run;
use fettlebook_model::deed::Deed;

use super::{Shop, line, shop, tag};

/// Logs a saloon a day that took these batteries, each with what was left in it, thousandths.
fn took(shop: &mut Shop, day: u32, batteries: &[(&str, i64)]) {
    let job = format!("job-{day}");
    shop.book_saloon(&job, &format!("2026-03-{day:02} 08:00"));
    shop.go_to(&format!("2026-03-{day:02} 18:00"));
    // Fresh pads every day: they are no matter here.
    shop.receive("coarse-foam-150", 5);
    shop.receive("fine-foam-150", 4);
    let batteries = batteries.iter().map(|(text, left)| (tag(text), *left));
    let batteries = batteries.collect();
    shop.log_as(&job, |log| log.batteries = batteries).unwrap();
    shop.charge("BT-01 BT-02 BT-03 BT-04");
}

fn minutes(shop: &Shop) -> f64 {
    let run = likely_run(&shop.book, shop.piece("BT-01")).unwrap();
    run.run_ms as f64 / 60_000.0
}

/// Source: by hand: 369.6 min on three whole charges and three quarters of one are 3.75 for 2.464 by the rating,
/// R = 1.522; of three jobs with K of three Z = ½, so that 1.261 is reckoned with, 119 min a charge. The few
/// charges of the story fade a new battery by less than a minute.
#[test]
fn charges_that_jobs_really_took_say_how_long_one_lasts() {
    let mut shop = shop(4);
    shop.charge("BT-01 BT-02 BT-03 BT-04");
    assert!((minutes(&shop) - 150.0).abs() < 0.5);
    assert_eq!(
        line(&shop).rests_on,
        "Rests on the rating: no log says yet which batteries ran."
    );
    for day in 6..9 {
        took(
            &mut shop,
            day,
            &[("BT-01", 0), ("BT-02", 0), ("BT-03", 0), ("BT-04", 250)],
        );
    }
    let told = minutes(&shop);
    assert!((told - 119.0).abs() < 1.0, "{told}");
    let rests_on = likely_run(&shop.book, shop.piece("BT-01"))
        .unwrap()
        .rests_on;
    assert_eq!(
        rests_on,
        "Charges that jobs take here: 52 % more than planned, from 3 jobs."
    );
}

/// Source: by hand: of two whole charges and half a one in three batteries alike the time is 2 : 2 : 1.
#[test]
fn the_time_of_a_job_falls_to_its_batteries_by_what_each_gave() {
    let mut shop = shop(4);
    shop.charge("BT-01 BT-02 BT-03 BT-04");
    took(&mut shop, 6, &[("BT-01", 0), ("BT-02", 0), ("BT-03", 500)]);
    let deeds = shop.entries.iter().flat_map(|entry| &entry.deeds);
    let times = deeds.filter_map(|deed| match deed {
        Deed::BatteryUsed { time_ms, .. } => Some(*time_ms),
        _ => None,
    });
    let times: Vec<i64> = times.collect();
    assert_eq!(times.iter().sum::<i64>(), 22_176_000);
    for (time, parts) in times.iter().zip([2, 2, 1]) {
        assert!((time - parts * 22_176_000 / 5).abs() < 20_000, "{times:?}");
    }
}

/// A log as planned says nothing that the plan did not, and one of a job that was taken back nothing at all.
#[test]
fn what_nobody_said_teaches_nothing() {
    let mut shop = shop(4);
    shop.charge("BT-01 BT-02 BT-03 BT-04");
    took(&mut shop, 6, &[]);
    assert!((minutes(&shop) - 150.0).abs() < 0.5);
    took(
        &mut shop,
        7,
        &[("BT-01", 0), ("BT-02", 0), ("BT-03", 0), ("BT-04", 0)],
    );
    assert!(minutes(&shop) < 140.0);
    let log = shop
        .entries
        .iter()
        .rfind(|entry| format!("{:?}", entry.deeds).contains("JobDone"));
    let log = log.unwrap().seq;
    shop.reverse(log).unwrap();
    assert!((minutes(&shop) - 150.0).abs() < 0.5);
}
