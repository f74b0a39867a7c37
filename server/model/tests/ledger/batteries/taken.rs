//! Batteries that were taken for a job: its log empties those, and others leave them to it.

use fettlebook_model::Command;
use fettlebook_model::command::{JobTake, Said};

use super::{Shop, checked, is_full, line, line_of, picked, shop};
use crate::shop::{id, saloon_job, tags_of};

/// Takes Thursday's job with what is picked for it.
fn take(shop: &mut Shop) {
    let take = JobTake {
        said: Said::default(),
        job: id("thursday"),
        is_released: false,
        picked: Vec::new(),
        despite: String::new(),
    };
    shop.say(Command::TakeJob(Box::new(take)));
}

#[test]
fn what_was_taken_is_what_the_log_empties() {
    let mut shop = shop(5);
    shop.charge("BT-01 BT-02 BT-03 BT-04 BT-05");
    shop.lose("BT-02");
    let taken = picked(&line(&shop));
    assert_eq!(taken, tags_of("BT-01 BT-03 BT-04"));
    take(&mut shop);
    shop.receive("battery-18", 1);
    shop.charge("BT-06");
    shop.go_to("2026-03-05 15:00");
    shop.log("thursday");
    for tag in ["BT-01", "BT-03", "BT-04"] {
        assert!(!is_full(&shop, tag, "2026-03-05 15:00"), "{tag}");
    }
    assert!(is_full(&shop, "BT-05", "2026-03-05 15:00"));
}

#[test]
fn what_was_taken_for_a_job_goes_to_no_other() {
    let mut shop = shop(6);
    shop.charge("BT-01 BT-02 BT-03 BT-04 BT-05 BT-06");
    take(&mut shop);
    shop.book_saloon("wednesday", "2026-03-04 18:00");
    let others = picked(&line_of(checked(&shop, "wednesday")));
    assert_eq!(others, tags_of("BT-04 BT-05 BT-06"));
}

/// Those that go to another place that day are not even the last choice, as they are at one place.
#[test]
fn what_goes_elsewhere_that_day_is_not_there() {
    let mut shop = shop(4);
    shop.charge("BT-01 BT-02 BT-03 BT-04");
    take(&mut shop);
    let mut beside = saloon_job("beside", "2026-03-05 18:00");
    shop.say(Command::BookJob {
        job: beside.clone(),
    });
    let told = line_of(checked(&shop, "beside"));
    assert_eq!(picked(&told), tags_of("BT-04 BT-01 BT-02"));
    beside.id = id("away");
    beside.place = id("customer");
    shop.say(Command::BookJob { job: beside });
    let told = line_of(checked(&shop, "away"));
    assert_eq!((picked(&told), told.short), (tags_of("BT-04"), 2));
}
