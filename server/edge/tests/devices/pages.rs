//! Pages: gRPC-Web over both versions of HTTP, always with a token, and read in a browser only where their
//! origin was named.
//!
//! Source: gRPC-Web, <https://github.com/grpc/grpc/blob/master/doc/PROTOCOL-WEB.md>: the types of content, and
//! the frame of trailers, whose first byte has the highest bit set. Of browsers: the Fetch standard, section
//! 3.2, CORS protocol.

use http_body_util::{BodyExt as _, Full};
use hyper::body::{Bytes, Incoming};
use hyper::client::conn::{http1, http2};
use hyper::header::{AUTHORIZATION, CONTENT_TYPE, HeaderMap, HeaderValue, ORIGIN};
use hyper::{Method, StatusCode, Version};
use hyper_util::rt::TokioExecutor;
use prost::Message as _;
use tonic::codegen::http;

use super::super::tcp::serve;
use super::*;
use crate::limits::{MESSAGE_BYTES_MAX, STRANGER_ASKS_MAX};

const GET_BOOK: &str = "/fettlebook.v1.BookService/GetBook";
const WATCH: &str = "/fettlebook.v1.BookService/WatchEntries";
const HEALTH: &str = "/grpc.health.v1.Health/Check";
const PLAIN: &str = "application/grpc-web+proto";
const TEXT: &str = "application/grpc-web-text";
const TRAILERS: u8 = 0x80;

/// A page's connection.
pub(super) struct Page {
    send: Send,
    token: Option<String>,
}

enum Send {
    One(http1::SendRequest<Full<Bytes>>),
    Two(http2::SendRequest<Full<Bytes>>),
}

/// What a page got.
#[derive(Debug)]
pub(super) struct Got {
    status: StatusCode,
    headers: HeaderMap,
    messages: Vec<Vec<u8>>,
    trailers: HeaderMap,
}

impl Got {
    /// How the call ended, from the trailers or the headers.
    pub(super) fn ended(&self) -> Status {
        let from = |map| Status::from_header_map(map);
        from(&self.trailers)
            .or_else(|| from(&self.headers))
            .unwrap_or_else(|| panic!("no end: {self:?}"))
    }
}

/// Bytes of a message with what stands before it.
fn framed(message: &[u8]) -> Vec<u8> {
    let length = u32::try_from(message.len()).unwrap();
    [&[0], length.to_be_bytes().as_slice(), message].concat()
}

/// The messages and trailers of an answer.
fn taken_apart(mut bytes: &[u8]) -> (Vec<Vec<u8>>, HeaderMap) {
    let (mut messages, mut trailers) = (Vec::new(), HeaderMap::new());
    while let [flag, a, b, c, d, rest @ ..] = bytes {
        let length = usize::try_from(u32::from_be_bytes([*a, *b, *c, *d])).unwrap();
        let (frame, after) = rest.split_at(length);
        if *flag == TRAILERS {
            for line in std::str::from_utf8(frame).unwrap().lines() {
                let (name, value) = line.split_once(':').unwrap();
                let name = http::HeaderName::try_from(name).unwrap();
                trailers.insert(name, HeaderValue::from_str(value).unwrap());
            }
        } else {
            messages.push(frame.to_vec());
        }
        bytes = after;
    }
    assert!(bytes.is_empty(), "half a frame: {bytes:?}");
    (messages, trailers)
}

impl Page {
    /// A page that speaks this version.
    pub(super) async fn open(shop: &Shop, version: Version, token: Option<&Token>) -> Self {
        let alpn: &[u8] = match version {
            Version::HTTP_2 => b"h2",
            _ => b"http/1.1",
        };
        let sealed = sealed(shop.address, &shop.authority, SERVICE_NAME, alpn).await;
        let sealed = TokioIo::new(sealed.unwrap());
        let send = if version == Version::HTTP_2 {
            let (send, rest) = http2::handshake(TokioExecutor::new(), sealed)
                .await
                .unwrap();
            tokio::spawn(rest);
            Send::Two(send)
        } else {
            let (send, rest) = http1::handshake(sealed).await.unwrap();
            tokio::spawn(rest);
            Send::One(send)
        };
        let token = token.map(|token| format!("Bearer {token}"));
        Self { send, token }
    }

