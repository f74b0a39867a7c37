//! Deeds that a device kept, over the wire: how they are told, and what of it makes no sense.

use fettlebook_contract::v1;

use super::{NOW, World, fresh, stamp, words};
use crate::edge::tests::Answered as _;

fn kept() -> v1::Kept {
    v1::Kept {
        number: 17,
        seen_seq: 3,
        kept_time: stamp(NOW),
        levels: vec![v1::SeenLevel {
            tag: "S-01".to_owned(),
            quantity: Some(50),
            ..Default::default()
        }],
        ..Default::default()
    }
}

fn count(kept: v1::Kept) -> v1::CountKitRequest {
    v1::CountKitRequest {
        request_id: fresh(),
        tag: "S-01".to_owned(),
        quantity: Some(40),
        kept: Some(kept),
        ..Default::default()
    }
}

#[tokio::test]
async fn an_entry_tells_which_deed_of_its_device_it_was() {
    let world = World::shop().await;
    let answer = world.kit().count_kit(count(kept())).await.unwrap();
    let entry = answer.into_inner().entry.unwrap();
    let told = v1::Kept {
        levels: Vec::new(),
        ..kept()
    };
    assert_eq!(entry.kept.as_ref(), Some(&told));
    let request = v1::GetEntryRequest { seq: entry.seq };
    let read = world.book().get_entry(request).answer().await;
    assert_eq!(read.entry, Some(entry));
}

/// After a restore the same number is another entry, so that it cannot have been seen.
#[tokio::test]
async fn what_was_seen_of_another_incarnation_is_not_taken_for_this_one() {
    let world = World::shop().await;
    let book = world
        .book()
        .get_book(v1::GetBookRequest::default())
        .await
        .unwrap();
    let this = book.into_inner().incarnation_id;
    for (incarnation_id, seen_seq) in [(String::new(), 3), (this, 3), (fresh(), 0)] {
        let kept = v1::Kept {
            incarnation_id,
            ..kept()
        };
        let answer = world.kit().count_kit(count(kept)).await.unwrap();
        let entry = answer.into_inner().entry.unwrap();
        assert_eq!(entry.kept.unwrap().seen_seq, seen_seq);
    }
}

/// What earlier clients say that they had seen is passed over: a count is what there was.
#[tokio::test]
async fn a_count_of_a_device_is_what_there_is_whatever_it_had_seen() {
    let world = World::shop().await;
    let mut seen = kept();
    seen.levels[0].quantity = Some(45);
    let answer = world.kit().count_kit(count(seen)).await.unwrap();
    let entry = answer.into_inner().entry.unwrap();
    assert_eq!(entry.deeds[0].text, "S-01: counted, 40 pairs left.");
    assert_eq!(entry.flags, []);
    let Some(v1::piece::State::Sundry(sundry)) = world.piece("S-01").await.state else {
        panic!("not a sundry")
    };
    assert_eq!(sundry.left_quantity, 40);
}

#[tokio::test]
async fn what_a_device_cannot_have_kept_is_refused_with_its_field() {
    let world = World::shop().await;
    let with = |change: &dyn Fn(&mut v1::Kept)| {
        let (mut kept, mut kit) = (kept(), world.kit());
        change(&mut kept);
        async move { kit.count_kit(count(kept)).await }
    };
    let before = world.journal();
    refused! {
        with(&|kept| kept.number = 0) => "QUANTITY_INVALID" "kept.number";
        with(&|kept| kept.number = -3) => "QUANTITY_INVALID" "kept.number";
        with(&|kept| kept.seen_seq = -1) => "QUANTITY_INVALID" "kept.seen_seq";
        with(&|kept| kept.kept_time = None) => "FIELD_MISSING" "kept.kept_time";
        with(&|kept| kept.kept_time.as_mut().unwrap().nanos = -1) => "FIELD_INVALID" "kept.kept_time";
        with(&|kept| kept.tag_letter = "b".to_owned()) => "FIELD_INVALID" "kept.tag_letter";
        with(&|kept| kept.tag_letter = "AB".to_owned()) => "FIELD_INVALID" "kept.tag_letter";
    }
    assert_eq!(world.journal(), before);
}

