//! The life of a piece entry by entry, and looks at a wash.

use fettlebook_contract::v1;
use fettlebook_contract::v1::piece::State;

use super::wear::{bin, is_ordered, log};
use super::{World, fresh, words};
use crate::edge::tests::Answered as _;

async fn reverse(world: &World, seq: i64) {
    let request = v1::ReverseEntryRequest {
        request_id: fresh(),
        seq,
        ..Default::default()
    };
    world.book().reverse_entry(request).await.unwrap();
}

async fn life(world: &World, tag: &str) -> v1::GetPieceLifeResponse {
    let request = v1::GetPieceLifeRequest {
        tag: tag.to_owned(),
    };
    world.kit().get_piece_life(request).answer().await
}

#[tokio::test]
async fn the_life_of_a_pad_is_told_entry_by_entry() {
    let world = World::shop().await;
    let logged = log(&world).await.seq;
    let wash = v1::WashKitRequest {
        request_id: fresh(),
        tags: words(&["P-01"]),
        ..Default::default()
    };
    world.kit().wash_kit(wash).await.unwrap();
    let told = life(&world, "p-01").await;
    let piece = told.piece.as_ref().unwrap();
    assert_eq!(
        (piece.tag.as_str(), piece.readiness()),
        ("P-01", v1::Readiness::Drying)
    );
    let points: Vec<_> = told
        .points
        .iter()
        .map(|point| (point.entry.as_ref().unwrap().seq, point.wash_count.unwrap()))
        .collect();
    assert_eq!(points, [(7, 0), (logged, 0), (logged + 1, 1)]);
    let damages: Vec<f64> = told
        .points
        .iter()
        .map(|point| point.damage.unwrap())
        .collect();
    assert!(
        damages[0] == 0.0 && damages.is_sorted_by(|a, b| a < b),
        "{damages:?}"
    );
    let left = told.left.unwrap();
    assert!(left.tag == "P-01" && is_ordered(left.jobs_left));
    assert_eq!(left.damage, damages[2]);
    assert!(told.points.iter().all(|point| point.left_ul.is_none()));
}

#[tokio::test]
async fn a_reversal_is_part_of_the_life_and_takes_the_wear_back() {
    let world = World::shop().await;
    let logged = log(&world).await.seq;
    reverse(&world, logged).await;
    let told = life(&world, "P-01").await;
    let points: Vec<_> = told
        .points
        .iter()
        .map(|point| {
            (
                point.entry.as_ref().unwrap().seq,
                point.damage.unwrap() > 0.0,
            )
        })
        .collect();
    assert_eq!(points, [(7, false), (logged, true), (logged + 1, false)]);
    let entry = told.points[1].entry.as_ref().unwrap();
    assert_eq!(entry.reversed_by_seq, Some(logged + 1));
    assert_eq!(told.left.unwrap().damage, 0.0);
}

#[tokio::test]
async fn other_things_have_a_life_too_and_what_is_binned_has_nothing_left() {
    let world = World::shop().await;
    log(&world).await;
    let bottle = life(&world, "B-01").await;
    assert_eq!(bottle.left, None);
    let levels: Vec<i64> = bottle
        .points
        .iter()
        .map(|point| point.left_ul.unwrap())
        .collect();
    assert!(levels.len() == 2 && levels[1] < levels[0], "{levels:?}");
    assert!(bottle.points.iter().all(|point| point.damage.is_none()));
    let towels = life(&world, "T-01").await;
    assert_eq!(towels.points[0].wash_count, Some(0));
    let plate = life(&world, "BP-01").await;
    assert!(plate.points[1].damage > plate.points[0].damage);
    bin(&world, &["P-01"], v1::BinReason::Torn).await;
    let pad = life(&world, "P-01").await;
    assert_eq!((pad.left, pad.points.len()), (None, 3));
}

#[tokio::test]
async fn a_life_nobody_has_is_refused() {
    let world = World::shop().await;
    let received = world.receive("coarse-foam-150", &["P-30"]).await.seq;
    reverse(&world, received).await;
    let mut kit = world.kit();
    let of = |tag: &str| v1::GetPieceLifeRequest {
        tag: tag.to_owned(),
    };
    refused! {
        kit.get_piece_life(of("")) => "FIELD_MISSING" "tag";
        kit.get_piece_life(of("pad 7")) => "FIELD_INVALID" "tag";
        kit.get_piece_life(of("P-99")) => "TAG_UNKNOWN" "tag";
        kit.get_piece_life(of("P-30")) => "TAG_UNKNOWN" "tag";
    }
}

fn look(tag: &str, grades: [i32; 3]) -> v1::Inspection {
    let [rebound_grade, edge_grade, face_grade] = grades;
    v1::Inspection {
        tag: tag.to_owned(),
        rebound_grade,
        edge_grade,
        face_grade,
    }
}

#[tokio::test]
async fn what_a_look_at_a_wash_found_is_shown_with_the_pad() {
    let world = World::shop().await;
    let request = v1::WashKitRequest {
        request_id: fresh(),
        tags: words(&["P-01", "P-02"]),
        inspections: vec![look("P-01", [1, 5, 3])],
        ..Default::default()
    };
    let entry = world.kit().wash_kit(request).answer().await.entry.unwrap();
    let deed = entry
        .deeds
        .iter()
        .find(|deed| deed.kind() == v1::DeedKind::Inspected)
        .unwrap();
    assert_eq!(deed.subject, "P-01");
    assert!(
        deed.text.ends_with("rebound 1, edge 5, face 3 of 5."),
        "{}",
        deed.text
    );
    let inspected = async |tag: &str| match world.piece(tag).await.state {
        Some(State::Pad(pad)) => pad.inspected,
        other => panic!("{other:?}"),
    };
    assert_eq!(inspected("P-01").await, Some(look("P-01", [1, 5, 3])));
    assert_eq!(inspected("P-02").await, None);
}

#[tokio::test]
async fn a_look_that_cannot_be_is_not_recorded() {
    let world = World::shop().await;
    let (before, mut kit) = (world.journal(), world.kit());
    let wash = |looks: &[v1::Inspection]| v1::WashKitRequest {
        request_id: fresh(),
        tags: words(&["P-01", "T-01"]),
        inspections: looks.to_vec(),
        ..Default::default()
    };
    let good = [3, 3, 3];
    refused! {
        kit.wash_kit(wash(&[look("P-01", [0, 3, 3])])) => "QUANTITY_INVALID" "inspections.rebound_grade";
        kit.wash_kit(wash(&[look("P-01", [3, 6, 3])])) => "QUANTITY_INVALID" "inspections.edge_grade";
        kit.wash_kit(wash(&[look("P-01", [3, 3, i32::MIN])])) => "QUANTITY_INVALID" "inspections.face_grade";
        kit.wash_kit(wash(&[look("P-02", good)])) => "FIELD_INVALID" "inspections.tag";
        kit.wash_kit(wash(&[look("P-01", good), look("p-1", good)])) => "FIELD_INVALID" "inspections.tag";
        kit.wash_kit(wash(&[look("T-01", good)])) => "WRONG_SORT" "inspections.tag";
        kit.wash_kit(wash(&[look("P-99", good)])) => "TAG_UNKNOWN" "inspections.tag";
        kit.wash_kit(wash(&[look("", good)])) => "FIELD_MISSING" "inspections.tag";
    }
    assert_eq!(world.journal(), before);
}
