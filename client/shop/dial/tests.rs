//! Which of several addresses is used, and how long one that keeps silent is waited for.

use std::time::{Duration, Instant};

use tokio::net::TcpListener;

use crate::shop::target::{Address, Target};
use crate::shop::trouble::{Cause, Trouble};
use crate::shop::trust::Pin;
use crate::shop::wire::Wire;
use crate::testing::{Shop, wait};

fn here(port: u16) -> Address {
    let host = "127.0.0.1".to_owned();
    Address { host, port }
}

/// A port where nobody listens.
async fn closed() -> u16 {
    let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
    listener.local_addr().unwrap().port()
}

/// A port that takes every caller in and says nothing.
async fn silent() -> u16 {
    let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
    let port = listener.local_addr().unwrap().port();
    tokio::spawn(async move {
        let mut held = Vec::new();
        while let Ok((stream, _)) = listener.accept().await {
            held.push(stream);
        }
    });
    port
}

/// Where the service of this shop is reached among these ports, and how long that took.
async fn reached(shop: &Shop, ports: &[u16]) -> (Result<Option<Address>, Trouble>, Duration) {
    let target = Target {
        addresses: ports.iter().copied().map(here).collect(),
        pin: Pin::of_code(shop.fingerprint),
        book_id: None,
    };
    let start = Instant::now();
    let opened = Wire::open(&target, None).await;
    (opened.map(|wire| wire.reached()), start.elapsed())
}

#[test]
fn an_address_that_keeps_silent_or_is_another_holds_nobody_up() {
    wait(async {
        let (shop, other) = (Shop::open().await, Shop::open().await);
        let (closed, silent) = (closed().await, silent().await);
        let second = Duration::from_secs(1);
        for before in [
            vec![],
            vec![closed],
            vec![silent],
            vec![other.port],
            vec![silent, closed, other.port],
        ] {
            let ports = [before.as_slice(), &[shop.port]].concat();
            let (found, took) = reached(&shop, &ports).await;
            assert_eq!(found, Ok(Some(here(shop.port))), "{before:?}");
            assert!(took < second * 2, "{before:?}: {took:?}");
        }
        // Nothing was said to what is not the shop.
        assert!(other.memory().came.is_empty());
    });
}

#[test]
fn the_first_address_that_answers_at_once_is_used_and_no_other_is_asked() {
    wait(async {
        let (shop, listener) = (
            Shop::open().await,
            TcpListener::bind(("127.0.0.1", 0)).await.unwrap(),
        );
        let second = listener.local_addr().unwrap().port();
        let (found, _) = reached(&shop, &[shop.port, second]).await;
        assert_eq!(found, Ok(Some(here(shop.port))));
        let called = tokio::time::timeout(Duration::from_millis(400), listener.accept()).await;
        assert!(called.is_err(), "the second was called");
    });
}

#[test]
fn where_none_answers_it_is_told_of_each_after_three_seconds() {
    wait(async {
        let shop = Shop::open().await;
        let ports = [silent().await, closed().await, silent().await];
        let (found, took) = reached(&shop, &ports).await;
        let trouble = found.unwrap_err();
        assert_eq!(trouble.cause, Cause::NoSignal);
        for told in [
            "no answer in 3 seconds; ".to_owned(),
            format!("at 127.0.0.1:{}: nothing listens there", ports[1]),
            format!("at 127.0.0.1:{}: no answer", ports[2]),
        ] {
            assert!(trouble.what.contains(&told), "{told}: {trouble}");
        }
        let (least, most) = (Duration::from_millis(2_900), Duration::from_millis(3_900));
        assert!((least..most).contains(&took), "{took:?}");
        let (found, took) = reached(&shop, &[closed().await, closed().await]).await;
        assert_eq!(found.unwrap_err().cause, Cause::NotRunning);
        assert!(took < least, "{took:?}");
    });
}
