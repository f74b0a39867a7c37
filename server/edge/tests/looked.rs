//! Requests that are only looked at: what is odd about them is told and nothing is recorded, and sent
//! again as they are they record what was shown.

use fettlebook_contract::v1;

use super::{Answered as _, World, assert_told, fresh, saloon, words};

fn told(entry: &v1::Entry) -> Vec<&str> {
    entry.flags.iter().map(|flag| flag.text.as_str()).collect()
}

fn wash(tag: &str) -> v1::WashKitRequest {
    v1::WashKitRequest {
        request_id: fresh(),
        tags: words(&[tag]),
        validate_only: true,
        ..Default::default()
    }
}

#[tokio::test]
async fn a_wash_that_is_looked_at_is_recorded_when_it_is_sent() {
    let world = World::shop().await;
    let before = world.journal();
    let look = wash("P-01");
    let looked = world.kit().wash_kit(look.clone()).answer().await;
    let looked = looked.entry.unwrap();
    assert_eq!(
        (looked.seq, told(&looked)),
        (0, vec!["P-01 was clean in the book."])
    );
    assert_eq!(looked.request_id, look.request_id);
    assert_eq!(world.journal(), before);
    let meant = v1::WashKitRequest {
        validate_only: false,
        ..look
    };
    let recorded = world.kit().wash_kit(meant).answer().await.entry.unwrap();
    assert!(recorded.seq > 0);
    assert_eq!(
        (recorded.flags, recorded.deeds),
        (looked.flags, looked.deeds)
    );
    assert_ne!(world.journal(), before);
}

#[tokio::test]
async fn whatever_is_only_looked_at_writes_nothing() {
    let world = World::shop().await;
    let before = world.journal();
    let count = v1::CountKitRequest {
        request_id: fresh(),
        tag: "S-01".to_owned(),
        quantity: Some(40),
        validate_only: true,
        ..Default::default()
    };
    let weigh = v1::WeighBottlesRequest {
        request_id: fresh(),
        weighings: vec![v1::Weighing {
            bottle: "B-01".to_owned(),
            gross_mg: 5_000_000,
        }],
        validate_only: true,
        ..Default::default()
    };
    let filled = v1::Car {
        panels: vec![v1::Panel {
            panel: "bonnet".to_owned(),
            film_um: Some(1_200),
            ..Default::default()
        }],
        ..saloon()
    };
    let create = v1::CreateCarRequest {
        request_id: fresh(),
        car: Some(v1::Car {
            car: "city-car-red".to_owned(),
            ..filled.clone()
        }),
        validate_only: true,
    };
    let update = v1::UpdateCarRequest {
        request_id: fresh(),
        car: Some(filled),
        validate_only: true,
        ..Default::default()
    };
    let (mut kit, mut jobs) = (world.kit(), world.jobs());
    let counted = kit.count_kit(count.clone()).answer().await.entry.unwrap();
    assert_eq!((counted.seq, told(&counted)), (0, vec![]));
    let weighed = kit.weigh_bottles(weigh).answer().await.entry.unwrap();
    assert!(told(&weighed)[0].contains("more than a full bottle"));
    for entry in [
        jobs.create_car(create).answer().await.entry.unwrap(),
        jobs.update_car(update).answer().await.entry.unwrap(),
    ] {
        assert!(told(&entry)[0].contains("1200 µm"), "{:?}", told(&entry));
        assert_eq!(entry.seq, 0);
    }
    let wrong = v1::CountKitRequest {
        quantity: Some(-1),
        ..count
    };
    let status = kit.count_kit(wrong).await.unwrap_err();
    assert_told(&status, "QUANTITY_INVALID", "quantity");
    assert_eq!(world.journal(), before);
}
