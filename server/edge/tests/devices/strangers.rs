//! Connections that are no proper TLS, or not of this shop: told or closed, and nobody else harmed.

use std::time::Duration;

use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpSocket;

use super::*;

/// Long enough for any answer here, short enough to find one that never comes.
const SOON: Duration = Duration::from_secs(20);

/// What comes back for these bytes until the connection is closed.
async fn said_back(address: SocketAddr, bytes: &[u8], half_close: bool) -> Vec<u8> {
    let mut tcp = TcpStream::connect(address).await.unwrap();
    tcp.write_all(bytes).await.unwrap();
    if half_close {
        tcp.shutdown().await.unwrap();
    }
    let mut said = Vec::new();
    // A connection that is reset has said what it had to say.
    let _ = tokio::time::timeout(SOON, tcp.read_to_end(&mut said))
        .await
        .unwrap();
    said
}

async fn is_well(shop: &Shop, token: &Token) {
    let mut book = BookServiceClient::new(shop.channel().await);
    let asking = book.get_book(with(token, v1::GetBookRequest::default()));
    tokio::time::timeout(SOON, asking).await.unwrap().unwrap();
}

/// Source: RFC 9113, sections 3.4 (the preface), 6.5, 6.8 and 7.
#[tokio::test]
async fn who_speaks_http_in_the_open_is_told_that_the_port_speaks_tls() {
    let shop = Shop::open().await;
    let token = shop.pair("bench", Role::Look);
    let preface = b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n\x00\x00\x00\x04\x00\x00\x00\x00\x00";
    let http_1 = b"GET / HTTP/1.1\r\nhost: bench\r\n\r\n";
    for first in [preface.as_slice(), http_1] {
        let said = said_back(shop.address, first, false).await;
        assert_eq!(said[..9], [0, 0, 0, 4, 0, 0, 0, 0, 0], "SETTINGS first");
        assert_eq!(said[12], 7, "then GOAWAY");
        assert_eq!(said[22..26], [0, 0, 0, 0xc], "INADEQUATE_SECURITY");
        let debug = String::from_utf8_lossy(&said[26..]);
        assert_eq!(debug, "this port speaks TLS; pair this device first");
    }
    let endpoint = Endpoint::from_shared(format!("http://{}", shop.address)).unwrap();
    let mut book = BookServiceClient::new(endpoint.connect_lazy());
    let asking = book.get_book(with(&token, v1::GetBookRequest::default()));
    let status = tokio::time::timeout(SOON, asking)
        .await
        .unwrap()
        .unwrap_err();
    let told = format!("{status:?}");
    assert!(told.contains("INADEQUATE_SECURITY"), "{told}");
    is_well(&shop, &token).await;
}

/// The first bytes of a proper client, as its library sends them.
async fn client_hello(shop: &Shop) -> Vec<u8> {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let authority = shop.authority.clone();
    let dialling = tokio::spawn(async move { dial(address, &authority, SERVICE_NAME).await });
    let (mut tcp, _) = listener.accept().await.unwrap();
    let mut hello = vec![0; 4_096];
    let count = tcp.read(&mut hello).await.unwrap();
    drop(tcp);
    assert!(dialling.await.unwrap().is_err());
    hello.truncate(count);
    hello
}

#[tokio::test]
async fn truncated_and_spoilt_tls_is_closed_and_others_go_on() {
    let shop = Shop::open().await;
    let token = shop.pair("bench", Role::Look);
    let hello = client_hello(&shop).await;
    assert_eq!(hello[0], 22, "a handshake (RFC 8446, section 5.1)");
    for end in [1, 4, 5, 6, hello.len() / 2, hello.len() - 1, hello.len()] {
        said_back(shop.address, &hello[..end], true).await;
    }
    for at in (0..hello.len()).step_by(7) {
        let mut spoilt = hello.clone();
        spoilt[at] ^= 0x55;
        said_back(shop.address, &spoilt, true).await;
    }
    for noise in [
        [0; 64].as_slice(),
        &[0xFF; 64],
        b"SSH-2.0-client\r\n",
        b"\x16",
    ] {
        said_back(shop.address, noise, true).await;
    }
    is_well(&shop, &token).await;
}

#[tokio::test]
async fn those_who_begin_and_say_no_more_keep_nobody_waiting() {
    let shop = Shop::open().await;
    let token = shop.pair("bench", Role::Look);
    let hello = client_hello(&shop).await;
    let mut silent = Vec::new();
    for number in 0..60_u8 {
        // All of 127.0.0.0/8 is this machine (RFC 1122, section 3.2.1.3): they come from elsewhere.
        let socket = TcpSocket::new_v4().unwrap();
        let from = SocketAddr::from(([127, 0, 0, 2 + number % 4], 0));
        socket.bind(from).unwrap();
        let mut tcp = socket.connect(shop.address).await.unwrap();
        tcp.write_all(&hello[..usize::from(number % 20)])
            .await
            .unwrap();
        silent.push(tcp);
    }
    let asking = is_well(&shop, &token);
    tokio::time::timeout(Duration::from_secs(5), asking)
        .await
        .unwrap();
}

/// A device holds on to the certificate of its shop: another shop at the same address, or a name that
/// is not the service's, does not get its token.
#[tokio::test]
async fn a_device_does_not_take_another_shop_for_its_own() {
    let (shop, other) = (Shop::open().await, Shop::open().await);
    let token = shop.pair("bench", Role::Look);
    assert!(
        dial(shop.address, &other.authority, SERVICE_NAME)
            .await
            .is_err()
    );
    assert!(
        dial(other.address, &shop.authority, SERVICE_NAME)
            .await
            .is_err()
    );
    assert!(
        dial(shop.address, &shop.authority, "elsewhere.internal")
            .await
            .is_err()
    );
    assert!(
        dial(shop.address, &shop.authority, "localhost")
            .await
            .is_ok()
    );
    assert!(
        dial(shop.address, &shop.authority, "127.0.0.1")
            .await
            .is_ok()
    );
    let mut book = BookServiceClient::new(other.channel().await);
    let status = book
        .get_book(with(&token, v1::GetBookRequest::default()))
        .await
        .unwrap_err();
    assert_told(&status, "TOKEN_OTHER_BOOK", "");
}
