//! A van that loses its signal: what is told there is recorded once, in order, or waits, or is parked.
//!
//! The story: a device works in a shop over real TLS whose link is cut before, while and after a deed
//! is sent. Whatever happens, the shop ends up with every deed once, and the person is told the truth.

use std::time::Duration;

use fettlebook_contract::v1::{
    CountKitRequest, CreateCarRequest, GetPieceRequest, LogUseRequest, WashKitRequest,
    WashKitResponse, WeighBottlesRequest, Weighing,
};
use tonic::{Code, Status};

use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::outbox::Standing;
use crate::outbox::keepable::told as told_of;
use crate::request;
use crate::shop::folder;
use crate::solo::SoloClock;
use crate::testing::device::Trouble;
use crate::testing::{Device, Shop, refusal, wait};
use crate::transport::{ShopTransport, delivery};

mod copy;
mod parked;

async fn session(device: &'static Device) -> Session {
    opened(device, false).await
}

async fn opened(device: &'static Device, insists: bool) -> Session {
    let place = Whereabouts::Shop {
        folder: device.folder(),
        insists,
    };
    Session::open(place, device, SoloClock::System)
        .await
        .unwrap()
}

/// A device that is paired with a new shop.
async fn van() -> (Shop, &'static Device) {
    let (shop, device) = (Shop::open().await, Device::new());
    shop.pair(&device.folder());
    (shop, device)
}

fn way(session: &Session) -> &ShopTransport {
    session.shop().unwrap()
}

fn wash_of(tag: &str) -> WashKitRequest {
    WashKitRequest {
        request_id: request::new_id(),
        tags: vec![tag.to_owned()],
        ..WashKitRequest::default()
    }
}

async fn wash(session: &Session, tag: &str) -> Result<WashKitResponse, Fault> {
    session.call(wash_of(tag)).await
}

/// What the shop has, in its order: the words of each deed.
fn told(shop: &Shop) -> Vec<String> {
    let recorded = &shop.memory().recorded;
    recorded.iter().map(|one| told_of(&one.deed)).collect()
}

fn numbers(shop: &Shop) -> Vec<i64> {
    let recorded = &shop.memory().recorded;
    recorded
        .iter()
        .map(|one| one.deed.kept().unwrap().number)
        .collect()
}

#[test]
fn a_deed_is_sent_with_its_number_and_its_time() {
    wait(async {
        let (shop, device) = van().await;
        let session = session(device).await;
        let answer = wash(&session, "P-01").await.unwrap();
        assert_eq!(answer.entry.unwrap().seq, 1);
        wash(&session, "P-02").await.unwrap();
        assert_eq!(numbers(&shop), [1, 2]);
        let deed = shop.memory().recorded[0].deed.clone();
        assert!(deed.done_time().is_some());
        assert_eq!(deed.done_time(), deed.kept().unwrap().kept_time);
        assert_eq!(shop.memory().tokens[0], "Bearer token-of-van-a");
        assert_eq!(device.outbox().deed(2).unwrap().standing, Standing::Sent(2));
        assert!(way(&session).take_talk().is_empty());
    });
}

