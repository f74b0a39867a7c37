//! Lists and watches of what somebody looks for: by time, by place, by sort, by who did it.

use fettlebook_contract::v1;
use tokio_stream::StreamExt as _;

use super::supply::{line, of};
use super::{World, assert_told, fresh, job, stamp, words};
use crate::edge::tests::Answered as _;

async fn jobs(world: &World, asked: v1::ListJobsRequest) -> Vec<String> {
    let (mut all, mut asked) = (Vec::new(), asked);
    loop {
        let page = world.jobs().list_jobs(asked.clone()).answer().await;
        all.extend(page.jobs.into_iter().map(|job| job.job));
        if page.next_page_token.is_empty() {
            return all;
        }
        asked.page_token = page.next_page_token;
    }
}

#[tokio::test]
async fn jobs_are_listed_by_when_where_which_car_and_who() {
    let world = World::shop().await;
    for (id, start, place, person) in [
        ("monday", "2026-06-08T06:00:00Z", "van-a", "the owner"),
        ("tuesday", "2026-06-09T06:00:00Z", "van-a", "the helper"),
        ("wednesday", "2026-06-10T06:00:00Z", "bench", "the owner"),
    ] {
        let request = v1::BookJobRequest {
            request_id: fresh(),
            job: Some(v1::Job {
                start_time: stamp(start),
                place: place.to_owned(),
                person: person.to_owned(),
                ..job(id)
            }),
        };
        world.jobs().book_job(request).await.unwrap();
    }
    let all = v1::ListJobsRequest {
        page_size: 1,
        ..Default::default()
    };
    let range = v1::ListJobsRequest {
        from_time: stamp("2026-06-08T06:00:00Z"),
        before_time: stamp("2026-06-10T06:00:00Z"),
        ..all.clone()
    };
    // The beginning belongs to it, the end does not.
    assert_eq!(jobs(&world, range.clone()).await, ["monday", "tuesday"]);
    let at = v1::ListJobsRequest {
        place: "bench".to_owned(),
        ..all.clone()
    };
    assert_eq!(jobs(&world, at).await, ["saloon-thursday", "wednesday"]);
    let by = v1::ListJobsRequest {
        person: "the owner".to_owned(),
        ..all.clone()
    };
    assert_eq!(jobs(&world, by).await, ["monday", "wednesday"]);
    let other = v1::ListJobsRequest {
        car: "large-estate-green".to_owned(),
        ..all.clone()
    };
    assert_eq!(jobs(&world, other).await, [""; 0]);
    // A token is of the same list alone.
    let token = world.jobs().list_jobs(range).answer().await.next_page_token;
    let stale = v1::ListJobsRequest {
        page_token: token,
        from_time: stamp("2026-06-08T06:00:01Z"),
        before_time: stamp("2026-06-10T06:00:00Z"),
        ..all.clone()
    };
    let refused = world.jobs().list_jobs(stale).await.unwrap_err();
    assert_told(&refused, "PAGE_TOKEN_INVALID", "page_token");
    let unread = v1::ListJobsRequest {
        place: "Van A!".to_owned(),
        from_time: Some(prost_types::Timestamp {
            seconds: 0,
            nanos: -5,
        }),
        ..all
    };
    let refused = world.jobs().list_jobs(unread).await.unwrap_err();
    assert_told(&refused, "FIELD_INVALID", "from_time");
    assert!(refused.message().contains("nanoseconds"), "{refused:?}");
    let told = "`Van A!` is not a place.";
    assert!(refused.message().contains(told), "{refused:?}");
}

#[tokio::test]
async fn entries_are_listed_by_when_it_was_done() {
    let world = World::shop().await;
    let head = world
        .book()
        .get_book(v1::GetBookRequest::default())
        .answer()
        .await
        .head_seq;
    for (tag, done) in [
        ("P-01", "2026-06-01T10:00:00Z"),
        ("P-02", "2026-06-02T10:00:00Z"),
        ("P-03", "2026-06-01T12:00:00Z"),
    ] {
        let wash = v1::WashKitRequest {
            request_id: fresh(),
            tags: words(&[tag]),
            done_time: stamp(done),
            ..Default::default()
        };
        world.kit().wash_kit(wash).await.unwrap();
    }
    for newest_first in [false, true] {
        let (mut asked, mut found) = (
            v1::ListEntriesRequest {
                page_size: 1,
                newest_first,
                from_time: stamp("2026-06-01T10:00:00Z"),
                before_time: stamp("2026-06-02T10:00:00Z"),
                ..Default::default()
            },
            Vec::new(),
        );
        loop {
            let page = world.book().list_entries(asked.clone()).answer().await;
            found.extend(page.entries.iter().map(|entry| entry.seq - head));
            if page.next_page_token.is_empty() {
                break;
            }
            asked.page_token = page.next_page_token;
        }
        let wanted = if newest_first { [3, 1] } else { [1, 3] };
        assert_eq!(found, wanted);
    }
}

