//! What was recorded, and taking it back.

use axum::extract::Path;
use axum::http::StatusCode;
use fettlebook_contract::v1::{Entry, GetEntryRequest, ReverseEntryRequest};
use minijinja::{Value, context};

use super::{Answer, to_entries};
use crate::asker::{Asker, Here};
use crate::form::{Asked, Form};
use crate::words::Clock;
use crate::{limits, refusal, request, templates};

/// The view of one entry.
pub(crate) async fn show(asker: Asker, Path(seq): Path<String>) -> Answer {
    let Ok(seq) = seq.parse::<i64>() else {
        let text = "That is no number of an entry.";
        return Err(refusal::nothing(text).into());
    };
    let here = asker.here().await?;
    let entry = asker
        .call(GetEntryRequest { seq })
        .await?
        .entry
        .unwrap_or_default();
    let title = match (undone(&entry), entry.reversed_by_seq) {
        (Some(_), _) => "Taken back",
        (None, Some(_)) => "Was taken back",
        (None, None) => "Recorded",
    };
    Ok(entries(&here, title, &[entry]))
}

/// The view of all that one form recorded.
pub(crate) async fn recorded(asker: Asker, Asked(asked): Asked) -> Answer {
    let seqs: Vec<i64> = asked
        .all("seq")
        .filter_map(|seq| seq.parse().ok())
        .collect();
    let here = asker.here().await?;
    let mut all = Vec::new();
    for seq in seqs.into_iter().take(limits::RECORDED_ROWS) {
        let found = asker.call(GetEntryRequest { seq }).await?;
        all.push(found.entry.unwrap_or_default());
    }
    if all.is_empty() {
        let text = "No entry is named, so there is none to show.";
        return Err(refusal::nothing(text).into());
    }
    let is_undo = all.iter().all(|entry| undone(entry).is_some());
    let title = if is_undo { "Taken back" } else { "Recorded" };
    Ok(entries(&here, title, &all))
}

/// The entry that an entry takes back.
fn undone(entry: &Entry) -> Option<i64> {
    entry.deeds.iter().find_map(|deed| deed.reverses_seq)
}

fn entries(here: &Here, title: &str, all: &[Entry]) -> axum::response::Response {
    let clock = Clock::own();
    let open: Vec<i64> = all
        .iter()
        .filter(|entry| here.may_undo(entry))
        .map(|entry| entry.seq)
        .collect();
    let told = context! {
        entries => all.iter().map(|entry| told(entry, here, &clock)).collect::<Value>(),
        several => all.len() > 1,
        open => (open.len() > 1).then_some(open),
        request_id => request::fresh(),
    };
    templates::page(StatusCode::OK, "entry.html", Some(here), title, told)
}

fn told(entry: &Entry, here: &Here, clock: &Clock) -> Value {
    context! {
        seq => entry.seq,
        texts => entry.deeds.iter().map(|deed| deed.text.as_str()).collect::<Value>(),
        flags => entry.flags.iter().map(|flag| flag.tagged_text.as_str()).collect::<Value>(),
        by => entry.by.as_str(),
        note => entry.note.as_str(),
        done => clock.moment_or_none(entry.done_time.as_ref()),
        reversed_by => entry.reversed_by_seq,
        undoes => undone(entry),
        may_undo => here.may_undo(entry),
        request_id => request::fresh(),
    }
}

/// Takes entries back, the last of them first.
pub(crate) async fn undo(asker: Asker, Form(sent): Form) -> Answer {
    let seqs: Option<Vec<i64>> = sent.all("seq").map(|seq| seq.parse().ok()).collect();
    let Some(mut seqs) = seqs.filter(|seqs| !seqs.is_empty()) else {
        let text = "The form names no entry, so nothing was taken back.";
        return Err(refusal::not_understood(text).into());
    };
    seqs.sort_unstable();
    let mut back = Vec::new();
    for seq in seqs.into_iter().rev() {
        let reversed = ReverseEntryRequest {
            request_id: request::of_part(sent.first("request_id"), &seq.to_string()),
            seq,
            ..ReverseEntryRequest::default()
        };
        back.push(asker.call(reversed).await?.entry.unwrap_or_default().seq);
    }
    Ok(to_entries(&back))
}
