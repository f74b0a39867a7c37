//! The entries of the book, newest first, and those that come while somebody looks.

use std::time::Duration;

use axum::body::Body;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse as _, Response};
use fettlebook_contract::v1::{
    Entry, ListEntriesRequest, WatchEntriesRequest, WatchEntriesResponse,
};
use minijinja::{Value, context};
use tokio::time::{Instant, interval_at};
use tokio_stream::StreamExt as _;
use tonic::{Code, Status, Streaming};

use super::Answer;
use crate::asker::Asker;
use crate::form::Asked;
use crate::words::Clock;
use crate::{limits, templates};

/// The type of entries as they come. Source: HTML, "Server-sent events".
const EVENTS: &str = "text/event-stream";

/// What a browser says of the last entry that it got. Source: HTML, "Last-Event-ID".
const LAST: &str = "last-event-id";

/// The view.
pub(crate) async fn show(asker: Asker, Asked(asked): Asked) -> Answer {
    let here = asker.here().await?;
    let subject = asked.first("about");
    let listed = ListEntriesRequest {
        page_size: limits::ENTRY_ROWS,
        page_token: asked.first("after").to_owned(),
        subject: subject.to_owned(),
        newest_first: true,
        ..ListEntriesRequest::default()
    };
    let listed = asker.call(listed).await?;
    let clock = Clock::own();
    let rows = listed.entries.iter().map(|entry| {
        context! {
            seq => entry.seq,
            head => head(entry, &clock),
            texts => texts(entry),
            reversed => entry.reversed_by_seq.is_some(),
        }
    });
    let told = context! {
        rows => rows.collect::<Value>(),
        about => subject,
        after => listed.next_page_token,
        // Further back nothing comes.
        watch => asked.first("after").is_empty() && subject.is_empty(),
        seen => here.head_seq,
    };
    Ok(templates::page(
        StatusCode::OK,
        "entries.html",
        Some(&here),
        "Entries",
        told,
    ))
}

/// When it was done, and by whom.
fn head(entry: &Entry, clock: &Clock) -> String {
    format!(
        "{}, {}",
        clock.moment_or_none(entry.done_time.as_ref()),
        entry.by
    )
}

/// What it says, the first of it where it says much.
fn texts(entry: &Entry) -> Vec<String> {
    let deeds = entry.deeds.iter().take(limits::ENTRY_DEEDS);
    let mut texts: Vec<String> = deeds.map(|deed| deed.text.clone()).collect();
    let more = entry.deeds.len().saturating_sub(limits::ENTRY_DEEDS);
    if more > 0 {
        texts.push(format!("And {more} more."));
    }
    texts
}

/// Entries as they come, after the last that the browser has, until its device is shut out.
pub(crate) async fn watch(asker: Asker, Asked(asked): Asked, headers: HeaderMap) -> Answer {
    let last = headers
        .get(LAST)
        .and_then(|last| last.to_str().ok()?.parse().ok());
    let asked = WatchEntriesRequest {
        after_seq: last.or_else(|| asked.number("after")).unwrap_or_default(),
        ..WatchEntriesRequest::default()
    };
    let entries = asker.watch(asked).await?;
    let body = Body::from_stream(events(entries));
    let mut answer = Response::new(body);
    let kind = axum::http::HeaderValue::from_static(EVENTS);
    answer.headers_mut().insert(CONTENT_TYPE, kind);
    Ok(answer.into_response())
}

/// The events of a watch. Where the service ends it so that the browser may come again, it just ends.
fn events(
    entries: Streaming<WatchEntriesResponse>,
) -> impl tokio_stream::Stream<Item = Result<String, Status>> + Send + 'static {
    let clock = Clock::own();
    let sign = Duration::from_secs(limits::WATCH_SIGN_S);
    let signs = interval_at(Instant::now() + sign, sign);
    let coming = entries
        .timeout_repeating(signs)
        .map_while(move |came| match came {
            Ok(Ok(came)) => Some(Ok(event(&came.entry.unwrap_or_default(), &clock))),
            Ok(Err(ended)) => last_word(&ended).map(Ok),
            Err(_quiet) => Some(Ok(": still here\n\n".to_owned())),
        });
    tokio_stream::once(Ok("retry: 3000\n\n".to_owned())).chain(coming)
}

/// An entry: its number, when and by whom, and what it says, a line each.
fn event(entry: &Entry, clock: &Clock) -> String {
    let mut text = format!("id: {}\n", entry.seq);
    let lines = [entry.seq.to_string(), head(entry, clock)]
        .into_iter()
        .chain(texts(entry));
    for line in lines {
        text.push_str("data: ");
        text.push_str(&line.replace(['\n', '\r'], " "));
        text.push('\n');
    }
    text.push('\n');
    text
}

/// What is said last to a device that is shut out; nothing to all others, which come again by themselves.
fn last_word(ended: &Status) -> Option<String> {
    let is_out = matches!(ended.code(), Code::Unauthenticated | Code::PermissionDenied);
    let text = ended.message().replace(['\n', '\r'], " ");
    is_out.then(|| format!("event: end\ndata: {text}\n\n"))
}
