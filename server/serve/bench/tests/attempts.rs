//! The table of attempts: every view and every deed, by whoever has no business there, and in every wrong way.

use super::*;

/// Every view, but for that of entries as they come, and the least role that sees it.
pub(super) const VIEWS: [(&str, Role); 20] = [
    ("/", Role::Look),
    ("/kit", Role::Look),
    ("/kit?place=bench", Role::Look),
    ("/kit?place=bench&sort=pads", Role::Look),
    ("/t/P-01", Role::Look),
    ("/wash", Role::Look),
    ("/wash?tag=P-01", Role::Look),
    ("/weigh", Role::Look),
    ("/check/saloon-thursday", Role::Look),
    ("/take", Role::Look),
    ("/take/saloon-thursday", Role::Look),
    ("/take?day=2026-06-04&place=bench", Role::Look),
    ("/log", Role::Look),
    ("/log/saloon-thursday", Role::Work),
    ("/count", Role::Work),
    ("/count?place=bench", Role::Work),
    ("/reorder", Role::Keep),
    ("/entries", Role::Look),
    ("/entry/1", Role::Look),
    ("/recorded?seq=1&seq=2", Role::Look),
];

/// Every deed, with a form that is right but for its id, and the least role that may tell it.
pub(super) const DEEDS: [(&str, &str, Role); 9] = [
    ("/wash", "tag=P-01&seen=999", Role::Work),
    ("/weigh", "gross.B-01=500&seen=999", Role::Work),
    ("/log/saloon-thursday", "seen=999", Role::Work),
    (
        "/take",
        "job=saloon-thursday&picked=saloon-thursday~P-01~cut~1~&which=all&despite.saloon-thursday=so&seen=999",
        Role::Work,
    ),
    ("/give-back", "job=saloon-thursday&seen=999", Role::Work),
    ("/count", "place=bench&missing=P-01&seen=999", Role::Work),
    ("/undo", "seq=1", Role::Work),
    (
        "/reorder",
        "supplier=tern-quay&line=coarse-foam-150~1~1~~&seen=999",
        Role::Keep,
    ),
    (
        "/order/order-1",
        "what=came&came.coarse-foam-150=1&seen=999",
        Role::Keep,
    ),
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
        for (path, _) in VIEWS {
            let got = world.get(path, token).await;
            assert_eq!(got.status, StatusCode::UNAUTHORIZED, "{path} {token:?}");
            assert!(got.text.contains("action=\"/pair\""), "{path} {got:?}");
            // Only what was asked for is named, which leads there once the telephone is paired.
            let text = super::sheet::plain(&got.text).replace(path, "");
            let tells = text.contains("P-01") || text.contains(JOB);
            assert!(!tells, "{path} {got:?}");
            let forgets = got.headers.get(header::SET_COOKIE);
            assert_eq!(forgets.is_some(), token.is_some(), "{path} {got:?}");
            world.clock.shift(60);
        }
        for (path, form, _) in DEEDS {
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
    for (path, least) in VIEWS {
        let got = world.get(path, Some(&token)).await;
        if least > Role::Look {
            assert_ne!(got.status, StatusCode::OK, "{path} {got:?}");
            continue;
        }
        assert_eq!(got.status, StatusCode::OK, "{path} {got:?}");
        assert!(!got.text.contains("method=\"post\""), "{path} {got:?}");
        for closed in ["/log", "/count", "/reorder"] {
            let offer = format!("href=\"{closed}");
            assert!(
                !got.text.contains(&offer),
                "{path} offers {closed}: {got:?}"
            );
        }
        let buttons = got.text.matches("<button").count();
        // The one that opens a piece by its tag records nothing.
        assert_eq!(buttons, usize::from(path == "/kit"), "{path} {got:?}");
    }
    for (path, form, _) in DEEDS {
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
    for (path, least) in VIEWS {
        let got = world.get(path, Some(&token)).await;
        if least > Role::Work {
            assert_eq!(got.status, StatusCode::FORBIDDEN, "{path} {got:?}");
            continue;
        }
        assert_eq!(got.status, StatusCode::OK, "{path} {got:?}");
        let who = "van-a at van-a, role work";
        assert!(got.text.contains(who), "{path} {got:?}");
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
    let deeds = DEEDS.into_iter().map(|(path, form, _)| (path, form));
    for (path, form) in deeds.chain([pairing]) {
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
    for (path, form, _) in DEEDS {
        let got = world.post(path, Some(&token), &long).await;
        assert_eq!(got.status, StatusCode::PAYLOAD_TOO_LARGE, "{path} {got:?}");
        assert!(
            got.text.contains("This form is longer than 64 KiB"),
            "{got:?}"
        );
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
    for path in [
        "/",
        "/kit",
        "/t/P-01",
        "/entries",
        "/entries/watch",
        "/page.css",
    ] {
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
        "/take/saloon-thursday",
        "/count?place=bench",
        "/entries",
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
