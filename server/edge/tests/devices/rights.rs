//! What devices may do to entries, how those are told apart by who told them, and what is shown of a device.

use super::*;

/// Who works takes back what they told today themselves, and nothing else; who keeps the book takes back
/// anything.
#[tokio::test]
async fn a_worker_takes_back_its_own_of_the_day_and_nothing_else() {
    let shop = Shop::open().await;
    let (own, one, other) = (
        shop.pair("bench", Role::Own),
        shop.pair("van-a", Role::Work),
        shop.pair("van-b", Role::Work),
    );
    let channel = shop.channel().await;
    let mut kit = KitServiceClient::new(channel.clone());
    let make = v1::CreateMakeRequest {
        request_id: fresh(),
        make: Some(coarse_foam("coarse-foam-150", 150)),
    };
    kit.create_make(with(&own, make)).await.unwrap();
    let received = |tag: &str| v1::ReceiveKitRequest {
        request_id: fresh(),
        make: "coarse-foam-150".to_owned(),
        tags: vec![tag.to_owned()],
        ..Default::default()
    };
    kit.receive_kit(with(&one, received("P-01"))).await.unwrap();
    kit.receive_kit(with(&other, received("P-02")))
        .await
        .unwrap();
    let mut book = BookServiceClient::new(channel);
    let back = |seq| v1::ReverseEntryRequest {
        request_id: fresh(),
        seq,
        ..Default::default()
    };
    for (token, seq) in [(&one, 3), (&other, 2), (&one, 1)] {
        let refused = book.reverse_entry(with(token, back(seq))).await;
        let refused = refused.unwrap_err();
        assert_told(&refused, "ROLE_TOO_LOW", "");
        assert!(refused.message().contains("itself, today"), "{refused:?}");
    }
    let unknown = book.reverse_entry(with(&one, back(99))).await.unwrap_err();
    assert_told(&unknown, "ENTRY_UNKNOWN", "seq");
    let taken = book.reverse_entry(with(&one, back(2))).answer().await;
    assert_eq!(taken.entry.unwrap().by, "van-a");
    shop.clock.shift(2 * 86_400);
    let late = book.reverse_entry(with(&other, back(3))).await.unwrap_err();
    assert_told(&late, "ROLE_TOO_LOW", "");
    book.reverse_entry(with(&own, back(3))).await.unwrap();
}

#[tokio::test]
async fn entries_are_listed_by_who_told_them_and_by_what_is_flagged() {
    let shop = Shop::open().await;
    let (own, van) = (
        shop.pair("bench", Role::Own),
        shop.pair("van-a", Role::Work),
    );
    let channel = shop.channel().await;
    let mut kit = KitServiceClient::new(channel.clone());
    let make = v1::CreateMakeRequest {
        request_id: fresh(),
        make: Some(coarse_foam("coarse-foam-150", 150)),
    };
    kit.create_make(with(&own, make)).await.unwrap();
    for number in 1..=5 {
        let token = if number % 2 == 0 { &own } else { &van };
        let received = v1::ReceiveKitRequest {
            request_id: fresh(),
            make: "coarse-foam-150".to_owned(),
            tags: vec![format!("P-{number:02}")],
            ..Default::default()
        };
        kit.receive_kit(with(token, received)).await.unwrap();
    }
    // Clean pads that are washed contradict the book.
    let wash = v1::WashKitRequest {
        request_id: fresh(),
        tags: vec!["P-01".to_owned()],
        ..Default::default()
    };
    kit.wash_kit(with(&own, wash)).await.unwrap();
    let mut book = BookServiceClient::new(channel);
    let mut list = async |by: &str, flagged, page_size| {
        let mut asked = v1::ListEntriesRequest {
            page_size,
            by: by.to_owned(),
            flagged,
            ..Default::default()
        };
        let mut seqs = Vec::new();
        loop {
            let answer = book.list_entries(with(&own, asked.clone())).answer().await;
            seqs.extend(answer.entries.iter().map(|entry| entry.seq));
            if answer.next_page_token.is_empty() {
                return seqs;
            }
            asked.page_token = answer.next_page_token;
        }
    };
    assert_eq!(list("van-a", false, 0).await, [2, 4, 6]);
    assert_eq!(list("van-a", false, 2).await, [2, 4, 6], "page by page");
    assert_eq!(list("", true, 0).await, [7]);
    assert_eq!(list("bench", true, 1).await, [7]);
    assert_eq!(list("van-a", true, 0).await, [0_i64; 0]);
}

/// What waits on a device can be seen from where the shop is owned, before anybody looks for it there.
#[tokio::test]
async fn what_a_device_holds_and_when_it_synced_is_shown_with_it_and_stays_over_a_restart() {
    let shop = Shop::open().await;
    let (own, van) = (
        shop.pair("bench", Role::Own),
        shop.pair("van-a", Role::Work),
    );
    let mut book = BookServiceClient::new(shop.channel().await);
    let outbox = v1::DeviceOutbox {
        waiting_count: 3,
        parked_count: 1,
    };
    let told = v1::GetBookRequest {
        outbox: Some(outbox),
    };
    book.get_book(with(&van, told)).await.unwrap();
    let copy = v1::CopyEntriesRequest { after_seq: 0 };
    book.copy_entries(with(&van, copy)).await.unwrap();
    let shop = Shop::open_in(shop.close().await).await;
    let mut access = AccessServiceClient::new(shop.channel().await);
    let listed = access
        .list_devices(with(&own, v1::ListDevicesRequest::default()))
        .answer()
        .await;
    let (bench, van) = (&listed.devices[0], &listed.devices[1]);
    assert_eq!((bench.outbox, bench.synced_time), (None, None));
    assert_eq!(van.outbox, Some(outbox));
    assert_eq!(van.synced_time, super::super::stamp(NOW));
    assert_eq!(van.outbox_time, super::super::stamp(NOW));
}
