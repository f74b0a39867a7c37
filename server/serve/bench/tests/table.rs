//! Every view and every deed in every wrong way at once, each of them counted: nobody is let in, and nothing is
//! recorded.

use super::attempts::{DEEDS, VIEWS};
use super::*;

/// Roles, from the least.
const ROLES: [Role; 4] = [Role::Look, Role::Work, Role::Keep, Role::Own];

/// Who shows what, where it is not a cookie that lets in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shows {
    /// No cookie.
    Nothing,
    /// A cookie of the right form with another secret.
    WrongSecret,
    /// A cookie that is no token.
    Garbage,
    /// The cookie twice.
    Twice,
    /// The token as other clients show it, in place of the cookie.
    Bearer,
    /// The cookie under a name that any host may set.
    OtherName,
    /// That of a device that was shut out.
    ShutOut,
    /// That of a device of another shop.
    OtherShop,
}

const SHOWN: [Shows; 8] = [
    Shows::Nothing,
    Shows::WrongSecret,
    Shows::Garbage,
    Shows::Twice,
    Shows::Bearer,
    Shows::OtherName,
    Shows::ShutOut,
    Shows::OtherShop,
];

impl Shows {
    /// The header that goes with a request.
    fn header(
        self,
        good: &Token,
        shut_out: &Token,
        elsewhere: &Token,
    ) -> Option<(header::HeaderName, String)> {
        let cookie = |value: String| Some((header::COOKIE, value));
        let named = |token: &Token| cookie(format!("__Host-fettlebook={token}"));
        match self {
            Self::Nothing => None,
            Self::WrongSecret => named(&Token {
                secret: [9; 32],
                ..good.clone()
            }),
            Self::Garbage => cookie("__Host-fettlebook=let-me-in".to_owned()),
            Self::Twice => cookie(format!(
                "__Host-fettlebook={good}; __Host-fettlebook={good}"
            )),
            Self::Bearer => Some((header::AUTHORIZATION, format!("Bearer {good}"))),
            Self::OtherName => cookie(format!("fettlebook={good}")),
            Self::ShutOut => named(shut_out),
            Self::OtherShop => named(elsewhere),
        }
    }
}

/// A request with these headers.
fn with(
    method: &Method,
    path: &str,
    headers: &[(header::HeaderName, String)],
    form: &str,
) -> Request<Body> {
    let body = Body::new(Full::from(form.to_owned()));
    let mut request = asked(method, path, None, body);
    for (name, value) in headers {
        request.headers_mut().append(name, value.parse().unwrap());
    }
    request
}

/// What of the book must not stand in an answer for whoever is not let in.
fn tells(got: &Got, path: &str) -> bool {
    // The form's own secret may happen to spell a tag.
    let text = match got.text.split_once("name=\"own\" value=\"") {
        Some((before, rest)) => format!(
            "{before}{}",
            rest.split_once('"').map_or("", |(_, rest)| rest)
        ),
        None => got.text.clone(),
    };
    let text = text
        .replace("&#x2f;", "/")
        .replace("&amp;", "&")
        .replace(path, "");
    ["B-01", "T-01", "coarse-foam", "class=\"verdict"]
        .iter()
        .any(|word| text.contains(word))
}

/// A world with a device of each role, one that was shut out, and one of another shop.
struct Shops {
    world: World,
    tokens: [Token; 4],
    shut_out: Token,
    elsewhere: Token,
}

impl Shops {
    async fn open() -> Self {
        let world = World::open().await;
        let tokens = ROLES.map(|role| world.pair(role.word(), role));
        let shut_out = world.pair("van-a", Role::Own);
        let name = "van-a".parse().unwrap();
        world
            .access
            .revoke(&name, "own", world.clock.now())
            .unwrap();
        let elsewhere = World::open().await.pair("own", Role::Own);
        Self {
            world,
            tokens,
            shut_out,
            elsewhere,
        }
    }
}

