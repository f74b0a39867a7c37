//! Sending what waits: what a sync prints, and what becomes of a deed that was refused.

use super::{Asked, back_from_the_road, ended, same, session, synced, wash};
use crate::exit::Exit;
use crate::outbox::Standing;
use crate::outbox::keepable::told as told_of;
use crate::render::Form;
use crate::testing::device::Trouble;
use crate::testing::{refusal, wait};
use serde_json::Value;
use tonic::Code;

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
          1  wash P-01, entry 1
          3  wash P-03, entry 2
          4  wash P-04, entry 3
        parked: 1 deed.
          2  wash P-99: No piece has the tag P-99. See 'fettle kit list' for every tag.
        'fettle shop parked NUMBER' shows one whole and mends it; --again NUMBER sends
        it as it is, --drop NUMBER gives it up.
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
fn a_sync_tells_what_of_a_deed_contradicts_the_book() {
    wait(async {
        let (shop, device) = back_from_the_road().await;
        let flag = "P-03 was binned in the book: torn.";
        let flagged = (String::from("P-03"), flag.to_owned());
        shop.memory().flagged.extend([flagged]);
        shop.join();
        let said = synced(device, Form::People, Asked::default())
            .await
            .unwrap();
        let told = format!("flagged: 1 deed.\n  3  wash P-03, entry 2: {flag}\n");
        assert!(said.contains(&told), "{said}");
        let (shop, device) = back_from_the_road().await;
        let flagged = (String::from("P-03"), flag.to_owned());
        shop.memory().flagged.extend([flagged]);
        shop.join();
        let said = synced(device, Form::Json, Asked::default()).await.unwrap();
        let document: Value = serde_json::from_str(&said).unwrap();
        assert_eq!(document["sent"][1]["flags"][0], flag);
        assert_eq!(document["sent"][0]["flags"], serde_json::json!([]));
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
        'fettle shop parked NUMBER' shows one whole and mends it; --again NUMBER sends
        it as it is, --drop NUMBER gives it up.
        error: Not synced: no signal. 2 deeds wait here.
          Run 'fettle shop sync' again when the shop can be reached; -v says what was
          tried.
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
            fault.message.contains("was recorded as entry 1"),
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
