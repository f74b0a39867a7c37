//! How a telephone comes in by the page, and goes.

use super::*;
use crate::limits::WRONG_TRIES_MAX;

/// What a browser keeps of an answer, and how it was told to.
fn cookie(got: &Got) -> (String, String) {
    let told = got.headers[header::SET_COOKIE].to_str().unwrap();
    let (pair, how) = told.split_once("; ").unwrap();
    let (name, token) = pair.split_once('=').unwrap();
    assert_eq!(name, "__Host-fettlebook");
    (token.to_owned(), how.to_owned())
}

/// A form of pairing with this code.
fn with_code(form: &Got, code: &str) -> String {
    format!("own={}&code={code}", form.field("own"))
}

/// Source: RFC 6265bis, section 4.1.3.2: a cookie of this prefix is Secure, for the path `/`, and has no
/// Domain.
#[tokio::test]
async fn a_code_lets_one_telephone_in_however_often_its_form_is_sent() {
    let world = World::open().await;
    let secret = world.invite("van-a", Role::Work).code.secret;
    let sent = with_code(&world.get("/pair", None).await, &secret);
    let mut tokens = Vec::new();
    for _ in 0..2 {
        let got = world.post("/pair", None, &sent).await;
        assert_eq!(got.leads_to(), "/");
        let (token, how) = cookie(&got);
        for word in [
            "Path=/",
            "Secure",
            "HttpOnly",
            "SameSite=Strict",
            "Max-Age=",
        ] {
            assert!(how.split("; ").any(|part| part.starts_with(word)), "{how}");
        }
        assert!(!how.contains("Domain"), "{how}");
        tokens.push(token);
    }
    assert_eq!(tokens[0], tokens[1]);
    let token: Token = tokens[0].parse().unwrap();
    let got = world.get("/", Some(&token)).await;
    assert!(got.text.contains("van-a at van-a, role work"), "{got:?}");
    let other = with_code(&world.get("/pair", None).await, &secret);
    let got = world.post("/pair", None, &other).await;
    assert_eq!(got.status, StatusCode::FORBIDDEN, "{got:?}");
    assert!(got.headers.get(header::SET_COOKIE).is_none(), "{got:?}");
    world.pair("bench", Role::Own);
    let (name, now) = ("van-a".parse().unwrap(), world.clock.now());
    world.access.revoke(&name, "bench", now).unwrap();
    let got = world.get("/", Some(&token)).await;
    assert_eq!(got.status, StatusCode::UNAUTHORIZED, "{got:?}");
    assert_eq!(cookie(&got).0, "");
}

#[tokio::test]
async fn a_code_is_taken_as_it_is_typed_with_or_without_its_address() {
    let world = World::open().await;
    for (name, letters_alone) in [("van-a", true), ("van-b", false)] {
        let typed = world.invite(name, Role::Work).typed.to_string();
        let letters = typed.rsplit('/').next().unwrap().to_lowercase();
        let code = if letters_alone { letters } else { typed };
        let sent = with_code(&world.get("/", None).await, &code);
        let got = world.post("/pair", None, &sent).await;
        assert_eq!(got.leads_to(), "/", "{code}");
        let token: Token = cookie(&got).0.parse().unwrap();
        let got = world.get("/", Some(&token)).await;
        assert!(got.text.contains(name), "{got:?}");
    }
    let sent = with_code(&world.get("/pair", None).await, "0123-4567-89C");
    let got = world.post("/pair", None, &sent).await;
    assert_eq!(got.status, StatusCode::BAD_REQUEST, "{got:?}");
    assert!(got.text.contains("mistyped"), "{got:?}");
}

