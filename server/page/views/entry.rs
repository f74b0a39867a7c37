//! What was recorded, and taking it back.

use axum::extract::Path;
use axum::http::StatusCode;
use fettlebook_contract::v1::{GetEntryRequest, ReverseEntryRequest};
use minijinja::{Value, context};

use super::{Answer, go_to, request_id};
use crate::asker::Asker;
use crate::form::Form;
use crate::words::Clock;
use crate::{refusal, templates};

/// The view.
pub(crate) async fn show(asker: Asker, Path(seq): Path<String>) -> Answer {
    let Ok(seq) = seq.parse::<i64>() else {
        let text = "That is no number of an entry.";
        return Err(refusal::nothing(text).into());
    };
    let here = asker.here().await?;
    let found = asker.call(GetEntryRequest { seq }).await?;
    let entry = found.entry.unwrap_or_default();
    let clock = Clock::own();
    let undoes = entry.deeds.iter().find_map(|deed| deed.reverses_seq);
    let told = context! {
        seq,
        texts => entry.deeds.iter().map(|deed| deed.text.as_str()).collect::<Value>(),
        flags => entry.flags.iter().map(|flag| flag.tagged_text.as_str()).collect::<Value>(),
        by => entry.by,
        note => entry.note,
        done => clock.moment_or_none(entry.done_time.as_ref()),
        reversed_by => entry.reversed_by_seq,
        undoes,
        request_id => request_id(),
    };
    let title = match (undoes, entry.reversed_by_seq) {
        (Some(_), _) => "Taken back",
        (None, Some(_)) => "Was taken back",
        (None, None) => "Recorded",
    };
    let page = templates::page(StatusCode::OK, "entry.html", Some(&here), title, told);
    Ok(page)
}

/// Takes an entry back.
pub(crate) async fn undo(asker: Asker, Form(sent): Form) -> Answer {
    let reversed = ReverseEntryRequest {
        request_id: sent.first("request_id").to_owned(),
        seq: sent.number("seq").unwrap_or_default(),
        ..ReverseEntryRequest::default()
    };
    let entry = asker.call(reversed).await?.entry.unwrap_or_default();
    Ok(go_to(&format!("/entry/{}", entry.seq)))
}
