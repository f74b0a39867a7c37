//! What is told on the page: once, however often it is sent; with what changed meanwhile; and taken back.

use fettlebook_contract::v1::Readiness;
use fettlebook_contract::v1::piece::State;

use super::sheet::Sheet;
use super::*;

/// What is left in a bottle, µL.
pub(super) fn left_ul(piece: &v1::Piece) -> i64 {
    match &piece.state {
        Some(State::Bottle(bottle)) => bottle.left_ul,
        other => panic!("no bottle: {other:?}"),
    }
}

/// What every form carries: its id, and the last entry that it knows.
pub(super) fn start(form: &Got) -> String {
    let (id, seen) = (form.field("request_id"), form.field("seen"));
    format!("request_id={id}&seen={seen}")
}

#[tokio::test]
async fn a_wash_that_is_sent_twice_counts_once_and_can_be_taken_back() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let form = world.get("/wash?tag=P-01", Some(&token)).await;
    let sent = format!("{}&tag=P-01&tag=p-02&tag=P-01", start(&form));
    let before = world.head();
    let first = world.post("/wash", Some(&token), &sent).await;
    let again = world.post("/wash", Some(&token), &sent).await;
    assert_eq!(first.leads_to(), again.leads_to());
    assert_eq!(world.head(), before + 1);
    assert_eq!(world.piece("P-02").await.readiness(), Readiness::Drying);
    let shown = world.get(first.leads_to(), Some(&token)).await;
    assert!(shown.text.contains("<h1>Recorded</h1>"), "{shown:?}");
    let (id, seq) = (shown.field("request_id"), shown.field("seq"));
    let undo = format!("request_id={id}&seq={seq}");
    let first = world.post("/undo", Some(&token), &undo).await;
    let again = world.post("/undo", Some(&token), &undo).await;
    assert_eq!(first.leads_to(), again.leads_to());
    assert_eq!(world.head(), before + 2);
    assert_eq!(world.piece("P-01").await.readiness(), Readiness::Ready);
    let shown = world.get(first.leads_to(), Some(&token)).await;
    assert!(shown.text.contains("<h1>Taken back</h1>"), "{shown:?}");
}

#[tokio::test]
async fn a_weight_is_read_with_a_comma_and_one_that_is_none_is_asked_for_again() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let form = start(&world.get("/weigh", Some(&token)).await);
    let before = world.head();
    let wrong = format!("{form}&gross.B-01=56o,5");
    let got = world.post("/weigh", Some(&token), &wrong).await;
    assert_eq!(got.status, StatusCode::BAD_REQUEST, "{got:?}");
    assert!(got.text.contains("value=\"56o,5\""), "{got:?}");
    assert_eq!(world.head(), before);
    let comma = format!("{form}&gross.B-01=560,5");
    let got = world.post("/weigh", Some(&token), &comma).await;
    // The same weight by the same form: a form that is sent twice.
    let point = format!("{form}&gross.B-01=560.5");
    let again = world.post("/weigh", Some(&token), &point).await;
    assert_eq!(again.leads_to(), got.leads_to());
    assert_eq!(world.head(), before + 1);
    // The bottle weighs 60.5 g of itself and holds 1 L: half a kilogram of liquid is about half of it.
    let left = left_ul(&world.piece("B-01").await);
    assert!((400_000..600_000).contains(&left), "{left}");
}

#[tokio::test]
async fn a_form_that_is_old_says_what_changed_and_waits_to_be_told_again() {
    let world = World::open().await;
    let mine = world.pair("van-a", Role::Work);
    let other = world.pair("van-b", Role::Work);
    let form = world.get("/wash?tag=P-01", Some(&mine)).await;
    let sent = format!("{}&tag=P-01", start(&form));
    let theirs = world.get("/wash?tag=P-01", Some(&other)).await;
    let washed = format!("{}&tag=P-01", start(&theirs));
    world.post("/wash", Some(&other), &washed).await.leads_to();
    let before = world.head();
    let asks = world.post("/wash", Some(&mine), &sent).await;
    assert_eq!(asks.status, StatusCode::CONFLICT, "{asks:?}");
    let tells = asks.text.contains("van-b") && asks.text.contains("washed");
    assert!(tells, "{asks:?}");
    assert_eq!(world.head(), before);
    assert_eq!(asks.field("request_id"), form.field("request_id"));
    let sent = format!("{}&tag={}", start(&asks), asks.field("tag"));
    world.post("/wash", Some(&mine), &sent).await.leads_to();
    assert_eq!(world.head(), before + 1);
}

/// A telephone's clock may be a day off: what it says of the time is not asked for.
#[tokio::test]
async fn a_deed_is_done_when_the_service_says_whatever_the_telephone_believes() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let sheet = Sheet::of(&world.get("/wash?tag=P-01", Some(&token)).await, "/wash");
    let a_day_off = "Tue, 02 Jun 2026 18:00:00 GMT";
    let mut request = form_sent("/wash", Some(&token), &sheet.encoded());
    for name in [
        header::DATE,
        header::IF_MODIFIED_SINCE,
        header::IF_UNMODIFIED_SINCE,
    ] {
        request
            .headers_mut()
            .insert(name, a_day_off.parse().unwrap());
    }
    world.send(request).await.leads_to();
    let entry = world
        .desk
        .entry(fettlebook_model::Seq(world.head()))
        .await
        .unwrap();
    assert_eq!(entry.done_at, world.clock.now());
    assert_eq!(entry.recorded_at, world.clock.now());
}

#[tokio::test]
async fn a_tag_that_no_piece_has_is_named_and_nothing_is_recorded() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let before = world.head();
    for (path, form) in [
        ("/wash", "tag=P-99&tag=P-01"),
        ("/weigh", "gross.B-99=500&gross.B-01=500"),
    ] {
        let form = format!("request_id={}&seen=999&{form}", fresh());
        let got = world.post(path, Some(&token), &form).await;
        assert_eq!(got.status, StatusCode::NOT_FOUND, "{path} {got:?}");
        assert!(got.text.contains("-99"), "{path} {got:?}");
    }
    assert_eq!(world.head(), before);
}

/// Whoever does not keep the book takes back what they told themselves, so nothing else is offered.
#[tokio::test]
async fn taking_back_is_offered_to_who_may() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let sheet = Sheet::of(&world.get("/wash?tag=P-01", Some(&token)).await, "/wash");
    let washed = world.send_sheet(&token, &sheet).await;
    let offers = "action=\"/undo\"";
    let other = world.pair("van-b", Role::Work);
    let keeper = world.pair("bench", Role::Keep);
    for (who, may) in [(&token, true), (&other, false), (&keeper, true)] {
        let shown = world.get(washed.leads_to(), Some(who)).await;
        assert_eq!(shown.text.contains(offers), may, "{shown:?}");
    }
    let undo = Sheet::of(&world.get(washed.leads_to(), Some(&keeper)).await, "/undo");
    let back = world.send_sheet(&keeper, &undo).await;
    for path in [washed.leads_to(), back.leads_to()] {
        let shown = world.get(path, Some(&keeper)).await;
        assert!(!shown.text.contains(offers), "{path} {shown:?}");
    }
}