    /// Sends a request, with its token.
    async fn send(&mut self, mut request: http::Request<Full<Bytes>>) -> http::Response<Incoming> {
        if let Some(token) = &self.token {
            let token = HeaderValue::from_str(token).unwrap();
            request.headers_mut().insert(AUTHORIZATION, token);
        }
        let answer = match &mut self.send {
            Send::One(send) => {
                let path = request.uri().path().parse().unwrap();
                *request.uri_mut() = path;
                send.send_request(request).await
            }
            Send::Two(send) => send.send_request(request).await,
        };
        answer.unwrap()
    }

    /// Calls an rpc with these bytes of a message.
    pub(super) async fn call(&mut self, path: &str, message: &[u8]) -> Got {
        let answer = self.send(asking(path, PLAIN, framed(message))).await;
        read(answer).await
    }
}

fn asking(path: &str, content_type: &str, body: Vec<u8>) -> http::Request<Full<Bytes>> {
    http::Request::post(format!("https://fettled.internal{path}"))
        .header("host", "fettled.internal")
        .header(CONTENT_TYPE, content_type)
        .header("accept", content_type)
        .header("x-grpc-web", "1")
        .body(Full::from(body))
        .unwrap()
}

async fn read(answer: http::Response<Incoming>) -> Got {
    let (head, body) = answer.into_parts();
    let mut bytes = body.collect().await.unwrap().to_bytes().to_vec();
    let kind = head.headers.get(CONTENT_TYPE).map(HeaderValue::as_bytes);
    if kind.is_some_and(|kind| kind.starts_with(TEXT.as_bytes())) {
        bytes = unsealed(&bytes);
    }
    let ours = kind.is_some_and(|kind| kind.starts_with(b"application/grpc-web"));
    let (messages, trailers) = if ours {
        taken_apart(&bytes)
    } else {
        (vec![bytes], HeaderMap::new())
    };
    Got {
        status: head.status,
        headers: head.headers,
        messages,
        trailers,
    }
}

/// The bytes of base64, of which several may stand one behind the other, each with its end.
fn unsealed(text: &[u8]) -> Vec<u8> {
    let four = text.chunks(4);
    four.flat_map(|four| data_encoding::BASE64.decode(four).unwrap())
        .collect()
}

const BOTH: [Version; 2] = [Version::HTTP_11, Version::HTTP_2];

#[tokio::test]
async fn a_page_records_and_reads_as_its_device_may() {
    let shop = Shop::open().await;
    let (keep, look) = (
        shop.pair("bench", Role::Keep),
        shop.pair("phone", Role::Look),
    );
    for (number, version) in BOTH.into_iter().enumerate() {
        let mut page = Page::open(&shop, version, Some(&keep)).await;
        let id = format!("coarse-foam-{number}");
        let request = v1::CreateMakeRequest {
            request_id: fresh(),
            make: Some(coarse_foam(&id, 150)),
        };
        let path = "/fettlebook.v1.KitService/CreateMake";
        let got = page.call(path, &request.encode_to_vec()).await;
        assert_eq!(
            (got.status, got.ended().code()),
            (StatusCode::OK, tonic::Code::Ok)
        );
        assert_eq!(got.headers[CONTENT_TYPE], PLAIN);
        assert_eq!(
            got.headers[ROLE], "keep",
            "what the device is here comes along"
        );
        let made = v1::CreateMakeResponse::decode(got.messages[0].as_slice()).unwrap();
        assert_eq!(made.entry.unwrap().by, "bench");
        let again = page.call(path, &request.encode_to_vec()).await;
        assert_eq!(
            again.messages, got.messages,
            "a retry gets the first answer"
        );

        let mut other = Page::open(&shop, version, Some(&look)).await;
        let refused = other.call(path, &request.encode_to_vec()).await;
        assert_told(&refused.ended(), "ROLE_TOO_LOW", "");
        let refused = page.call(path, &[0xFF]).await;
        assert_told(&refused.ended(), "FIELD_INVALID", "");
    }
    assert_eq!(shop.desk.standing().head.seq.0, 2);
}

