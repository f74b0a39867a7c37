//! Bad input about pieces of kit: every command is given something it cannot take,
//! answers with the reason and the field, and leaves the journal as it was, to the byte.

use fettlebook_contract::v1;

use super::{World, fresh, stamp, words};

#[tokio::test]
async fn kit_that_cannot_be_is_not_received() {
    let world = World::shop().await;
    let (before, mut kit) = (world.journal(), world.kit());
    let of = |make: &str| v1::ReceiveKitRequest {
        request_id: fresh(),
        make: make.to_owned(),
        ..Default::default()
    };
    let taken = v1::ReceiveKitRequest {
        tags: words(&["p-01"]),
        ..of("coarse-foam-150")
    };
    let twice = v1::ReceiveKitRequest {
        tags: words(&["P-50", "P-50"]),
        ..of("coarse-foam-150")
    };
    let spelt = v1::ReceiveKitRequest {
        tags: words(&["pad 7"]),
        ..of("coarse-foam-150")
    };
    let below = v1::ReceiveKitRequest {
        volume_ul: Some(-5_000),
        ..of("coarse-compound-1-l")
    };
    let over = v1::ReceiveKitRequest {
        volume_ul: Some(i64::MAX),
        ..of("coarse-compound-1-l")
    };
    let day = v1::ReceiveKitRequest {
        expiry_date: "31.3.2027".to_owned(),
        ..of("coarse-compound-1-l")
    };
    let tomorrow = stamp("2026-06-05T00:00:00Z");
    let future = v1::ReceiveKitRequest {
        done_time: tomorrow,
        ..of("coarse-foam-150")
    };
    let nanos = Some(prost_types::Timestamp {
        seconds: 1,
        nanos: -1,
    });
    let no_moment = v1::ReceiveKitRequest {
        done_time: nanos,
        ..of("coarse-foam-150")
    };
    let grade = v1::ReceiveKitRequest {
        towel_grade: 77,
        ..of("edgeless-towel-400-g")
    };
    refused! {
        kit.receive_kit(taken) => "TAG_TAKEN" "tags";
        kit.receive_kit(twice) => "TAG_TAKEN" "tags";
        kit.receive_kit(spelt) => "FIELD_INVALID" "tags";
        kit.receive_kit(below) => "QUANTITY_INVALID" "volume_ul";
        kit.receive_kit(over) => "QUANTITY_INVALID" "volume_ul";
        kit.receive_kit(day) => "FIELD_INVALID" "expiry_date";
        kit.receive_kit(future) => "TIME_FUTURE" "done_time";
        kit.receive_kit(no_moment) => "FIELD_INVALID" "done_time";
        kit.receive_kit(grade) => "FIELD_INVALID" "towel_grade";
        kit.receive_kit(of("edgeless-towel-400-g")) => "FIELD_MISSING" "towel_count";
        kit.receive_kit(of("velvet-150")) => "MAKE_UNKNOWN" "make";
        kit.receive_kit(of("")) => "FIELD_MISSING" "make";
    }
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn what_is_no_bottle_is_neither_filled_nor_poured_from() {
    let world = World::shop().await;
    let (before, mut kit) = (world.journal(), world.kit());
    let filling = |bottle: &str, from: &str, volume_ul| v1::FillBottleRequest {
        request_id: fresh(),
        bottle: bottle.to_owned(),
        from: from.to_owned(),
        volume_ul,
        ..Default::default()
    };
    refused! {
        kit.fill_bottle(filling("B-01", "B-01", None)) => "FIELD_INVALID" "from";
        kit.fill_bottle(filling("P-01", "B-01", None)) => "WRONG_SORT" "bottle";
        kit.fill_bottle(filling("B-01", "B-99", None)) => "TAG_UNKNOWN" "from";
        kit.fill_bottle(filling("", "B-01", None)) => "FIELD_MISSING" "bottle";
        kit.fill_bottle(filling("B-01", "P-01", Some(0))) => "QUANTITY_INVALID" "volume_ul";
    }
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn upkeep_of_what_is_not_there_or_another_thing_is_not_recorded() {
    let world = World::shop().await;
    let (before, mut kit) = (world.journal(), world.kit());
    let request_id = fresh;
    let place = || "van-a".to_owned();
    let weighing = |bottle: &str, gross_mg| v1::WeighBottlesRequest {
        request_id: fresh(),
        weighings: vec![v1::Weighing {
            bottle: bottle.to_owned(),
            gross_mg,
        }],
        ..Default::default()
    };
    let count = |tag: &str, quantity| v1::CountKitRequest {
        request_id: fresh(),
        tag: tag.to_owned(),
        quantity,
        ..Default::default()
    };
    let aside = |tags: &[&str], reason| v1::SetAsideRequest {
        request_id: fresh(),
        tags: words(tags),
        reason,
        ..Default::default()
    };
    let bin = |tags: &[&str], reason: v1::BinReason, count| v1::BinKitRequest {
        request_id: fresh(),
        tags: words(tags),
        reason: reason.into(),
        count,
        ..Default::default()
    };
    let demote = |grade: v1::TowelGrade| v1::DemoteTowelsRequest {
        request_id: fresh(),
        tag: "T-01".to_owned(),
        grade: grade.into(),
        ..Default::default()
    };
    let (torn, unsaid) = (v1::BinReason::Torn, v1::BinReason::Unspecified);
    let go = v1::MoveKitRequest {
        request_id: request_id(),
        tags: words(&["P-99"]),
        place: place(),
        ..Default::default()
    };
    let nowhere = v1::MoveKitRequest {
        place: String::new(),
        tags: words(&["P-01"]),
        ..go.clone()
    };
    let wash = v1::WashKitRequest {
        request_id: request_id(),
        tags: words(&["M-01"]),
        ..Default::default()
    };
    let nothing = v1::WashKitRequest {
        tags: Vec::new(),
        ..wash.clone()
    };
    let dry = v1::MarkDryRequest {
        request_id: request_id(),
        tags: words(&["P-"]),
        ..Default::default()
    };
    let back = v1::ReturnKitRequest {
        request_id: request_id(),
        tags: words(&["P-01"]),
        ..Default::default()
    };
    refused! {
        kit.move_kit(go) => "TAG_UNKNOWN" "tags";
        kit.move_kit(nowhere) => "FIELD_MISSING" "place";
        kit.wash_kit(wash) => "WRONG_SORT" "tags";
        kit.wash_kit(nothing) => "FIELD_MISSING" "tags";
        kit.mark_dry(dry) => "FIELD_INVALID" "tags";
        kit.weigh_bottles(weighing("P-01", 412_000)) => "WRONG_SORT" "weighings.bottle";
        kit.weigh_bottles(weighing("B-01", -1)) => "QUANTITY_INVALID" "weighings.gross_mg";
        kit.weigh_bottles(weighing("B-01", i64::MAX)) => "QUANTITY_INVALID" "weighings.gross_mg";
        kit.weigh_bottles(weighing("", 1)) => "FIELD_MISSING" "weighings.bottle";
        kit.count_kit(count("S-01", None)) => "FIELD_MISSING" "quantity";
        kit.count_kit(count("S-01", Some(-1))) => "QUANTITY_INVALID" "quantity";
        kit.count_kit(count("P-01", Some(1))) => "WRONG_SORT" "tag";
        kit.set_aside(aside(&["P-01"], 0)) => "FIELD_MISSING" "reason";
        kit.set_aside(aside(&["P-01"], 99)) => "FIELD_INVALID" "reason";
        kit.set_aside(aside(&["P-99"], 1)) => "TAG_UNKNOWN" "tags";
        kit.return_kit(back) => "WRONG_SORT" "tags";
        kit.bin_kit(bin(&["P-01"], unsaid, None)) => "FIELD_MISSING" "reason";
        kit.bin_kit(bin(&["P-99"], torn, None)) => "TAG_UNKNOWN" "tags";
        kit.bin_kit(bin(&["T-01"], torn, Some(21))) => "QUANTITY_INVALID" "count";
        kit.demote_towels(demote(v1::TowelGrade::Final)) => "FIELD_INVALID" "grade";
        kit.demote_towels(demote(v1::TowelGrade::Unspecified)) => "FIELD_MISSING" "grade";
    }
    assert_eq!(world.journal(), before);
}
