//! Attempts to get in, or to do more than a role may: every one refused with its reason, and nothing
//! recorded.
//!
//! The attempts on rpcs are made from the contract: each rpc with each role below its least, and each
//! without a token.

use fettlebook_contract::call::RPCS;
use hyper::Version;
use prost::Message as _;
use tonic::client::Grpc;
use tonic::codegen::http::uri::PathAndQuery;
use tonic::metadata::{AsciiMetadataValue, MetadataValue};
use tonic_types::StatusExt as _;

use super::super::raw::Raw;
use super::pages::Page;
use super::*;
use crate::edge::roles::{Least, least};

mod typed;

/// How long the clock goes on between two attempts that count as wrong: ten a minute are looked at.
const PACE_S: i64 = 7;

const PAIR: &str = "/fettlebook.v1.AccessService/PairDevice";
const BOOK: &str = "/fettlebook.v1.BookService/GetBook";

/// The rpcs that are not of the contract.
const USUAL: [&str; 4] = [
    "/grpc.health.v1.Health/Check",
    "/grpc.health.v1.Health/Watch",
    "/grpc.reflection.v1.ServerReflection/ServerReflectionInfo",
    "/grpc.reflection.v1alpha.ServerReflection/ServerReflectionInfo",
];

/// The path of every rpc that the service answers, with who may call it.
fn table() -> impl Iterator<Item = (&'static str, Least)> {
    let paths = RPCS.iter().map(|rpc| rpc.path).chain(USUAL);
    paths.map(|path| (path, least(path)))
}

/// Makes attempts and counts them.
struct Burglar {
    channel: Channel,
    count: usize,
}

impl Burglar {
    /// Calls an rpc by its path with these headers; the status where it is refused.
    async fn call(&mut self, path: &'static str, headers: &[&str], bytes: Vec<u8>) -> Status {
        self.count += 1;
        match called(&self.channel, path, headers, bytes).await {
            Ok(()) => panic!("{path} let somebody in with {headers:?}"),
            Err(status) => status,
        }
    }
}

pub(super) async fn called(
    channel: &Channel,
    path: &'static str,
    headers: &[&str],
    bytes: Vec<u8>,
) -> Result<(), Status> {
    let mut request = Request::new(bytes);
    for header in headers {
        let value: AsciiMetadataValue = MetadataValue::try_from(*header).unwrap();
        request.metadata_mut().append("authorization", value);
    }
    let mut client = Grpc::new(channel.clone());
    client.ready().await.unwrap();
    let path = PathAndQuery::from_static(path);
    let answer = client.server_streaming(request, path, Raw).await;
    answer.map(drop)
}

fn reason(status: &Status) -> String {
    let info = status.get_details_error_info();
    info.map(|info| info.reason).unwrap_or_default()
}

/// A table of ways in that do not exist.
#[tokio::test]
async fn nobody_gets_in_or_does_more_than_the_role_may() {
    let shop = Shop::open().await;
    let roles = [
        (Role::Look, shop.pair("phone", Role::Look)),
        (Role::Work, shop.pair("van-a", Role::Work)),
        (Role::Keep, shop.pair("desk", Role::Keep)),
        (Role::Own, shop.pair("bench", Role::Own)),
    ];
    let before = journal_of(shop.folder.path());
    let mut burglar = Burglar {
        channel: shop.channel().await,
        count: 0,
    };
    roles_too_low(&mut burglar, &roles).await;
    let low = burglar.count;
    no_token(&shop, &mut burglar).await;
    let none = burglar.count - low;
    bad_tokens(&shop, &mut burglar, &roles[3].1).await;
    bad_codes(&shop, &mut burglar).await;
    typed::bad_proofs(&shop, &mut burglar).await;
    typed::a_name_paired_anew(&shop, &mut burglar).await;
    let ordinary = burglar.count;
    by_pages(&shop, &mut burglar, &roles[0].1).await;
    eprintln!(
        "{} attempts, all refused: {low} with a role too low, {none} without a token, {} with bad tokens, codes \
         and proofs, {} by pages",
        burglar.count,
        ordinary - low - none,
        burglar.count - ordinary
    );
    assert!(burglar.count >= 200, "{}", burglar.count);
    assert_eq!(journal_of(shop.folder.path()), before);
    let devices = shop.access.devices();
    let held: Vec<_> = devices
        .iter()
        .map(|one| (one.name.as_str(), one.role))
        .collect();
    let wanted = [
        ("bench", Role::Own),
        ("desk", Role::Keep),
        ("lost", Role::Own),
        ("phone", Role::Look),
        ("tablet", Role::Work),
        ("van-a", Role::Work),
        ("van-b", Role::Work),
        ("van-c", Role::Work),
    ];
    assert_eq!(held, wanted);
}

async fn roles_too_low(burglar: &mut Burglar, roles: &[(Role, Token)]) {
    for (path, least) in table() {
        let Least::Role(least) = least else { continue };
        for (role, token) in roles.iter().filter(|(role, _)| *role < least) {
            let status = burglar
                .call(path, &[&format!("Bearer {token}")], Vec::new())
                .await;
            assert_told(&status, "ROLE_TOO_LOW", "");
            assert!(status.message().contains(role.word()), "{path}: {status:?}");
        }
    }
}

