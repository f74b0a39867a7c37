//! Neighbours on the network who have no token: what they may ask of the service, and what it costs
//! those who have one.

use super::attempts::called;
use super::*;

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
