//! What is packed on the page is what is taken, and can be given back.

use super::sheet::Sheet;
use super::*;

/// What is taken for a job.
async fn taken(world: &World, job: &str) -> Option<v1::JobTake> {
    let mut jobs = JobServiceClient::new(world.services());
    let asked = v1::GetJobRequest {
        job: job.to_owned(),
    };
    jobs.get_job(asked)
        .await
        .unwrap()
        .into_inner()
        .job
        .unwrap()
        .taken
}

/// Tags of a list to pack by.
fn tags(sheet: &Sheet) -> Vec<String> {
    let ticks = sheet.ticks("packed");
    let mut tags: Vec<String> = ticks
        .iter()
        .map(|value| value.split('~').nth(1).unwrap().to_owned())
        .collect();
    tags.sort();
    tags.dedup();
    tags
}

fn sorted(take: &v1::JobTake) -> Vec<String> {
    let mut tags = take.tags.clone();
    tags.sort();
    tags
}

#[tokio::test]
async fn what_is_ticked_as_packed_is_taken_once_and_can_be_given_back() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let shown = world.get("/take/saloon-thursday", Some(&token)).await;
    assert!(
        shown.text.contains("<legend>At bench</legend>"),
        "{shown:?}"
    );
    let sheet = Sheet::of(&shown, "/take");
    let before = world.head();
    let asks = world.send_sheet(&token, &sheet).await;
    assert_eq!(asks.status, StatusCode::BAD_REQUEST, "{asks:?}");
    assert!(
        asks.text.contains("Not ticked: B-01, BP-01, M-01, P-01"),
        "{asks:?}"
    );
    assert_eq!(world.head(), before);
    let all = Sheet::of(&asks, "/take").ticked("packed", |_| true);
    assert_eq!(all.value("request_id"), sheet.value("request_id"));
    let got = world.send_sheet(&token, &all).await;
    let again = world.send_sheet(&token, &all).await;
    assert_eq!(got.leads_to(), again.leads_to());
    assert_eq!(world.head(), before + 1);
    let take = taken(&world, JOB).await.unwrap();
    assert_eq!((take.by.as_str(), sorted(&take)), ("van-a", tags(&all)));
    let shown = world.get(got.leads_to(), Some(&token)).await;
    assert!(
        shown.text.contains("action=\"&#x2f;undo\"") || shown.text.contains("action=\"/undo\"")
    );
    let shown = world.get("/take/saloon-thursday", Some(&token)).await;
    assert!(shown.text.contains("Taken by van-a."), "{shown:?}");
    assert!(!shown.text.contains("name=\"packed\""), "{shown:?}");
    let back = Sheet::of(&shown, "/give-back");
    world.send_sheet(&token, &back).await.leads_to();
    world.send_sheet(&token, &back).await.leads_to();
    assert_eq!(world.head(), before + 2);
    assert_eq!(taken(&world, JOB).await, None);
}

#[tokio::test]
async fn what_is_left_behind_is_not_taken_where_that_is_said() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Work);
    let shown = world.get("/take/saloon-thursday", Some(&token)).await;
    let left = "S-01";
    let some = Sheet::of(&shown, "/take").ticked("packed", |value| !value.contains(left));
    let asks = world.send_sheet(&token, &some).await;
    assert!(asks.text.contains("Not ticked: S-01."), "{asks:?}");
    let some = Sheet::of(&asks, "/take").with("which", "ticked");
    world.send_sheet(&token, &some).await.leads_to();
    let take = taken(&world, JOB).await.unwrap();
    let mut expected = tags(&some);
    expected.retain(|tag| tag != left);
    assert_eq!(sorted(&take), expected);
}

#[tokio::test]
async fn what_the_check_stops_is_taken_only_with_a_reason_which_stays() {
    let world = World::open().await;
    world.lose_the_pads().await;
    let token = world.pair("van-a", Role::Work);
    let shown = world.get("/take/saloon-thursday", Some(&token)).await;
    assert!(shown.text.contains("The check says stop. Why"), "{shown:?}");
    let all = Sheet::of(&shown, "/take").ticked("packed", |_| true);
    let before = world.head();
    let asks = world.send_sheet(&token, &all).await;
    assert_eq!(asks.status, StatusCode::BAD_REQUEST, "{asks:?}");
    assert!(
        asks.text.contains("role=\"alert\">The check says stop."),
        "{asks:?}"
    );
    assert_eq!(world.head(), before);
    let why = Sheet::of(&asks, "/take").with("despite.saloon-thursday", "New pads come at noon.");
    world.send_sheet(&token, &why).await.leads_to();
    let take = taken(&world, JOB).await.unwrap();
    assert_eq!(take.despite, "New pads come at noon.");
}

