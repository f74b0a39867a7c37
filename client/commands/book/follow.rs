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

/// Tells every entry that is asked for, until Ctrl-C or until nobody reads any more.
pub(crate) async fn perform(
    session: &Session,
    asked: WatchEntriesRequest,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if let Whereabouts::Folder(_) = session.whereabouts() {
        return Err(Fault::usage(
            "--follow",
            "Nobody else can record in a book that this command has open by itself; serve it with \
             fettled and name the address with --at.",
        ));
    }
    let watch = async |sent| session.stream(sent).await;
    tokio::select! {
        _ = tokio::signal::ctrl_c() => Ok(Exit::Done),
        ended = follow(watch, asked, printer) => ended,
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
    watch: impl AsyncFn(WatchEntriesRequest) -> Result<W, Status>,
    mut asked: WatchEntriesRequest,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut pauses = waits().build();
    let mut is_told = false;
    loop {
        let before = asked.after_seq;
        let broken = match watch(asked.clone()).await {
            Ok(mut entries) => match tell(&mut entries, &mut asked, printer).await? {
                Some(broken) => broken,
                None => return Ok(Exit::Done),
            },
            Err(status) => status,
        };
        if !passes(&broken) {
            return Err(Fault::from(broken));
        }
        let after = asked.after_seq;
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
    asked: &mut WatchEntriesRequest,
    printer: &mut Printer,
) -> Result<Option<Status>, Fault> {
    loop {
        let answer = match entries.next().await {
            Ok(Some(answer)) => answer,
            Ok(None) => return Ok(Some(Status::unavailable("the watch ended"))),
            Err(status) => return Ok(Some(status)),
        };
        let entry = answer.entry.filter(|entry| comes_next(entry, asked));
        let entry: Entry = entry.ok_or_else(|| Fault::answer("the next entry"))?;
        printer.line(&entry, entry::line)?;
        asked.after_seq = entry.seq;
        if !printer.flush() {
            return Ok(None);
        }
    }
}

/// Whether an entry may follow the last one: where all are asked for none is left out between them.
fn comes_next(entry: &Entry, asked: &WatchEntriesRequest) -> bool {
    let asks_for_all = asked.subject.is_empty() && asked.by.is_empty() && !asked.flagged;
    if asks_for_all {
        entry.seq == asked.after_seq + 1
    } else {
        entry.seq > asked.after_seq
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
