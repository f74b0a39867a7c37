//! The kit by its own clocks, piece by piece and in pages, what of it is to be replaced, and what a bottle gave.

use fettlebook_contract::v1;

use super::wear::{is_ordered, log};
use super::{World, fresh};
use crate::edge::tests::Answered as _;

async fn pieces(world: &World, asked: v1::ListPieceWearRequest) -> v1::ListPieceWearResponse {
    world.kit().list_piece_wear(asked).answer().await
}

fn of(make: &str) -> v1::ListPieceWearRequest {
    v1::ListPieceWearRequest {
        make: make.to_owned(),
        ..Default::default()
    }
}

#[tokio::test]
async fn each_piece_is_told_by_its_own_clock() {
    let world = World::shop().await;
    log(&world).await;
    let told = pieces(&world, of("")).await.pieces;
    let piece = |tag: &str| told.iter().find(|piece| piece.tag == tag).unwrap().clone();
    let (pad, plate) = (piece("P-01"), piece("BP-01"));
    assert_eq!(
        (pad.sort(), plate.sort()),
        (v1::MakeSort::Pad, v1::MakeSort::Plate)
    );
    assert!(pad.work_micro_sections > Some(0) && pad.run_time_s.is_none());
    assert!(plate.run_time_s > Some(0) && plate.change_count > Some(0));
    assert_eq!(plate.rated_run_time_s, Some(1_080_000));
    assert!(is_ordered(pad.jobs_left) && is_ordered(plate.jobs_left));
    let machine = piece("M-01");
    assert_eq!((machine.damage, machine.rated_run_time_s), (None, None));
    assert_eq!(machine.band(), v1::WearBand::Unspecified);
    assert_eq!(piece("T-01").rated_wash_count, Some(50));
    assert!(told.iter().all(|piece| !piece.tag.starts_with("B-")));
}

#[tokio::test]
async fn five_hundred_pieces_come_in_pages_and_each_once() {
    let world = World::shop().await;
    let tags: Vec<String> = (100..600).map(|number| format!("P-{number}")).collect();
    for some in tags.chunks(100) {
        let some: Vec<&str> = some.iter().map(String::as_str).collect();
        world.receive("coarse-foam-150", &some).await;
    }
    let (mut seen, mut page_token) = (Vec::new(), String::new());
    loop {
        let asked = v1::ListPieceWearRequest {
            page_token,
            ..of("coarse-foam-150")
        };
        let page = pieces(&world, asked).await;
        assert!(page.pieces.len() <= 100 && seen.len() < 1_000);
        seen.extend(page.pieces.into_iter().map(|piece| piece.tag));
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    assert!(tags.iter().all(|tag| seen.contains(tag)));
    let count = seen.len();
    seen.sort_unstable();
    seen.dedup();
    assert_eq!(seen.len(), count);
}

#[tokio::test]
async fn clocks_that_cannot_be_told_are_refused_with_the_field() {
    let world = World::shop().await;
    let mut kit = world.kit();
    let negative = v1::ListPieceWearRequest {
        page_size: -1,
        ..of("")
    };
    let strange = v1::ListPieceWearRequest {
        page_token: "page-two".to_owned(),
        ..of("")
    };
    refused! {
        kit.list_piece_wear(of("velvet-150")) => "MAKE_UNKNOWN" "make";
        kit.list_piece_wear(of("Velvet 150!")) => "FIELD_INVALID" "make";
        kit.list_piece_wear(strange) => "PAGE_TOKEN_INVALID" "page_token";
        kit.list_piece_wear(negative) => "FIELD_INVALID" "page_size";
    }
}

#[tokio::test]
async fn the_budget_has_a_total_for_each_stretch_and_its_lines() {
    let world = World::shop().await;
    let nearly_empty = v1::CountKitRequest {
        request_id: fresh(),
        tag: "B-01".to_owned(),
        quantity: Some(40_000),
        ..Default::default()
    };
    world.kit().count_kit(nearly_empty).answer().await;
    let asked = v1::GetKitBudgetRequest {};
    let told = world.kit().get_kit_budget(asked).answer().await;
    let weeks: Vec<i64> = told.totals.iter().map(|total| total.week_count).collect();
    assert_eq!(weeks, [4, 8, 12]);
    assert_eq!(told.totals[0].booked_job_count, 1);
    let lines = told.lines.iter().filter(|line| line.week_count == 4);
    let sum: f64 = lines.map(|line| line.piece_count).sum();
    assert!((sum - told.totals[0].piece_count).abs() < 1e-9 && sum > 0.0);
    assert!(
        told.rests_on.starts_with("1 booked job, and no usual ones"),
        "{}",
        told.rests_on
    );
}

#[tokio::test]
async fn a_bottle_tells_what_it_gave_and_how_long_it_lasts() {
    let world = World::shop().await;
    log(&world).await;
    let of_tag = |tag: &str| v1::GetPieceLifeRequest {
        tag: tag.to_owned(),
    };
    let life = world.kit().get_piece_life(of_tag("B-01")).answer().await;
    let supply = life.supply.unwrap();
    let given = &supply.given[0];
    assert_eq!(
        (given.job.as_str(), supply.given.len()),
        ("saloon-thursday", 1)
    );
    assert_eq!(given.basis(), v1::GivenBasis::Planned);
    assert_eq!(given.planned_quantity, Some(given.quantity));
    assert!(is_ordered(supply.jobs_left));
    // One figure: the typical number is that of the list, which tells whole jobs.
    let Some(v1::piece::State::Bottle(bottle)) = life.piece.unwrap().state else {
        panic!()
    };
    let typical = supply.jobs_left.unwrap().typical;
    let whole = bottle.jobs_left_count.unwrap() as f64;
    assert!((typical - whole).abs() <= 1.0, "{typical} {whole}");
    let pad = world.kit().get_piece_life(of_tag("P-01")).answer().await;
    assert_eq!(pad.supply, None);
    let request = v1::WeighBottlesRequest {
        request_id: fresh(),
        weighings: vec![v1::Weighing {
            bottle: "B-01".to_owned(),
            gross_mg: 900_000,
        }],
        ..Default::default()
    };
    world.kit().weigh_bottles(request).answer().await;
    let life = world.kit().get_piece_life(of_tag("B-01")).answer().await;
    assert_eq!(life.supply.unwrap().reading_count, 1);
}
