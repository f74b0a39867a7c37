//! A day with the service: check, log, look, reverse, verify.

use fettlebook_contract::v1;
use fettlebook_contract::v1::piece::State;

use super::{World, assert_told, fresh, words};
use crate::edge::tests::Answered as _;

fn log() -> v1::LogUseRequest {
    v1::LogUseRequest {
        request_id: fresh(),
        job: "saloon-thursday".to_owned(),
        ..Default::default()
    }
}

#[tokio::test]
async fn a_preview_says_what_the_log_will_say_and_writes_nothing() {
    let world = World::shop().await;
    let before = world.journal();
    let preview = v1::LogUseRequest {
        validate_only: true,
        ..log()
    };
    let preview = world.jobs().log_use(preview).answer().await.entry.unwrap();
    assert_eq!(preview.seq, 0);
    assert_eq!(world.journal(), before);
    let logged = world.jobs().log_use(log()).answer().await.entry.unwrap();
    assert_eq!(logged.seq, 16);
    assert_eq!(logged.deeds, preview.deeds);
    assert!(logged.deeds.iter().all(|deed| deed.text.ends_with('.')));
    let used = logged
        .deeds
        .iter()
        .find(|deed| deed.kind() == v1::DeedKind::PadUsed)
        .unwrap();
    assert_eq!(
        (used.job.as_str(), used.step.as_str()),
        ("saloon-thursday", "cut")
    );
    assert!(used.work_micro_sections > Some(0) && used.time_ms > Some(0));
}

#[tokio::test]
async fn a_bottle_that_is_weighed_in_a_log_is_told_with_one_figure() {
    let world = World::shop().await;
    let weighed = v1::LogUseRequest {
        weighings: vec![v1::Weighing {
            bottle: "B-01".to_owned(),
            gross_mg: 610_500,
        }],
        ..log()
    };
    let answer = world.jobs().log_use(weighed).answer().await;
    let entry = answer.entry.unwrap();
    let of_bottle = entry.deeds.iter().filter(|deed| deed.subject == "B-01");
    let told: Vec<&str> = of_bottle.map(|deed| deed.text.as_str()).collect();
    // (610.5 g − 60.5 g) / 1.10 g/mL.
    let expected = [
        "B-01 was used; its weight says how much.",
        "B-01 weighed 610.5 g: 500 mL left.",
    ];
    assert_eq!(told, expected);
    let Some(State::Bottle(bottle)) = world.piece("B-01").await.state else {
        panic!()
    };
    assert_eq!(bottle.left_ul, 500_000);
}

#[tokio::test]
async fn logging_wears_pads_and_a_reversal_takes_it_back() {
    let world = World::shop().await;
    let Some(State::Pad(fresh_pad)) = world.piece("P-01").await.state else {
        panic!()
    };
    assert_eq!(
        (fresh_pad.damage, fresh_pad.band()),
        (0.0, v1::WearBand::Sound)
    );
    let logged = world.jobs().log_use(log()).answer().await.entry.unwrap();
    let piece = world.piece("P-01").await;
    let Some(State::Pad(pad)) = piece.state else {
        panic!()
    };
    assert!(pad.damage > 0.0);
    assert_eq!(
        (piece.readiness, piece.last_seq),
        (v1::Readiness::Soiled.into(), logged.seq)
    );

    let request = v1::ReverseEntryRequest {
        request_id: fresh(),
        seq: logged.seq,
        ..Default::default()
    };
    let reversed = world
        .book()
        .reverse_entry(request)
        .answer()
        .await
        .entry
        .unwrap();
    assert_eq!(reversed.deeds[0].reverses_seq, Some(logged.seq));
    let Some(State::Pad(pad)) = world.piece("P-01").await.state else {
        panic!()
    };
    assert_eq!(pad, fresh_pad);
    let request = v1::GetEntryRequest { seq: logged.seq };
    let read = world
        .book()
        .get_entry(request)
        .answer()
        .await
        .entry
        .unwrap();
    assert_eq!(read.reversed_by_seq, Some(reversed.seq));
    assert_eq!(
        v1::Entry {
            reversed_by_seq: None,
            ..read
        },
        logged
    );
}

