//! A take over the wire: seen before, taken as shown, told of pieces, job and check, and given back.

use fettlebook_contract::v1;

use super::{World, assert_told, fresh};

fn take() -> v1::TakeJobRequest {
    v1::TakeJobRequest {
        request_id: fresh(),
        job: "saloon-thursday".to_owned(),
        ..Default::default()
    }
}

impl World {
    async fn taken(&self, sent: v1::TakeJobRequest) -> v1::TakeJobResponse {
        self.jobs().take_job(sent).await.unwrap().into_inner()
    }

    async fn job(&self, job: &str) -> v1::Job {
        let asked = v1::GetJobRequest {
            job: job.to_owned(),
        };
        let answer = self.jobs().get_job(asked).await.unwrap();
        answer.into_inner().job.unwrap()
    }
}

#[tokio::test]
async fn what_was_shown_is_taken_and_told_of_job_piece_and_check() {
    let world = World::shop().await;
    let before = world.journal();
    let seen = world
        .taken(v1::TakeJobRequest {
            validate_only: true,
            ..take()
        })
        .await;
    assert_eq!(world.journal(), before);
    assert_eq!(seen.entry.as_ref().unwrap().seq, 0);
    assert!(seen.picked.iter().any(|one| one.tag == "P-01"));
    let answer = world
        .taken(v1::TakeJobRequest {
            picked: seen.picked.clone(),
            ..take()
        })
        .await;
    let entry = answer.entry.unwrap();
    assert_eq!(entry.deeds, seen.entry.unwrap().deeds);
    assert_eq!(entry.deeds[0].kind(), v1::DeedKind::JobTaken);
    assert!(
        entry.deeds[0]
            .text
            .starts_with("saloon-thursday: taken with "),
        "{}",
        entry.deeds[0].text
    );
    let job = world.job("saloon-thursday").await;
    let taken = job.taken.unwrap();
    assert_eq!(taken.seq, entry.seq);
    assert!(taken.tags.contains(&"P-01".to_owned()) && !taken.unlogged);
    assert_eq!(
        world.piece("P-01").await.taken_for_jobs,
        ["saloon-thursday"]
    );
    let asked = v1::CheckJobsRequest {
        jobs: vec!["saloon-thursday".to_owned()],
        ..Default::default()
    };
    let check = world.jobs().check_jobs(asked).await.unwrap().into_inner();
    assert_eq!(check.checks[0].taken.as_ref(), Some(&taken));
    let back = world
        .taken(v1::TakeJobRequest {
            release: true,
            ..take()
        })
        .await;
    assert_eq!(
        back.entry.unwrap().deeds[0].kind(),
        v1::DeedKind::JobReleased
    );
    assert_eq!(world.job("saloon-thursday").await.taken, None);
    assert_eq!(world.piece("P-01").await.taken_for_jobs, [""; 0]);
}

/// A take that moves nothing has no *by when*; one that moves kit to its job says by when that is there.
#[tokio::test]
async fn by_when_is_told_where_something_is_moved_and_only_there() {
    let world = World::shop().await;
    let at_the_bench = world.taken(take()).await;
    assert_eq!(at_the_bench.bring_by_time, None);
    let mut job = world.job("saloon-thursday").await;
    let start = job.start_time.unwrap().seconds + 7 * 86_400;
    job.start_time = Some(prost_types::Timestamp {
        seconds: start,
        nanos: 0,
    });
    let booked = v1::BookJobRequest {
        request_id: fresh(),
        job: Some(v1::Job {
            job: "harbour".to_owned(),
            place: "van-a".to_owned(),
            ..job
        }),
    };
    world.jobs().book_job(booked).await.unwrap();
    let harbour = v1::TakeJobRequest {
        job: "harbour".to_owned(),
        despite: "a trial".to_owned(),
        ..take()
    };
    let moves = world.taken(harbour.clone()).await;
    assert_eq!(moves.bring_by_time.unwrap().seconds, start - 1_800);
    let again = world
        .taken(v1::TakeJobRequest {
            request_id: fresh(),
            ..harbour
        })
        .await;
    assert_eq!(again.bring_by_time, None, "it is there by now");
}

/// A log without a pick of its own starts from what was taken, and its preview shows that.
#[tokio::test]
async fn a_log_starts_from_what_was_taken() {
    let world = World::shop().await;
    world.taken(take()).await;
    let taken = world.job("saloon-thursday").await.taken.unwrap();
    let log = v1::LogUseRequest {
        request_id: fresh(),
        job: "saloon-thursday".to_owned(),
        validate_only: true,
        ..Default::default()
    };
    let seen = world.jobs().log_use(log).await.unwrap().into_inner();
    let mut started: Vec<String> = seen.picked.into_iter().map(|one| one.tag).collect();
    let mut tags = taken.tags;
    started.sort();
    started.dedup();
    tags.sort();
    assert_eq!(started, tags);
}

#[tokio::test]
async fn what_the_check_stops_is_told_with_what_ends_it() {
    let world = World::shop().await;
    let off = v1::BinKitRequest {
        request_id: fresh(),
        tags: vec!["T-01".to_owned()],
        reason: v1::BinReason::Lost.into(),
        ..Default::default()
    };
    world.kit().bin_kit(off).await.unwrap();
    let refused = world.jobs().take_job(take()).await.unwrap_err();
    assert_told(&refused, "CHECK_STOPS", "despite");
    let despite = v1::TakeJobRequest {
        despite: "the customer brings towels".to_owned(),
        ..take()
    };
    let entry = world.taken(despite).await.entry.unwrap();
    assert!(
        entry.flags[0].text.contains("the customer brings towels"),
        "{:?}",
        entry.flags
    );
    let taken = world.job("saloon-thursday").await.taken.unwrap();
    assert_eq!(taken.despite, "the customer brings towels");
    assert_eq!(taken.passed.len(), 1, "{:?}", taken.passed);
    let plates = v1::BinKitRequest {
        request_id: fresh(),
        tags: vec!["BP-01".to_owned()],
        reason: v1::BinReason::Lost.into(),
        ..Default::default()
    };
    world.kit().bin_kit(plates).await.unwrap();
    let despite = v1::TakeJobRequest {
        despite: "the customer waits".to_owned(),
        ..take()
    };
    let refused = world.jobs().take_job(despite).await.unwrap_err();
    assert_told(&refused, "NEVER_PASSED", "job");
}
