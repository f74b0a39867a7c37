//! Bad input in what is set up: every command is given something it cannot take,
//! answers with the reason and the field, and leaves the journal as it was, to the byte.

use fettlebook_contract::v1;
use fettlebook_contract::v1::make::Figures;

use super::{World, coarse_foam, fresh, job, make, makes, one_step, saloon, stamp, words};

fn create(make: v1::Make) -> v1::CreateMakeRequest {
    v1::CreateMakeRequest {
        request_id: fresh(),
        make: Some(make),
    }
}

#[tokio::test]
async fn a_make_that_makes_no_sense_is_not_set_up() {
    let world = World::shop().await;
    let (before, mut kit) = (world.journal(), world.kit());
    let pad = coarse_foam("wide-foam", 150);
    let colourless = v1::Make {
        figures: None,
        ..pad.clone()
    };
    let negative = v1::Make {
        pack_count: -1,
        ..pad.clone()
    };
    let spelt = v1::Make {
        make: "Wide Foam".to_owned(),
        ..pad.clone()
    };
    let hazard = v1::Make {
        ghs_codes: words(&["X1"]),
        ..pad.clone()
    };
    let price = v1::Money {
        amount: "1,50".to_owned(),
        currency_code: "EUR".to_owned(),
    };
    let priced = v1::Make {
        price: Some(price),
        ..pad.clone()
    };
    let nameless = v1::Make {
        name: String::new(),
        ..pad.clone()
    };
    let unsaid = make(
        "some-make",
        Figures::Pad(v1::PadFigures {
            face_mm: 150,
            ..Default::default()
        }),
    );
    let no_id = v1::CreateMakeRequest {
        request_id: String::new(),
        make: Some(pad.clone()),
    };
    let bad_id = v1::CreateMakeRequest {
        request_id: "7".to_owned(),
        make: Some(pad),
    };
    let empty = v1::CreateMakeRequest {
        request_id: fresh(),
        make: None,
    };
    refused! {
        kit.create_make(create(coarse_foam("wide-foam", 500))) => "QUANTITY_INVALID" "make.pad.face_mm";
        kit.create_make(create(coarse_foam("wide-foam", -150))) => "QUANTITY_INVALID" "make.pad.face_mm";
        kit.create_make(create(makes()[0].clone())) => "ID_TAKEN" "make.make";
        kit.create_make(create(colourless)) => "FIELD_MISSING" "make.figures";
        kit.create_make(create(negative)) => "QUANTITY_INVALID" "make.pack_count";
        kit.create_make(create(spelt)) => "FIELD_INVALID" "make.make";
        kit.create_make(create(hazard)) => "FIELD_INVALID" "make.ghs_codes";
        kit.create_make(create(priced)) => "FIELD_INVALID" "make.price";
        kit.create_make(create(nameless)) => "FIELD_MISSING" "make.name";
        kit.create_make(create(unsaid)) => "FIELD_MISSING" "make.pad.material";
        kit.create_make(no_id) => "FIELD_MISSING" "request_id";
        kit.create_make(bad_id) => "FIELD_INVALID" "request_id";
        kit.create_make(empty) => "FIELD_MISSING" "make";
    }
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn cars_and_routines_that_make_no_sense_are_not_set_up() {
    let world = World::shop().await;
    let (before, mut jobs) = (world.journal(), world.jobs());
    let create = |car: v1::Car| v1::CreateCarRequest {
        request_id: fresh(),
        car: Some(car),
        ..Default::default()
    };
    let new = v1::Car {
        car: "city-car-red".to_owned(),
        ..saloon()
    };
    let panel = |word: &str| v1::Panel {
        panel: word.to_owned(),
        left_out: true,
        ..Default::default()
    };
    let hood = v1::Car {
        panels: vec![panel("hood-left")],
        ..new.clone()
    };
    let negative = v1::Panel {
        measured_mm2: Some(-1),
        ..panel("roof")
    };
    let negative = v1::Car {
        panels: vec![negative],
        ..new.clone()
    };
    let twice = v1::Car {
        panels: vec![panel("doors"), panel("front-door-left")],
        ..new.clone()
    };
    let narrow = v1::Car {
        length_mm: Some(4_700),
        ..new.clone()
    };
    let unsaid = v1::Car { class: 0, ..new };
    let set_up = |routine: v1::Routine| v1::CreateRoutineRequest {
        request_id: fresh(),
        routine: Some(routine),
    };
    let new = v1::Routine {
        routine: "other".to_owned(),
        ..one_step()
    };
    let tool = |make: &str| v1::ToolNeed {
        make: make.to_owned(),
        must: true,
    };
    let with_step = |edit: fn(&mut v1::Step)| {
        let mut routine = new.clone();
        edit(&mut routine.steps[0]);
        set_up(routine)
    };
    refused! {
        jobs.create_car(create(saloon())) => "ID_TAKEN" "car.car";
        jobs.create_car(create(hood)) => "PANEL_UNKNOWN" "car.panels.panel";
        jobs.create_car(create(negative)) => "QUANTITY_INVALID" "car.panels.measured_mm2";
        jobs.create_car(create(twice)) => "FIELD_INVALID" "car.panels";
        jobs.create_car(create(narrow)) => "FIELD_MISSING" "car.width_mm";
        jobs.create_car(create(unsaid)) => "FIELD_MISSING" "car.class";
        jobs.create_routine(set_up(one_step())) => "ID_TAKEN" "routine.routine";
        jobs.create_routine(with_step(|step| step.pad_make = "velvet".to_owned())) => "MAKE_UNKNOWN" "routine.steps.cut.pad_make";
        jobs.create_routine(with_step(|step| step.pad_make = "orbital-150".to_owned())) => "WRONG_SORT" "routine.steps.cut.pad_make";
        jobs.create_routine(with_step(|step| step.panels = words(&["hood-left"]))) => "PANEL_UNKNOWN" "routine.steps.cut.panels";
        jobs.create_routine(with_step(|step| step.by_hand = true)) => "FIELD_INVALID" "routine.steps.cut.machine_make";
        jobs.create_routine(with_step(|step| step.machine_make.clear())) => "FIELD_MISSING" "routine.steps.cut.machine_make";
        jobs.create_routine(set_up(v1::Routine { tools: vec![tool("velvet")], ..new.clone() })) => "MAKE_UNKNOWN" "routine.tools.make";
        jobs.create_routine(set_up(v1::Routine { tools: vec![tool("orbital-150")], ..new.clone() })) => "WRONG_SORT" "routine.tools.make";
        jobs.create_routine(with_step(|step| step.step.clear())) => "FIELD_MISSING" "routine.steps.step";
        jobs.create_routine(set_up(v1::Routine { steps: Vec::new(), ..new.clone() })) => "FIELD_MISSING" "routine.steps";
    }
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn edits_of_what_is_not_there_are_not_recorded() {
    let world = World::shop().await;
    let (before, mut kit, mut jobs) = (world.journal(), world.kit(), world.jobs());
    let make = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(coarse_foam("velvet", 150)),
        update_mask: None,
    };
    let car = v1::UpdateCarRequest {
        request_id: fresh(),
        car: Some(v1::Car {
            car: "hearse".to_owned(),
            ..saloon()
        }),
        update_mask: None,
        ..Default::default()
    };
    let routine = v1::UpdateRoutineRequest {
        request_id: fresh(),
        routine: Some(v1::Routine {
            routine: "other".to_owned(),
            ..one_step()
        }),
        update_mask: None,
    };
    let unknown = v1::UpdateJobRequest {
        request_id: fresh(),
        job: Some(job("never")),
        update_mask: None,
    };
    let mask = prost_types::FieldMask {
        paths: words(&["state"]),
    };
    let done = v1::UpdateJobRequest {
        request_id: fresh(),
        job: Some(job("saloon-thursday")),
        update_mask: Some(mask),
    };
    let past = v1::Job {
        start_time: stamp("2026-06-02T06:00:00Z"),
        ..job("saloon-thursday")
    };
    let past = v1::UpdateJobRequest {
        request_id: fresh(),
        job: Some(past),
        update_mask: None,
    };
    refused! {
        kit.update_make(make) => "MAKE_UNKNOWN" "make.make";
        jobs.update_car(car) => "CAR_UNKNOWN" "car.car";
        jobs.update_routine(routine) => "ROUTINE_UNKNOWN" "routine.routine";
        jobs.update_job(unknown) => "JOB_UNKNOWN" "job.job";
        jobs.update_job(done) => "FIELD_MASK_INVALID" "update_mask";
        jobs.update_job(past) => "TIME_PAST" "job.start_time";
    }
    assert_eq!(world.journal(), before);
}