/// What was sent to be kept counts for the hash of the request: another number is another deed.
#[tokio::test]
async fn a_retry_gets_the_first_answer_and_another_number_is_another_request() {
    let world = World::shop().await;
    let first = v1::WashKitRequest {
        request_id: fresh(),
        tags: words(&["P-01"]),
        kept: Some(kept()),
        ..Default::default()
    };
    let told = world.kit().wash_kit(first.clone()).answer().await;
    let again = world.kit().wash_kit(first.clone()).answer().await;
    assert_eq!(told, again);
    let mut other = first;
    other.kept.as_mut().unwrap().number = 18;
    refused! {
        world.kit().wash_kit(other) => "REQUEST_ID_REUSED" "request_id";
    }
}

/// A van without signal shows a receipt and a car that nobody booked as the shop records them later.
#[tokio::test]
async fn what_came_and_who_walked_in_is_named_alike_on_the_way_and_in_the_shop() {
    let world = World::shop().await;
    let mut kept = kept();
    kept.tag_letter = "B".to_owned();
    let came = v1::ReceiveKitRequest {
        request_id: fresh(),
        make: "coarse-foam-150".to_owned(),
        piece_count: 2,
        kept: Some(kept.clone()),
        ..Default::default()
    };
    let entry = world.kit().receive_kit(came).answer().await.entry.unwrap();
    let tags: Vec<_> = entry
        .deeds
        .iter()
        .map(|deed| deed.subject.as_str())
        .collect();
    assert_eq!(tags, ["PB-01", "PB-02"]);
    let walked_in = |validate_only| v1::LogUseRequest {
        request_id: fresh(),
        unbooked: Some(v1::UnbookedCar {
            class: v1::CarClass::MediumSaloon.into(),
            routine: "one-step".to_owned(),
            job: "medium-saloon-9c1f".to_owned(),
            ..Default::default()
        }),
        kept: Some(kept.clone()),
        validate_only,
        ..Default::default()
    };
    let shown = world
        .jobs()
        .log_use(walked_in(true))
        .answer()
        .await
        .entry
        .unwrap();
    let entry = world
        .jobs()
        .log_use(walked_in(false))
        .answer()
        .await
        .entry
        .unwrap();
    assert_eq!(shown.deeds, entry.deeds);
    let job = entry
        .deeds
        .iter()
        .find(|deed| deed.kind() == v1::DeedKind::JobDone);
    assert_eq!(job.unwrap().subject, "medium-saloon-9c1f");
    let asked = v1::GetJobRequest {
        job: "medium-saloon-9c1f".to_owned(),
    };
    let job = world.jobs().get_job(asked).answer().await.job.unwrap();
    assert_eq!(job.state(), v1::JobState::Done);
}

#[tokio::test]
async fn a_car_that_nobody_booked_is_refused_where_it_cannot_be_understood() {
    let world = World::shop().await;
    let with = |change: &dyn Fn(&mut v1::LogUseRequest, &mut v1::UnbookedCar)| {
        let mut car = v1::UnbookedCar {
            class: v1::CarClass::MediumSaloon.into(),
            routine: "one-step".to_owned(),
            job: "medium-saloon-9c1f".to_owned(),
            ..Default::default()
        };
        let mut log = v1::LogUseRequest {
            request_id: fresh(),
            ..Default::default()
        };
        change(&mut log, &mut car);
        log.unbooked = Some(car);
        let mut jobs = world.jobs();
        async move { jobs.log_use(log).await }
    };
    let before = world.journal();
    refused! {
        with(&|log, _| log.job = "saloon-thursday".to_owned()) => "FIELD_INVALID" "unbooked";
        with(&|log, _| log.loose = Some(v1::LooseUse::default())) => "FIELD_INVALID" "unbooked";
        with(&|_, car| car.class = 0) => "FIELD_MISSING" "unbooked.class";
        with(&|_, car| car.car = "medium-saloon-silver".to_owned()) => "FIELD_INVALID" "unbooked.car";
        with(&|_, car| (car.class, car.car) = (0, "nobody".to_owned())) => "CAR_UNKNOWN" "unbooked.car";
        with(&|_, car| car.routine.clear()) => "FIELD_MISSING" "unbooked.routine";
        with(&|_, car| car.routine = "nine-step".to_owned()) => "ROUTINE_UNKNOWN" "unbooked.routine";
        with(&|_, car| car.job.clear()) => "FIELD_MISSING" "unbooked.job";
        with(&|_, car| car.job = "saloon-thursday".to_owned()) => "ID_TAKEN" "job.job";
        with(&|_, car| car.place = "Van A".to_owned()) => "FIELD_INVALID" "unbooked.place";
    }
    assert_eq!(world.journal(), before);
}