#[tokio::test]
async fn the_next_job_is_checked_when_none_is_named() {
    let world = World::shop().await;
    let check = v1::CheckJobsRequest::default();
    let checked = world.jobs().check_jobs(check.clone()).answer().await;
    assert_eq!(checked.checks.len(), 1);
    let check_of_job = &checked.checks[0];
    assert_eq!(
        (check_of_job.job.as_str(), check_of_job.place.as_str()),
        ("saloon-thursday", "bench")
    );
    assert_eq!(check_of_job.verdict, checked.verdict);
    let pads = check_of_job
        .lines
        .iter()
        .find(|line| line.kind() == v1::CheckLineKind::Pad)
        .unwrap();
    assert_eq!((pads.step.as_str(), pads.unit()), ("cut", v1::Unit::Piece));
    let request = v1::PlanJobRequest {
        job: "saloon-thursday".to_owned(),
    };
    let plan = world.jobs().plan_job(request).answer().await.plan;
    assert_eq!(check_of_job.plan, plan);

    let off = v1::CallOffJobRequest {
        request_id: fresh(),
        job: "saloon-thursday".to_owned(),
        ..Default::default()
    };
    world.jobs().call_off_job(off).await.unwrap();
    // Where no job is booked there is nothing to check, and nothing said to go.
    let nothing = world.jobs().check_jobs(check).answer().await;
    assert_eq!(nothing, v1::CheckJobsResponse::default());
    let named = v1::CheckJobsRequest {
        jobs: vec!["never".to_owned()],
        ..Default::default()
    };
    let status = world.jobs().check_jobs(named).await.unwrap_err();
    assert_told(&status, "JOB_UNKNOWN", "jobs");
}

#[tokio::test]
async fn a_loose_use_is_logged_with_its_step() {
    let world = World::shop().await;
    let step = v1::Step {
        machine_make: "orbital-150".to_owned(),
        pad_make: "coarse-foam-150".to_owned(),
        liquid_make: "coarse-compound-1-l".to_owned(),
        ..Default::default()
    };
    let loose = v1::LooseUse {
        step: Some(step),
        machine: "M-01".to_owned(),
        section_count: 4,
        pads: vec![v1::PadUse {
            tag: "P-05".to_owned(),
            ..Default::default()
        }],
        ..Default::default()
    };
    let request = v1::LogUseRequest {
        request_id: fresh(),
        loose: Some(loose),
        ..Default::default()
    };
    let entry = world.jobs().log_use(request).answer().await.entry.unwrap();
    let used = entry
        .deeds
        .iter()
        .find(|deed| deed.subject == "P-05")
        .unwrap();
    assert_eq!((used.section_count, used.job.as_str()), (Some(4), ""));
}

#[tokio::test]
async fn the_book_says_how_it_stands_and_verifies_itself() {
    let world = World::shop().await;
    let book = world
        .book()
        .get_book(v1::GetBookRequest::default())
        .answer()
        .await;
    assert_eq!(
        (book.head_seq, book.piece_count, book.booked_job_count),
        (15, 11, 1)
    );
    assert_eq!(
        (book.places.as_slice(), book.read_only_reason.as_str()),
        (["bench".to_owned()].as_slice(), "")
    );
    let verified = world
        .book()
        .verify_book(v1::VerifyBookRequest {})
        .answer()
        .await;
    assert_eq!(
        (verified.whole, verified.entry_count),
        (true, 15),
        "{:?}",
        verified.findings
    );
    assert_eq!(verified.head_chain, book.head_chain);
}

#[tokio::test]
async fn a_policy_is_changed_and_taken_back_to_its_default() {
    let world = World::shop().await;
    let change = |value| v1::UpdatePolicyRequest {
        request_id: fresh(),
        changes: vec![v1::PolicyChange {
            key: "dot_ul".to_owned(),
            value,
        }],
        ..Default::default()
    };
    let dot = async || {
        let lines = world
            .book()
            .get_policy(v1::GetPolicyRequest {})
            .answer()
            .await
            .lines;
        let dot = lines.into_iter().find(|line| line.key == "dot_ul").unwrap();
        (dot.value, dot.basis())
    };
    let (default, basis) = dot().await;
    world.book().update_policy(change(Some(300))).await.unwrap();
    assert_eq!(dot().await, (300, v1::Basis::Own));
    world.book().update_policy(change(None)).await.unwrap();
    assert_eq!(dot().await, (default, basis));
}

#[tokio::test]
async fn an_entry_that_is_not_there_is_not_found() {
    let world = World::empty().await;
    let status = world
        .book()
        .get_entry(v1::GetEntryRequest { seq: 1 })
        .await
        .unwrap_err();
    assert_told(&status, "ENTRY_UNKNOWN", "seq");
    let status = world
        .book()
        .get_entry(v1::GetEntryRequest { seq: -1 })
        .await
        .unwrap_err();
    assert_told(&status, "QUANTITY_INVALID", "seq");
}

