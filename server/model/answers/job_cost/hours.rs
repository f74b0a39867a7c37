//! How long machines and hands work on a job, and what those hours cost at the shop's rate: apart from its materials.
//!
//! Of a job that is done they are what its log says; of what it does not say, what was planned.

use rust_decimal::Decimal;

use super::prices::{Prices, too_much};
use crate::Book;
use crate::ground::money::Money;
use crate::ground::refusal::Refusal;
use crate::maths::cost::for_time;
use crate::ready::plan::Plan;
use crate::ready::times::{Likely, likely_times, planned_times, together};
use crate::trade::job::{Job, JobState};
use crate::trade::policy::PolicyKey;

/// What priced hours have in them.
pub(super) const WITHIN: &str = "Hours are those by machine and by hand; washing, taping and setting up are not in \
                                 them: they belong into the price of the hour, or into a quote with labour of its own.";
/// Decimals of the policy's rate.
const RATE_PLACES: u32 = 3;
const MS_PER_S: i64 = 1_000;

/// How long machines and hands work on a job, s, and what that costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobHours {
    /// Nine jobs in ten take longer than this.
    pub low_s: i64,
    /// As this shop works, on average.
    pub typical_s: i64,
    /// One job in ten takes longer than this.
    pub high_s: i64,
    /// What the job took: as logged, and what its log does not say as planned; `None` before it is done.
    pub actual_s: Option<i64>,
    /// Whether its log says how long machines ran.
    pub is_logged: bool,
    /// What they cost; `None` where the shop has no rate.
    pub cost: Option<HoursCost>,
    /// Who works it; empty where nobody is named.
    pub person: String,
    /// What the time rests on, a sentence for each machine make.
    pub rests_on: Vec<String>,
}

/// What the hours of a job cost, net.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoursCost {
    /// An hour.
    pub rate: Money,
    /// Nine jobs in ten cost more than this.
    pub low: Money,
    /// The typical hours.
    pub typical: Money,
    /// One job in ten costs more than this.
    pub high: Money,
    /// What it did cost; `None` before the job is done.
    pub actual: Option<Money>,
}

pub(super) fn of_job(
    book: &Book,
    job: &Job,
    plan: &Plan,
    prices: &Prices<'_>,
) -> Result<JobHours, Refusal> {
    let times = likely_times(book, job, plan);
    let Likely {
        expected_ms,
        low_ms,
        high_ms,
    } = together(&times);
    let with_hand = |machine_ms: i64| {
        let all_ms = machine_ms.saturating_add(plan.hand_ms());
        all_ms.saturating_add(MS_PER_S / 2).div_euclid(MS_PER_S)
    };
    let (low_s, typical_s, high_s) = (
        with_hand(low_ms),
        with_hand(expected_ms),
        with_hand(high_ms),
    );
    let is_done = matches!(job.state, JobState::Done(_));
    let actual_s = is_done.then(|| with_hand(ran_ms(job, plan)));
    let rate_milli = book.policy().value(PolicyKey::LabourRateMilli);
    let cost = (rate_milli > 0).then(|| {
        let rate = Decimal::new(rate_milli, RATE_PLACES).normalize();
        let cost = |time_s| priced(prices, rate, time_s);
        Ok(HoursCost {
            rate: prices.money(rate),
            low: cost(low_s)?,
            typical: cost(typical_s)?,
            high: cost(high_s)?,
            actual: actual_s.map(cost).transpose()?,
        })
    });
    let rests_on = times.into_iter().map(|time| {
        let make = book.make(&time.machine);
        let name = make.map_or_else(|| time.machine.to_string(), |make| make.name.clone());
        format!("{name}: {}", time.rests_on)
    });
    Ok(JobHours {
        low_s,
        typical_s,
        high_s,
        actual_s,
        is_logged: job.ran().next().is_some(),
        cost: cost.transpose()?,
        person: job.person.clone(),
        rests_on: rests_on.collect(),
    })
}

/// How long the machines ran, ms: as logged, and where the log does not say as planned.
fn ran_ms(job: &Job, plan: &Plan) -> i64 {
    let each = planned_times(plan)
        .into_iter()
        .map(|(machine, planned_ms)| {
            let ran = job.ran().find(|ran| ran.machine == *machine);
            ran.map_or(planned_ms, |ran| ran.time_ms)
        });
    each.fold(0, i64::saturating_add)
}

fn priced(prices: &Prices<'_>, rate: Decimal, time_s: i64) -> Result<Money, Refusal> {
    let net = for_time(rate, time_s, prices.places()).map_err(|_| too_much())?;
    Ok(prices.money(net))
}
