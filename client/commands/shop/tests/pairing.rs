//! Pairing a device: what it leaves on the disk, what it refuses, what it never tells.

use data_encoding::HEXLOWER;
use fettlebook_contract::pairing::TypedCode;
use sha2::{Digest as _, Sha256};

use super::super::pair::{Pair, ask};
use super::{back_from_the_road, pair, printer, same, session, wash};
use crate::exit::Exit;
use crate::paper::OnPaper;
use crate::render::Form;
use crate::render::scenario::Heard;
use crate::shop::{code, folder};
use crate::testing::{Device, Shop, wait};

#[test]
fn pairing_writes_down_what_it_was_given_before_it_says_so() {
    wait(async {
        let (shop, device) = (Shop::open().await, Device::new());
        let said = pair(device, &shop.code(), false).await.unwrap();
        insta::assert_snapshot!(same(&said, &shop), @r"
        paired: this device is van-a in the shop at 127.0.0.1:7420, with the role work.
        Commands use the shop's book from now on. A copy of the book is here for where
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
        let (shop, other, device) = (Shop::open().await, Shop::open().await, Device::new());
        pair(device, &shop.code(), false).await.unwrap();
        let fault = pair(device, &other.code(), false).await.unwrap_err();
        assert_eq!(fault.exit, Exit::Conflict);
        assert!(fault.message.contains("as van-a"), "{fault:?}");
        assert!(other.memory().came.is_empty(), "the code is not used up");
        // The same machine again is no other shop: nothing could be lost by it.
        pair(device, &shop.code(), false).await.unwrap();
        pair(device, &other.code(), true).await.unwrap();
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
fn a_typed_code_pairs_and_says_nothing_secret() {
    let by_hand = |typed: String| typed.to_lowercase().replace(['-', '/'], " ");
    // As it was scanned from the picture.
    let scanned = |typed: String| TypedCode::parse(&typed).unwrap().page_address();
    for given in [by_hand as fn(String) -> String, scanned] {
        pairs_by(given);
    }
}

fn pairs_by(given: fn(String) -> String) {
    wait(async {
        let (shop, device) = (Shop::open().await, Device::new());
        pair(device, &given(shop.typed_code()), false)
            .await
            .unwrap();
        let paired = folder::read(&device.folder()).unwrap();
        assert_eq!(paired.certificate, shop.root.replace('\r', ""));
        let secret = paired.token.strip_prefix("fb1.van-a.").unwrap();
        assert_eq!(secret.len(), 43, "32 bytes in base64: {secret}");
        let sent = shop.memory().pairing.clone();
        assert!(sent.code_secret.is_empty() && sent.token_secret.is_empty());
        wash(&session(device).await, "P-01").await;
        let token = format!("Bearer {}", paired.token);
        assert!(shop.memory().tokens.contains(&token));
    });
}

/// A service with several books shows one certificate to whoever says nothing in the handshake.
#[test]
fn a_device_holds_on_to_what_the_shop_says_and_a_script_to_what_it_was_shown() {
    wait(async {
        let (shop, device) = (Shop::open().await, Device::new());
        let key = rcgen::KeyPair::generate().unwrap();
        let own = rcgen::CertificateParams::default()
            .self_signed(&key)
            .unwrap();
        shop.memory().authority = own.der().to_vec();
        pair(device, &shop.code(), false).await.unwrap();
        let paired = folder::read(&device.folder()).unwrap();
        assert_eq!(paired.certificate, own.pem().replace('\r', ""));
        assert_eq!(
            paired.fingerprint,
            HEXLOWER.encode(&Sha256::digest(own.der()))
        );
        let given = code::given(&shop.code()).unwrap();
        let script = ask(&given).await.unwrap().for_a_script();
        assert_eq!(script.certificate, shop.root.replace('\r', ""));
        shop.memory().authority = vec![0x30, 0];
        let fault = ask(&given).await.unwrap().for_a_device().unwrap_err();
        assert!(fault.message.contains("its certificate"), "{fault:?}");
    });
}

/// Whoever answers at the address without knowing the code is not believed, whatever it says.
#[test]
fn a_service_that_does_not_know_a_typed_code_gets_nothing_and_is_not_believed() {
    wait(async {
        let (shop, device) = (Shop::open().await, Device::new());
        shop.memory().forgets_codes = true;
        let fault = pair(device, &shop.typed_code(), false).await.unwrap_err();
        assert_eq!((fault.reason, fault.exit), ("NOT_PROVED", Exit::NotAllowed));
        assert!(!folder::is_paired(&device.folder()));
        let sent = shop.memory().pairing.clone();
        assert!(sent.code_secret.is_empty() && sent.token_secret.is_empty());
    });
}

#[test]
fn a_mistyped_code_is_found_before_anything_is_sent() {
    wait(async {
        let (shop, device) = (Shop::open().await, Device::new());
        let typed = shop.typed_code();
        let wrong = typed.replace("K7Q2", "K7Q3");
        let fault = pair(device, &wrong, false).await.unwrap_err();
        assert_eq!((fault.exit, &*fault.field), (Exit::Usage, "CODE"));
        assert!(fault.message.contains("mistyped"), "{fault:?}");
        assert!(shop.memory().came.is_empty());
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
            code: vec![shop.code()],
            again: false,
            name: None,
            role: None,
            at: None,
            paper: OnPaper::default(),
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
            code: Vec::new(),
            again: false,
            name: None,
            role: None,
            at: None,
            paper: OnPaper::default(),
        };
        let heard = Heard::default();
        let ended = pair::invite(&session, &args, &mut printer(&heard, Form::People)).await;
        let fault = ended.unwrap_err();
        assert_eq!(fault.exit, Exit::Usage);
        assert!(fault.message.contains("code") && fault.message.contains("--name"));
    });
}
