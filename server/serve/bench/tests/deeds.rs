//! What is told on the page: once, however often it is sent; with what changed meanwhile; and taken back.

use fettlebook_contract::v1::Readiness;
use fettlebook_contract::v1::piece::State;

use super::*;

/// What is left in a bottle, µL.
fn left_ul(piece: &v1::Piece) -> i64 {
    match &piece.state {
        Some(State::Bottle(bottle)) => bottle.left_ul,
        other => panic!("no bottle: {other:?}"),
    }
}

/// What every form carries: its id, and the last entry that it knows.
fn start(form: &Got) -> String {
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

#[tokio::test]
async fn a_job_is_logged_as_it_was_shown_with_a_torn_pad_and_a_weight() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let form = world.get("/log/saloon-thursday", Some(&token)).await;
    let picked = form.text.split("name=\"picked\" value=\"").skip(1);
    let picked: Vec<&str> = picked.map(|rest| rest.split('"').next().unwrap()).collect();
    assert!(picked.len() > 3, "{form:?}");
    let torn = form.field("torn").to_owned();
    let mut sent = format!("{}&torn={torn}&gross.B-01=560,5", start(&form));
    for one in picked {
        // As the template engine writes a stroke.
        sent.push_str("&picked=");
        sent.push_str(&one.replace("&#x2f;", "/"));
    }
    let before = world.head();
    let path = "/log/saloon-thursday";
    let got = world.post(path, Some(&token), &sent).await;
    let again = world.post(path, Some(&token), &sent).await;
    assert_eq!(again.leads_to(), got.leads_to());
    assert_eq!(world.head(), before + 1);
    assert_eq!(world.piece(&torn).await.bin_reason(), v1::BinReason::Torn);
    let left = left_ul(&world.piece("B-01").await);
    assert!((400_000..600_000).contains(&left), "{left}");
    let shown = world.get("/", Some(&token)).await;
    assert!(!shown.text.contains(JOB), "{shown:?}");
}
