//! What has happened to pieces since a form was shown.
//!
//! A form carries the number of the last entry that its view knew. What was recorded by the same form is no
//! change: it is the form, sent twice.

use axum::response::Response;
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{Entry, GetEntryRequest, Piece};
use minijinja::{Value, context};
use tonic::Status;

use crate::asker::{Asker, Here};
use crate::form::Fields;
use crate::words::Clock;
use crate::{refusal, request};

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
    let pieces = asker.pieces(tags.iter().cloned()).await?;
    let last = pieces
        .into_iter()
        .map(|piece| (piece.tag, piece.last_seq))
        .collect();
    since_entries(asker, here, sent, last, action).await
}

/// What no two jobs share of pieces that go to a job, with the numbers of their last entries: of a bottle, a bundle
/// or a sundry another job may have used some without that being a change here.
///
/// # Errors
/// What the service refused.
pub(crate) async fn whole_pieces(
    asker: &Asker,
    tags: impl Iterator<Item = String>,
) -> Result<Vec<(String, i64)>, Status> {
    let pieces = asker.pieces(tags).await?;
    let is_shared = |piece: &Piece| {
        matches!(
            piece.state,
            Some(State::Bottle(_) | State::Bundle(_) | State::Sundry(_))
        )
    };
    let whole = pieces.into_iter().filter(|piece| !is_shared(piece));
    Ok(whole.map(|piece| (piece.tag, piece.last_seq)).collect())
}

/// The same of whatever has these numbers as those of its last entries.
///
/// # Errors
/// What the service refused.
pub(crate) async fn since_entries(
    asker: &Asker,
    here: &Here,
    sent: &Fields,
    last: Vec<(String, i64)>,
    action: &str,
) -> Result<Option<Response>, Status> {
    let seen = sent.number(SEEN).unwrap_or_default();
    let clock = Clock::own();
    let mut changes = Vec::new();
    for (subject, seq) in last.into_iter().filter(|(_, seq)| *seq > seen) {
        let found = asker.call(GetEntryRequest { seq }).await?;
        let entry = found.entry.unwrap_or_default();
        if request::is_of(sent.first("request_id"), &subject, &entry.request_id) {
            return Ok(None);
        }
        changes.push(told(&subject, &entry, &clock));
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
