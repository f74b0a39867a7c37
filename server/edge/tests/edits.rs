//! Edits: what the mask names changes, everything else stays.

use fettlebook_contract::v1;
use fettlebook_contract::v1::make::Figures;
use prost_types::FieldMask;

use super::{World, assert_told, coarse_foam, fresh, job, one_step, saloon, stamp};
use crate::edge::tests::Answered as _;

fn mask(paths: &[&str]) -> Option<FieldMask> {
    Some(FieldMask {
        paths: paths.iter().map(|path| (*path).to_owned()).collect(),
    })
}

async fn make(world: &World) -> v1::Make {
    let request = v1::GetMakeRequest {
        make: "coarse-foam-150".to_owned(),
    };
    world.kit().get_make(request).answer().await.make.unwrap()
}

#[tokio::test]
async fn one_figure_of_a_make_is_edited_and_the_rest_stays() {
    let world = World::shop().await;
    let before = make(&world).await;
    let mut sent = coarse_foam("coarse-foam-150", 80);
    let Some(Figures::Pad(pad)) = &mut sent.figures else {
        panic!()
    };
    pad.load_sections = Some(12);
    let request = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(sent),
        update_mask: mask(&["pad.load_sections"]),
    };
    world.kit().update_make(request).await.unwrap();
    let mut expected = before;
    let Some(Figures::Pad(pad)) = &mut expected.figures else {
        panic!()
    };
    assert_eq!(pad.load_sections, Some(18));
    pad.load_sections = Some(12);
    let after = make(&world).await;
    assert_ne!(after.etag, expected.etag);
    expected.etag.clone_from(&after.etag);
    assert_eq!(after, expected);
}

#[tokio::test]
async fn without_a_mask_what_is_set_is_edited() {
    let world = World::shop().await;
    let sent = v1::Make {
        make: "coarse-foam-150".to_owned(),
        note: "from the trade counter".to_owned(),
        ..Default::default()
    };
    let before = make(&world).await;
    let request = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(sent),
        update_mask: None,
    };
    world.kit().update_make(request).await.unwrap();
    let after = make(&world).await;
    let expected = v1::Make {
        note: "from the trade counter".to_owned(),
        etag: after.etag.clone(),
        ..before
    };
    assert_eq!(after, expected);
}

#[tokio::test]
async fn a_make_cannot_become_another_sort() {
    let world = World::shop().await;
    let plate = v1::PlateFigures {
        diameter_mm: 125,
        thread: "M8".to_owned(),
        ..Default::default()
    };
    let sent = v1::Make {
        figures: Some(Figures::Plate(plate)),
        ..coarse_foam("coarse-foam-150", 150)
    };
    let request = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(sent),
        update_mask: mask(&["plate"]),
    };
    let status = world.kit().update_make(request).await.unwrap_err();
    assert_told(&status, "WRONG_SORT", "make.figures");
}

#[tokio::test]
async fn a_cars_panels_are_edited_and_read_back_with_their_areas() {
    let world = World::shop().await;
    let measured = v1::Panel {
        panel: "bonnet".to_owned(),
        measured_mm2: Some(1_000_000),
        film_um: Some(110),
        ..Default::default()
    };
    let sent = v1::Car {
        panels: vec![measured],
        note: "not named in the mask".to_owned(),
        ..saloon()
    };
    let request = v1::UpdateCarRequest {
        request_id: fresh(),
        car: Some(sent),
        update_mask: mask(&["panels"]),
        ..Default::default()
    };
    world.jobs().update_car(request).await.unwrap();
    let request = v1::GetCarRequest {
        car: "medium-saloon-silver".to_owned(),
    };
    let car = world.jobs().get_car(request).answer().await.car.unwrap();
    assert_eq!((car.note.as_str(), car.panels.len()), ("silver", 19));
    let bonnet = car
        .panels
        .iter()
        .find(|panel| panel.panel == "bonnet")
        .unwrap();
    // Measured 1 m² with the crown allowance of 5 %.
    assert_eq!(
        (bonnet.area_mm2, bonnet.basis()),
        (1_050_000, v1::AreaBasis::Measured)
    );
    assert_eq!(
        (bonnet.measured_mm2, bonnet.film_um),
        (Some(1_000_000), Some(110))
    );
    let roof = car
        .panels
        .iter()
        .find(|panel| panel.panel == "roof")
        .unwrap();
    assert_eq!(
        (roof.area_mm2, roof.basis()),
        (1_420_000, v1::AreaBasis::Class)
    );
}

#[tokio::test]
async fn a_routines_steps_and_a_jobs_start_are_edited() {
    let world = World::shop().await;
    let mut sent = one_step();
    sent.steps[0].press = v1::Press::Firm.into();
    sent.name = "not named".to_owned();
    let request = v1::UpdateRoutineRequest {
        request_id: fresh(),
        routine: Some(sent),
        update_mask: mask(&["steps"]),
    };
    world.jobs().update_routine(request).await.unwrap();
    let request = v1::GetRoutineRequest {
        routine: "one-step".to_owned(),
    };
    let routine = world
        .jobs()
        .get_routine(request)
        .answer()
        .await
        .routine
        .unwrap();
    assert_eq!(
        (routine.name.as_str(), routine.steps[0].press()),
        ("one step", v1::Press::Firm)
    );

    let later = stamp("2026-06-04T09:00:00Z");
    let sent = v1::Job {
        start_time: later,
        place: "van-a".to_owned(),
        ..job("saloon-thursday")
    };
    let request = v1::UpdateJobRequest {
        request_id: fresh(),
        job: Some(sent),
        update_mask: mask(&["start_time"]),
    };
    world.jobs().update_job(request).await.unwrap();
    let request = v1::GetJobRequest {
        job: "saloon-thursday".to_owned(),
    };
    let job = world.jobs().get_job(request).answer().await.job.unwrap();
    assert_eq!(
        (job.start_time, job.place.as_str(), job.state()),
        (later, "bench", v1::JobState::Booked)
    );
}