#[tokio::test]
async fn a_code_is_open_for_ten_minutes_and_guesses_are_soon_not_looked_at() {
    let world = World::open().await;
    let secret = world.invite("van-a", Role::Work).code.secret;
    world.clock.shift(10 * 60 + 1);
    let form = world.get("/pair", None).await;
    let got = world.post("/pair", None, &with_code(&form, &secret)).await;
    assert_eq!(got.status, StatusCode::FORBIDDEN, "{got:?}");
    let open = world.invite("van-b", Role::Work).code.secret;
    let guess = with_code(&form, "ABCDEFGHIJ234567");
    for _ in 0..WRONG_TRIES_MAX {
        let got = world.post("/pair", None, &guess).await;
        assert_eq!(got.status, StatusCode::FORBIDDEN, "{got:?}");
    }
    let got = world.post("/pair", None, &with_code(&form, &open)).await;
    let too_many = StatusCode::TOO_MANY_REQUESTS;
    assert_eq!(got.status, too_many, "a right code is not looked at either");
    let elsewhere = form_sent("/pair", None, &with_code(&form, &open));
    let got = world.send_from([192, 0, 2, 8].into(), elsewhere).await;
    assert_eq!(got.leads_to(), "/", "whoever guesses keeps no other out");
}

/// A piece's label is scanned by a telephone that is not paired yet: it pairs there, and comes to the piece.
#[tokio::test]
async fn who_pairs_on_the_way_to_a_piece_comes_to_it_and_never_elsewhere() {
    let world = World::open().await;
    for (number, (asked_for, leads_to)) in [
        ("/t/P-01", "/t/P-01"),
        ("/kit?place=bench&after=x", "/kit?place=bench&after=x"),
        ("//evil.example/", "/"),
        ("/\\evil.example", "/"),
        ("https://evil.example/", "/"),
        ("javascript:alert(1)", "/"),
        ("/t/P-01%0d%0aset-cookie:x", "/"),
    ]
    .into_iter()
    .enumerate()
    {
        let code = world.invite(&format!("van-{number}"), Role::Work).typed;
        let form = world.get("/t/P-01", None).await;
        assert_eq!(form.status, StatusCode::UNAUTHORIZED, "{form:?}");
        assert_eq!(form.field("back").replace("&#x2f;", "/"), "/t/P-01");
        let mut sent = form_urlencoded::Serializer::new(String::new());
        sent.append_pair("own", form.field("own"));
        sent.append_pair("code", &code.page_address());
        sent.append_pair("back", asked_for);
        let got = world.post("/pair", None, &sent.finish()).await;
        assert_eq!(got.leads_to(), leads_to, "{asked_for}");
    }
    let own = "own=&back=%2Ft%2FP-01&code=x";
    let got = world.post("/pair", None, own).await;
    assert_eq!(got.field("back").replace("&#x2f;", "/"), "/t/P-01");
}

/// Source: RFC 9110, section 7.2: a browser leaves the usual port out of the host that it names.
#[tokio::test]
async fn a_code_for_the_usual_port_of_https_is_taken_without_it() {
    let world = World::open().await;
    let invite = Invite {
        name: "van-a".parse().unwrap(),
        role: Role::Work,
        by: "local".to_owned(),
        at: Some("bench.example:443".to_owned()),
        again: false,
        office: None,
    };
    let typed = world
        .access
        .invite(&invite, world.clock.now())
        .unwrap()
        .typed;
    let form = world.get("/pair", None).await;
    let fragment = typed.page_address();
    let letters = fragment.rsplit('#').next().unwrap();
    let mut sent = form_sent("/pair", None, &with_code(&form, letters));
    *sent.uri_mut() = "https://bench.example/pair".parse().unwrap();
    let origin = "https://bench.example".parse().unwrap();
    sent.headers_mut().insert(header::ORIGIN, origin);
    assert_eq!(world.send(sent).await.leads_to(), "/");
}

#[tokio::test]
async fn whoever_wants_the_certificate_to_hold_on_to_gets_it() {
    let world = World::open().await;
    let got = world.get("/authority.crt", None).await;
    assert_eq!(
        got.headers[header::CONTENT_TYPE],
        "application/x-x509-ca-cert"
    );
    assert_eq!(got.text.as_bytes(), CERTIFICATE);
}
