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
use crate::outbox::keepable::told as told_of;
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
    session.once(wash).await.unwrap();
}

#[derive(Default)]
struct Asked {
    again: Vec<i64>,
    drop: Vec<i64>,
    mend: bool,
}

async fn synced(device: &'static Device, form: Form, asked: Asked) -> Result<String, Fault> {
    let (said, exit) = ended(device, form, asked).await?;
    assert_eq!(exit, Exit::Done, "{said}");
    Ok(said)
}

/// All that a sync prints, what it says included, and how it ends.
async fn ended(device: &'static Device, form: Form, asked: Asked) -> Result<(String, Exit), Fault> {
    let session = session(device).await;
    let heard = Heard::default();
    let args = Sync {
        again: asked.again,
        drop: asked.drop,
        mend: asked.mend,
    };
    let exit = sync::perform(&session, &args, &mut printer(&heard, form)).await?;
    Ok((heard.text(), exit))
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
fn deeds_of_one_shop_are_not_sent_to_another_and_are_taken_back_with_it() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        shop.join();
        shop.memory().other_book = "other".to_owned();
        let said = pair(device, &shop.code(), true).await.unwrap();
        assert!(said.contains("outbox.of-book"), "{said}");
        assert!(device.folder().join("outbox.of-book").is_dir());
        assert_eq!(device.outbox().next_number(), 1);
        session(device).await.shop().unwrap().begin().await;
        assert!(shop.memory().recorded.is_empty());
        shop.memory().other_book.clear();
        let said = pair(device, &shop.code(), true).await.unwrap();
        assert!(said.contains("is here again."), "{said}");
        assert_eq!(device.outbox().waiting().count(), 4);
        assert!(!device.folder().join("outbox.of-book").exists());
    });
}

/// Cuts the file of what was paired, as a disk that lost power may leave it.
fn damage(device: &Device) {
    let path = device.folder().join("shop.json");
    let text = std::fs::read(&path).unwrap();
    std::fs::write(&path, &text[..300]).unwrap();
}

#[test]
fn a_damaged_file_of_what_was_paired_strands_nothing() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        damage(device);
        shop.join();
        pair(device, &shop.code(), true).await.unwrap();
        assert_eq!(device.outbox().waiting().count(), 4);
        // Nor does it when another book is paired: whose the deeds are is known beside them.
        damage(device);
        shop.memory().other_book = "other".to_owned();
        pair(device, &shop.code(), true).await.unwrap();
        assert!(device.folder().join("outbox.of-book").is_dir());
    });
}

#[test]
fn the_copy_says_whose_the_outbox_is_where_nothing_else_does() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        damage(device);
        std::fs::remove_file(device.folder().join("outbox.book")).unwrap();
        shop.join();
        shop.memory().other_book = "other".to_owned();
        device.take_copy(3, 1);
        pair(device, &shop.code(), true).await.unwrap();
        assert!(device.folder().join("outbox.of-book").is_dir());
        assert_eq!(device.outbox().next_number(), 1);
    });
}

#[test]
fn an_outbox_of_nobody_knows_which_book_stays() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        damage(device);
        std::fs::remove_file(device.folder().join("outbox.book")).unwrap();
        shop.join();
        pair(device, &shop.code(), true).await.unwrap();
        assert_eq!(device.outbox().waiting().count(), 4);
    });
}

/// Another fettle has the outbox while this one pairs: nothing is renamed under it.
#[test]
fn what_pairing_could_not_put_aside_the_next_command_does_and_nothing_is_sent_before() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        shop.join();
        shop.memory().other_book = "other".to_owned();
        device.suffer(Some(Trouble::Held));
        let said = pair(device, &shop.code(), true).await.unwrap();
        assert!(said.contains("not put aside yet"), "{said}");
        assert_eq!(folder::read(&device.folder()).unwrap().book_id, "other");
        assert_eq!(device.outbox().waiting().count(), 4);
        session(device).await.shop().unwrap().begin().await;
        assert!(shop.memory().recorded.is_empty());
        device.suffer(None);
        session(device).await.shop().unwrap().begin().await;
        assert!(shop.memory().recorded.is_empty());
        assert!(device.folder().join("outbox.of-book").is_dir());
    });
}

#[test]
fn a_command_that_began_before_another_book_was_paired_keeps_nothing_for_it() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        let before = session(device).await;
        shop.join();
        shop.memory().other_book = "other".to_owned();
        pair(device, &shop.code(), true).await.unwrap();
        let wash = WashKitRequest {
            request_id: request::new_id(),
            tags: vec!["P-07".to_owned()],
            ..WashKitRequest::default()
        };
        let status = before.once(wash).await.unwrap_err();
        assert_eq!(Fault::from(status).exit, Exit::Conflict);
        assert_eq!(device.outbox().next_number(), 1);
    });
}

