//! The commands of a shop as they are run: what they print, what they leave on the disk, how they end.

use fettlebook_contract::v1::WashKitRequest;
use serde_json::Value;
use tonic::Code;

use super::pair::{self, Pair};
use super::sync::{self, Sync};
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::outbox::Standing;
use crate::render::scenario::{Heard, screen};
use crate::render::{Form, Printer};
use crate::request;
use crate::shop::folder;
use crate::solo::SoloClock;
use crate::testing::device::Trouble;
use crate::testing::{Device, Shop, refusal, wait};

fn printer(heard: &Heard, form: Form) -> Printer {
    Printer::onto(heard.clone(), form, screen(80)).talking_to(heard.clone())
}

async fn pair(device: &'static Device, code: &str, again: bool) -> Result<String, Fault> {
    let args = Pair {
        code: Some(code.to_owned()),
        again,
        name: None,
        role: None,
    };
    let heard = Heard::default();
    let mut printer = printer(&heard, Form::People);
    pair::perform(&args, &device.folder(), device, &mut printer).await?;
    Ok(heard.text())
}

async fn session(device: &'static Device) -> Session {
    let place = Whereabouts::Shop {
        folder: device.folder(),
        insists: false,
    };
    Session::open(place, device, SoloClock::System)
        .await
        .unwrap()
}

async fn wash(session: &Session, tag: &str) {
    let wash = WashKitRequest {
        request_id: request::new_id(),
        tags: vec![tag.to_owned()],
        ..WashKitRequest::default()
    };
    session.kit().wash_kit(wash).await.unwrap();
}

#[derive(Default)]
struct Asked {
    again: Vec<i64>,
    drop: Vec<i64>,
    mend: bool,
}

async fn synced(device: &'static Device, form: Form, asked: Asked) -> Result<String, Fault> {
    let session = session(device).await;
    let heard = Heard::default();
    let args = Sync {
        again: asked.again,
        drop: asked.drop,
        mend: asked.mend,
    };
    sync::perform(&session, &args, &mut printer(&heard, form)).await?;
    Ok(heard.text())
}

/// The text with what differs from run to run made the same.
fn same(text: &str, shop: &Shop) -> String {
    let fingerprint = data_encoding::HEXLOWER.encode(&shop.fingerprint);
    let groups: Vec<&str> = (0..16).map(|at| &fingerprint[4 * at..4 * at + 4]).collect();
    let text = text.replace(&groups.join(" "), "3521 fc9c …");
    let text = text.replace(&shop.port.to_string(), "7420");
    match text.split_once(" as of ") {
        Some((before, after)) => format!("{before} as of …{}", after.get(16..).unwrap_or_default()),
        None => text,
    }
}

/// A device that kept four deeds without signal; the shop will not know P-99.
async fn back_from_the_road() -> (Shop, &'static Device) {
    let (shop, device) = (Shop::open().await, Device::new());
    shop.pair(&device.folder());
    shop.cut();
    let session = session(device).await;
    for tag in ["P-01", "P-99", "P-03", "P-04"] {
        wash(&session, tag).await;
    }
    let unknown = refusal(Code::NotFound, "TAG_UNKNOWN", "No piece has the tag P-99.");
    shop.memory().refused.insert("P-99".to_owned(), unknown);
    (shop, device)
}

#[test]
fn pairing_writes_down_what_it_was_given_before_it_says_so() {
    wait(async {
        let (shop, device) = (Shop::open().await, Device::new());
        let said = pair(device, &shop.code(), false).await.unwrap();
        insta::assert_snapshot!(same(&said, &shop), @r"
        paired: this device is van-a in the shop at 127.0.0.1:7420, with the role work.
        Fingerprint  3521 fc9c …
        See that the fingerprint is the one that was shown with the code. Commands use
        the shop's book from now on; 'fettle shop sync' takes a copy along for where
        there is no signal.
        ");
        let paired = folder::read(&device.folder()).unwrap();
        assert_eq!(paired.token, "fb1.token-of-van-a");
        assert_eq!(paired.certificate, shop.root.replace('\r', ""));
        assert_eq!(
            (paired.device.as_str(), paired.book_id.as_str()),
            ("van-a", "book")
        );
        assert!(!said.contains(&paired.token));
        wash(&session(device).await, "P-01").await;
        assert!(
            shop.memory()
                .tokens
                .contains(&"Bearer fb1.token-of-van-a".to_owned())
        );
    });
}

#[test]
fn a_device_that_is_paired_is_paired_anew_only_when_that_is_asked_for() {
    wait(async {
        let (shop, device) = (Shop::open().await, Device::new());
        pair(device, &shop.code(), false).await.unwrap();
        let fault = pair(device, &shop.code(), false).await.unwrap_err();
        assert_eq!(fault.exit, Exit::Conflict);
        assert!(fault.message.contains("as van-a"), "{fault:?}");
        pair(device, &shop.code(), true).await.unwrap();
    });
}

#[test]
fn the_secret_is_not_sent_to_another() {
    wait(async {
        let (shop, other, device) = (Shop::open().await, Shop::open().await, Device::new());
        let lured = other
            .code()
            .replace(&other.port.to_string(), &shop.port.to_string());
        let fault = pair(device, &lured, false).await.unwrap_err();
        assert_eq!(fault.exit, Exit::Unreachable);
        assert!(
            fault.message.contains("not the one that made this code"),
            "{fault:?}"
        );
        assert!(
            fault.todo.starts_with("The secret was not sent."),
            "{fault:?}"
        );
        assert!(shop.memory().came.is_empty());
        assert!(!folder::is_paired(&device.folder()));
    });
}

#[test]
fn deeds_of_one_shop_are_not_sent_to_another() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        let mut other = folder::read(&device.folder()).unwrap();
        other.book_id = "another book".to_owned();
        folder::write(&device.folder(), &other).unwrap();
        shop.join();
        let said = pair(device, &shop.code(), true).await.unwrap();
        assert!(said.contains("outbox.other-1"), "{said}");
        assert!(device.folder().join("outbox.other-1").is_dir());
        assert_eq!(device.outbox().next_number(), 1);
        assert!(shop.memory().recorded.is_empty());
    });
}

