//! A clock that jumps far ahead is asked about, and a time that was recorded too early can be taken back.

use fettlebook_model::Moment;

use super::{World, take};
use crate::desk::DeskError;
use crate::testing::stores::{Kind, on_every_store};
use crate::testing::{count_gloves, new_car};

const YEAR_S: i64 = 365 * 86_400;

/// The world's first day, and the moments after which it is asked and flagged.
fn moment(text: &str) -> Moment {
    text.parse().unwrap()
}

async fn a_clock_a_year_ahead_is_asked_about_and_pins_nothing(kind: &Kind) {
    let world = World::on(kind).with_counts(1).await;
    let desk = world.open();
    world.clock.shift(YEAR_S);
    let refused = take(&desk, count_gloves(5)).await.unwrap_err();
    let (now, last) = (
        moment("2027-03-02T08:00:00Z"),
        moment("2026-03-02T08:00:00Z"),
    );
    assert_eq!(refused, DeskError::ClockAhead { now, last });
    assert!(refused.to_string().contains("365 days"), "{refused}");
    assert!(refused.todo().contains("--accept-clock"));
    let before = world.journal();
    world.clock.shift(3_600 - YEAR_S);
    let entry = take(&desk, count_gloves(5)).await.unwrap();
    assert_eq!(entry.recorded_at, moment("2026-03-02T09:00:00Z"));
    assert!(entry.flags.is_empty() && world.journal().len() > before.len());
    desk.close().await.unwrap();
}

async fn a_book_that_rested_over_a_winter_is_not_asked(kind: &Kind) {
    let world = World::on(kind).with_counts(1).await;
    world.clock.shift(180 * 86_400);
    world
        .with(async |desk| take(desk, count_gloves(5)).await.unwrap())
        .await;
    world.clock.shift(180 * 86_400 + 1);
    let asked = world
        .with(async |desk| take(desk, count_gloves(6)).await)
        .await;
    assert!(
        matches!(asked, Err(DeskError::ClockAhead { .. })),
        "{asked:?}"
    );
}

async fn a_clock_that_is_accepted_is_asked_about_no_more(kind: &Kind) {
    let mut world = World::on(kind).with_counts(1).await;
    world.clock.shift(YEAR_S);
    world.options.accept_clock = true;
    let entry = world
        .with(async |desk| take(desk, count_gloves(5)).await.unwrap())
        .await;
    assert_eq!(entry.recorded_at, moment("2027-03-02T08:00:00Z"));
    world.options.accept_clock = false;
    let desk = world.open();
    take(&desk, count_gloves(4)).await.unwrap();
    world.clock.shift(YEAR_S);
    let refused = take(&desk, count_gloves(3)).await.unwrap_err();
    assert!(
        matches!(refused, DeskError::ClockAhead { .. }),
        "{refused:?}"
    );
    desk.close().await.unwrap();
}

/// A wrong time that is in the book already pins every later one, which each entry says, until the
/// clock is accepted.
async fn a_time_far_ahead_in_the_book_is_told_and_taken_back(kind: &Kind) {
    let mut world = World::on(kind).with_counts(1).await;
    world.options.accept_clock = true;
    world.clock.shift(YEAR_S);
    world
        .with(async |desk| take(desk, new_car("suv")).await.unwrap())
        .await;
    world.options.accept_clock = false;
    world.clock.shift(3_600 - YEAR_S);
    let pinned = world
        .with(async |desk| take(desk, count_gloves(5)).await.unwrap())
        .await;
    assert_eq!(pinned.recorded_at, moment("2027-03-02T08:00:00Z"));
    let told: Vec<_> = pinned.flags.iter().map(|flag| flag.text.as_str()).collect();
    assert!(told.concat().contains("--accept-clock"), "{told:?}");
    world.options.accept_clock = true;
    let back = world
        .with(async |desk| take(desk, count_gloves(4)).await.unwrap())
        .await;
    assert_eq!(back.recorded_at, moment("2026-03-02T09:00:00Z"));
    assert!(back.flags.is_empty(), "{:?}", back.flags);
    world.options.accept_clock = false;
    world.clock.shift(60);
    let rebuilt = |world: &World| std::fs::remove_dir_all(world.store().shelf_folder()).unwrap();
    for left in [3, 2] {
        let desk = world.open();
        let entry = take(&desk, count_gloves(left)).await.unwrap();
        assert_eq!(entry.recorded_at, moment("2026-03-02T09:01:00Z"));
        assert!(entry.flags.is_empty());
        assert!(desk.verify().await.unwrap().findings.is_empty());
        desk.close().await.unwrap();
        rebuilt(&world);
    }
}

on_every_store!(
    async a_clock_a_year_ahead_is_asked_about_and_pins_nothing,
    a_book_that_rested_over_a_winter_is_not_asked,
    a_clock_that_is_accepted_is_asked_about_no_more,
    a_time_far_ahead_in_the_book_is_told_and_taken_back,
);
