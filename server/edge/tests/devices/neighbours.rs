//! Neighbours on the network who have no token: what they may ask of the service, and what it costs
//! those who have one.

use tonic::client::Grpc;
use tonic::codegen::http::uri::PathAndQuery;

use super::super::raw::Raw;
use super::attempts::called;
use super::*;
use crate::limits::STRANGER_ASKS_MAX;

const BOOK: &str = "/fettlebook.v1.BookService/GetBook";
const PAIR: &str = "/fettlebook.v1.AccessService/PairDevice";

/// Whoever sends too much is told how much it was and how much may be: the limit of this rpc, which
/// is not the one of the others.
#[tokio::test]
async fn a_pairing_that_is_too_long_is_told_its_length_and_the_limit_of_pairing() {
    let shop = Shop::open().await;
    let channel = shop.channel().await;
    let refused = called(&channel, PAIR, &[], vec![0; 20_000]).await;
    let refused = refused.unwrap_err();
    assert_told(&refused, "FIELD_INVALID", "");
    let told = "The message has 20000 bytes, and 16384 at most are taken here.";
    assert!(refused.message().contains(told), "{refused:?}");
}

/// Begins a pairing whose message does not come to its end before the answer is let go of.
async fn begin_pairing(channel: &Channel) -> JoinHandle<Result<(), Status>> {
    let mut client = Grpc::new(channel.clone());
    client.ready().await.unwrap();
    let message = tokio_stream::pending::<Vec<u8>>();
    tokio::spawn(async move {
        let path = PathAndQuery::from_static(PAIR);
        let answer = client.streaming(Request::new(message), path, Raw);
        answer.await.map(drop)
    })
}

#[tokio::test]
async fn without_a_token_a_connection_asks_one_thing_at_a_time() {
    let shop = Shop::open().await;
    let token = shop.pair("bench", Role::Look);
    let channel = shop.channel().await;
    let first = begin_pairing(&channel).await;
    let refused = begin_pairing(&channel).await.await.unwrap().unwrap_err();
    assert_told(&refused, "BUSY", "");
    assert!(!first.is_finished(), "the first is still waited for");
    // With a token, and on a connection of their own, others are answered meanwhile.
    let mut book = BookServiceClient::new(channel.clone());
    book.get_book(with(&token, v1::GetBookRequest::default()))
        .await
        .unwrap();
    let other = called(&shop.channel().await, PAIR, &[], Vec::new()).await;
    assert_told(&other.unwrap_err(), "FIELD_MISSING", "code_secret");
    first.abort();
    let soon = tokio::time::timeout(std::time::Duration::from_secs(5), async {
        loop {
            let again = called(&channel, PAIR, &[], Vec::new()).await.unwrap_err();
            if again.code() == tonic::Code::InvalidArgument {
                return;
            }
        }
    });
    soon.await
        .expect("the next may ask once the first has gone");
}

/// One who goes on asking costs more than one who comes again.
#[tokio::test]
async fn whoever_asks_again_and_again_without_a_token_is_closed_and_with_one_is_not() {
    let shop = Shop::open().await;
    let token = format!("Bearer {}", shop.pair("bench", Role::Look));
    for known in [false, true] {
        let channel = shop.channel().await;
        if known {
            called(&channel, BOOK, &[&token], Vec::new()).await.unwrap();
        }
        let mut told = 0;
        for _ in 0..2 * STRANGER_ASKS_MAX {
            let refused = called(&channel, BOOK, &[], Vec::new()).await.unwrap_err();
            told += u32::from(refused.code() != tonic::Code::Unknown);
        }
        assert_eq!(
            told == 2 * STRANGER_ASKS_MAX,
            known,
            "{told} were told why not"
        );
    }
}
