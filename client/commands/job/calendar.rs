//! `job list --ics`: what goes into the calendar beside the jobs is asked of the service.

use std::path::Path;

use fettlebook_contract::v1::{
    GetBookRequest, GetTodayRequest, Job, Plan, PlanJobRequest, StepPlan,
};

use crate::connect::Session;
use crate::fault::Fault;
use crate::file;
use crate::render::calendar::Diary;

/// Writes the calendar of these jobs into a new file, and says what is in it.
///
/// # Errors
/// What the service refused, or a file that is there or cannot be written.
pub(super) async fn write(
    session: &Session,
    path: &Path,
    force: bool,
    jobs: &[Job],
) -> Result<String, Fault> {
    let book = session.call(GetBookRequest::default()).await?;
    let today = session.call(GetTodayRequest::default()).await?;
    let mut timed = Vec::with_capacity(jobs.len());
    for job in jobs {
        timed.push((job, lengths_s(session, job).await));
    }
    let now = session.now();
    let diary = Diary {
        book: &book.book_id,
        head_seq: book.head_seq,
        as_of_s: now.timestamp().as_second(),
        today: now.date(),
        jobs: timed,
        washes: &today.to_wash,
        orders: &today.to_order,
    };
    file::write("--ics", path, force, &diary.calendar())?;
    Ok(diary.told())
}

/// The time that a job likely takes on each of two days, s: its machines as this shop works; nothing where it cannot be planned.
async fn lengths_s(session: &Session, job: &Job) -> Option<[i64; 2]> {
    let asked = PlanJobRequest {
        job: job.job.clone(),
    };
    let plan = session.call(asked).await.ok()?.plan?;
    let on_day = |is_second: bool| {
        let steps = plan
            .steps
            .iter()
            .filter(|step| step.second_day == is_second);
        let each = steps.map(|step| machine_s(&plan, step).saturating_add(step.hand_time_s));
        each.fold(0, i64::saturating_add)
    };
    Some([on_day(false), on_day(true)])
}

/// How long the machine of a step likely runs, s: its part of what is expected of its make.
fn machine_s(plan: &Plan, step: &StepPlan) -> i64 {
    let need = plan
        .times
        .iter()
        .find(|need| need.make == step.machine_make);
    let part = need.and_then(|need| {
        let whole = i128::from(step.machine_time_s).checked_mul(need.expected_s.into())?;
        i64::try_from(whole.checked_div(need.planned_s.into())?).ok()
    });
    part.unwrap_or(step.machine_time_s)
}

#[cfg(test)]
mod tests {
    use fettlebook_contract::v1::{Plan, StepPlan, TimeNeed};

    use super::machine_s;

    /// Reckoned by hand: 9,504 s of 19,008 planned for a machine that is expected to run 21,289 are 10,644.
    #[test]
    fn a_step_takes_its_part_of_what_its_machine_is_expected_to_run() {
        let step = |make: &str| StepPlan {
            machine_make: make.to_owned(),
            machine_time_s: 9_504,
            ..StepPlan::default()
        };
        let plan = Plan {
            times: vec![TimeNeed {
                make: "orbital-150".to_owned(),
                planned_s: 19_008,
                expected_s: 21_289,
                ..TimeNeed::default()
            }],
            ..Plan::default()
        };
        assert_eq!(machine_s(&plan, &step("orbital-150")), 10_644);
        assert_eq!(machine_s(&plan, &step("orbital-75")), 9_504);
        assert_eq!(machine_s(&Plan::default(), &step("orbital-150")), 9_504);
    }
}
