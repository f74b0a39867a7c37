//! Minutes of machines and who did a job, from the log to the plan, the cost and the quote of the next.

use super::*;

/// A price for the hour, in thousandths.
async fn with_rate(world: &World, rate_milli: i64) {
    let change = v1::PolicyChange {
        key: "labour_rate_milli".to_owned(),
        value: Some(rate_milli),
    };
    let request = v1::UpdatePolicyRequest {
        request_id: fresh(),
        changes: vec![change],
        ..Default::default()
    };
    world.book().update_policy(request).await.unwrap();
}

async fn planned(world: &World, job: &str) -> v1::TimeNeed {
    let job = job.to_owned();
    let answer = world.jobs().plan_job(v1::PlanJobRequest { job }).await;
    let mut times = answer.unwrap().into_inner().plan.unwrap().times;
    assert_eq!(times.len(), 1);
    times.remove(0)
}

/// Source: by hand: time at 45.00 an hour is 1.25 cents a second.
#[tokio::test]
async fn what_a_log_says_of_machines_comes_back_in_plan_cost_and_quote() {
    let world = World::supplied().await;
    with_rate(&world, 45_000).await;
    let before = planned(&world, JOB).await;
    assert_eq!(
        (before.make.as_str(), before.expected_s),
        ("orbital-150", before.planned_s)
    );
    let forecast = world.sheet().await;
    let hours = forecast.hours.clone().unwrap();
    assert_eq!((hours.typical_s, hours.actual_s), (before.planned_s, None));
    let price = |time_s: i64| (time_s * 5 + 2) / 4;
    assert_eq!(cents(hours.typical.as_ref()), price(hours.typical_s));
    assert!(cents(hours.low.as_ref()) < cents(hours.high.as_ref()));
    let quote = world.quoted(ask()).await;
    assert!(cents(quote.labour.as_ref()) >= price(hours.typical_s));
    let bare = v1::QuoteJobRequest {
        no_labour: true,
        ..ask()
    };
    let bare = world.quoted(bare).await;
    assert_eq!(
        (bare.labour.as_ref(), bare.lines.len() + 1),
        (None, quote.lines.len())
    );

    let took_s = before.planned_s * 2;
    let ran = v1::MachineTime {
        machine: "M-01".to_owned(),
        time_s: took_s,
    };
    let log = v1::LogUseRequest {
        machines: vec![ran],
        person: "the helper".to_owned(),
        ..Default::default()
    };
    world.log(log).await;
    let sheet = world.sheet().await;
    let hours = sheet.hours.unwrap();
    assert_eq!((hours.actual_s, hours.logged), (Some(took_s), true));
    assert_eq!(cents(hours.actual.as_ref()), price(took_s));
    assert_eq!(hours.person, "the helper");
    assert_eq!(sheet.typical, forecast.typical, "the materials are apart");

    let next = v1::BookJobRequest {
        request_id: fresh(),
        job: Some(job("saloon-friday")),
    };
    world.jobs().book_job(next).await.unwrap();
    let next = planned(&world, "saloon-friday").await;
    assert!(next.expected_s > next.planned_s, "{next:?}");
    assert!(next.low_s < next.expected_s && next.expected_s < next.high_s);
    assert!(
        next.rests_on
            .starts_with("You take 100 % longer than planned"),
        "{next:?}"
    );
}

#[tokio::test]
async fn a_labour_that_is_given_and_left_out_is_refused() {
    let world = World::supplied().await;
    let both = v1::QuoteJobRequest {
        no_labour: true,
        labour_net: Some(v1::Money {
            amount: "270".to_owned(),
            currency_code: "EUR".to_owned(),
        }),
        ..ask()
    };
    let status = world.supply().quote_job(both).await.unwrap_err();
    super::super::assert_told(&status, "FIELD_INVALID", "no_labour");
}
