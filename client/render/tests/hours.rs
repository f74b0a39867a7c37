//! What logs taught of the machines' time, and what hours cost, as a person sees it.

use super::super::scenario::hours::{plan_with_times, priced, priced_done};
use super::super::scenario::{cost::forecast, plain, screen};
use crate::render::cost;
use crate::render::plan as plan_page;

/// The words of a screen, whatever its width.
fn words(text: &str) -> String {
    let plain = plain(text);
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_plan_tells_what_the_minutes_of_logs_taught() {
    for width in [45, 80, 120] {
        let text = plan_page::show(&screen(width), "saloon-thursday", &plan_with_times());
        let shown = plain(&text);
        let mut head = shown.lines().take_while(|line| !line.is_empty());
        assert!(head.all(|line| line.chars().count() <= width), "{shown}");
        let told = words(&text);
        assert!(
            told.contains("5 h 17 min on the machine, 5 h 55 min as you work"),
            "{told}"
        );
        assert!(
            told.contains(
                "You take 12 % longer than planned with a big orbital machine, from 6 jobs."
            ),
            "{told}"
        );
        assert!(told.contains("5 h 10 min – 6 h 41 min"), "{told}");
    }
    let unlearnt = fettlebook_contract::v1::Plan {
        times: plan_with_times()
            .times
            .into_iter()
            .map(|need| fettlebook_contract::v1::TimeNeed {
                expected_s: need.planned_s,
                ..need
            })
            .collect(),
        ..plan_with_times()
    };
    let told = words(&plan_page::show(&screen(80), "saloon-thursday", &unlearnt));
    assert!(
        !told.contains("as you work") && !told.contains("You take"),
        "{told}"
    );
}

#[test]
fn hours_stand_apart_from_the_materials() {
    let told = words(&cost::show(&screen(80), &priced()));
    let hours = "Hours of the owner, apart from the materials: 5 h 55 min at 45.00 EUR an hour, 266.11 EUR; in eight \
                 of ten jobs 232.50 EUR to 300.75 EUR.";
    assert!(told.contains(hours), "{told}");
    assert!(
        told.contains("All of it 10.14 EUR 11.76 EUR 15.02 EUR"),
        "{told}"
    );
    let told = words(&cost::show(&screen(80), &priced_done(true)));
    assert!(told.contains("It took 6 h 10 min: 277.50 EUR."), "{told}");
    let told = words(&cost::show(&screen(80), &priced_done(false)));
    assert!(
        told.contains("It took 6 h 10 min, as planned: 277.50 EUR."),
        "{told}"
    );
    let told = words(&cost::show(&screen(80), &forecast()));
    assert!(!told.contains("Hours"), "{told}");
}
