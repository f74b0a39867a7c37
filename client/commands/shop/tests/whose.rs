//! Whose deeds the outbox holds when a device is paired with one shop after another.

use super::{back_from_the_road, pair, session};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::request;
use crate::shop::folder;
use crate::testing::device::Trouble;
use crate::testing::{Device, wait};
use fettlebook_contract::v1::WashKitRequest;

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