#[tokio::test]
async fn what_cannot_carry_bytes_is_answered_in_text() {
    let shop = Shop::open().await;
    let token = shop.pair("bench", Role::Look);
    for version in BOTH {
        let mut page = Page::open(&shop, version, Some(&token)).await;
        let text = data_encoding::BASE64.encode(&framed(&[]));
        let got = read(page.send(asking(GET_BOOK, TEXT, text.into())).await).await;
        assert_eq!(got.ended().code(), tonic::Code::Ok);
        let book = v1::GetBookResponse::decode(got.messages[0].as_slice()).unwrap();
        assert_eq!(book.caller, "bench");
        let got = read(
            page.send(asking(GET_BOOK, TEXT, b"no base64".to_vec()))
                .await,
        )
        .await;
        let told = got.ended();
        assert_told(&told, "FIELD_INVALID", "");
        assert!(!told.message().contains("tonic"), "{told:?}");
    }
}

/// What a browser asks for by itself goes to the page at the bench, and a call on the same connection goes on.
#[tokio::test]
async fn a_browser_gets_the_page_at_the_bench_beside_calls() {
    let shop = Shop::open().await;
    let token = shop.pair("bench", Role::Keep);
    for version in BOTH {
        let mut page = Page::open(&shop, version, Some(&token)).await;
        for (cookie, status) in [
            (None, StatusCode::UNAUTHORIZED),
            (Some(&token), StatusCode::OK),
        ] {
            let mut get = asking("/", "", Vec::new());
            *get.method_mut() = Method::GET;
            get.headers_mut().remove(CONTENT_TYPE);
            if let Some(token) = cookie {
                let cookie = format!("__Host-fettlebook={token}").parse().unwrap();
                get.headers_mut().insert(hyper::header::COOKIE, cookie);
            }
            let got = read(page.send(get).await).await;
            assert_eq!(got.status, status, "a bearer's token is no cookie");
            assert_eq!(got.headers[CONTENT_TYPE], "text/html; charset=utf-8");
        }
        let form = "application/x-www-form-urlencoded";
        let mut post = asking("/wash", form, b"tag=P-01".to_vec());
        let elsewhere = HeaderValue::from_static("https://evil.example");
        post.headers_mut().insert(ORIGIN, elsewhere);
        let got = read(page.send(post).await).await;
        assert_eq!(got.status, StatusCode::FORBIDDEN);
        assert_eq!(
            page.call(GET_BOOK, &[]).await.ended().code(),
            tonic::Code::Ok
        );
    }
}

/// The limits of a message hold, and a page that comes for something else is told what this is.
#[tokio::test]
async fn too_much_and_what_is_no_call_is_refused_over_both() {
    let shop = Shop::open().await;
    let token = shop.pair("bench", Role::Keep);
    for version in BOTH {
        let mut page = Page::open(&shop, version, Some(&token)).await;
        let long = vec![b'A'; MESSAGE_BYTES_MAX + 1];
        let got = page.call("/fettlebook.v1.KitService/WashKit", &long).await;
        assert_told(&got.ended(), "FIELD_INVALID", "");
        let mut page = Page::open(&shop, version, Some(&token)).await;
        let mut get = asking(GET_BOOK, PLAIN, Vec::new());
        *get.method_mut() = Method::GET;
        assert_eq!(
            page.send(get).await.status(),
            StatusCode::METHOD_NOT_ALLOWED
        );
    }
    let mut page = Page::open(&shop, Version::HTTP_11, Some(&token)).await;
    for kind in ["application/grpc", "application/json", "text/html"] {
        let got = read(page.send(asking("/", kind, Vec::new())).await).await;
        assert_eq!(got.status, StatusCode::UNSUPPORTED_MEDIA_TYPE);
        let says = String::from_utf8(got.messages[0].clone()).unwrap();
        assert!(says.contains("gRPC-Web"), "{says}");
    }
}