/// What the preview showed is recorded, though the kit that the service would pick is another by then.
#[tokio::test]
async fn a_log_records_the_pick_that_its_preview_showed() {
    let world = World::shop().await;
    // Thursday, when the job is done.
    world.clock.shift(86_400);
    let ask = |sent: v1::LogUseRequest| async {
        let mut jobs = world.jobs();
        jobs.log_use(sent).answer().await
    };
    let shown = ask(v1::LogUseRequest {
        validate_only: true,
        ..log()
    })
    .await;
    let first_pad = shown.picked.iter().find(|one| one.tag.starts_with("P-"));
    let first_pad = first_pad.unwrap().tag.clone();
    let aside = v1::SetAsideRequest {
        request_id: fresh(),
        tags: vec![first_pad.clone()],
        reason: v1::AsideReason::Dropped.into(),
        ..Default::default()
    };
    world.kit().set_aside(aside).await.unwrap();
    let logged = ask(v1::LogUseRequest {
        picked: shown.picked.clone(),
        ..log()
    })
    .await;
    assert_eq!(logged.picked, [], "only a preview shows the pick");
    let logged = logged.entry.unwrap();
    let worked = |entry: &v1::Entry| -> Vec<(String, String)> {
        let used = entry.deeds.iter().filter(|deed| !deed.step.is_empty());
        used.map(|deed| (deed.subject.clone(), deed.step.clone()))
            .collect()
    };
    assert_eq!(worked(&logged), worked(&shown.entry.unwrap()));
    let flags: Vec<_> = logged.flags.iter().map(|flag| flag.text.as_str()).collect();
    assert_eq!(
        flags,
        [format!("{first_pad} was aside in the book: dropped.")]
    );
}

/// At 07:00 the job of 06:00 has begun, and the one of the next morning is what comes.
#[tokio::test]
async fn a_check_without_a_job_is_of_the_next_that_is_still_to_come() {
    const HOUR_S: i64 = 3_600;
    let world = World::shop().await;
    let request = v1::BookJobRequest {
        request_id: fresh(),
        job: Some(v1::Job {
            start_time: super::stamp("2026-06-05T06:00:00Z"),
            ..super::job("saloon-friday")
        }),
    };
    world.jobs().book_job(request).await.unwrap();
    let checked = async || {
        let asked = v1::CheckJobsRequest::default();
        let answer = world.jobs().check_jobs(asked).await.unwrap().into_inner();
        assert_eq!(answer.checks.len(), 1);
        answer.checks[0].job.clone()
    };
    assert_eq!(checked().await, "saloon-thursday");
    world.clock.shift(13 * HOUR_S);
    assert_eq!(checked().await, "saloon-friday");
    // With none to come it is the one that began last.
    world.clock.shift(24 * HOUR_S);
    assert_eq!(checked().await, "saloon-friday");
}

/// What is checked where no job is named is the next one at the place of whoever asks, never another van's.
#[tokio::test]
async fn the_next_job_that_is_checked_is_the_next_at_the_place() {
    const HOUR_S: i64 = 3_600;
    let world = World::shop().await;
    let booked = async |name: &str, place: &str, start: &str| {
        let request = v1::BookJobRequest {
            request_id: fresh(),
            job: Some(v1::Job {
                place: place.to_owned(),
                start_time: super::stamp(start),
                ..super::job(name)
            }),
        };
        world.jobs().book_job(request).await.unwrap();
    };
    booked("van-early", "van-a", "2026-06-05T06:00:00Z").await;
    booked("van-late", "van-a", "2026-06-06T06:00:00Z").await;
    let checked = async |place: &str, through: Option<&str>| {
        let asked = v1::CheckJobsRequest {
            place: place.to_owned(),
            through_time: through.and_then(super::stamp),
            ..Default::default()
        };
        let answer = world.jobs().check_jobs(asked).answer().await;
        let jobs: Vec<_> = answer
            .checks
            .iter()
            .map(|check| check.job.clone())
            .collect();
        let elsewhere = answer.next_elsewhere.map(|job| (job.job, job.place));
        (jobs, elsewhere, answer.verdict)
    };
    let (jobs, elsewhere, _) = checked("", None).await;
    assert_eq!((jobs, elsewhere), (words(&["saloon-thursday"]), None));
    let (jobs, elsewhere, _) = checked("van-a", None).await;
    assert_eq!((jobs, elsewhere), (words(&["van-early"]), None));
    let (jobs, elsewhere, verdict) = checked("van-b", None).await;
    let next = ("saloon-thursday".to_owned(), "bench".to_owned());
    assert_eq!((jobs, elsewhere), (words(&[]), Some(next)));
    assert_eq!(verdict, i32::from(v1::Verdict::Unspecified));
    // Of several days those there alone are answered, and the verdict is theirs.
    let last = Some("2026-06-07T00:00:00Z");
    let (jobs, elsewhere, _) = checked("van-a", last).await;
    assert_eq!((jobs, elsewhere), (words(&["van-early", "van-late"]), None));
    let (jobs, elsewhere, verdict) = checked("van-b", last).await;
    assert_eq!((jobs, elsewhere), (words(&[]), None));
    assert_eq!(verdict, i32::from(v1::Verdict::Unspecified));
    // One that has begun is the next as long as none is to come there.
    world.clock.shift(40 * 24 * HOUR_S);
    let (jobs, ..) = checked("van-a", None).await;
    assert_eq!(jobs, words(&["van-late"]));
    let nowhere = v1::CheckJobsRequest {
        place: "Van A".to_owned(),
        ..Default::default()
    };
    refused! { world.jobs().check_jobs(nowhere) => "FIELD_INVALID" "place"; }
}
