//! Laying out for the office what a book answers, whenever it changed.
//!
//! It works beside whoever records, on a thread of its own and over a connection of its own: nothing that is
//! recorded waits for it, and where it fails it is tried again later.

use std::sync::Arc;
use std::time::Duration;

use tokio::runtime::Handle;
use tokio::sync::Semaphore;
use tokio::time::{Instant, sleep, sleep_until, timeout_at};

use crate::desk::Desk;
use crate::edge::OfficeAnswers;
use crate::limits::{OFFICE_ANEW_EVERY, OFFICE_EVERY};
use crate::store::Office;

/// How long it waits after something went wrong.
const AGAIN_AFTER: Duration = Duration::from_secs(10);

/// Keeps the office's lists up with a book, until it is closed or another has it, a round in each turn that it gets
/// among the books of a node. Books in folders have none.
pub(super) async fn keep_up(desk: Desk, turns: Arc<Semaphore>) {
    let Some(office) = desk.office() else { return };
    let answers = Arc::new(OfficeAnswers::of(&desk));
    let mut news = desk.news();
    loop {
        let begun = Instant::now();
        news.mark_unchanged();
        let (answers, office, handle) =
            (Arc::clone(&answers), Arc::clone(&office), Handle::current());
        let Ok(turn) = turns.acquire().await else {
            return;
        };
        let round = tokio::task::spawn_blocking(move || lay_out(&handle, &answers, &*office));
        let round = round.await;
        drop(turn);
        match round {
            Ok(Ok(true)) => {}
            // Another has the book: it lays it out.
            Ok(Ok(false)) => return,
            Ok(Err(error)) => {
                tracing::warn!(error, "the office's lists are not up to date");
                sleep(AGAIN_AFTER).await;
                continue;
            }
            Err(_) => return,
        }
        sleep_until(begun + OFFICE_EVERY).await;
        // Also where nothing is recorded: what is at risk is so at a moment.
        let changed = timeout_at(begun + OFFICE_ANEW_EVERY, news.changed()).await;
        if matches!(changed, Ok(Err(_))) {
            return;
        }
    }
}

/// One round; false where the right is another's by now.
fn lay_out(handle: &Handle, answers: &OfficeAnswers, office: &dyn Office) -> Result<bool, String> {
    let said = |error: tonic::Status| error.message().to_owned();
    let (seq, rows) = handle.block_on(answers.all()).map_err(said)?;
    let laid = office.lay_out(seq, rows);
    if !laid.map_err(|error| error.to_string())? {
        return Ok(false);
    }
    let mut after = office.deeds_until().map_err(|error| error.to_string())?;
    while after < seq {
        let (until, deeds) = handle.block_on(answers.deeds_after(after)).map_err(said)?;
        let added = office.add_deeds(until, deeds);
        if !added.map_err(|error| error.to_string())? {
            return Ok(false);
        }
        if until == after {
            break;
        }
        after = until;
    }
    Ok(true)
}
