//! `book entries --follow`: every entry as it comes, across broken connections.
//!
//! It serves a screen on the wall and programs that act on what is recorded. An entry is never told
//! twice and none is left out, however often the way to the service breaks.

use backon::BackoffBuilder as _;
use fettlebook_contract::v1::{Entry, ErrorReason, WatchEntriesRequest, WatchEntriesResponse};
use tonic::{Status, Streaming};

use crate::call::{asked_wait, is_busy, is_lost, reason, waits};
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, entry};

/// Tells every entry after one, until Ctrl-C or until nobody reads any more.
pub(crate) async fn perform(
    session: &Session,
    after: i64,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if let Whereabouts::Folder(_) = session.whereabouts() {
        return Err(Fault::usage(
            "--follow",
            "Nobody else can record in a book that this command has open by itself; serve it with \
             fettled and name the address with --at.",
        ));
    }
    let watch = async |after_seq| {
        session
            .stream(WatchEntriesRequest {
                after_seq,
                ..WatchEntriesRequest::default()
            })
            .await
    };
    tokio::select! {
        _ = tokio::signal::ctrl_c() => Ok(Exit::Done),
        ended = follow(watch, after, printer) => ended,
    }
}

/// Entries one after the other, from wherever they come.
pub(crate) trait Entries {
    /// The next answer; none at the end.
    async fn next(&mut self) -> Result<Option<WatchEntriesResponse>, Status>;
}

impl Entries for Streaming<WatchEntriesResponse> {
    async fn next(&mut self) -> Result<Option<WatchEntriesResponse>, Status> {
        self.message().await
    }
}

/// Watches again and again, each time after the last entry that was told.
async fn follow<W: Entries>(
    watch: impl AsyncFn(i64) -> Result<W, Status>,
    mut after: i64,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut pauses = waits().build();
    let mut is_told = false;
    loop {
        let before = after;
        let broken = match watch(after).await {
            Ok(mut entries) => match tell(&mut entries, &mut after, printer).await? {
                Some(broken) => broken,
                None => return Ok(Exit::Done),
            },
            Err(status) => status,
        };
        if !passes(&broken) {
            return Err(Fault::from(broken));
        }
        if after > before {
            (pauses, is_told) = (waits().build(), false);
        }
        let pause = pauses.next().unwrap_or_default();
        if !std::mem::replace(&mut is_told, true) {
            printer.say(&format!(
                "The watch broke off; it goes on after entry {after} when the service answers again."
            ));
        }
        tokio::time::sleep(pause.saturating_add(asked_wait(&broken))).await;
    }
}

/// Tells entries until they break off, and says why they did; nothing when nobody reads any more.
async fn tell(
    entries: &mut impl Entries,
    after: &mut i64,
    printer: &mut Printer,
) -> Result<Option<Status>, Fault> {
    loop {
        let answer = match entries.next().await {
            Ok(Some(answer)) => answer,
            Ok(None) => return Ok(Some(Status::unavailable("the watch ended"))),
            Err(status) => return Ok(Some(status)),
        };
        let entry = answer.entry.filter(|entry| entry.seq == *after + 1);
        let entry: Entry = entry.ok_or_else(|| Fault::answer("the next entry"))?;
        printer.line(&entry, entry::line)?;
        *after = entry.seq;
        if !printer.flush() {
            return Ok(None);
        }
    }
}

/// Whether a watch that ended so can be opened again.
fn passes(status: &Status) -> bool {
    let ended = matches!(
        reason(status),
        Some(ErrorReason::WatchTooSlow | ErrorReason::Stopping)
    );
    ended || is_busy(status) || is_lost(status)
}

#[cfg(test)]
mod tests;