#[test]
fn pairing_the_same_shop_again_keeps_what_waits() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        shop.join();
        pair(device, &shop.code(), true).await.unwrap();
        assert_eq!(device.outbox().waiting().count(), 4);
    });
}

#[test]
fn neither_code_nor_name_is_told_with_both() {
    wait(async {
        let (shop, device) = (Shop::open().await, Device::new());
        shop.pair(&device.folder());
        let session = session(device).await;
        let args = Pair {
            code: None,
            again: false,
            name: None,
            role: None,
        };
        let heard = Heard::default();
        let ended = pair::invite(&session, &args, &mut printer(&heard, Form::People)).await;
        let fault = ended.unwrap_err();
        assert_eq!(fault.exit, Exit::Usage);
        assert!(fault.message.contains("code") && fault.message.contains("--name"));
    });
}

#[test]
fn a_sync_sends_parks_and_takes_a_copy_along() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        shop.join();
        let said = synced(device, Form::People, Asked::default())
            .await
            .unwrap();
        insta::assert_snapshot!(same(&said, &shop), @r"
        sent: 3 deeds.
        parked: 1 deed.
          2  wash P-99: No piece has the tag P-99. See 'fettle kit list' for every tag.
        Send one again with --again NUMBER, or give it up with --drop NUMBER.
        The copy here has 3 entries as of ….
        ");
        assert_eq!(device.copied(), 3);
        let again = synced(device, Form::People, Asked::default())
            .await
            .unwrap();
        assert!(again.contains("Nothing waited."), "{again}");
        assert!(again.contains("P-99"), "it stays in sight: {again}");
    });
}

#[test]
fn a_sync_is_one_document() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        shop.join();
        let said = synced(device, Form::Json, Asked::default()).await.unwrap();
        let document: Value = serde_json::from_str(&said).unwrap();
        let numbers: Vec<_> = document["sent"].as_array().unwrap().iter().collect();
        assert_eq!(numbers.len(), 3);
        assert_eq!(
            (&numbers[1]["number"], &numbers[1]["seq"]),
            (&3.into(), &2.into())
        );
        assert_eq!(document["parked"][0]["number"], 2);
        assert_eq!(document["parked"][0]["reason"], "TAG_UNKNOWN");
        assert_eq!(document["copy"]["headSeq"], 3);
    });
}

#[test]
fn a_sync_without_signal_says_how_many_wait() {
    wait(async {
        let (_shop, device) = back_from_the_road().await;
        let fault = synced(device, Form::People, Asked::default())
            .await
            .unwrap_err();
        assert_eq!(
            (fault.reason.as_str(), fault.exit),
            ("UNREACHABLE", Exit::Unreachable)
        );
        assert!(fault.message.ends_with("4 deeds wait here."), "{fault:?}");
    });
}

#[test]
fn a_parked_deed_is_sent_again_or_given_up() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        shop.join();
        synced(device, Form::People, Asked::default())
            .await
            .unwrap();
        let again = |number| Asked {
            again: vec![number],
            ..Asked::default()
        };
        let fault = synced(device, Form::People, again(1)).await.unwrap_err();
        assert_eq!(fault.exit, Exit::Conflict);
        assert!(
            fault.message.contains("is in the book as entry 1"),
            "{fault:?}"
        );
        let fault = synced(device, Form::People, again(9)).await.unwrap_err();
        assert_eq!(fault.exit, Exit::NotFound);
        synced(device, Form::People, again(2)).await.unwrap();
        assert!(matches!(
            device.outbox().deed(2).unwrap().standing,
            Standing::Parked { .. }
        ));
        shop.memory().refused.clear();
        synced(device, Form::People, again(2)).await.unwrap();
        assert_eq!(device.outbox().deed(2).unwrap().standing, Standing::Sent(4));
    });
}

#[test]
fn what_is_given_up_is_never_sent() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        let drop = |number| Asked {
            drop: vec![number],
            ..Asked::default()
        };
        let fault = synced(device, Form::People, drop(3)).await.unwrap_err();
        assert!(fault.message.ends_with("3 deeds wait here."), "{fault:?}");
        shop.join();
        synced(device, Form::People, drop(2)).await.unwrap();
        let recorded = &shop.memory().recorded;
        let told: Vec<_> = recorded.iter().map(|one| one.deed.told()).collect();
        assert_eq!(told, ["wash P-01", "wash P-04"]);
    });
}

#[test]
fn a_damaged_outbox_is_mended_and_what_is_lost_is_said() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        shop.join();
        device.suffer(Some(Trouble::Damaged));
        let fault = synced(device, Form::People, Asked::default())
            .await
            .unwrap_err();
        assert_eq!(fault.exit, Exit::Damage);
        assert!(fault.todo.contains("--mend"), "{fault:?}");
        let asked = Asked {
            mend: true,
            ..Asked::default()
        };
        let said = synced(device, Form::People, asked).await.unwrap();
        assert!(said.contains("of what was kept under 2;"), "{said}");
        assert!(said.contains("sent: 3 deeds."), "{said}");
    });
}
