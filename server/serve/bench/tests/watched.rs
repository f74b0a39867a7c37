//! Entries come to the page by themselves, none left out and none twice, until its device is shut out.

use std::time::Duration;

use super::*;

/// A watch as a browser has it.
struct Watch {
    body: Body,
    text: String,
}

impl Watch {
    async fn open(world: &World, token: &Token, path: &str, last: Option<&str>) -> Self {
        let mut request = asked(&Method::GET, path, Some(token), Body::empty());
        if let Some(last) = last {
            request
                .headers_mut()
                .insert("last-event-id", last.parse().unwrap());
        }
        request
            .extensions_mut()
            .insert(Visit::new([192, 0, 2, 7].into()));
        let answer = world.page.clone().oneshot(request).await.unwrap();
        assert_eq!(answer.status(), StatusCode::OK);
        let kind = &answer.headers()[header::CONTENT_TYPE];
        assert_eq!(kind, "text/event-stream");
        let (_, body) = answer.into_parts();
        let text = String::new();
        Self { body, text }
    }

    /// The next event but signs of life, or nothing at the end.
    async fn next(&mut self) -> Option<String> {
        loop {
            while let Some((event, rest)) = self.text.split_once("\n\n") {
                let (event, rest) = (event.to_owned(), rest.to_owned());
                self.text = rest;
                if event.contains("data: ") {
                    return Some(event);
                }
            }
            let frame = tokio::time::timeout(Duration::from_secs(10), self.body.frame());
            let frame = frame.await.unwrap()?.unwrap();
            self.text
                .push_str(std::str::from_utf8(frame.data_ref().unwrap()).unwrap());
        }
    }
}

/// Source: HTML, "Server-sent events": `id`, `event`, `data`, an empty line after each.
#[tokio::test]
async fn what_is_recorded_comes_to_the_page_until_its_device_is_shut_out() {
    let world = World::open().await;
    world.pair("bench", Role::Own);
    let token = world.pair("van-a", Role::Look);
    let head = world.head();
    let mut watch = Watch::open(
        &world,
        &token,
        &format!("/entries/watch?after={head}"),
        None,
    )
    .await;
    world.move_to("P-01", "van-a").await;
    let event = watch.next().await.unwrap();
    assert!(
        event.starts_with(&format!("id: {}\ndata: {}\n", head + 1, head + 1)),
        "{event}"
    );
    assert!(event.contains("P-01"), "{event}");
    // A browser that comes again says what it got last.
    world.move_to("P-02", "van-a").await;
    let last = (head + 1).to_string();
    let mut again = Watch::open(&world, &token, "/entries/watch?after=0", Some(&last)).await;
    for watch in [&mut watch, &mut again] {
        let event = watch.next().await.unwrap();
        assert!(event.contains("P-02") && !event.contains("P-01"), "{event}");
    }
    let (name, now) = ("van-a".parse().unwrap(), world.clock.now());
    world.access.revoke(&name, "bench", now).unwrap();
    let event = watch.next().await.unwrap();
    assert!(event.starts_with("event: end\ndata: "), "{event}");
    assert_eq!(watch.next().await, None);
    let got = world.get("/entries/watch?after=0", Some(&token)).await;
    assert_eq!(got.status, StatusCode::UNAUTHORIZED, "{got:?}");
}

#[tokio::test]
async fn entries_are_a_plain_list_too_and_older_ones_are_a_page_away() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Look);
    for number in 0..14 {
        world
            .move_to("P-01", if number % 2 == 0 { "van-a" } else { "bench" })
            .await;
    }
    let first = world.get("/entries", Some(&token)).await;
    let head = world.head();
    assert!(
        first.text.contains(&format!("data-seen=\"{head}\"")),
        "{first:?}"
    );
    let mut seen = Vec::new();
    let mut page = first;
    loop {
        let rows = page.text.split("\">Entry ").skip(1);
        let rows = rows.map(|rest| rest.split('<').next().unwrap().parse::<u64>().unwrap());
        seen.extend(rows.collect::<Vec<_>>());
        let Some((_, rest)) = page.text.split_once("&amp;after=") else {
            break;
        };
        let next = rest.split('"').next().unwrap().to_owned();
        page = world
            .get(&format!("/entries?after={next}"), Some(&token))
            .await;
    }
    assert_eq!(seen, (1..=head).rev().collect::<Vec<_>>());
}
