//! The jobs of today and tomorrow as this device thought of them, and as the shop does.
//!
//! It serves `shop sync`, which tells what changed for whoever is about to leave. Nothing of it is worth a
//! failure: where either cannot be told, nothing is.

use std::collections::BTreeMap;

use fettlebook_contract::v1::{CheckJobsRequest, CheckJobsResponse, Verdict};
use jiff::{SignedDuration, Timestamp};

use crate::call;
use crate::outbox::Deed;
use crate::render::shop as words;
use crate::transport::ShopTransport;
use crate::transport::synced::Ahead;

/// How far ahead is looked: until the morning after tomorrow, wherever the day ends.
const AHEAD: SignedDuration = SignedDuration::from_hours(36);

/// Jobs ahead by their ids.
pub(crate) type Jobs = BTreeMap<String, Ahead>;

/// The jobs ahead by the copy here, with what waits; nothing where there is no copy.
pub(crate) async fn by_copy(shop: &ShopTransport, waiting: &[Deed]) -> Option<Jobs> {
    shop.reachable()?;
    let copy = shop.look_at_copy(waiting).await?;
    let answer = call::once(copy.channel.clone(), asked(shop)).await;
    copy.close().await;
    Some(jobs(answer.ok()?))
}

/// The jobs ahead by the shop.
pub(crate) async fn by_shop(shop: &ShopTransport) -> Option<Jobs> {
    let wire = shop.reachable()?.clone();
    Some(jobs(call::once(wire, asked(shop)).await.ok()?))
}

/// What changed, a sentence each.
pub(crate) fn news(before: Option<Jobs>, after: Option<Jobs>) -> Vec<String> {
    let (Some(before), Some(after)) = (before, after) else {
        return Vec::new();
    };
    let gone = before.keys().filter(|job| !after.contains_key(*job));
    let gone: Vec<String> = gone.map(|job| words::job_gone(job)).collect();
    let changed = after.iter().filter_map(|(job, now)| match before.get(job) {
        None => Some(words::job_new(job, now)),
        Some(then) if then == now => None,
        Some(then) => Some(words::job_changed(job, then, now)),
    });
    changed.chain(gone).collect()
}

fn asked(shop: &ShopTransport) -> CheckJobsRequest {
    let through = shop.now().checked_add(AHEAD).unwrap_or(Timestamp::MAX);
    CheckJobsRequest {
        through_time: Some(prost_types::Timestamp {
            seconds: through.as_second(),
            nanos: 0,
        }),
        ..CheckJobsRequest::default()
    }
}

fn jobs(answer: CheckJobsResponse) -> Jobs {
    let checks = answer.checks.into_iter().filter_map(|check| {
        let start = check.start_time?;
        let verdict = check.verdict();
        let gravest = check.lines.iter().find(|line| line.verdict() == verdict);
        let gravest = gravest.filter(|line| verdict != Verdict::Go && !line.reason.is_empty());
        let why = gravest.map(|line| format!("{}: {}", line.what, line.reason));
        let ahead = Ahead {
            start: Timestamp::new(start.seconds, start.nanos).ok()?,
            place: check.place.clone(),
            verdict,
            why: why.unwrap_or_default(),
        };
        Some((check.job, ahead))
    });
    checks.collect()
}

#[cfg(test)]
mod tests {
    use super::{Jobs, news};
    use crate::transport::synced::Ahead;
    use fettlebook_contract::v1::Verdict;
    use jiff::Timestamp;

    fn ahead(second: i64, verdict: Verdict) -> Ahead {
        Ahead {
            start: Timestamp::from_second(second).unwrap(),
            place: "bench".to_owned(),
            verdict,
            why: "two fine pads are soiled.".to_owned(),
        }
    }

    fn jobs(jobs: &[(&str, Ahead)]) -> Jobs {
        jobs.iter()
            .map(|(job, ahead)| ((*job).to_owned(), ahead.clone()))
            .collect()
    }

    #[test]
    fn only_what_changed_is_told() {
        let (go, stop) = (ahead(0, Verdict::Go), ahead(0, Verdict::Stop));
        let before = jobs(&[
            ("same", go.clone()),
            ("worse", go.clone()),
            ("gone", go.clone()),
            ("later", go.clone()),
        ]);
        let after = jobs(&[
            ("same", go.clone()),
            ("worse", stop),
            ("new", go),
            ("later", ahead(7_200, Verdict::Go)),
        ]);
        let told = news(Some(before.clone()), Some(after));
        assert_eq!(told.len(), 4, "{told:?}");
        assert!(
            told.iter()
                .any(|line| line.contains("worse") && line.contains("two fine pads"))
        );
        assert!(told.iter().any(|line| line.contains("gone")));
        assert!(told.iter().all(|line| !line.starts_with("same")));
        assert!(news(Some(before.clone()), Some(before)).is_empty());
        assert!(
            news(None, Some(Jobs::new())).is_empty(),
            "what was not known did not change"
        );
    }
}
