//! A shop of five hundred pieces: no view is longer than a telephone on a bad line should fetch.

use super::*;

/// Longest view with all it loads, bytes.
const BYTES_MAX: usize = 30_000;

/// More of a make than a shop has.
async fn receive(world: &World, make: &str, tags: Vec<String>) {
    let mut kit = KitServiceClient::new(world.services());
    let asked = v1::ReceiveKitRequest {
        request_id: fresh(),
        make: make.to_owned(),
        tags,
        ..Default::default()
    };
    kit.receive_kit(asked).await.unwrap();
}

#[tokio::test]
async fn no_view_of_five_hundred_pieces_is_longer_than_thirty_kilobytes() {
    let world = World::open().await;
    let numbered = |letter: &str, count: u32| {
        (100..100 + count)
            .map(|number| format!("{letter}-{number}"))
            .collect()
    };
    receive(&world, fettlebook_yard::PAD_MAKE, numbered("P", 390)).await;
    receive(&world, fettlebook_yard::LIQUID_MAKE, numbered("B", 100)).await;
    for number in 0..6 {
        let start = format!("2026-06-04T{:02}:00:00Z", 8 + number);
        world
            .book_at(&format!("another-car-on-thursday-{number}"), &start)
            .await;
    }
    let token = world.pair("bench", Role::Own);
    // All of it is soiled.
    let mut kit = KitServiceClient::new(world.services());
    let tags: Vec<String> = numbered("P", 390);
    let asked = v1::SetAsideRequest {
        request_id: fresh(),
        tags: tags.clone(),
        reason: v1::AsideReason::Inspect.into(),
        ..Default::default()
    };
    kit.set_aside(asked).await.unwrap();
    let asked = v1::ReturnKitRequest {
        request_id: fresh(),
        tags,
        ..Default::default()
    };
    kit.return_kit(asked).await.unwrap();
    let mut loaded = 0;
    for file in ["/page.css", "/page.js", "/icon.svg"] {
        loaded += world.get(file, None).await.text.len();
    }
    for path in [
        "/",
        "/kit",
        "/kit?place=bench",
        "/t/P-100",
        "/wash",
        "/weigh",
        "/check",
        "/check/saloon-thursday",
        "/take",
        "/take/saloon-thursday",
        "/take?day=2026-06-04&place=bench",
        "/log",
        "/log/saloon-thursday",
        "/count?place=bench",
        "/count?place=bench&sort=liquids",
        "/reorder",
        "/entries",
        "/recorded?seq=8&seq=9",
    ] {
        let mut got = world.get(path, Some(&token)).await;
        if got.status == StatusCode::SEE_OTHER {
            got = world.get(got.leads_to(), Some(&token)).await;
        }
        assert_eq!(got.status, StatusCode::OK, "{path}");
        let bytes = got.text.len() + loaded;
        assert!(bytes <= BYTES_MAX, "{path} loads {bytes} bytes");
    }
}