async fn no_token(shop: &Shop, burglar: &mut Burglar) {
    let paths = table().filter(|(_, least)| *least != Least::Anyone);
    let paths = paths.map(|(path, _)| path);
    for path in paths.chain(["/fettlebook.v1.KitService/NoSuchRpc", "/", "/pair"]) {
        shop.clock.shift(PACE_S);
        let status = burglar.call(path, &[], Vec::new()).await;
        assert_told(&status, "TOKEN_MISSING", "");
    }
}

/// Each rpc by a page without a token, over either version of HTTP, and each that wants more by a page that
/// may only look.
async fn by_pages(shop: &Shop, burglar: &mut Burglar, look: &Token) {
    for version in [Version::HTTP_11, Version::HTTP_2] {
        for (path, least) in table() {
            // A stranger may ask so often on one connection.
            let mut page = Page::open(shop, version, None).await;
            shop.clock.shift(PACE_S);
            let refused = page.call(path, &[]).await.ended();
            assert_told(&refused, "TOKEN_MISSING", "");
            burglar.count += 1;
            if matches!(least, Least::Role(role) if role > Role::Look) {
                let mut page = Page::open(shop, version, Some(look)).await;
                let refused = page.call(path, &[]).await.ended();
                assert_told(&refused, "ROLE_TOO_LOW", "");
                burglar.count += 1;
            }
        }
    }
}

async fn bad_tokens(shop: &Shop, burglar: &mut Burglar, good: &Token) {
    let lost = shop.pair("lost", Role::Own);
    shop.access
        .revoke(&id("lost"), "bench", shop.clock.now())
        .unwrap();
    let elsewhere = Token {
        book_id: Uuid::now_v7(),
        ..good.clone()
    };
    let nobody = Token {
        device_id: Uuid::now_v7(),
        ..good.clone()
    };
    let mut near = good.clone();
    near.secret[31] ^= 1;
    let text = good.to_string();
    let (bearer, parts) = (|text: &str| format!("Bearer {text}"), text.split('.'));
    let parts: Vec<&str> = parts.collect();
    let hyphens = good.book_id.to_string();
    let cases = [
        (vec![bearer(&elsewhere.to_string())], "TOKEN_OTHER_BOOK"),
        (vec![bearer(&lost.to_string())], "DEVICE_REVOKED"),
        (vec![bearer(&nobody.to_string())], "TOKEN_UNKNOWN"),
        (vec![bearer(&near.to_string())], "TOKEN_UNKNOWN"),
        (vec![bearer(&text[..text.len() - 1])], "TOKEN_UNKNOWN"),
        (vec![bearer(&format!("{text}A"))], "TOKEN_UNKNOWN"),
        (vec![bearer(&format!("{text}="))], "TOKEN_UNKNOWN"),
        (vec![bearer(&text.to_uppercase())], "TOKEN_UNKNOWN"),
        (vec![bearer(&text.replace('.', ":"))], "TOKEN_UNKNOWN"),
        (
            vec![bearer(&format!("{}.{}.", parts[0], parts[1]))],
            "TOKEN_UNKNOWN",
        ),
        (
            vec![bearer(&format!("{}..{}", parts[0], parts[2]))],
            "TOKEN_UNKNOWN",
        ),
        (
            vec![bearer(&format!("{}.{}", parts[1], parts[2]))],
            "TOKEN_UNKNOWN",
        ),
        (
            vec![bearer(&format!("{hyphens}.{}.{}", parts[1], parts[2]))],
            "TOKEN_UNKNOWN",
        ),
        (vec![bearer("null")], "TOKEN_UNKNOWN"),
        (vec![bearer("' or 1=1 --")], "TOKEN_UNKNOWN"),
        (vec![bearer(&"x".repeat(8_000))], "TOKEN_UNKNOWN"),
        (vec![bearer("")], "TOKEN_UNKNOWN"),
        (vec!["Bearer".to_owned()], "TOKEN_MISSING"),
        (vec![String::new()], "TOKEN_MISSING"),
        (vec![text.clone()], "TOKEN_MISSING"),
        (vec![format!("Basic {text}")], "TOKEN_MISSING"),
        (vec![bearer(&text), bearer(&text)], "TOKEN_UNKNOWN"),
    ];
    for (headers, wanted) in cases {
        shop.clock.shift(PACE_S);
        let headers: Vec<&str> = headers.iter().map(String::as_str).collect();
        let status = burglar.call(BOOK, &headers, Vec::new()).await;
        assert_told(&status, wanted, "");
    }
    let lower = format!("bearer {text}");
    called(&burglar.channel, BOOK, &[&lower], Vec::new())
        .await
        .unwrap();
}

fn pairing(code: &str, byte_count: usize, byte: u8) -> Vec<u8> {
    let request = v1::PairDeviceRequest {
        code_secret: code.to_owned(),
        token_secret: vec![byte; byte_count],
        ..Default::default()
    };
    request.encode_to_vec()
}

