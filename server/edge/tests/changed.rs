//! What a write changed stands beside its entry, as whoever asks for it sees it.

use fettlebook_contract::v1;
use prost_types::FieldMask;

use super::supply::{line, of};
use super::{World, coarse_foam, fresh, job, one_step, saloon, stamp, words};
use crate::edge::tests::Answered as _;

#[tokio::test]
async fn what_is_set_up_or_edited_comes_back_as_it_is_read() {
    let world = World::supplied().await;
    let edit = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(v1::Make {
            make: "coarse-foam-150".to_owned(),
            note: "blue".to_owned(),
            ..Default::default()
        }),
        update_mask: Some(FieldMask {
            paths: words(&["note"]),
        }),
    };
    let edited = world.kit().update_make(edit).answer().await.make.unwrap();
    let asked = v1::GetMakeRequest {
        make: "coarse-foam-150".to_owned(),
    };
    let read = world.kit().get_make(asked).answer().await.make.unwrap();
    assert_eq!((&edited, edited.note.as_str()), (&read, "blue"));

    let created = v1::CreateMakeRequest {
        request_id: fresh(),
        make: Some(coarse_foam("coarse-foam-80", 80)),
    };
    let made = world.kit().create_make(created).answer().await.make;
    // What the policy fills in is there at once.
    assert!(!made.unwrap().policy_figures.is_empty());

    let car = v1::CreateCarRequest {
        request_id: fresh(),
        car: Some(v1::Car {
            car: "grey-saloon".to_owned(),
            ..saloon()
        }),
        validate_only: true,
    };
    let looked = world.jobs().create_car(car.clone()).answer().await;
    let would_be = looked.car.unwrap();
    assert!(!would_be.panels.is_empty(), "the areas of its class");
    let car = v1::CreateCarRequest {
        validate_only: false,
        ..car
    };
    assert_eq!(
        world.jobs().create_car(car).answer().await.car,
        Some(would_be)
    );

    let routine = v1::CreateRoutineRequest {
        request_id: fresh(),
        routine: Some(v1::Routine {
            routine: "refresh".to_owned(),
            ..one_step()
        }),
    };
    let routine = world.jobs().create_routine(routine).answer().await.routine;
    assert_eq!(routine.unwrap().routine, "refresh");

    let policy = v1::UpdatePolicyRequest {
        request_id: fresh(),
        changes: vec![v1::PolicyChange {
            key: "dot-ul".to_owned(),
            value: Some(400),
        }],
        ..Default::default()
    };
    let lines = world.book().update_policy(policy).answer().await.lines;
    let told: Vec<_> = lines
        .iter()
        .map(|line| (line.key.as_str(), line.value))
        .collect();
    assert_eq!(told, [("dot_ul", 400)]);
}

#[tokio::test]
async fn pieces_and_the_job_come_back_as_they_stand_and_a_look_shows_them_as_they_would() {
    let world = World::shop().await;
    let wash = v1::WashKitRequest {
        request_id: fresh(),
        tags: words(&["P-02", "P-01"]),
        validate_only: true,
        ..Default::default()
    };
    let looked = world.kit().wash_kit(wash.clone()).answer().await.pieces;
    let readiness = |pieces: &[v1::Piece]| -> Vec<_> {
        let each = pieces.iter();
        each.map(|piece| (piece.tag.clone(), piece.readiness()))
            .collect()
    };
    let washed = [
        ("P-01".to_owned(), v1::Readiness::Drying),
        ("P-02".to_owned(), v1::Readiness::Drying),
    ];
    assert_eq!(readiness(&looked), washed);
    assert_eq!(world.piece("P-01").await.readiness(), v1::Readiness::Ready);
    let wash = v1::WashKitRequest {
        validate_only: false,
        ..wash
    };
    let pieces = world.kit().wash_kit(wash.clone()).answer().await.pieces;
    assert_eq!(pieces, looked);
    assert_eq!(pieces[0], world.piece("P-01").await);

    // A retry has the same entry; the pieces stand as they do by now.
    let first = world.kit().wash_kit(wash.clone()).answer().await;
    world.clock.shift(7 * 86_400);
    let again = world.kit().wash_kit(wash).answer().await;
    assert_eq!(again.entry, first.entry);
    assert_eq!(again.pieces[0].readiness(), v1::Readiness::Ready);
    world.clock.shift(-7 * 86_400);

    let log = v1::LogUseRequest {
        request_id: fresh(),
        job: "saloon-thursday".to_owned(),
        done_time: stamp("2026-06-03T17:00:00Z"),
        ..Default::default()
    };
    let logged = world.jobs().log_use(log).answer().await;
    assert_eq!(logged.job.unwrap().state(), v1::JobState::Done);
    let used = logged.pieces.iter().find(|piece| piece.tag == "B-01");
    assert_eq!(used, Some(&world.piece("B-01").await));

    let seq = logged.entry.unwrap().seq;
    let back = v1::ReverseEntryRequest {
        request_id: fresh(),
        seq,
        ..Default::default()
    };
    let back = world.book().reverse_entry(back).answer().await;
    assert_eq!(back.jobs[0].state(), v1::JobState::Booked);
    assert!(back.pieces.iter().any(|piece| piece.tag == "B-01"));

    let booked = v1::BookJobRequest {
        request_id: fresh(),
        job: Some(v1::Job {
            place: String::new(),
            ..job("saloon-friday")
        }),
    };
    let booked = world.jobs().book_job(booked).answer().await.job.unwrap();
    assert_eq!(
        (booked.place.as_str(), booked.etag.is_empty()),
        ("bench", false)
    );
}

#[tokio::test]
async fn an_order_comes_back_as_it_stands_and_so_does_what_came_of_it() {
    let world = World::supplied().await;
    let draft = of(vec![line("coarse-foam-150", 2)]);
    let written = world.supply().create_order(draft).answer().await;
    let order = written.written.unwrap();
    assert_eq!((order.order.as_str(), order.lines.len()), ("order-1", 1));
    let place = v1::PlaceOrderRequest {
        request_id: fresh(),
        order: order.order.clone(),
        ..Default::default()
    };
    let placed = world.supply().place_order(place).answer().await.order;
    assert_eq!(placed.unwrap().state(), v1::OrderState::Placed);
    let came = v1::ReceiveOrderRequest {
        request_id: fresh(),
        order: order.order,
        ..Default::default()
    };
    let came = world.supply().receive_order(came).answer().await;
    assert_eq!(came.order.unwrap().state(), v1::OrderState::Closed);
    assert!(came.pieces.iter().all(|piece| piece.landed_cost.is_some()));
    let seq = came.entry.unwrap().seq;
    let back = v1::ReverseEntryRequest {
        request_id: fresh(),
        seq,
        ..Default::default()
    };
    let back = world.book().reverse_entry(back).answer().await;
    assert_eq!(back.orders[0].state(), v1::OrderState::Placed);
}