/// Neither pairing nor the service's health is open to a page: it might be any page at all.
#[tokio::test]
async fn a_page_without_a_token_gets_nothing_not_even_the_health() {
    let shop = Shop::open().await;
    let token = shop.pair("bench", Role::Look);
    for version in BOTH {
        let mut page = Page::open(&shop, version, None).await;
        for path in [
            HEALTH,
            "/fettlebook.v1.AccessService/PairDevice",
            GET_BOOK,
            "/",
        ] {
            let got = page.call(path, &[]).await;
            assert_told(&got.ended(), "TOKEN_MISSING", "");
            assert!(got.messages.is_empty(), "{got:?}");
        }
        let mut page = Page::open(&shop, version, Some(&token)).await;
        assert_eq!(page.call(HEALTH, &[]).await.ended().code(), tonic::Code::Ok);
        shop.clock.shift(60);
    }
}

/// Whoever is on this machine needs no token there, but a page on it does, whatever it asks for.
#[tokio::test]
async fn where_nobody_needs_a_token_a_page_is_not_let_in() {
    let served = serve().await;
    let address = served.address;
    let tcp = TcpStream::connect(address).await.unwrap();
    let (mut send, rest) = http2::handshake(TokioExecutor::new(), TokioIo::new(tcp))
        .await
        .unwrap();
    tokio::spawn(rest);
    for path in [GET_BOOK, HEALTH] {
        let answer = send.send_request(asking(path, PLAIN, framed(&[]))).await;
        let got = read(answer.unwrap()).await;
        assert_told(&got.ended(), "TOKEN_MISSING", "");
    }
    let ordinary = asking(GET_BOOK, "application/grpc", framed(&[]));
    let answer = send.send_request(ordinary).await.unwrap();
    let trailers = answer.into_body().collect().await.unwrap();
    assert_eq!(trailers.trailers().unwrap()["grpc-status"], "0");
    let tcp = TcpStream::connect(address).await.unwrap();
    let (mut send, rest) = http1::handshake(TokioIo::new(tcp)).await.unwrap();
    tokio::spawn(rest);
    let refused = send
        .send_request(asking(GET_BOOK, PLAIN, framed(&[])))
        .await;
    assert!(refused.is_err(), "HTTP/1.1 is spoken over TLS alone");
}

/// A watch goes on until its device is shut out, and says at its end why.
#[tokio::test]
async fn a_page_watches_the_book_until_its_device_is_shut_out() {
    let shop = Shop::open().await;
    let (keep, phone) = (
        shop.pair("bench", Role::Keep),
        shop.pair("phone", Role::Look),
    );
    for (number, version) in BOTH.into_iter().enumerate() {
        let mut watching = Page::open(&shop, version, Some(&phone)).await;
        let after_seq = i64::try_from(number).unwrap();
        // The field 1, `after_seq`, of a watch.
        let asked = [1 << 3, u8::try_from(number).unwrap()];
        let mut answer = watching.send(asking(WATCH, PLAIN, framed(&asked))).await;
        let request = v1::CreateMakeRequest {
            request_id: fresh(),
            make: Some(coarse_foam(&format!("coarse-foam-{number}"), 150)),
        };
        let mut kit = KitServiceClient::new(shop.channel().await);
        kit.create_make(with(&keep, request)).await.unwrap();
        let frame = answer.frame().await.unwrap().unwrap().into_data().unwrap();
        let (messages, _) = taken_apart(&frame);
        let seen = v1::WatchEntriesResponse::decode(messages[0].as_slice()).unwrap();
        assert_eq!(seen.entry.unwrap().seq, after_seq + 1);
        if number == 1 {
            shop.access
                .revoke(&id("phone"), "bench", shop.clock.now())
                .unwrap();
            let ended = read(answer).await;
            assert_told(&ended.ended(), "DEVICE_REVOKED", "");
        }
    }
}

