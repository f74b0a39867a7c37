//! Retries: the same request again is the first answer again, to the byte, and counts once; the same
//! id with another body is refused.

use fettlebook_contract::v1;
use prost::Message as _;
use uuid::Uuid;

use super::{World, assert_told, fresh};
use crate::desk::DeskOptions;
use crate::edge::tests::Answered as _;
use crate::solo;

fn wash(request_id: &str, tag: &str) -> v1::WashKitRequest {
    v1::WashKitRequest {
        request_id: request_id.to_owned(),
        tags: vec![tag.to_owned()],
        ..Default::default()
    }
}

#[tokio::test]
async fn a_retry_gets_the_same_bytes_and_counts_once() {
    let world = World::shop().await;
    let id = fresh();
    let first = world.kit().wash_kit(wash(&id, "P-01")).answer().await;
    let after = world.journal();
    world.clock.shift(3_600);
    let again = world.kit().wash_kit(wash(&id, "P-01")).answer().await;
    assert_eq!(again.encode_to_vec(), first.encode_to_vec());
    assert_eq!(world.journal(), after);
    let Some(v1::piece::State::Pad(pad)) = world.piece("P-01").await.state else {
        panic!()
    };
    assert_eq!(pad.wash_count, 1);
}

#[tokio::test]
async fn a_retry_after_a_restart_gets_the_same_bytes() {
    let World {
        folder,
        clock,
        service,
    } = World::shop().await;
    let id = fresh();
    let world = World {
        folder,
        clock,
        service,
    };
    let first = world.kit().wash_kit(wash(&id, "P-01")).answer().await;
    let World {
        folder,
        clock,
        service,
    } = world;
    service.close().await.unwrap();
    let service = solo::open(
        folder.path(),
        DeskOptions::new(clock.clone(), Uuid::now_v7()),
    )
    .await
    .unwrap();
    let world = World {
        folder,
        clock,
        service,
    };
    let again = world.kit().wash_kit(wash(&id, "P-01")).answer().await;
    assert_eq!(again.encode_to_vec(), first.encode_to_vec());
}

#[tokio::test]
async fn the_same_id_with_another_body_or_command_is_refused() {
    let world = World::shop().await;
    let id = fresh();
    world.kit().wash_kit(wash(&id, "P-01")).await.unwrap();
    let after = world.journal();
    let status = world.kit().wash_kit(wash(&id, "P-02")).await.unwrap_err();
    assert_told(&status, "REQUEST_ID_REUSED", "request_id");
    let dry = v1::MarkDryRequest {
        request_id: id,
        tags: vec!["P-01".to_owned()],
        ..Default::default()
    };
    let status = world.kit().mark_dry(dry).await.unwrap_err();
    assert_told(&status, "REQUEST_ID_REUSED", "request_id");
    assert_eq!(world.journal(), after);
}

#[tokio::test]
async fn the_retry_of_an_edit_gets_its_answer_although_what_it_edited_was_taken_back() {
    let world = World::shop().await;
    let car = |note: &str| v1::Car {
        car: "estate-blue".to_owned(),
        class: v1::CarClass::Estate.into(),
        note: note.to_owned(),
        ..Default::default()
    };
    let create = v1::CreateCarRequest {
        request_id: fresh(),
        car: Some(car("blue")),
        ..Default::default()
    };
    let made = world.jobs().create_car(create).answer().await;
    let edit = v1::UpdateCarRequest {
        request_id: fresh(),
        car: Some(car("dark blue")),
        update_mask: None,
        ..Default::default()
    };
    let first = world.jobs().update_car(edit.clone()).answer().await;
    for entry in [&first.entry, &made.entry] {
        let reverse = v1::ReverseEntryRequest {
            request_id: fresh(),
            seq: entry.as_ref().unwrap().seq,
            ..Default::default()
        };
        world.book().reverse_entry(reverse).await.unwrap();
    }
    let again = world.jobs().update_car(edit.clone()).answer().await;
    assert_eq!(again.entry, first.entry);
    // What it edited is told as it stands by now: it is not there.
    assert_eq!(again.car, None);
    let other = v1::UpdateCarRequest {
        car: Some(car("black")),
        ..edit
    };
    let status = world.jobs().update_car(other).await.unwrap_err();
    assert_told(&status, "REQUEST_ID_REUSED", "request_id");
}