/// A request with a proof and a hash of so many bytes, and perhaps a secret beside them.
fn proving(proof_count: usize, hash_count: usize, code: &str) -> Vec<u8> {
    let request = v1::PairDeviceRequest {
        code_secret: code.to_owned(),
        code_proof: vec![7; proof_count],
        token_hash: vec![7; hash_count],
        ..Default::default()
    };
    request.encode_to_vec()
}

async fn bad_codes(shop: &Shop, burglar: &mut Burglar) {
    const WRONG: &str = "ABCDEFGHIJ234567";
    let used = shop.invite("van-b", Role::Work);
    called(&burglar.channel, PAIR, &[], pairing(&used, 32, 1))
        .await
        .unwrap();
    let late = shop.invite("late", Role::Own);
    shop.clock.shift(600);
    let open = shop.invite("next", Role::Own);
    let cases = [
        (pairing(&used, 32, 2), "CODE_USED", "code_secret"),
        (pairing(&used, 32, 1), "CODE_USED", "code_secret"),
        (pairing(&late, 32, 1), "CODE_EXPIRED", "code_secret"),
        (pairing("", 32, 1), "FIELD_MISSING", "code_secret"),
        (pairing(&open, 0, 1), "FIELD_MISSING", "token_secret"),
        (pairing(&open, 31, 1), "FIELD_INVALID", "token_secret"),
        (pairing(&open, 33, 1), "FIELD_INVALID", "token_secret"),
        (vec![0xFF; 20], "FIELD_INVALID", ""),
        (proving(32, 32, &open), "FIELD_INVALID", "code_proof"),
        (proving(31, 32, ""), "FIELD_INVALID", "code_proof"),
        (proving(0, 32, ""), "FIELD_INVALID", "code_proof"),
        (proving(32, 33, ""), "FIELD_INVALID", "token_hash"),
        (proving(32, 0, ""), "FIELD_INVALID", "token_hash"),
        (proving(32, 32, ""), "CODE_UNKNOWN", "code_secret"),
        (pairing(&"A".repeat(20_000), 32, 1), "FIELD_INVALID", ""),
        (pairing(WRONG, 32, 1), "CODE_UNKNOWN", "code_secret"),
        (pairing(&open[..15], 32, 1), "CODE_UNKNOWN", "code_secret"),
        (
            pairing(&format!("{open}A"), 32, 1),
            "CODE_UNKNOWN",
            "code_secret",
        ),
        (
            pairing("../../devices.json", 32, 1),
            "CODE_UNKNOWN",
            "code_secret",
        ),
    ];
    for (bytes, wanted, field) in cases {
        shop.clock.shift(PACE_S);
        let status = burglar.call(PAIR, &[], bytes).await;
        assert_told(&status, wanted, field);
    }
}

/// Each rpc answers the least role that may call it: the guard is not shut to everyone.
#[tokio::test]
async fn each_rpc_lets_its_least_role_through() {
    let shop = Shop::open().await;
    let channel = shop.channel().await;
    for role in [Role::Look, Role::Work, Role::Keep, Role::Own] {
        let token = shop.pair(role.word(), role);
        let header = format!("Bearer {token}");
        for (path, least) in table() {
            if least != Least::Role(role) {
                continue;
            }
            // An empty message: refused as it makes no sense, or answered, but by the rpc itself.
            if let Err(status) = called(&channel, path, &[&header], Vec::new()).await {
                let reason = reason(&status);
                assert!(
                    !reason.contains("TOKEN") && !reason.contains("ROLE"),
                    "{path}: {status:?}"
                );
                assert_ne!(reason, "", "{path}: {status:?}");
            }
        }
    }
}

#[tokio::test]
async fn the_eleventh_bad_token_in_a_minute_is_told_to_wait_and_a_good_one_passes() {
    let shop = Shop::open().await;
    let channel = shop.channel().await;
    let good = format!("Bearer {}", shop.pair("bench", Role::Look));
    let code = shop.invite("van-a", Role::Work);
    for _ in 0..10 {
        let status = called(&channel, BOOK, &["Bearer x"], Vec::new())
            .await
            .unwrap_err();
        assert_told(&status, "TOKEN_UNKNOWN", "");
    }
    shop.clock.shift(20);
    for headers in [["Bearer x"].as_slice(), &[]] {
        let status = called(&channel, BOOK, headers, Vec::new())
            .await
            .unwrap_err();
        assert_told(&status, "TRIES_USED_UP", "");
        let wait = status.get_details_retry_info().unwrap().retry_delay;
        assert_eq!(wait, Some(std::time::Duration::from_secs(40)));
    }
    let status = called(&channel, PAIR, &[], pairing(&code, 32, 1))
        .await
        .unwrap_err();
    assert_told(&status, "TRIES_USED_UP", "");
    called(&channel, BOOK, &[&good], Vec::new()).await.unwrap();
    shop.clock.shift(40);
    called(&channel, PAIR, &[], pairing(&code, 32, 1))
        .await
        .unwrap();
}
