//! A job is logged as it was shown, with what was otherwise.

use super::deeds::{left_ul, start};
use super::sheet::Sheet;
use super::*;

const PATH: &str = "/log/saloon-thursday";

#[tokio::test]
async fn a_job_is_logged_as_it_was_shown_with_a_torn_pad_and_a_weight() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let form = world.get(PATH, Some(&token)).await;
    let picked = form.text.split("name=\"picked\" value=\"").skip(1);
    let picked: Vec<&str> = picked.map(|rest| rest.split('"').next().unwrap()).collect();
    assert!(picked.len() > 3, "{form:?}");
    let torn = form.field("torn").to_owned();
    let mut sent = format!("{}&torn={torn}&gross.B-01=560,5", start(&form));
    for one in picked {
        sent.push_str("&picked=");
        sent.push_str(one);
    }
    let before = world.head();
    let got = world.post(PATH, Some(&token), &sent).await;
    let again = world.post(PATH, Some(&token), &sent).await;
    assert_eq!(again.leads_to(), got.leads_to());
    assert_eq!(world.head(), before + 1);
    assert_eq!(world.piece(&torn).await.bin_reason(), v1::BinReason::Torn);
    let left = left_ul(&world.piece("B-01").await);
    assert!((400_000..600_000).contains(&left), "{left}");
    let shown = world.get("/", Some(&token)).await;
    assert!(!shown.text.contains(JOB), "{shown:?}");
}

async fn form(world: &World, token: &Token) -> Sheet {
    Sheet::of(&world.get(PATH, Some(token)).await, PATH)
}

/// What the last entry says, by the kind of what happened.
async fn deeds(world: &World, kind: v1::DeedKind) -> Vec<v1::Deed> {
    let mut book = BookServiceClient::new(world.services());
    let seq = i64::try_from(world.head()).unwrap();
    let entry = book.get_entry(v1::GetEntryRequest { seq }).await.unwrap();
    let deeds = entry.into_inner().entry.unwrap().deeds;
    deeds
        .into_iter()
        .filter(|deed| deed.kind() == kind)
        .collect()
}

#[tokio::test]
async fn one_tap_records_a_job_as_planned() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let list = world.get("/log", Some(&token)).await;
    assert!(
        list.text.contains("href=\"/log/saloon-thursday\""),
        "{list:?}"
    );
    let sheet = form(&world, &token).await;
    let before = world.head();
    let got = world.send_sheet(&token, &sheet).await;
    assert_eq!(got.leads_to(), format!("/entry/{}", before + 1));
    let shown = world.get(got.leads_to(), Some(&token)).await;
    let undo = Sheet::of(&shown, "/undo");
    world.send_sheet(&token, &undo).await.leads_to();
    assert_eq!(world.head(), before + 2);
}

#[tokio::test]
async fn what_was_otherwise_is_recorded_as_it_was() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let sheet = form(&world, &token).await;
    let pads = sheet.ticks("torn");
    let (torn, swapped) = (pads[0].clone(), pads[1].clone());
    let sent = sheet
        .with("minutes", "95,5")
        .with("person", "the helper")
        .with("towels.T-01", "9")
        .with("fell", "2")
        .with(&format!("swap.{swapped}"), "p-06")
        .ticked("torn", |tag| tag == torn)
        .ticked("dropped", |tag| tag == swapped)
        .ticked("left_out", |panel| panel == "roof")
        .with("note", "Roof is glass.");
    world.send_sheet(&token, &sent).await.leads_to();
    let ran = deeds(&world, v1::DeedKind::MachineUsed).await;
    let ran_ms: i64 = ran.iter().filter_map(|deed| deed.time_ms).sum();
    // 95.5 min of 60 000 ms.
    assert_eq!(ran_ms, 5_730_000, "{ran:?}");
    let towels = deeds(&world, v1::DeedKind::TowelsUsed).await;
    let soiled: i64 = towels.iter().filter_map(|deed| deed.count).sum();
    assert_eq!(soiled, 9, "{towels:?}");
    assert!(towels[0].text.contains("2 of them dropped"), "{towels:?}");
    assert_eq!(world.piece(&torn).await.bin_reason(), v1::BinReason::Torn);
    // What fell is the pad that stood in.
    assert_eq!(
        world.piece("P-06").await.aside_reason(),
        v1::AsideReason::Dropped
    );
    assert_eq!(
        world.piece(&swapped).await.readiness(),
        v1::Readiness::Ready
    );
    let done = deeds(&world, v1::DeedKind::JobDone).await;
    assert!(
        done[0].text.contains("done by the helper, without roof"),
        "{done:?}"
    );
}

#[tokio::test]
async fn what_makes_no_sense_is_asked_for_again_and_what_was_typed_stays() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let sheet = form(&world, &token).await;
    let before = world.head();
    for (name, typed, tells) in [
        ("gross.B-01", "56o,5", "B-01: "),
        ("minutes", "soon", "Minutes: "),
        ("minutes", "0", "between 1 min and"),
        ("towels.T-01", "1,5", "T-01: "),
        ("fell", "-1", "Towels that fell: "),
        ("swap.P-01", "P-99", "P-99"),
    ] {
        let wrong = sheet.clone().with(name, typed).with("note", "as it is");
        let got = world.send_sheet(&token, &wrong).await;
        assert_eq!(got.status, StatusCode::BAD_REQUEST, "{name} {got:?}");
        assert!(got.text.contains(tells), "{name}={typed} {got:?}");
        let back = Sheet::of(&got, PATH);
        assert_eq!((back.value(name), back.value("note")), (typed, "as it is"));
        assert_eq!(back.value("request_id"), sheet.value("request_id"));
        assert_eq!(world.head(), before, "{name}");
    }
}

#[tokio::test]
async fn a_log_of_a_pad_that_went_meanwhile_says_so_first() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let sheet = form(&world, &token).await;
    let pad = sheet.ticks("torn")[0].clone();
    world.move_to(&pad, "van-b").await;
    let before = world.head();
    let asks = world.send_sheet(&token, &sheet).await;
    assert_eq!(asks.status, StatusCode::CONFLICT, "{asks:?}");
    assert!(
        asks.text.contains(&pad) && asks.text.contains("van-b"),
        "{asks:?}"
    );
    assert_eq!(world.head(), before);
    let told = Sheet::of(&asks, PATH);
    world.send_sheet(&token, &told).await.leads_to();
    assert_eq!(world.head(), before + 1);
}
