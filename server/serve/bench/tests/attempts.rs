//! The table of attempts: every view and every deed, by whoever has no business there, and in every wrong way.

use super::*;

/// Every view.
const VIEWS: [&str; 10] = [
    "/",
    "/kit",
    "/kit?place=bench",
    "/t/P-01",
    "/wash",
    "/wash?tag=P-01",
    "/weigh",
    "/check/saloon-thursday",
    "/log/saloon-thursday",
    "/entry/1",
];

/// Every deed, with a form that is right but for its id.
const DEEDS: [(&str, &str); 4] = [
    ("/wash", "tag=P-01&seen=999"),
    ("/weigh", "gross.B-01=500&seen=999"),
    ("/log/saloon-thursday", "seen=999"),
    ("/undo", "seq=1"),
];

fn with_id(form: &str) -> String {
    format!("{form}&request_id={}", fresh())
}

#[tokio::test]
async fn nobody_without_a_token_that_lets_in_sees_or_does_anything() {
    let world = World::open().await;
    let shut_out = world.pair("van-a", Role::Own);
    world.pair("bench", Role::Own);
    let name = "van-a".parse().unwrap();
    let now = world.clock.now();
    world.access.revoke(&name, "bench", now).unwrap();
    let mut stranger = shut_out.clone();
    stranger.secret = [7; 32];
    let before = world.head();
    for token in [None, Some(&shut_out), Some(&stranger)] {
        for path in VIEWS {
            let got = world.get(path, token).await;
            assert_eq!(got.status, StatusCode::UNAUTHORIZED, "{path} {token:?}");
            assert!(got.text.contains("action=\"/pair\""), "{path} {got:?}");
            let tells = got.text.contains("P-01") || got.text.contains(JOB);
            assert!(!tells, "{path} {got:?}");
            let forgets = got.headers.get(header::SET_COOKIE);
            assert_eq!(forgets.is_some(), token.is_some(), "{path} {got:?}");
            world.clock.shift(60);
        }
        for (path, form) in DEEDS {
            let got = world.post(path, token, &with_id(form)).await;
            assert_eq!(got.status, StatusCode::UNAUTHORIZED, "{path} {token:?}");
            world.clock.shift(60);
        }
    }
    assert_eq!(world.head(), before, "something was recorded");
}

#[tokio::test]
async fn who_may_only_look_sees_every_view_without_a_button_and_tells_nothing() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Look);
    let before = world.head();
    let views = VIEWS.into_iter().filter(|path| !path.starts_with("/log"));
    for path in views {
        let got = world.get(path, Some(&token)).await;
        assert_eq!(got.status, StatusCode::OK, "{path} {got:?}");
        let buttons = got.text.matches("<button").count();
        // The one that opens a piece by its tag records nothing.
        assert_eq!(buttons, usize::from(path == "/kit"), "{path} {got:?}");
    }
    for (path, form) in DEEDS {
        let got = world.post(path, Some(&token), &with_id(form)).await;
        assert_eq!(got.status, StatusCode::FORBIDDEN, "{path} {got:?}");
        assert!(got.text.contains("role"), "{path} {got:?}");
    }
    assert_eq!(world.head(), before, "something was recorded");
}

#[tokio::test]
async fn who_works_sees_every_view_and_what_is_elsewhere_is_not_there() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    for path in VIEWS {
        let got = world.get(path, Some(&token)).await;
        assert_eq!(got.status, StatusCode::OK, "{path} {got:?}");
        let who = "van-a at van-a, role work";
        assert!(got.text.contains(who), "{path} {got:?}");
        let bytes = got.text.len();
        assert!(bytes < 20_000, "{path} has {bytes} bytes");
        for more in ["https://", "http://", "style=", "onclick", "<style", "<img"] {
            assert!(!got.text.contains(more), "{path} has {more}: {got:?}");
        }
    }
    for path in [
        "/no-such",
        "/t/P-99",
        "/check/no-such",
        "/entry/99999",
        "/entry/x",
    ] {
        let got = world.get(path, Some(&token)).await;
        assert_eq!(got.status, StatusCode::NOT_FOUND, "{path} {got:?}");
        let heading = "<h1>There is none</h1>";
        assert!(got.text.contains(heading), "{path} {got:?}");
    }
    let got = world.get("/t/P-99", Some(&token)).await;
    assert!(got.text.contains("P-99"), "{got:?}");
}