async fn entries(world: &World, asked: v1::ListEntriesRequest) -> Vec<i64> {
    let (mut all, mut asked) = (Vec::new(), asked);
    loop {
        let page = world.book().list_entries(asked.clone()).answer().await;
        all.extend(page.entries.iter().map(|entry| entry.seq));
        if page.next_page_token.is_empty() {
            return all;
        }
        asked.page_token = page.next_page_token;
    }
}

#[tokio::test]
async fn entries_are_listed_after_one_either_way_and_with_what_else_is_asked() {
    let world = World::shop().await;
    // Entries 16 to 21: told late, but for the last two.
    let head = 15;
    for (tag, done) in [
        ("P-01", "2026-06-01T10:00:00Z"),
        ("P-02", "2026-06-02T10:00:00Z"),
        ("P-01", "2026-06-01T12:00:00Z"),
        ("P-03", "2026-06-01T12:00:00Z"),
    ] {
        let wash = v1::WashKitRequest {
            request_id: fresh(),
            tags: words(&[tag]),
            done_time: stamp(done),
            ..Default::default()
        };
        world.kit().wash_kit(wash).await.unwrap();
    }
    for newest_first in [false, true] {
        let told = |mut seqs: Vec<i64>| {
            if newest_first {
                seqs.reverse();
            }
            seqs
        };
        for page_size in [1, 2, 100] {
            let after = |after_seq| v1::ListEntriesRequest {
                after_seq,
                newest_first,
                page_size,
                ..Default::default()
            };
            let all = entries(&world, after(0)).await;
            assert_eq!(all, told((1..=head + 4).collect()));
            let found = entries(&world, after(head + 1)).await;
            assert_eq!(found, told(vec![head + 2, head + 3, head + 4]));
            assert_eq!(entries(&world, after(head + 90)).await, [0; 0]);
            let of_pad = v1::ListEntriesRequest {
                subject: "P-01".to_owned(),
                ..after(head)
            };
            assert_eq!(
                entries(&world, of_pad.clone()).await,
                told(vec![head + 1, head + 3])
            );
            let since = v1::ListEntriesRequest {
                from_time: stamp("2026-06-01T11:00:00Z"),
                ..of_pad
            };
            assert_eq!(entries(&world, since).await, [head + 3]);
        }
    }
}

