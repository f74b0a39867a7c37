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
    for (by, flagged, wanted) in [("van-a", false, &[2, 4, 6][..]), ("", true, &[7])] {
        let asked = v1::WatchEntriesRequest {
            by: by.to_owned(),
            flagged,
            ..Default::default()
        };
        let mut watch = book.watch_entries(with(&own, asked)).answer().await;
        for seq in wanted {
            let entry = watch.message().await.unwrap().unwrap().entry.unwrap();
            assert_eq!(entry.seq, *seq, "{by}");
        }
    }
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
        version: "0.0.9".to_owned(),
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
    assert_eq!(
        (van.version.as_str(), bench.version.as_str()),
        ("0.0.9", "")
    );
    assert_eq!(van.synced_time, super::super::stamp(NOW));
    assert_eq!(van.outbox_time, super::super::stamp(NOW));
}

/// A code is seen until it is used or withdrawn, and one that is withdrawn lets nobody in.
#[tokio::test]
async fn codes_that_nobody_used_are_listed_and_withdrawn() {
    let shop = Shop::open().await;
    let own = shop.pair("bench", Role::Own);
    let mut access = AccessServiceClient::new(shop.channel().await);
    let invite = |name: &str| v1::InviteDeviceRequest {
        name: name.to_owned(),
        role: v1::Role::Work.into(),
        ..Default::default()
    };
    let mut codes = Vec::new();
    for name in ["van-b", "van-a", "desk"] {
        let invited = access.invite_device(with(&own, invite(name)));
        codes.push(invited.answer().await.code);
    }
    let secret = |code: &str| code.rsplit('/').next().unwrap().to_owned();
    let pair = |code: &str| v1::PairDeviceRequest {
        code_secret: secret(code),
        token_secret: vec![7; 32],
        ..Default::default()
    };
    access.pair_device(pair(&codes[2])).await.unwrap();
    let mut open = async |page_size| {
        let (mut asked, mut found) = (v1::ListCodesRequest::default(), Vec::new());
        asked.page_size = page_size;
        loop {
            let page = access.list_codes(with(&own, asked.clone())).answer().await;
            found.extend(page.codes);
            if page.next_page_token.is_empty() {
                return found;
            }
            asked.page_token = page.next_page_token;
        }
    };
    let listed = open(1).await;
    let told: Vec<_> = listed
        .iter()
        .map(|code| (code.name.as_str(), code.role(), code.invited_by.as_str()))
        .collect();
    let work = v1::Role::Work;
    assert_eq!(told, [("van-a", work, "bench"), ("van-b", work, "bench")]);
    let shown = format!("{listed:?}");
    assert!(!shown.contains(&secret(&codes[0])), "{shown}");
    let withdraw = |name: &str| v1::WithdrawCodeRequest {
        name: name.to_owned(),
    };
    let ended = access.withdraw_code(with(&own, withdraw("van-b"))).answer();
    assert_eq!(ended.await.code.unwrap().name, "van-b");
    let late = access.pair_device(pair(&codes[0])).await.unwrap_err();
    assert_told(&late, "CODE_UNKNOWN", "code_secret");
    for name in ["van-b", "desk", "nobody"] {
        let none = access.withdraw_code(with(&own, withdraw(name))).await;
        assert_told(&none.unwrap_err(), "DEVICE_UNKNOWN", "name");
    }
    access.pair_device(pair(&codes[1])).await.unwrap();
    shop.clock.shift(601);
    let listed = access.list_codes(with(&own, v1::ListCodesRequest::default()));
    assert_eq!(listed.answer().await.codes, []);
}
