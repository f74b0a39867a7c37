//! A place is counted as it is found, once, and nothing of it is recorded while something of it makes no sense.

use fettlebook_contract::v1::Readiness;
use fettlebook_contract::v1::piece::State;

use super::sheet::Sheet;
use super::*;

/// What is left of a bottle or a sundry, and the towels of a bundle.
fn held(piece: &v1::Piece) -> (i64, i64) {
    match &piece.state {
        Some(State::Bottle(bottle)) => (bottle.left_ul, 0),
        Some(State::Sundry(sundry)) => (sundry.left_quantity, 0),
        Some(State::Bundle(bundle)) => (bundle.clean_count, bundle.soiled_count),
        other => panic!("nothing to count: {other:?}"),
    }
}

async fn form(world: &World, token: &Token) -> Sheet {
    Sheet::of(
        &world.get("/count?place=bench", Some(token)).await,
        "/count",
    )
}

#[tokio::test]
async fn what_is_there_what_is_missing_and_what_was_found_is_recorded_once() {
    let world = World::open().await;
    let token = world.pair("bench", Role::Work);
    world.move_to("P-06", "van-a").await;
    let sheet = form(&world, &token)
        .await
        .with("left.B-01", "380,5")
        .with("left.S-01", "41")
        .with("soiled.T-01", "3")
        .ticked("missing", |tag| tag == "P-02")
        .with("found", "p-06");
    let before = world.head();
    let got = world.send_sheet(&token, &sheet).await;
    let again = world.send_sheet(&token, &sheet).await;
    assert_eq!(got.leads_to(), again.leads_to());
    assert_eq!(world.head(), before + 5);
    assert_eq!(held(&world.piece("B-01").await), (380_500, 0));
    assert_eq!(held(&world.piece("S-01").await), (41, 0));
    assert_eq!(held(&world.piece("T-01").await), (20, 3));
    let missing = world.piece("P-02").await;
    assert_eq!(missing.readiness(), Readiness::Aside);
    assert_eq!(world.piece("P-06").await.place, "bench");
    let shown = world.get(got.leads_to(), Some(&token)).await;
    assert_eq!(
        shown.text.matches("action=\"/undo\"").count(),
        6,
        "{shown:?}"
    );
    assert!(
        shown.text.contains("Missing when bench was counted."),
        "{shown:?}"
    );
}

#[tokio::test]
async fn what_is_lost_for_good_leaves_the_kit() {
    let world = World::open().await;
    let token = world.pair("bench", Role::Work);
    let sheet = form(&world, &token)
        .await
        .ticked("missing", |tag| tag == "P-03")
        .with("meaning", "lost");
    world.send_sheet(&token, &sheet).await.leads_to();
    assert_eq!(world.piece("P-03").await.bin_reason(), v1::BinReason::Lost);
}

#[tokio::test]
async fn a_count_with_something_wrong_in_it_records_nothing_and_keeps_what_was_typed() {
    let world = World::open().await;
    let token = world.pair("bench", Role::Work);
    let right = form(&world, &token)
        .await
        .with("left.B-01", "380")
        .with("left.S-01", "41");
    let before = world.head();
    for (name, typed, tells) in [
        ("left.B-01", "much", "B-01: "),
        // More than the bottle holds: the service knows.
        ("left.B-01", "5 l", "bottle"),
        // The bottle is looked at first, and stays as it is.
        ("left.S-01", "2000000000", "S-01"),
        ("clean.T-01", "1,5", "T-01: "),
        // More than a bundle may have: again the service knows, after what stands before it.
        ("clean.T-01", "20000", "T-01"),
        ("found", "P-99", "P-99"),
        ("found", "P-02 P-02,P-03", "is both missing and here"),
    ] {
        let sheet = right
            .clone()
            .with(name, typed)
            .ticked("missing", |tag| tag == "P-03");
        let got = world.send_sheet(&token, &sheet).await;
        assert_eq!(
            got.status,
            StatusCode::BAD_REQUEST,
            "{name}={typed} {got:?}"
        );
        assert!(got.text.contains(tells), "{name}={typed} {got:?}");
        assert!(got.text.contains("Nothing was recorded."), "{got:?}");
        let back = Sheet::of(&got, "/count");
        assert_eq!(back.value(name), typed);
        let other = if name == "left.S-01" {
            ("left.B-01", "380")
        } else {
            ("left.S-01", "41")
        };
        assert_eq!(back.value(other.0), other.1);
        assert_eq!(world.head(), before, "{name}={typed}");
    }
    let untouched = form(&world, &token).await;
    let got = world.send_sheet(&token, &untouched).await;
    assert_eq!(got.status, StatusCode::BAD_REQUEST, "{got:?}");
    assert!(got.text.contains("all is as the book says"), "{got:?}");
    assert_eq!(world.head(), before);
}
