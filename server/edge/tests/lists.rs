//! Lists: every row once, in order, by filter, page by page.

use fettlebook_contract::v1;

use super::{World, assert_told, fresh, job, stamp};
use crate::edge::tests::Answered as _;

async fn tags(world: &World, request: v1::ListPiecesRequest) -> Vec<String> {
    let (mut all, mut token) = (Vec::new(), String::new());
    loop {
        let request = v1::ListPiecesRequest {
            page_token: token,
            ..request.clone()
        };
        let page = world.kit().list_pieces(request).answer().await;
        all.extend(page.pieces.into_iter().map(|piece| piece.tag));
        token = page.next_page_token;
        if token.is_empty() {
            return all;
        }
    }
}

#[tokio::test]
async fn the_kit_is_listed_by_tag_in_pages_and_by_filter() {
    let world = World::shop().await;
    let by_two = v1::ListPiecesRequest {
        page_size: 2,
        ..Default::default()
    };
    let all = [
        "B-01", "BP-01", "M-01", "P-01", "P-02", "P-03", "P-04", "P-05", "P-06", "S-01", "T-01",
    ];
    assert_eq!(tags(&world, by_two.clone()).await, all);

    let go = v1::MoveKitRequest {
        request_id: fresh(),
        tags: vec!["P-02".to_owned(), "T-01".to_owned()],
        place: "van-a".to_owned(),
        ..Default::default()
    };
    world.kit().move_kit(go).await.unwrap();
    let bin = v1::BinKitRequest {
        request_id: fresh(),
        tags: vec!["P-03".to_owned()],
        reason: v1::BinReason::Torn.into(),
        ..Default::default()
    };
    world.kit().bin_kit(bin).await.unwrap();
    let van = v1::ListPiecesRequest {
        place: "van-a".to_owned(),
        ..by_two.clone()
    };
    assert_eq!(tags(&world, van).await, ["P-02", "T-01"]);
    let pads = v1::ListPiecesRequest {
        make: "coarse-foam-150".to_owned(),
        ..by_two.clone()
    };
    assert_eq!(
        tags(&world, pads.clone()).await,
        ["P-01", "P-02", "P-04", "P-05", "P-06"]
    );
    let with_binned = v1::ListPiecesRequest {
        show_binned: true,
        ..pads
    };
    assert_eq!(tags(&world, with_binned).await.len(), 6);
    let binned = v1::ListPiecesRequest {
        readiness: v1::Readiness::Binned.into(),
        ..by_two
    };
    assert_eq!(tags(&world, binned).await, ["P-03"]);
}

#[tokio::test]
async fn a_page_token_holds_for_its_own_list_only() {
    let world = World::shop().await;
    let request = v1::ListPiecesRequest {
        page_size: 1,
        ..Default::default()
    };
    let token = world
        .kit()
        .list_pieces(request)
        .answer()
        .await
        .next_page_token;
    let makes = v1::ListMakesRequest {
        page_size: 1,
        page_token: token,
        ..v1::ListMakesRequest::default()
    };
    assert_told(
        &world.kit().list_makes(makes).await.unwrap_err(),
        "PAGE_TOKEN_INVALID",
        "page_token",
    );
    let negative = v1::ListCarsRequest {
        page_size: -1,
        ..Default::default()
    };
    assert_told(
        &world.jobs().list_cars(negative).await.unwrap_err(),
        "FIELD_INVALID",
        "page_size",
    );
}

