//! Looking at the shop and at the copy: what each answers, what goes with a deed of what was seen, and
//! how the copy is brought up.

use super::*;
use fettlebook_contract::call::Keepable;

#[test]
fn what_is_set_up_needs_the_shop() {
    wait(async {
        let (shop, device) = van().await;
        shop.cut();
        let session = session(device).await;
        let asked = CreateCarRequest::default();
        let status = session.once(asked).await.unwrap_err();
        let fault = Fault::from(status);
        assert!(
            fault.message.starts_with("This needs the shop"),
            "{fault:?}"
        );
        assert_eq!(fault.exit, Exit::Unreachable);
    });
}

#[test]
fn the_copy_answers_without_signal_and_knows_what_waits() {
    wait(async {
        let (shop, device) = van().await;
        device.take_copy(7, 3);
        shop.cut();
        let first = session(device).await;
        wash(&first, "P-01").await.unwrap();
        wash(&first, "P-02").await.unwrap();
        assert_eq!(
            device.asked(),
            ["wash P-01", "wash P-02"],
            "each is imagined once"
        );
        let second = session(device).await;
        let asked = GetPieceRequest {
            tag: "B-03".to_owned(),
        };
        second.once(asked).await.unwrap();
        assert_eq!(device.asked()[2..], ["wash P-01", "wash P-02", "GetPiece"]);
        let talk = way(&second).take_talk();
        assert!(talk[0].starts_with("no signal · copy of "), "{talk:?}");
        assert!(talk[0].ends_with(" (3 h old)"), "{talk:?}");
    });
}

#[test]
fn what_the_copy_knows_to_be_wrong_is_refused_at_once_unless_it_is_wanted() {
    wait(async {
        let (shop, device) = van().await;
        device.take_copy(7, 0);
        let wrong = refusal(
            Code::InvalidArgument,
            "QUANTITY_INVALID",
            "That is too heavy.",
        );
        device.copy_refuses("P-98", wrong);
        let unknown = refusal(Code::NotFound, "TAG_UNKNOWN", "No piece has the tag P-99.");
        device.copy_refuses("P-99", unknown);
        shop.cut();
        let session = session(device).await;
        let fault = wash(&session, "P-98").await.unwrap_err();
        assert_eq!(fault.reason, "QUANTITY_INVALID");
        assert_eq!(device.outbox().next_number(), 1);
        let fault = wash(&session, "P-99").await.unwrap_err();
        assert_eq!((fault.reason, fault.exit), ("TAG_UNKNOWN", Exit::NotFound));
        assert!(
            fault.message.contains("Nothing was recorded or kept."),
            "{fault:?}"
        );
        assert!(fault.todo.contains("--yes"), "{fault:?}");
        assert_eq!(device.outbox().next_number(), 1);
        assert!(way(&session).doubts());
        way(&session).keep_all();
        wash(&session, "P-99").await.unwrap();
        assert_eq!(device.outbox().waiting().count(), 1);
        let talk = way(&session).take_talk();
        assert!(talk[0].contains("only the shop can say"), "{talk:?}");
    });
}

#[test]
fn what_a_log_would_record_can_be_looked_at_without_signal() {
    wait(async {
        let (shop, device) = van().await;
        shop.cut();
        let session = session(device).await;
        let asked = LogUseRequest {
            request_id: request::new_id(),
            job: "saloon-thursday".to_owned(),
            validate_only: true,
            ..LogUseRequest::default()
        };
        let answer = session.once(asked).await.unwrap();
        assert!(answer.entry.unwrap().deeds.is_empty());
        assert_eq!(device.outbox().next_number(), 1, "looking keeps nothing");
    });
}

fn weigh() -> WeighBottlesRequest {
    let bottle = "B-03".to_owned();
    WeighBottlesRequest {
        request_id: request::new_id(),
        weighings: vec![Weighing {
            bottle,
            gross_mg: 412_000,
        }],
        ..WeighBottlesRequest::default()
    }
}

#[test]
fn what_is_weighed_or_counted_goes_with_the_last_entry_this_device_had_seen() {
    wait(async {
        let (shop, device) = van().await;
        device.take_copy(7, 0);
        let online = session(device).await;
        online.shop().unwrap().ask_book().await.unwrap();
        online.once(weigh()).await.unwrap();
        shop.cut();
        let offline = session(device).await;
        let count = CountKitRequest {
            request_id: request::new_id(),
            tag: "B-03".to_owned(),
            quantity: Some(200_000),
            ..CountKitRequest::default()
        };
        offline.once(count).await.unwrap();
        shop.join();
        session(device).await.shop().unwrap().begin().await;
        let recorded = &shop.memory().recorded;
        let kept: Vec<_> = recorded
            .iter()
            .map(|one| one.deed.kept().unwrap())
            .collect();
        assert_eq!(kept[0].seen_seq, 0, "by the shop");
        assert_eq!(kept[1].seen_seq, 7, "by the copy");
        assert!(matches!(recorded[1].deed, Keepable::CountKit(_)));
    });
}

#[test]
fn a_copy_is_brought_up_page_by_page_when_the_book_has_moved() {
    wait(async {
        let (shop, device) = van().await;
        shop.memory().head_seq = 5;
        let session = session(device).await;
        way(&session).ask_book().await.unwrap();
        way(&session).bring_up_quietly().await;
        assert_eq!(device.copied(), 0, "none is begun in silence");
        assert_eq!(way(&session).bring_up().await.unwrap().head_seq, 5);
        shop.memory().head_seq = 6;
        way(&session).ask_book().await.unwrap();
        way(&session).bring_up_quietly().await;
        assert_eq!(device.copied(), 6);
    });
}

/// Every time that is kept would be wrong, and nobody could tell later in what order things happened.
#[test]
fn a_clock_that_is_earlier_than_the_copy_keeps_nothing_before_a_person_says_that_it_is_right() {
    wait(async {
        let (shop, device) = van().await;
        device.take_copy(7, -5);
        shop.cut();
        let early = session(device).await;
        let fault = wash(&early, "P-01").await.unwrap_err();
        assert_eq!(
            (fault.reason, fault.exit),
            ("CLOCK_BEFORE_COPY", Exit::Conflict)
        );
        assert!(fault.todo.contains("--accept-clock"), "{fault:?}");
        assert_eq!(device.outbox().next_number(), 1);
        let place = Whereabouts::Shop {
            folder: device.folder(),
            insists: false,
        };
        let accepted = Session::open(place, device, SoloClock::Accepted)
            .await
            .unwrap();
        wash(&accepted, "P-01").await.unwrap();
        assert_eq!(device.outbox().waiting().count(), 1);
    });
}

#[test]
fn a_clock_that_is_off_by_a_day_is_told() {
    wait(async {
        let (shop, device) = van().await;
        shop.memory().clock_ahead_s = 100;
        let session = session(device).await;
        way(&session).ask_book().await.unwrap();
        assert!(way(&session).take_talk().is_empty(), "under two minutes");
        shop.memory().clock_ahead_s = 26 * 3600 + 60;
        way(&session).ask_book().await.unwrap();
        let talk = way(&session).take_talk();
        assert!(
            talk[0].starts_with("This device's clock is 26 h behind the shop's."),
            "{talk:?}"
        );
    });
}