/// Source: Fetch, "append a request Origin header": a browser says of every post where it comes from, and
/// `null` where it would not say.
#[tokio::test]
async fn a_post_that_does_not_come_from_the_page_itself_is_not_looked_at() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Own);
    let before = world.head();
    let origins: [&[&str]; 7] = [
        &[],
        &["null"],
        &["https://evil.example"],
        &["http://bench.example:7420"],
        &["https://bench.example"],
        &["https://bench.example:7420.evil.example"],
        &[ORIGIN, ORIGIN],
    ];
    let pairing = ("/pair", "code=ABCDEFGHIJ234567");
    for (path, form) in DEEDS.into_iter().chain([pairing]) {
        for from in origins {
            let body = Body::new(Full::from(with_id(form)));
            let mut request = asked(&Method::POST, path, Some(&token), body);
            for origin in from {
                let origin = origin.parse().unwrap();
                request.headers_mut().append(header::ORIGIN, origin);
            }
            let got = world.send(request).await;
            assert_eq!(got.status, StatusCode::FORBIDDEN, "{path} {from:?} {got:?}");
            assert!(got.text.contains("did not come from the page"), "{got:?}");
        }
    }
    assert_eq!(world.head(), before, "something was recorded");
}

#[tokio::test]
async fn a_post_that_is_too_long_or_no_form_and_a_wrong_method_are_refused() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Own);
    let before = world.head();
    let long = format!("tag=P-01&note={}", "a".repeat(5 * 1024 * 1024));
    for (path, form) in DEEDS {
        let got = world.post(path, Some(&token), &long).await;
        assert_eq!(got.status, StatusCode::PAYLOAD_TOO_LARGE, "{path} {got:?}");
        let body = Body::new(Full::from(with_id(form)));
        let mut request = asked(&Method::POST, path, Some(&token), body);
        let headers = request.headers_mut();
        headers.insert(header::ORIGIN, ORIGIN.parse().unwrap());
        headers.insert(header::CONTENT_TYPE, "text/plain".parse().unwrap());
        let got = world.send(request).await;
        let no_form = StatusCode::UNSUPPORTED_MEDIA_TYPE;
        assert_eq!(got.status, no_form, "{path} {got:?}");
    }
    let got = world.get("/undo", Some(&token)).await;
    assert_eq!(got.status, StatusCode::METHOD_NOT_ALLOWED, "{got:?}");
    for path in ["/", "/kit", "/t/P-01", "/page.css"] {
        let got = world.post(path, Some(&token), "").await;
        assert_eq!(got.status, StatusCode::METHOD_NOT_ALLOWED, "{path} {got:?}");
    }
    assert_eq!(world.head(), before, "something was recorded");
}

/// Source: HTML, "Restrictions on the contents of elements": a `<` in a text begins markup.
#[tokio::test]
async fn a_name_that_is_markup_is_shown_as_it_was_typed() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Own);
    for path in [
        "/kit?place=bench",
        "/t/P-01",
        "/check/saloon-thursday",
        "/log/saloon-thursday",
    ] {
        let got = world.get(path, Some(&token)).await;
        assert!(!got.text.contains("<img"), "{path} {got:?}");
        let escaped = "&lt;img src=x onerror=";
        assert!(got.text.contains(escaped), "{path} {got:?}");
    }
    let encoded = "%3Cscript%3Ealert(1)%3C%2Fscript%3E";
    let typed = format!("gross.B-01={encoded}");
    for got in [
        world.get(&format!("/t/{encoded}"), Some(&token)).await,
        world
            .get(&format!("/kit?place={encoded}"), Some(&token))
            .await,
        world.post("/weigh", Some(&token), &typed).await,
    ] {
        assert_ne!(got.status, StatusCode::OK, "{got:?}");
        let text = got.text.to_ascii_lowercase();
        assert!(text.contains("alert(1)"), "{got:?}");
        assert!(!text.contains("<script>"), "{got:?}");
    }
}