#[tokio::test]
async fn whatever_is_shown_in_place_of_a_good_cookie_nobody_gets_in() {
    let shops = Shops::open().await;
    let world = &shops.world;
    let (before, mut tried) = (world.head(), 0);
    for good in &shops.tokens {
        for shown in SHOWN {
            let header = shown.header(good, &shops.shut_out, &shops.elsewhere);
            let mut headers: Vec<_> = header.into_iter().collect();
            for (path, _) in VIEWS {
                let got = world.send(with(&Method::GET, path, &headers, "")).await;
                assert_eq!(
                    got.status,
                    StatusCode::UNAUTHORIZED,
                    "{path} {shown:?} {got:?}"
                );
                assert!(!tells(&got, path), "{path} {shown:?} {got:?}");
                tried += 1;
                world.clock.shift(60);
            }
            headers.push((header::ORIGIN, ORIGIN.to_owned()));
            for (path, form, _) in DEEDS {
                let form = format!("{form}&request_id={}", fresh());
                let got = world.send(with(&Method::POST, path, &headers, &form)).await;
                assert_eq!(
                    got.status,
                    StatusCode::UNAUTHORIZED,
                    "{path} {shown:?} {got:?}"
                );
                tried += 1;
                world.clock.shift(60);
            }
        }
    }
    assert_eq!(world.head(), before, "something was recorded");
    eprintln!("{tried} attempts without a good cookie, 0 in");
}

/// Source: Fetch, "forbidden request-headers", which no page can set by itself: `Origin`, `Sec-Fetch-Dest`.
#[tokio::test]
async fn with_a_good_cookie_nothing_is_recorded_from_elsewhere_by_another_method_or_beyond_the_role()
 {
    let shops = Shops::open().await;
    let world = &shops.world;
    let (before, mut tried) = (world.head(), 0);
    let from = |origin: &str| (header::ORIGIN, origin.to_owned());
    for (good, role) in shops.tokens.iter().zip(ROLES) {
        let cookie = (header::COOKIE, format!("__Host-fettlebook={good}"));
        for (path, form, least) in DEEDS {
            let form = format!("{form}&request_id={}", fresh());
            let mut wrong: Vec<(Method, Vec<_>)> = vec![
                (Method::POST, vec![]),
                (Method::POST, vec![from("null")]),
                (Method::POST, vec![from("https://evil.example")]),
                (Method::POST, vec![from("http://bench.example:7420")]),
                (Method::POST, vec![from("https://bench.example:7421")]),
                (
                    Method::POST,
                    vec![from("https://evil.example"), from(ORIGIN)],
                ),
                (Method::PUT, vec![from(ORIGIN)]),
                (Method::PATCH, vec![from(ORIGIN)]),
                (Method::DELETE, vec![from(ORIGIN)]),
            ];
            if role < least {
                wrong.push((Method::POST, vec![from(ORIGIN)]));
            }
            for (method, mut headers) in wrong {
                headers.push(cookie.clone());
                let got = world.send(with(&method, path, &headers, &form)).await;
                let refused = got.status.is_client_error();
                assert!(refused, "{method} {path} {role:?} {headers:?} {got:?}");
                tried += 1;
            }
            // What stands behind the question mark is no form.
            let framed = ("sec-fetch-dest".parse().unwrap(), "iframe".to_owned());
            for headers in [vec![cookie.clone()], vec![cookie.clone(), framed]] {
                let asked = format!("{path}?{form}");
                world.send(with(&Method::GET, &asked, &headers, "")).await;
                tried += 1;
            }
            assert_eq!(world.head(), before, "{path} {role:?} was recorded");
        }
        for (path, least) in VIEWS {
            if role < least {
                let got = world
                    .send(with(&Method::GET, path, std::slice::from_ref(&cookie), ""))
                    .await;
                assert_ne!(got.status, StatusCode::OK, "{path} {role:?}");
                tried += 1;
            }
        }
    }
    eprintln!("{tried} attempts with a good cookie, nothing recorded");
}