#[tokio::test]
async fn kit_and_makes_are_listed_by_sort_and_orders_by_whom_and_when() {
    let world = World::supplied().await;
    let bottles = v1::ListPiecesRequest {
        sort: v1::MakeSort::Liquid.into(),
        ..Default::default()
    };
    let found = world.kit().list_pieces(bottles).answer().await.pieces;
    let tags: Vec<_> = found.iter().map(|piece| piece.tag.as_str()).collect();
    assert_eq!(tags, ["B-01"]);
    let machines = v1::ListMakesRequest {
        sort: v1::MakeSort::Machine.into(),
        ..Default::default()
    };
    let found = world.kit().list_makes(machines).answer().await.makes;
    let makes: Vec<_> = found.iter().map(|make| make.make.as_str()).collect();
    assert_eq!(makes, ["orbital-150"]);
    // A token is of one sort alone.
    let all = v1::ListMakesRequest {
        page_size: 1,
        ..Default::default()
    };
    let token = world.kit().list_makes(all).answer().await.next_page_token;
    assert_ne!(token, "");
    let stale = v1::ListMakesRequest {
        page_token: token,
        sort: v1::MakeSort::Machine.into(),
        ..Default::default()
    };
    let refused = world.kit().list_makes(stale).await.unwrap_err();
    assert_told(&refused, "PAGE_TOKEN_INVALID", "page_token");
    let strange = v1::ListMakesRequest {
        sort: 99,
        ..Default::default()
    };
    let refused = world.kit().list_makes(strange).await.unwrap_err();
    assert_told(&refused, "FIELD_INVALID", "sort");
    assert!(refused.message().contains("MAKE_SORT_TOWEL"), "{refused:?}");
    // Of several unknown words each is told with its own.
    let strange = v1::ListPiecesRequest {
        readiness: 99,
        sort: 77,
        ..Default::default()
    };
    let refused = world.kit().list_pieces(strange).await.unwrap_err();
    for told in [
        "The readiness is 99, which",
        "The sort is 77, which",
        "The readiness is one of READINESS_READY,",
        "The sort is one of MAKE_SORT_PAD,",
    ] {
        assert!(refused.message().contains(told), "{told}: {refused:?}");
    }

    let draft = of(vec![line("coarse-foam-150", 1)]);
    let placed = v1::CreateOrderRequest {
        request_id: fresh(),
        placed: true,
        ..draft.clone()
    };
    world.supply().create_order(draft).await.unwrap();
    world.supply().create_order(placed).await.unwrap();
    let orders = async |asked: v1::ListOrdersRequest| -> Vec<String> {
        let found = world.supply().list_orders(asked).answer().await.orders;
        found.into_iter().map(|order| order.order).collect()
    };
    let all = v1::ListOrdersRequest::default;
    assert_eq!(orders(all()).await, ["order-2", "order-1"]);
    let drafted = v1::ListOrdersRequest {
        state: v1::OrderState::Drafted.into(),
        ..all()
    };
    assert_eq!(orders(drafted).await, ["order-1"]);
    // What is not placed was placed at no time.
    let since = v1::ListOrdersRequest {
        from_time: stamp("2026-06-01T00:00:00Z"),
        supplier: "tern-quay".to_owned(),
        ..all()
    };
    assert_eq!(orders(since).await, ["order-2"]);
    let other = v1::ListOrdersRequest {
        supplier: "gannet-row".to_owned(),
        ..all()
    };
    assert_eq!(orders(other).await, [""; 0]);
}

#[tokio::test]
async fn a_watch_hands_over_what_it_is_asked_for_and_passes_over_the_rest() {
    let world = World::shop().await;
    let watch = v1::WatchEntriesRequest {
        after_seq: 0,
        subject: "P-02".to_owned(),
        ..Default::default()
    };
    let mut watch = world
        .book()
        .watch_entries(watch)
        .await
        .unwrap()
        .into_inner();
    let received = watch.next().await.unwrap().unwrap().entry.unwrap();
    assert!(received.deeds.iter().any(|deed| deed.subject == "P-02"));
    for tags in [&["P-01"], &["P-02"]] {
        let wash = v1::WashKitRequest {
            request_id: fresh(),
            tags: words(tags),
            ..Default::default()
        };
        world.kit().wash_kit(wash).await.unwrap();
    }
    let washed = watch.next().await.unwrap().unwrap().entry.unwrap();
    assert_eq!(washed.deeds[0].subject, "P-02");
    // What is only flagged touches it, too: a take of what is gone.
    let bin = v1::BinKitRequest {
        request_id: fresh(),
        tags: words(&["P-02"]),
        reason: v1::BinReason::Lost.into(),
        ..Default::default()
    };
    world.kit().bin_kit(bin).await.unwrap();
    let take = v1::TakeJobRequest {
        request_id: fresh(),
        job: "saloon-thursday".to_owned(),
        despite: "it turned up again".to_owned(),
        picked: vec![v1::PickedPiece {
            tag: "P-02".to_owned(),
            step: "one".to_owned(),
            quantity: 1,
            ..Default::default()
        }],
        ..Default::default()
    };
    let taken = world.jobs().take_job(take).answer().await.entry.unwrap();
    assert!(
        taken.flags.iter().any(|flag| flag.tag == "P-02"),
        "{taken:?}"
    );
    let binned = watch.next().await.unwrap().unwrap().entry.unwrap();
    assert_eq!(binned.seq, taken.seq - 1);
    let soon = std::time::Duration::from_secs(20);
    let flagged = tokio::time::timeout(soon, watch.next()).await.unwrap();
    let flagged = flagged.unwrap().unwrap().entry.unwrap();
    assert_eq!(flagged.seq, taken.seq);
    let nothing = v1::WatchEntriesRequest {
        after_seq: 0,
        subject: "P-99".to_owned(),
        ..Default::default()
    };
    let refused = world.book().watch_entries(nothing).await.unwrap_err();
    assert_told(&refused, "SUBJECT_UNKNOWN", "subject");
}
