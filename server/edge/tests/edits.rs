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
    // It is no figure of the policy any more.
    let is_load = |from: &v1::PolicyFigure| from.figure == "pad.load_sections";
    expected.policy_figures.retain(|from| !is_load(from));
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

/// The figures of the coarse foam that are from the policy: path, value, and what the policy gives.
async fn from_policy(world: &World) -> Vec<(String, i64, i64)> {
    let figures = make(world).await.policy_figures.into_iter();
    figures
        .map(|from| (from.figure, from.value, from.policy_value))
        .collect()
}

/// Clears these figures, or gives them as they are said.
async fn edit_figures(world: &World, pad: v1::PadFigures, paths: &[&str]) {
    let request = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(v1::Make {
            make: "coarse-foam-150".to_owned(),
            figures: Some(Figures::Pad(pad)),
            ..Default::default()
        }),
        update_mask: mask(paths),
    };
    world.kit().update_make(request).await.unwrap();
}

/// A change of the policy leaves the make as it is; an edit that clears the figure fills it anew, and one
/// that names it says that it is given, be it as it was.
#[tokio::test]
async fn what_is_from_the_policy_is_told_and_filled_anew_where_an_edit_clears_it() {
    let world = World::shop().await;
    let path = |figure: &str| format!("pad.{figure}");
    let (work, washes) = (path("rated_work_sections"), path("rated_wash_count"));
    let before = make(&world).await;
    let told = from_policy(&world).await;
    assert_eq!(told[0], (work.clone(), 185, 185));
    assert_eq!(told[1], (washes.clone(), 28, 28));
    assert_eq!(before.policy_figures[0].key, "rating_coarse_foam_sections");

    let change = v1::PolicyChange {
        key: "rating_coarse_foam_sections".to_owned(),
        value: Some(300),
    };
    let request = v1::UpdatePolicyRequest {
        request_id: fresh(),
        changes: vec![change],
        ..Default::default()
    };
    world.book().update_policy(request).await.unwrap();
    assert_eq!(from_policy(&world).await[0], (work.clone(), 185, 300));
    // The make itself has not changed.
    assert_eq!(make(&world).await.etag, before.etag);

    edit_figures(&world, v1::PadFigures::default(), &[&work]).await;
    assert_eq!(from_policy(&world).await[0], (work.clone(), 300, 300));
    let given = v1::PadFigures {
        rated_work_sections: Some(300),
        ..Default::default()
    };
    edit_figures(&world, given, &[&work]).await;
    assert_eq!(from_policy(&world).await[0], (washes, 28, 28));
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

/// All that can be edited of a make is what was sent; its sort stays the one that was sent.
#[tokio::test]
async fn a_star_edits_a_make_of_any_sort() {
    let world = World::shop().await;
    let asked = v1::GetMakeRequest {
        make: "plate-125-m8".to_owned(),
    };
    let held = world.kit().get_make(asked).answer().await.make.unwrap();
    let Some(Figures::Plate(mut plate)) = held.figures else {
        panic!("{held:?}")
    };
    plate.diameter_mm += 5;
    let sent = v1::Make {
        make: held.make,
        name: "a wider plate".to_owned(),
        pack_count: held.pack_count,
        figures: Some(Figures::Plate(plate.clone())),
        ..Default::default()
    };
    let request = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(sent),
        update_mask: mask(&["*"]),
    };
    let edited = world
        .kit()
        .update_make(request)
        .answer()
        .await
        .make
        .unwrap();
    assert_eq!(edited.figures, Some(Figures::Plate(plate)));
    assert_eq!(
        (edited.name.as_str(), edited.note.as_str()),
        ("a wider plate", "")
    );
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