#[tokio::test]
async fn a_day_at_a_place_is_packed_at_once_and_each_job_gets_its_own() {
    let world = World::open().await;
    world
        .book_at("second-thursday", "2026-06-04T12:00:00Z")
        .await;
    let token = world.pair("bench", Role::Work);
    let list = world.get("/take", Some(&token)).await;
    assert!(list.text.contains("Thu 4 Jun 2026, bench"), "{list:?}");
    assert!(list.text.contains("All 2 of this day at bench"), "{list:?}");
    let shown = world
        .get("/take?day=2026-06-04&place=bench", Some(&token))
        .await;
    let sheet = Sheet::of(&shown, "/take").ticked("packed", |_| true);
    // The second job may be short of what the first leaves soiled.
    let sheet = ["saloon-thursday", "second-thursday"]
        .iter()
        .fold(sheet, |sheet, job| {
            let asks = shown.text.contains(&format!("name=\"despite.{job}\""));
            if asks {
                sheet.with(&format!("despite.{job}"), "Washed at noon.")
            } else {
                sheet
            }
        });
    let before = world.head();
    let got = world.send_sheet(&token, &sheet).await;
    let recorded = format!("/recorded?seq={}&seq={}", before + 1, before + 2);
    assert_eq!(got.leads_to(), recorded);
    let again = world.send_sheet(&token, &sheet).await;
    assert_eq!(again.leads_to(), recorded);
    assert_eq!(world.head(), before + 2);
    for job in [JOB, "second-thursday"] {
        let of_job: Vec<String> = sheet
            .ticks("packed")
            .iter()
            .filter_map(|value| value.strip_prefix(&format!("{job}~")))
            .map(|value| value.split('~').next().unwrap().to_owned())
            .collect();
        let take = taken(&world, job).await.unwrap();
        assert!(
            take.tags.iter().all(|tag| of_job.contains(tag)),
            "{take:?} {of_job:?}"
        );
    }
    let shown = world.get(&recorded, Some(&token)).await;
    assert!(shown.text.contains("Take all of it back"), "{shown:?}");
    let (_, last) = shown.text.rsplit_once("<form").unwrap();
    let seqs: Vec<&str> = last.split("name=\"seq\" value=\"").skip(1).collect();
    assert_eq!(seqs.len(), 2, "{last}");
    let undo = format!(
        "request_id={}&seq={}&seq={}",
        fresh(),
        before + 1,
        before + 2
    );
    world.post("/undo", Some(&token), &undo).await.leads_to();
    assert_eq!(taken(&world, JOB).await, None);
}

/// A panel with so thin a film is never passed, so nobody is asked why it goes all the same.
#[tokio::test]
async fn what_is_never_passed_offers_no_take() {
    let world = World::open().await;
    let mut jobs = JobServiceClient::new(world.services());
    let bonnet = v1::Panel {
        panel: "bonnet".to_owned(),
        film_um: Some(40),
        ..Default::default()
    };
    let asked = v1::UpdateCarRequest {
        request_id: fresh(),
        car: Some(v1::Car {
            panels: vec![bonnet],
            ..saloon()
        }),
        ..Default::default()
    };
    jobs.update_car(asked).await.unwrap();
    let token = world.pair("van-a", Role::Own);
    let shown = world.get("/take/saloon-thursday", Some(&token)).await;
    assert!(shown.text.contains("This is never passed"), "{shown:?}");
    assert!(!shown.text.contains("action=\"/take\""), "{shown:?}");
    assert!(!shown.text.contains("despite"), "{shown:?}");
    // Told in the first lines of the check, before all that goes.
    let check = world.get("/check/saloon-thursday", Some(&token)).await;
    let verdicts = check.text.split("<strong class=\"verdict ").skip(1);
    let verdicts: Vec<&str> = verdicts
        .map(|rest| rest.split('"').next().unwrap())
        .collect();
    assert_eq!(verdicts[..2], ["stop", "stop"], "{check:?}");
    let order = ["stop", "watch", "go"];
    let places: Vec<_> = verdicts
        .iter()
        .map(|one| order.iter().position(|held| held == one))
        .collect();
    assert!(places.is_sorted(), "{verdicts:?}");
    assert!(verdicts.contains(&"go"), "{verdicts:?}");
}