#[tokio::test]
async fn jobs_are_listed_by_start() {
    let world = World::shop().await;
    for (id, start) in [
        ("early", "2026-06-04T05:00:00Z"),
        ("late", "2027-01-01T05:00:00Z"),
    ] {
        let job = v1::Job {
            start_time: stamp(start),
            ..job(id)
        };
        let request = v1::BookJobRequest {
            request_id: fresh(),
            job: Some(job),
        };
        world.jobs().book_job(request).await.unwrap();
    }
    let off = v1::CallOffJobRequest {
        request_id: fresh(),
        job: "early".to_owned(),
        ..Default::default()
    };
    world.jobs().call_off_job(off).await.unwrap();
    let (mut listed, mut page_token) = (Vec::new(), String::new());
    loop {
        let request = v1::ListJobsRequest {
            page_size: 1,
            page_token,
            state: 0,
            ..v1::ListJobsRequest::default()
        };
        let page = world.jobs().list_jobs(request).answer().await;
        listed.extend(page.jobs.into_iter().map(|job| job.job));
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    assert_eq!(listed, ["early", "saloon-thursday", "late"]);
    let booked = v1::ListJobsRequest {
        state: v1::JobState::Booked.into(),
        ..Default::default()
    };
    assert_eq!(world.jobs().list_jobs(booked).answer().await.jobs.len(), 2);
}

async fn seqs(world: &World, request: v1::ListEntriesRequest) -> Vec<i64> {
    let (mut all, mut token) = (Vec::new(), String::new());
    loop {
        let request = v1::ListEntriesRequest {
            page_token: token,
            ..request.clone()
        };
        let page = world.book().list_entries(request).answer().await;
        all.extend(page.entries.into_iter().map(|entry| entry.seq));
        token = page.next_page_token;
        if token.is_empty() {
            return all;
        }
    }
}

#[tokio::test]
async fn entries_are_read_either_way_and_by_what_they_touched() {
    let world = World::shop().await;
    let all: Vec<i64> = (1..=15).collect();
    let by_five = v1::ListEntriesRequest {
        page_size: 5,
        ..Default::default()
    };
    assert_eq!(seqs(&world, by_five.clone()).await, all);
    let newest = v1::ListEntriesRequest {
        newest_first: true,
        page_size: 4,
        ..Default::default()
    };
    let backwards: Vec<i64> = all.iter().rev().copied().collect();
    assert_eq!(seqs(&world, newest).await, backwards);
    let of = |subject: &str| v1::ListEntriesRequest {
        subject: subject.to_owned(),
        ..by_five.clone()
    };
    assert_eq!(seqs(&world, of("p-01")).await, [7]);
    assert_eq!(seqs(&world, of("saloon-thursday")).await, [15]);
    let status = world.book().list_entries(of("P-99")).await.unwrap_err();
    assert_told(&status, "SUBJECT_UNKNOWN", "subject");
}

#[tokio::test]
async fn an_id_that_several_things_share_gives_the_entries_of_all_of_them() {
    let world = World::shop().await;
    let job = v1::Job {
        job: "one-step".to_owned(),
        ..job("x")
    };
    let request = v1::BookJobRequest {
        request_id: fresh(),
        job: Some(job),
    };
    let booked = world.jobs().book_job(request).answer().await.entry.unwrap();
    let request = v1::ListEntriesRequest {
        subject: "one-step".to_owned(),
        page_size: 1,
        ..Default::default()
    };
    assert_eq!(seqs(&world, request.clone()).await, [14, booked.seq]);
    let newest = v1::ListEntriesRequest {
        newest_first: true,
        ..request
    };
    assert_eq!(seqs(&world, newest).await, [booked.seq, 14]);
}

/// An edit of the routine gives back what was taken for the job of the same name: one entry of both.
#[tokio::test]
async fn an_entry_that_touches_several_things_of_an_id_is_listed_once() {
    let world = World::shop().await;
    let job = v1::Job {
        job: "one-step".to_owned(),
        ..job("x")
    };
    let booked = v1::BookJobRequest {
        request_id: fresh(),
        job: Some(job),
    };
    world.jobs().book_job(booked).await.unwrap();
    let take = v1::TakeJobRequest {
        request_id: fresh(),
        job: "one-step".to_owned(),
        ..Default::default()
    };
    let taken = world.jobs().take_job(take).answer().await.entry.unwrap();
    let edit = v1::UpdateRoutineRequest {
        request_id: fresh(),
        routine: Some(v1::Routine {
            routine: "one-step".to_owned(),
            name: "one step, and no more".to_owned(),
            ..Default::default()
        }),
        update_mask: None,
    };
    let edited = world
        .jobs()
        .update_routine(edit)
        .answer()
        .await
        .entry
        .unwrap();
    assert!(edited.deeds.len() > 1, "{edited:?}");
    let asked = v1::ListEntriesRequest {
        subject: "one-step".to_owned(),
        ..Default::default()
    };
    let wanted = [14, taken.seq - 1, taken.seq, edited.seq];
    assert_eq!(seqs(&world, asked).await, wanted);
}

/// A van's place comes first in what it is told; a word that is no place is refused.
#[tokio::test]
async fn where_the_shop_stands_is_told_as_from_a_place() {
    let world = World::shop().await;
    let booked = |name: &str, place: &str, start: &str| v1::BookJobRequest {
        request_id: fresh(),
        job: Some(v1::Job {
            place: place.to_owned(),
            start_time: stamp(start),
            ..job(name)
        }),
    };
    for (name, place, start) in [
        ("bench-first", "bench", "2026-06-06T06:00:00Z"),
        ("van-later", "van-a", "2026-06-06T12:00:00Z"),
    ] {
        let booked = world.jobs().book_job(booked(name, place, start)).await;
        booked.unwrap();
    }
    let mut jobs = world.jobs();
    let mut next = async |place: &str| {
        let asked = v1::GetTodayRequest {
            place: place.to_owned(),
        };
        let answer = jobs.get_today(asked).answer().await;
        answer.next_job.unwrap().job
    };
    let of_shop = next("").await;
    assert_ne!(of_shop, "van-later");
    assert_eq!(next("van-a").await, "van-later");
    assert_eq!(next("van-b").await, of_shop, "nothing is booked there");
    let nowhere = v1::GetTodayRequest {
        place: "Van A".to_owned(),
    };
    refused! { world.jobs().get_today(nowhere) => "FIELD_INVALID" "place"; }
}