#[cfg(unix)]
#[test]
fn a_folder_that_is_not_a_shops_is_left_as_it_is() {
    use std::os::unix::fs::PermissionsExt as _;
    wait(async {
        let (shop, device) = (Shop::open().await, Device::new());
        let folder = device.folder();
        let mode = || {
            std::fs::metadata(device.folder())
                .unwrap()
                .permissions()
                .mode()
                & 0o777
        };
        let open = std::fs::Permissions::from_mode(0o755);
        std::fs::create_dir(&folder).unwrap();
        std::fs::set_permissions(&folder, open).unwrap();
        std::fs::write(folder.join("notes.txt"), "mine").unwrap();
        let fault = pair(device, &shop.code(), false).await.unwrap_err();
        assert_eq!((fault.exit, &*fault.field), (Exit::Usage, "--shop"));
        assert!(fault.message.contains("notes.txt"), "{fault:?}");
        assert!(!fault.todo.is_empty());
        assert!(shop.memory().came.is_empty(), "the code is not used up");
        assert_eq!(
            (mode(), std::fs::read_dir(&folder).unwrap().count()),
            (0o755, 1)
        );
        std::fs::remove_file(folder.join("notes.txt")).unwrap();
        let said = pair(device, &shop.code(), false).await.unwrap();
        assert_eq!(mode(), 0o755, "an empty one will do, as it is");
        assert!(said.contains("chmod 700"), "{said}");
    });
}

#[test]
fn pairing_that_fails_leaves_nothing_behind() {
    wait(async {
        let (shop, device) = (Shop::open().await, Device::new());
        shop.cut();
        let args = Pair {
            code: Some(shop.code()),
            again: false,
            name: None,
            role: None,
        };
        let heard = Heard::default();
        let folder = device.folder().join("below");
        let mut printer = printer(&heard, Form::People);
        let ended = pair::perform(&args, &folder, device, &mut printer).await;
        assert_eq!(ended.unwrap_err().exit, Exit::Unreachable);
        assert!(!device.folder().exists());
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

/// The text with every moment made the same.
fn without_times(text: &str) -> String {
    let words = text.split("kept 2").enumerate();
    let words = words.map(|(at, part)| match at {
        0 => part.to_owned(),
        _ => format!("kept …{}", &part["026-11-26 08:00".len()..]),
    });
    words.collect()
}

#[test]
fn a_sync_without_signal_lists_what_waits_and_what_is_parked() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        shop.join();
        synced(device, Form::People, Asked::default())
            .await
            .unwrap();
        shop.cut();
        let away = session(device).await;
        wash(&away, "P-05").await;
        wash(&away, "P-06").await;
        let (said, exit) = ended(device, Form::People, Asked::default()).await.unwrap();
        assert_eq!(exit, Exit::Unreachable);
        insta::assert_snapshot!(without_times(&same(&said, &shop)), @r"
        waiting: 2 deeds.
          5  wash P-05, kept …
          6  wash P-06, kept …
        parked: 1 deed.
          2  wash P-99: No piece has the tag P-99. See 'fettle kit list' for every tag.
        Send one again with --again NUMBER, or give it up with --drop NUMBER.
        error: The service at 127.0.0.1:7420 cannot be reached: the connection was cut
          in the handshake. 2 deeds wait here.
          Nothing is lost; run 'fettle shop sync' again when there is signal.
        ");
        let (said, exit) = ended(device, Form::Json, Asked::default()).await.unwrap();
        let document: Value = serde_json::from_str(&said).unwrap();
        assert_eq!(exit, Exit::Unreachable);
        assert_eq!(document["error"]["exitCode"], 6);
        assert_eq!(document["waiting"][1]["number"], 6);
        assert_eq!(document["waiting"][1]["told"], "wash P-06");
        assert_eq!(document["parked"][0]["told"], "wash P-99");
    });
}

#[test]
fn a_sync_that_the_shop_bars_lists_what_waits() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        shop.join();
        let revoked = refusal(Code::Unauthenticated, "DEVICE_REVOKED", "It is shut out.");
        shop.memory().barred = Some(revoked);
        let (said, exit) = ended(device, Form::People, Asked::default()).await.unwrap();
        assert_eq!(exit, Exit::NotAllowed);
        assert!(
            said.starts_with("waiting: 4 deeds.\n  1  wash P-01"),
            "{said}"
        );
        assert!(said.contains("4 deeds wait here."), "{said}");
    });
}

#[test]
fn a_number_that_is_given_twice_counts_once_and_never_for_both() {
    wait(async {
        let (_shop, device) = back_from_the_road().await;
        let asked = |again: &[i64], drop: &[i64]| Asked {
            again: again.to_vec(),
            drop: drop.to_vec(),
            mend: false,
        };
        let fault = ended(device, Form::People, asked(&[4, 1], &[3, 4]))
            .await
            .unwrap_err();
        assert_eq!((fault.exit, &*fault.field), (Exit::Usage, "--drop"));
        assert!(fault.message.starts_with("Deed 4 "), "{fault:?}");
        assert_eq!(device.outbox().waiting().count(), 4, "nothing was done");
        ended(device, Form::People, asked(&[], &[4, 4]))
            .await
            .unwrap();
        assert_eq!(device.outbox().deed(4).unwrap().standing, Standing::Dropped);
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
        let (said, exit) = ended(device, Form::People, drop(3)).await.unwrap();
        assert_eq!(exit, Exit::Unreachable);
        assert!(
            said.starts_with("given up: 1 deed.\n  3  wash P-03"),
            "{said}"
        );
        assert!(said.contains("3 deeds wait here."), "{said}");
        let (said, _) = ended(device, Form::Json, drop(4)).await.unwrap();
        let document: Value = serde_json::from_str(&said).unwrap();
        assert_eq!(document["dropped"][0]["told"], "wash P-04");
        shop.join();
        synced(device, Form::People, drop(2)).await.unwrap();
        let recorded = &shop.memory().recorded;
        let told: Vec<_> = recorded.iter().map(|one| told_of(&one.deed)).collect();
        assert_eq!(told, ["wash P-01"]);
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
