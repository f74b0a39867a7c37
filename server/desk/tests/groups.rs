//! Many callers share a sync, a full queue says so, and what nobody waits for any more is not begun.

use std::time::Duration;

use fettlebook_model::Seq;
use tokio::task::JoinHandle;
use tokio_test::{assert_pending, assert_ready};

use super::{World, assert_whole, take};
use crate::desk::{Desk, DeskError};
use crate::limits::GROUP_COUNT_MAX;
use crate::testing::stores::{Kind, on_every_store};
use crate::testing::{count_gloves, gloves, new_car, order, reverse};

/// Submits a car from a task of its own.
fn spawn_car(desk: &Desk, id: &str) -> JoinHandle<Result<Seq, DeskError>> {
    let (desk, order) = (desk.clone(), order(new_car(id)));
    tokio::spawn(async move { desk.submit(order).await.map(|entry| entry.seq) })
}

/// Waits until the writer is in the middle of a sync that the disk holds back.
async fn until_appended(world: &World, append_count: usize) {
    while world.told.append_count() < append_count {
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
}

async fn those_who_wait_together_share_one_sync(kind: &Kind) {
    let world = World::on(kind);
    world
        .with(async |desk| {
            world.told.hold();
            let mut cars = vec![spawn_car(desk, "first")];
            until_appended(&world, 1).await;
            cars.extend((0..20).map(|n| spawn_car(desk, &format!("car-{n}"))));
            tokio::task::yield_now().await;
            world.told.release();
            for car in cars {
                car.await.unwrap().unwrap();
            }
            assert_eq!((world.told.append_count(), world.told.sync_count()), (2, 2));
            assert_whole(desk, 21).await;
        })
        .await;
}

async fn more_than_one_group_can_hold_are_all_answered(kind: &Kind) {
    let world = World::on(kind);
    let desk = world.open();
    world.told.hold();
    let first = spawn_car(&desk, "first");
    until_appended(&world, 1).await;
    let cars: Vec<_> = (0..GROUP_COUNT_MAX + 50)
        .map(|n| spawn_car(&desk, &format!("car-{n}")))
        .collect();
    tokio::task::yield_now().await;
    let closing = tokio::spawn(desk.clone().close());
    tokio::task::yield_now().await;
    world.told.release();
    first.await.unwrap().unwrap();
    for car in cars {
        car.await.unwrap().unwrap();
    }
    closing.await.unwrap().unwrap();
    assert_eq!(desk.standing().head.seq, Seq(GROUP_COUNT_MAX as u64 + 51));
}

async fn a_full_queue_sheds_and_the_rest_is_done(kind: &Kind) {
    let mut world = World::on(kind);
    world.options.queue_length = 4;
    world
        .with(async |desk| {
            world.told.hold();
            let first = spawn_car(desk, "first");
            until_appended(&world, 1).await;
            let cars: Vec<_> = (0..10)
                .map(|n| spawn_car(desk, &format!("car-{n}")))
                .collect();
            tokio::task::yield_now().await;
            world.told.release();
            first.await.unwrap().unwrap();
            let mut answers = Vec::new();
            for car in cars {
                answers.push(car.await.unwrap());
            }
            let shed = answers
                .iter()
                .filter(|answer| matches!(answer, Err(DeskError::Busy { .. })))
                .count();
            assert_eq!(shed, 6);
            assert_whole(desk, 5).await;
        })
        .await;
}

async fn an_order_is_pending_until_it_is_durable_and_wakes_its_caller_then(kind: &Kind) {
    let world = World::on(kind);
    world
        .with(async |desk| {
            world.told.hold();
            let mut submit = tokio_test::task::spawn(take(desk, new_car("saloon")));
            assert_pending!(submit.poll());
            until_appended(&world, 1).await;
            assert_pending!(submit.poll());
            assert_eq!(
                desk.book().head(),
                Seq(0),
                "nobody sees what is not durable"
            );
            assert!(!submit.is_woken());
            world.told.release();
            while !submit.is_woken() {
                tokio::time::sleep(Duration::from_millis(1)).await;
            }
            assert_eq!(assert_ready!(submit.poll()).unwrap().seq, Seq(1));
            assert_eq!(desk.book().head(), Seq(1));
        })
        .await;
}

async fn an_order_whose_caller_left_before_its_turn_is_not_begun(kind: &Kind) {
    let world = World::on(kind);
    world
        .with(async |desk| {
            world.told.hold();
            let first = spawn_car(desk, "first");
            until_appended(&world, 1).await;
            let mut gone = tokio_test::task::spawn(take(desk, new_car("gone")));
            assert_pending!(gone.poll());
            let stays = spawn_car(desk, "stays");
            tokio::task::yield_now().await;
            drop(gone);
            world.told.release();
            first.await.unwrap().unwrap();
            assert_eq!(stays.await.unwrap(), Ok(Seq(2)));
            assert!(desk.book().car(&"gone".parse().unwrap()).is_none());
            assert_whole(desk, 2).await;
        })
        .await;
}

async fn a_caller_that_leaves_while_its_order_is_written_does_not_undo_it(kind: &Kind) {
    let world = World::on(kind);
    world
        .with(async |desk| {
            world.told.hold();
            let mut submit = tokio_test::task::spawn(take(desk, new_car("saloon")));
            assert_pending!(submit.poll());
            until_appended(&world, 1).await;
            drop(submit);
            world.told.release();
            take(desk, new_car("suv")).await.unwrap();
            assert_whole(desk, 2).await;
        })
        .await;
}

async fn a_refused_order_in_a_group_does_not_disturb_the_others(kind: &Kind) {
    let world = World::on(kind);
    world
        .with(async |desk| {
            world.told.hold();
            let first = spawn_car(desk, "first");
            until_appended(&world, 1).await;
            let cars = ["a", "a", "b"].map(|id| spawn_car(desk, id));
            tokio::task::yield_now().await;
            world.told.release();
            first.await.unwrap().unwrap();
            let [a, again, b] = cars;
            assert_eq!(a.await.unwrap(), Ok(Seq(2)));
            assert!(matches!(again.await.unwrap(), Err(DeskError::Refused(_))));
            assert_eq!(b.await.unwrap(), Ok(Seq(3)));
            assert_whole(desk, 3).await;
        })
        .await;
}

async fn a_reversal_sees_what_is_in_the_same_group(kind: &Kind) {
    let world = World::on(kind);
    world
        .with(async |desk| {
            for command in gloves() {
                take(desk, command).await.unwrap();
            }
            take(desk, count_gloves(40)).await.unwrap();
            world.told.hold();
            let first = spawn_car(desk, "first");
            until_appended(&world, 4).await;
            let burst =
                [count_gloves(30), reverse(5), reverse(5), count_gloves(20)].map(|command| {
                    let (desk, order) = (desk.clone(), order(command));
                    tokio::spawn(async move { desk.submit(order).await })
                });
            tokio::task::yield_now().await;
            world.told.release();
            first.await.unwrap().unwrap();
            let [count, reversal, again, last] = burst;
            assert_eq!(count.await.unwrap().unwrap().seq, Seq(5));
            assert_eq!(reversal.await.unwrap().unwrap().seq, Seq(6));
            assert!(matches!(again.await.unwrap(), Err(DeskError::Refused(_))));
            assert_eq!(last.await.unwrap().unwrap().seq, Seq(7));
            assert_whole(desk, 7).await;
        })
        .await;
}

on_every_store!(
    async those_who_wait_together_share_one_sync,
    more_than_one_group_can_hold_are_all_answered,
    a_full_queue_sheds_and_the_rest_is_done,
    an_order_is_pending_until_it_is_durable_and_wakes_its_caller_then,
    an_order_whose_caller_left_before_its_turn_is_not_begun,
    a_caller_that_leaves_while_its_order_is_written_does_not_undo_it,
    a_refused_order_in_a_group_does_not_disturb_the_others,
    a_reversal_sees_what_is_in_the_same_group,
);
