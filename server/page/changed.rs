//! What has happened to pieces since a form was shown.
//!
//! A form carries the number of the last entry that its view knew. What was recorded by the same form is no
//! change: it is the form, sent twice.

use axum::response::Response;
use fettlebook_contract::v1::{Entry, GetEntryRequest, GetPieceRequest};
use minijinja::{Value, context};
use tonic::Status;

use crate::asker::{Asker, Here};
use crate::form::Fields;
use crate::refusal;
use crate::words::Clock;

/// Name of the field with the last entry that a form knows.
const SEEN: &str = "seen";

/// The page that says what has changed since a form was shown, with the form once more; nothing where it may go
/// on.
///
/// # Errors
/// What the service refused.
pub(crate) async fn since(
    asker: &Asker,
    here: &Here,
    sent: &Fields,
    tags: &[String],
    action: &str,
) -> Result<Option<Response>, Status> {
    let mut last = Vec::new();
    for tag in tags {
        let asked = GetPieceRequest { tag: tag.clone() };
        let piece = asker.call(asked).await?.piece.unwrap_or_default();
        last.push((tag.as_str(), piece.last_seq));
    }
    since_entries(asker, here, sent, last, action).await
}

/// The same of whatever has these numbers as those of its last entries.
///
/// # Errors
/// What the service refused.
pub(crate) async fn since_entries(
    asker: &Asker,
    here: &Here,
    sent: &Fields,
    last: Vec<(&str, i64)>,
    action: &str,
) -> Result<Option<Response>, Status> {
    let seen = sent.number(SEEN).unwrap_or_default();
    let clock = Clock::own();
    let mut changes = Vec::new();
    for (subject, seq) in last.into_iter().filter(|(_, seq)| *seq > seen) {
        let found = asker.call(GetEntryRequest { seq }).await?;
        let entry = found.entry.unwrap_or_default();
        if entry.request_id == sent.first("request_id") {
            return Ok(None);
        }
        changes.push(told(subject, &entry, &clock));
    }
    if changes.is_empty() {
        return Ok(None);
    }
    let kept = sent.each().filter(|(name, _)| *name != SEEN);
    let head = here.head_seq.to_string();
    let fields: Value = kept
        .chain([(SEEN, head.as_str())])
        .map(|(name, value)| context! { name, value })
        .collect();
    let changes = changes.into_iter().collect();
    Ok(Some(refusal::changed(here, changes, action, fields)))
}

/// What an entry says of its subject.
fn told(subject: &str, entry: &Entry, clock: &Clock) -> Value {
    let of_subject = entry.deeds.iter().filter(|deed| deed.subject == subject);
    let texts: Vec<_> = of_subject.map(|deed| deed.text.as_str()).collect();
    context! {
        subject,
        seq => entry.seq,
        by => entry.by.as_str(),
        when => clock.moment_or_none(entry.recorded_time.as_ref()),
        text => texts.join(" "),
    }
}