/// The shop says nothing yet, and the deed is on the disk already.
#[test]
fn a_deed_is_kept_before_an_answer_is_waited_for() {
    wait(async {
        let (shop, device) = van().await;
        shop.memory().is_silent = true;
        let session = session(device).await;
        let mut washing = tokio_test::task::spawn(session.once(wash_of("P-01")));
        assert!(washing.poll().is_pending());
        while shop.memory().came.is_empty() {
            assert!(washing.poll().is_pending());
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
        assert_eq!(device.outbox().waiting().count(), 1);
    });
}

#[test]
fn without_signal_a_deed_is_kept_and_told_so() {
    wait(async {
        let (shop, device) = van().await;
        shop.cut();
        let session = session(device).await;
        let entry = wash(&session, "P-01").await.unwrap().entry.unwrap();
        assert_eq!((entry.seq, entry.kept.unwrap().number), (0, 1));
        wash(&session, "P-02").await.unwrap();
        let talk = way(&session).take_talk();
        let lines = [
            "no signal · kept here · 1 waiting",
            "no signal · kept here · 2 waiting",
        ];
        assert_eq!(talk, lines);
        way(&session).tell_all();
        wash(&session, "P-03").await.unwrap();
        let talk = way(&session).take_talk();
        assert!(talk[0].contains("cut in the handshake"), "{talk:?}");
        shop.join();
        self::session(device).await.shop().unwrap().begin().await;
        assert_eq!(told(&shop), ["wash P-01", "wash P-02", "wash P-03"]);
        assert_eq!(numbers(&shop), [1, 2, 3]);
        assert_eq!(device.outbox().waiting().count(), 0);
    });
}

#[test]
fn a_link_that_breaks_before_the_answer_counts_the_deed_once() {
    wait(async {
        let (shop, device) = van().await;
        shop.memory().cut_after = vec![1];
        let session = session(device).await;
        let answer = wash(&session, "P-01").await.unwrap();
        assert_eq!(answer.entry.unwrap().seq, 1);
        let came = shop.memory().came.clone();
        assert_eq!(came.len(), 2, "{came:?}");
        assert_eq!(came[0], came[1]);
        assert_eq!(told(&shop), ["wash P-01"]);
    });
}

#[test]
fn a_link_that_stays_broken_keeps_the_deed_and_sends_it_once_later() {
    wait(async {
        let (shop, device) = van().await;
        shop.memory().is_silent = true;
        let session = session(device).await;
        let ((), answer) = tokio::join!(
            async {
                while shop.memory().came.is_empty() {
                    tokio::time::sleep(Duration::from_millis(5)).await;
                }
                shop.cut();
            },
            wash(&session, "P-01")
        );
        assert_eq!(answer.unwrap().entry.unwrap().seq, 0);
        assert!(way(&session).reachable().is_none());
        shop.memory().is_silent = false;
        shop.join();
        let again = self::session(device).await;
        way(&again).begin().await;
        way(&again).begin().await;
        assert_eq!(told(&shop), ["wash P-01"]);
        let talk = way(&again).take_talk();
        assert_eq!(talk, ["1 deed that waited here is in the book now."]);
    });
}

#[test]
fn one_that_is_refused_later_is_parked_and_never_blocks_the_rest() {
    wait(async {
        let (shop, device) = van().await;
        shop.cut();
        let session = session(device).await;
        for tag in ["P-01", "P-99", "P-03", "P-04"] {
            wash(&session, tag).await.unwrap();
        }
        shop.join();
        let unknown = refusal(Code::NotFound, "TAG_UNKNOWN", "No piece has the tag P-99.");
        shop.memory().refused.insert("P-99".to_owned(), unknown);
        let again = self::session(device).await;
        way(&again).begin().await;
        assert_eq!(told(&shop), ["wash P-01", "wash P-03", "wash P-04"]);
        let outbox = device.outbox();
        let Standing::Parked { reason, .. } = &outbox.deed(2).unwrap().standing else {
            panic!("{outbox:?}");
        };
        assert_eq!(reason, "TAG_UNKNOWN");
        let talk = way(&again).take_talk();
        assert!(
            talk.contains(&"1 parked: see 'fettle shop sync'.".to_owned()),
            "{talk:?}"
        );
    });
}

#[test]
fn one_that_is_refused_at_once_is_told_and_never_waits() {
    wait(async {
        let (shop, device) = van().await;
        let unknown = refusal(Code::NotFound, "TAG_UNKNOWN", "No piece has the tag P-99.");
        shop.memory().refused.insert("P-99".to_owned(), unknown);
        let session = session(device).await;
        let fault = wash(&session, "P-99").await.unwrap_err();
        assert_eq!((fault.reason, fault.exit), ("TAG_UNKNOWN", Exit::NotFound));
        let outbox = device.outbox();
        assert_eq!(outbox.deed(1).unwrap().standing, Standing::Refused);
        assert_eq!(outbox.parked().count() + outbox.waiting().count(), 0);
    });
}

#[test]
fn what_is_about_the_device_or_the_book_parks_nothing() {
    let barred = [
        (Code::Unauthenticated, "DEVICE_REVOKED", Exit::NotAllowed),
        (Code::PermissionDenied, "ROLE_TOO_LOW", Exit::NotAllowed),
        (Code::FailedPrecondition, "READ_ONLY", Exit::NotAllowed),
        (Code::Unavailable, "DISK_FAILED", Exit::Failed),
    ];
    for (code, reason, exit) in barred {
        wait(async {
            let (shop, device) = van().await;
            shop.memory().barred = Some(refusal(code, reason, "Not now."));
            let session = session(device).await;
            let fault = wash(&session, "P-01").await.unwrap_err();
            assert_eq!((fault.reason, fault.exit), (reason, exit));
            assert!(fault.todo.contains("kept here as deed 1"), "{fault:?}");
            shop.memory().barred = None;
            wash(&session, "P-02").await.unwrap();
            assert_eq!(told(&shop), ["wash P-01", "wash P-02"]);
        });
    }
}

/// A device that may only look.
async fn tablet() -> (Shop, &'static Device) {
    let (shop, device) = van().await;
    let mut paired = folder::read(&device.folder()).unwrap();
    paired.role = "look".to_owned();
    folder::write(&device.folder(), &paired).unwrap();
    (shop, device)
}

async fn refused_unkept(device: &'static Device) {
    let session = session(device).await;
    let fault = wash(&session, "P-01").await.unwrap_err();
    assert_eq!(
        (fault.reason, fault.exit),
        ("ROLE_TOO_LOW", Exit::NotAllowed)
    );
    assert!(!fault.todo.is_empty(), "{fault:?}");
    assert_eq!(device.outbox().next_number(), 1, "nothing was kept");
    assert!(way(&session).take_talk().is_empty());
}

#[test]
fn a_device_that_may_only_look_keeps_nothing_with_or_without_signal_or_a_copy() {
    wait(async {
        let (shop, device) = tablet().await;
        let denied = || refusal(Code::PermissionDenied, "ROLE_TOO_LOW", "It may only look.");
        shop.memory().barred = Some(denied());
        refused_unkept(device).await;
        shop.cut();
        refused_unkept(device).await;
        device.take_copy(7, 1);
        refused_unkept(device).await;
    });
}

#[test]
fn a_deed_that_the_copy_says_is_not_allowed_is_not_kept() {
    wait(async {
        let (shop, device) = van().await;
        device.take_copy(7, 1);
        let denied = refusal(Code::PermissionDenied, "ROLE_TOO_LOW", "It may only look.");
        device.copy_refuses("P-01", denied);
        shop.cut();
        refused_unkept(device).await;
    });
}

#[test]
fn a_device_that_may_do_more_by_now_is_let_do_it() {
    wait(async {
        let (shop, device) = tablet().await;
        wash(&session(device).await, "P-01").await.unwrap();
        assert_eq!(told(&shop), ["wash P-01"]);
        let session = session(device).await;
        way(&session).ask_book().await.unwrap();
        wash(&session, "P-02").await.unwrap();
        assert_eq!(device.outbox().deed(1).unwrap().standing, Standing::Sent(2));
    });
}

#[test]
fn a_full_disk_sends_without_keeping_and_without_signal_says_that_nothing_was_kept() {
    wait(async {
        let (shop, device) = van().await;
        device.suffer(Some(Trouble::Full));
        let online = session(device).await;
        wash(&online, "P-01").await.unwrap();
        assert_eq!(told(&shop), ["wash P-01"]);
        assert_eq!(shop.memory().recorded[0].deed.kept(), None);
        let talk = way(&online).take_talk();
        assert!(
            talk[0].contains("without being kept here first"),
            "{talk:?}"
        );
        shop.cut();
        let offline = session(device).await;
        let fault = wash(&offline, "P-02").await.unwrap_err();
        assert!(
            fault.message.contains("neither recorded nor kept: "),
            "{fault:?}"
        );
        assert_eq!(fault.exit, Exit::Failed);
        device.suffer(None);
        assert_eq!(device.outbox().next_number(), 1);
    });
}

#[test]
fn a_damaged_outbox_keeps_and_sends_nothing_more() {
    wait(async {
        let (shop, device) = van().await;
        device.suffer(Some(Trouble::Damaged));
        let session = session(device).await;
        let fault = wash(&session, "P-01").await.unwrap_err();
        assert_eq!((fault.reason, fault.exit), ("DAMAGED", Exit::Damage));
        assert!(fault.todo.contains("fettle shop sync --mend"), "{fault:?}");
        assert!(told(&shop).is_empty());
    });
}

#[test]
fn who_insists_keeps_nothing() {
    wait(async {
        let (shop, device) = van().await;
        let online = opened(device, true).await;
        wash(&online, "P-01").await.unwrap();
        assert_eq!(shop.memory().recorded[0].deed.kept(), None);
        shop.cut();
        let offline = opened(device, true).await;
        let fault = wash(&offline, "P-02").await.unwrap_err();
        assert_eq!(
            (fault.reason, fault.exit),
            ("UNREACHABLE", Exit::Unreachable)
        );
        assert_eq!(device.outbox().next_number(), 1);
    });
}

#[test]
fn a_thousand_deeds_go_once_and_in_order_with_few_notes() {
    wait(async {
        let (shop, device) = van().await;
        shop.cut();
        let session = session(device).await;
        for number in 0..1_000 {
            wash(&session, &format!("P-{number:03}")).await.unwrap();
        }
        let kept = device.append_count();
        shop.join();
        // Two links break on the way.
        shop.memory().cut_after = vec![300, 777];
        let again = self::session(device).await;
        let start = std::time::Instant::now();
        way(&again).begin().await;
        eprintln!("1000 deeds: {:?}", start.elapsed());
        assert_eq!(numbers(&shop), (1..=1_000).collect::<Vec<_>>());
        let told = told(&shop);
        assert!(
            told.iter()
                .enumerate()
                .all(|(at, one)| *one == format!("wash P-{at:03}"))
        );
        assert!(
            device.append_count() - kept <= 11,
            "{}",
            device.append_count() - kept
        );
    });
}

#[test]
fn every_refusal_has_its_place() {
    use delivery::Judged;
    let cases = [
        (
            refusal(Code::ResourceExhausted, "BUSY", ""),
            Judged::OutOfReach,
        ),
        (
            refusal(Code::Unavailable, "STOPPING", ""),
            Judged::OutOfReach,
        ),
        (
            refusal(Code::Unavailable, "HELD_ELSEWHERE", ""),
            Judged::OutOfReach,
        ),
        (
            refusal(Code::Unavailable, "ENGINE_UNREADY", ""),
            Judged::OutOfReach,
        ),
        (Status::unavailable("no answer"), Judged::OutOfReach),
        (Status::deadline_exceeded("late"), Judged::OutOfReach),
        (
            refusal(Code::Unauthenticated, "TOKEN_UNKNOWN", ""),
            Judged::Barred,
        ),
        (
            refusal(Code::ResourceExhausted, "TRIES_USED_UP", ""),
            Judged::Barred,
        ),
        (refusal(Code::DataLoss, "DAMAGED", ""), Judged::Barred),
        (Status::permission_denied("no"), Judged::Barred),
        (
            refusal(Code::InvalidArgument, "TIME_FUTURE", ""),
            Judged::Refused,
        ),
        (
            refusal(Code::AlreadyExists, "REQUEST_ID_REUSED", ""),
            Judged::Refused,
        ),
        (Status::not_found("none"), Judged::Refused),
        (Status::internal("broken"), Judged::Unclear),
    ];
    for (status, judged) in cases {
        assert_eq!(delivery::judge(&status), judged, "{status:?}");
    }
}

#[test]
fn plain_text_to_a_port_that_speaks_tls_is_told_at_once() {
    wait(async {
        let shop = Shop::open().await;
        let place = Whereabouts::At(format!("http://127.0.0.1:{}", shop.port));
        let session = Session::open(place, Device::new(), SoloClock::System)
            .await
            .unwrap();
        let start = std::time::Instant::now();
        let fault = wash(&session, "P-01").await.unwrap_err();
        assert!(fault.message.contains("speaks TLS"), "{fault:?}");
        let again = wash(&session, "P-01").await.unwrap_err();
        assert!(again.message.contains("speaks TLS"), "{again:?}");
        assert!(start.elapsed() < Duration::from_secs(2));
        assert!(shop.memory().came.is_empty());
    });
}
