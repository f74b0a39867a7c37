//! What is said of machines and of who did it: each machine's own minutes, and what cannot be.

use fettlebook_model::kit::State;
use fettlebook_model::make::Figures;
use fettlebook_model::{Command, Entry, Reason, Refusal};

use crate::shop::{Shop, flags, make, orbital, tag};

/// Logs Thursday's saloon with minutes of these machines, and of all together.
fn log<'a>(
    shop: &'a mut Shop,
    of_each: &[(&str, i64)],
    of_all: Option<i64>,
) -> Result<&'a Entry, Refusal> {
    let of_each = of_each
        .iter()
        .map(|(text, minutes)| (tag(text), minutes * 60));
    let of_each = of_each.collect();
    shop.log_as("thursday", |log| {
        log.machine_times = of_each;
        log.machine_time_s = of_all.map(|minutes| minutes * 60);
    })
}

fn run_min(shop: &Shop, machine: &str) -> i64 {
    match &shop.piece(machine).state {
        State::Machine(machine) => machine.run_time_ms / 60_000,
        other => panic!("{other:?}"),
    }
}

/// Source: by hand: two machines of one make share its steps as their minutes say.
#[test]
fn the_machine_that_is_named_is_the_one_that_ran() {
    let mut shop = Shop::worked();
    shop.receive("orbital-150", 2);
    log(&mut shop, &[("M-02", 300), ("M-03", 100)], None).unwrap();
    let ran = ["M-01", "M-02", "M-03"].map(|machine| run_min(&shop, machine));
    assert_eq!(ran, [0, 300, 100]);
}

#[test]
fn minutes_that_cannot_be_are_refused_and_those_that_can_hardly_be_are_flagged() {
    let mut shop = Shop::worked();
    let refused = log(&mut shop, &[("P-01", 60)], None).unwrap_err();
    assert_eq!(refused.reason, Reason::WrongSort);
    let refused = log(&mut shop, &[("M-09", 60)], None).unwrap_err();
    assert_eq!(refused.reason, Reason::TagUnknown);
    let refused = log(&mut shop, &[("M-01", 60), ("M-01", 70)], None).unwrap_err();
    assert_eq!(refused.field, "machines.machine");
    let refused = log(&mut shop, &[("M-01", 60)], Some(90)).unwrap_err();
    assert_eq!(refused.field, "machine_time_s");
    let was = shop.book.head();
    let refused = shop.log_as("thursday", |log| log.person = "a\nb".to_owned());
    assert_eq!(refused.unwrap_err().field, "person");
    assert_eq!(shop.book.head(), was);
    // 369.6 min are planned: a fifth and five times of it are the bounds.
    for (minutes, is_odd) in [(75, false), (1_800, false), (70, true), (5_000, true)] {
        let mut shop = Shop::worked();
        let told = flags(log(&mut shop, &[("M-01", minutes)], None).unwrap()).join(" ");
        assert_eq!(
            told.contains("is far from the 6 h 10 min"),
            is_odd,
            "{minutes}: {told}"
        );
        assert_eq!(run_min(&shop, "M-01"), minutes);
    }
}

#[test]
fn minutes_of_what_runs_in_no_step_are_flagged_and_not_counted() {
    let mut shop = Shop::worked();
    let make = make("orbital-75", Figures::Machine(orbital()));
    shop.say(Command::CreateMake { make });
    shop.receive("orbital-75", 1);
    let told = flags(log(&mut shop, &[("M-02", 20)], None).unwrap()).join(" ");
    assert!(
        told.starts_with("M-02 runs in no step of thursday"),
        "{told}"
    );
    assert_eq!((run_min(&shop, "M-01"), run_min(&shop, "M-02")), (369, 0));
}