/// Who asks again and again without a token is closed, though HTTP answers before the guard sees it.
#[tokio::test]
async fn over_http_1_too_a_stranger_asks_so_often_and_no_more() {
    let shop = Shop::open().await;
    for kind in [PLAIN, "text/html"] {
        let mut page = Page::open(&shop, Version::HTTP_11, None).await;
        let Send::One(send) = &mut page.send else {
            panic!("HTTP/1.1")
        };
        let mut answered = 0;
        while answered <= 2 * STRANGER_ASKS_MAX {
            let mut request = asking(GET_BOOK, kind, framed(&[]));
            *request.uri_mut() = GET_BOOK.parse().unwrap();
            let Ok(answer) = send.send_request(request).await else {
                break;
            };
            if answer.into_body().collect().await.is_err() || send.ready().await.is_err() {
                break;
            }
            answered += 1;
        }
        assert!(
            answered.abs_diff(STRANGER_ASKS_MAX) <= 2,
            "{kind}: {answered}"
        );
    }
}

/// The question of a browser before the first call of a page from elsewhere, and what it may read then.
async fn asked_by(shop: &Shop, version: Version, origin: &str) -> (HeaderMap, HeaderMap) {
    let token = shop.pair(
        &format!("phone-{}", fresh()[24..].to_lowercase()),
        Role::Look,
    );
    let mut page = Page::open(shop, version, Some(&token)).await;
    let origin = HeaderValue::from_str(origin).unwrap();
    let mut preflight = http::Request::options(format!("https://fettled.internal{GET_BOOK}"))
        .header("host", "fettled.internal")
        .header(ORIGIN, origin.clone())
        .header("access-control-request-method", "POST")
        .header(
            "access-control-request-headers",
            "authorization,content-type,x-grpc-web",
        )
        .body(Full::default())
        .unwrap();
    preflight.headers_mut().insert(ORIGIN, origin.clone());
    let before = page.send(preflight).await.headers().clone();
    let mut request = asking(GET_BOOK, PLAIN, framed(&[]));
    request.headers_mut().insert(ORIGIN, origin);
    let got = read(page.send(request).await).await;
    (before, got.headers)
}

#[tokio::test]
async fn a_browser_lets_a_page_read_answers_only_where_its_origin_was_named() {
    const NAMED: &str = "https://bench.example";
    let shop = Shop::open().await;
    for version in BOTH {
        let (before, after) = asked_by(&shop, version, NAMED).await;
        for headers in [before, after] {
            assert!(
                !headers.contains_key("access-control-allow-origin"),
                "{headers:?}"
            );
        }
    }
    let folder = shop.close().await;
    let origins = vec![HeaderValue::from_static(NAMED)];
    let shop = Shop::open_for(folder, origins).await;
    for version in BOTH {
        let (before, after) = asked_by(&shop, version, NAMED).await;
        assert_eq!(before["access-control-allow-origin"], NAMED);
        assert_eq!(before["access-control-allow-methods"], "POST");
        assert!(!before.contains_key("access-control-allow-credentials"));
        let allowed = before["access-control-allow-headers"].to_str().unwrap();
        for header in [
            "authorization",
            "content-type",
            "x-grpc-web",
            "grpc-timeout",
        ] {
            assert!(allowed.contains(header), "{allowed}");
        }
        assert_eq!(after["access-control-allow-origin"], NAMED);
        let read = after["access-control-expose-headers"].to_str().unwrap();
        for header in [
            "grpc-status",
            "grpc-message",
            "grpc-status-details-bin",
            ROLE,
        ] {
            assert!(read.contains(header), "{read}");
        }
        for other in [
            "https://elsewhere.example",
            "https://bench.example.elsewhere.example",
            "null",
        ] {
            let (before, after) = asked_by(&shop, version, other).await;
            for headers in [before, after] {
                assert!(
                    !headers.contains_key("access-control-allow-origin"),
                    "{other}: {headers:?}"
                );
            }
        }
    }
}
