//! A retry never counts twice: not in one group, not before the shelf knows, not after a restart.

use fettlebook_model::{BodyHash, Seq};

use super::{World, assert_whole};
use crate::desk::DeskError;
use crate::testing::stores::{Kind, on_every_store};
use crate::testing::{new_car, order};

async fn the_same_request_again_gives_the_first_answer(kind: &Kind) {
    let world = World::on(kind);
    let request = order(new_car("saloon"));
    let first = world
        .with(async |desk| {
            let first = desk.submit(request.clone()).await.unwrap();
            world.clock.shift(60);
            assert_eq!(
                desk.submit(request.clone()).await.unwrap(),
                first,
                "before it is shelved"
            );
            desk.verify().await.unwrap();
            assert_eq!(
                desk.submit(request.clone()).await.unwrap(),
                first,
                "after it is shelved"
            );
            first
        })
        .await;
    world
        .with(async |desk| {
            assert_eq!(
                desk.submit(request.clone()).await.unwrap(),
                first,
                "after a restart"
            );
            assert_whole(desk, 1).await;
        })
        .await;
}

async fn the_same_request_with_another_body_is_refused(kind: &Kind) {
    let world = World::on(kind);
    let request = order(new_car("saloon"));
    world
        .with(async |desk| {
            desk.submit(request.clone()).await.unwrap();
            let journal = world.journal();
            let mut other = request.clone();
            other.body = BodyHash([7; 16]);
            let refused = DeskError::RequestIdReused {
                request: request.request,
                seq: Seq(1),
            };
            assert_eq!(desk.submit(other.clone()).await, Err(refused.clone()));
            desk.verify().await.unwrap();
            assert_eq!(desk.submit(other).await, Err(refused));
            assert_eq!(world.journal(), journal);
        })
        .await;
}

async fn doubles_in_one_group_are_written_once(kind: &Kind) {
    let world = World::on(kind);
    world
        .with(async |desk| {
            world.told.hold();
            let ahead = tokio::spawn({
                let (desk, request) = (desk.clone(), order(new_car("ahead")));
                async move { desk.submit(request).await }
            });
            tokio::task::yield_now().await;
            let request = order(new_car("saloon"));
            let mut other = request.clone();
            other.body = BodyHash([7; 16]);
            let mut doubles: Vec<_> = [&request, &request, &other, &request]
                .map(|order| {
                    let (desk, order) = (desk.clone(), order.clone());
                    tokio::spawn(async move { desk.submit(order).await })
                })
                .into_iter()
                .collect();
            tokio::task::yield_now().await;
            world.told.release();
            ahead.await.unwrap().unwrap();
            let mut answers = Vec::new();
            for double in doubles.drain(..) {
                answers.push(double.await.unwrap());
            }
            let reused = DeskError::RequestIdReused {
                request: request.request,
                seq: Seq(2),
            };
            assert_eq!(answers.remove(2), Err(reused));
            assert!(answers.iter().all(|answer| answer == &answers[0]));
            assert_eq!(answers[0].as_ref().unwrap().seq, Seq(2));
            assert_whole(desk, 2).await;
        })
        .await;
}

async fn a_request_that_was_refused_may_be_sent_again(kind: &Kind) {
    let world = World::on(kind);
    world
        .with(async |desk| {
            let request = order(crate::testing::count_gloves(3));
            assert!(matches!(
                desk.submit(request.clone()).await,
                Err(DeskError::Refused(_))
            ));
            for command in crate::testing::gloves() {
                desk.submit(order(command)).await.unwrap();
            }
            assert_eq!(desk.submit(request).await.unwrap().seq, Seq(3));
        })
        .await;
}

on_every_store!(
    async the_same_request_again_gives_the_first_answer,
    the_same_request_with_another_body_is_refused,
    doubles_in_one_group_are_written_once,
    a_request_that_was_refused_may_be_sent_again,
);
