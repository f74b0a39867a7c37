//! Several things of one sort that are wrong with a request: each is told once, with where it stands.

use fettlebook_contract::v1;
use tonic_types::StatusExt as _;

use super::{World, fresh, words};

/// Each of two wrong panels is told once, with where it stands, and the words that there are once for both.
#[tokio::test]
async fn several_wrong_panels_are_told_once_each_and_the_list_of_panels_once() {
    let world = World::shop().await;
    let held = world
        .jobs()
        .get_routine(v1::GetRoutineRequest {
            routine: "one-step".to_owned(),
        })
        .await;
    let mut routine = held.unwrap().into_inner().routine.unwrap();
    let step = routine.steps[0].clone();
    routine.steps[0].shares = vec![v1::StepShare {
        reach: v1::Reach::Spot.into(),
        machine_make: step.machine_make,
        pad_make: step.pad_make,
        liquid_make: step.liquid_make,
        panels: words(&["bonnt", "roof", "roff"]),
        ..Default::default()
    }];
    let edit = v1::UpdateRoutineRequest {
        request_id: fresh(),
        routine: Some(routine.clone()),
        update_mask: Some(prost_types::FieldMask {
            paths: words(&["steps"]),
        }),
    };
    let edited = world.jobs().update_routine(edit).await.unwrap_err();
    let new = v1::CreateRoutineRequest {
        request_id: fresh(),
        routine: Some(v1::Routine {
            routine: "other".to_owned(),
            etag: String::new(),
            ..routine
        }),
    };
    let created = world.jobs().create_routine(new).await.unwrap_err();
    for status in [edited, created] {
        let told = status.get_details_bad_request().unwrap().field_violations;
        let told: Vec<&str> = told.iter().map(|one| one.description.as_str()).collect();
        assert_eq!(
            told,
            [
                "Number 1 of the panels: 'bonnt' is not a panel.",
                "Number 3 of the panels: 'roff' is not a panel."
            ]
        );
        let message = status.message();
        assert_eq!(message.matches("mirror-right").count(), 1, "{message}");
        assert_eq!(message.matches("'bonnt'").count(), 1, "{message}");
    }
}

/// Of an edit, too, two that are wrong in the same field are two.
#[tokio::test]
async fn two_wrong_panels_of_a_car_that_is_edited_are_both_told() {
    let world = World::shop().await;
    let read = |panel: &str| v1::Panel {
        panel: panel.to_owned(),
        film_um: Some(112),
        ..Default::default()
    };
    let edit = v1::UpdateCarRequest {
        request_id: fresh(),
        car: Some(v1::Car {
            car: "medium-saloon-silver".to_owned(),
            panels: vec![read("bonnt"), read("roff")],
            ..Default::default()
        }),
        update_mask: Some(prost_types::FieldMask {
            paths: words(&["panels"]),
        }),
        validate_only: false,
    };
    let status = world.jobs().update_car(edit).await.unwrap_err();
    let told = status.get_details_bad_request().unwrap().field_violations;
    let told: Vec<&str> = told.iter().map(|one| one.description.as_str()).collect();
    assert_eq!(
        told,
        [
            "Number 1 of the panels: 'bonnt' is not a panel.",
            "Number 2 of the panels: 'roff' is not a panel."
        ]
    );
}
