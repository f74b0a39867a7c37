//! The minutes of each machine that shares a step, as its log tells them.

use fettlebook_model::times::likely_times;

use super::{Shop, book, cut, id, plan, shop_of};
use crate::shop::{flags, tag};

/// Source: by hand: the big machine 124.8 min planned and 150 said, the spot machine 47.467 and 40, the spindle as
/// planned; the rest of all together, 200 less 190, is the spindle's where that is said.
#[test]
fn each_machine_has_the_minutes_that_were_said_of_it_and_its_own_pace() {
    for (of_all, pencil_ms) in [(None, 566_667), (Some(200), 600_000)] {
        let mut shop = shop_of(cut());
        let planned: Vec<i64> = plan(&shop, "shared")
            .steps
            .iter()
            .map(|step| step.time_ms)
            .collect();
        shop.go_to("2026-03-05 15:00");
        let said = [("M-02", 40), ("M-01", 150)].map(|(text, minutes)| (tag(text), minutes * 60));
        let entry = shop.log_as("shared", |log| {
            log.machine_times = said.to_vec();
            log.machine_time_s = of_all.map(|minutes: i64| minutes * 60);
        });
        let told = flags(entry.unwrap()).join(" ");
        assert!(!told.contains("far from"), "{told}");
        let job = shop.book.job(&id("shared")).unwrap();
        let ran = &job.logged.as_ref().unwrap().ran;
        let told: Vec<_> = ran
            .iter()
            .map(|ran| (ran.machine.as_str(), ran.time_ms / 60_000))
            .collect();
        let both = [
            ("orbital-150", 150),
            ("orbital-75", 40),
            ("spindle-30", pencil_ms / 60_000),
        ];
        assert_eq!(told, both[..ran.len()]);
        assert_eq!(ran.len(), if of_all.is_some() { 3 } else { 2 });
        assert_eq!(run_ms(&shop, "M-03"), pencil_ms);
        assert!(
            ran.iter()
                .zip(&planned)
                .all(|(ran, planned)| ran.planned_ms == *planned)
        );
        assert_eq!(longer(&mut shop), [true, false, of_all.is_some()]);
    }
}

fn run_ms(shop: &Shop, machine: &str) -> i64 {
    match &shop.piece(machine).state {
        fettlebook_model::kit::State::Machine(machine) => machine.run_time_ms,
        other => panic!("{other:?}"),
    }
}

/// Whether each machine is expected to take longer in the next such job than planned.
fn longer(shop: &mut Shop) -> Vec<bool> {
    shop.go_to("2026-03-04 15:00");
    book(shop, "again", cut());
    let plan = plan(shop, "again");
    let times = likely_times(&shop.book, shop.book.job(&id("again")).unwrap(), &plan);
    times
        .iter()
        .map(|time| time.expected_ms > time.planned_ms)
        .collect()
}
