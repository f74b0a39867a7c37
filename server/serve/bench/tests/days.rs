//! A job of two days on the page: when it goes on, and what each day asks of hands and ears.

use fettlebook_contract::v1;
use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_yard::one_step;
use prost_types::FieldMask;

use super::{JOB, World, fresh};
use crate::access::Role;

fn mask(path: &str) -> Option<FieldMask> {
    Some(FieldMask {
        paths: vec![path.to_owned()],
    })
}

/// Has the job worked in two steps, and lays the second on the day after.
async fn two_days(world: &World) {
    let mut jobs = JobServiceClient::new(world.services());
    let mut routine = one_step();
    let mut again = routine.steps[0].clone();
    again.step = "again".to_owned();
    routine.steps.push(again);
    let steps = v1::UpdateRoutineRequest {
        request_id: fresh(),
        routine: Some(routine),
        update_mask: mask("steps"),
    };
    jobs.update_routine(steps).await.unwrap();
    let job = v1::Job {
        job: JOB.to_owned(),
        second_start_time: Some("2026-06-05T06:00:00Z".parse().unwrap()),
        ..Default::default()
    };
    let second = v1::UpdateJobRequest {
        request_id: fresh(),
        job: Some(job),
        update_mask: mask("second_start_time"),
    };
    jobs.update_job(second).await.unwrap();
}

#[tokio::test]
async fn a_check_says_when_the_job_goes_on_and_tells_each_day_apart() {
    let world = World::open().await;
    let token = world.pair("van-a", Role::Own);
    let path = format!("/check/{JOB}");
    let one = world.get(&path, Some(&token)).await;
    assert!(one.text.contains("Hands and ears, over the day"), "{one:?}");
    assert!(!one.text.contains("goes on"), "{one:?}");
    two_days(&world).await;
    let two = world.get(&path, Some(&token)).await;
    // The job's own clock is two hours ahead of UTC.
    assert!(
        two.text.contains(", goes on Fri 5 Jun 2026 08:00</p>"),
        "{two:?}"
    );
    for day in ["on the first day", "on the second day"] {
        let head = format!("Hands and ears, {day}");
        assert_eq!(two.text.matches(&head).count(), 1, "{two:?}");
    }
}
