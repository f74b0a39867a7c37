//! Backups that a running service makes by itself: each read back, the oldest taken away, and what became of it
//! told in the log, the metrics and by `GetCondition`.
//!
//! Invariant: a backup that fails takes no older one away, and leaves nothing of itself.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use fettlebook_model::Moment;
use jiff::SignedDuration;
use tokio::sync::Semaphore;

use super::ServeError;
use crate::args::{Args, BackupArgs};
use crate::desk::{Desk, DeskError, Done, Manifest, Schedule};
use crate::edge::Usage;
use crate::keep::{BackupRow, KeepError, Pruned};
use crate::limits::{BACKUP_LOOK_EVERY, BACKUP_TRY_EVERY};

/// What is made, how often, and how many are kept.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    row: BackupRow,
    every: SignedDuration,
    keep: usize,
    /// That of one of the books of a node; none where there is one book.
    among: Option<Among>,
}

/// A book among those of a node.
#[derive(Debug, Clone)]
struct Among {
    /// Turns at what nobody waits for.
    turns: Arc<Semaphore>,
    /// It is not let go while it is backed up.
    usage: Usage,
}

/// Why a backup was not made.
#[derive(Debug, thiserror::Error)]
enum NotMade {
    /// The book could not be read, or the service stops.
    #[error("{0}")]
    Desk(#[from] DeskError),
    /// The backup could not be written, or was not what was read.
    #[error("{0}")]
    Keep(#[from] KeepError),
}

/// A backup that was made.
struct Made {
    path: PathBuf,
    manifest: Manifest,
    pruned: Result<Pruned, KeepError>,
}

/// Stops what is being written when the service does.
#[derive(Debug, Default)]
struct Stop(Arc<AtomicBool>);

impl Drop for Stop {
    fn drop(&mut self) {
        self.0.store(true, Ordering::SeqCst);
    }
}

impl Plan {
    /// The plan that was asked for, where one was.
    ///
    /// # Errors
    /// When backups cannot be written where they should go.
    pub(super) fn asked(args: &Args, desk: &Desk) -> Result<Option<Self>, ServeError> {
        let to = args.backups.to.as_deref();
        to.map(|to| Self::into(to, args, desk)).transpose()
    }

    /// The same with backups in this folder.
    ///
    /// # Errors
    /// When they cannot be written there.
    pub(super) fn into(to: &Path, args: &Args, desk: &Desk) -> Result<Self, ServeError> {
        let BackupArgs { every, keep, .. } = &args.backups;
        let book_id = desk.standing().identity.book_id;
        Ok(Self {
            row: BackupRow::open(to, book_id, args.kept.book.as_deref())?,
            every: *every,
            keep: *keep,
            among: None,
        })
    }

    /// The same for one of the books of a node, each backup in its turn.
    #[cfg(feature = "postgres")]
    pub(super) fn in_turn(self, turns: Arc<Semaphore>, usage: Usage) -> Self {
        let among = Some(Among { turns, usage });
        Self { among, ..self }
    }

    /// Makes backups for as long as this is polled. What an earlier process made counts.
    pub(super) async fn keep_up(self, desk: Desk) {
        let stop = Stop::default();
        let mut next = self.first(&desk).await;
        loop {
            let every_s = self.every.as_secs();
            let schedule = Some(Schedule { every_s, next });
            desk.note_schedule(|upkeep| upkeep.schedule = schedule);
            wait_until(&desk, next).await;
            let pause = match self.make(&desk, &stop).await {
                Ok(made) => {
                    tell(&made);
                    desk.note_schedule(|upkeep| {
                        upkeep.made_count += 1;
                        upkeep.trouble = None;
                    });
                    self.every
                }
                Err(NotMade::Desk(DeskError::Closed | DeskError::HeldElsewhere { .. })) => {
                    return;
                }
                Err(error) => {
                    tracing::error!(%error, "no backup was made; the ones before it stay");
                    let why: Arc<str> = error.to_string().into();
                    desk.note_schedule(|upkeep| {
                        upkeep.failed_count += 1;
                        upkeep.trouble = Some(why);
                    });
                    self.every.min(BACKUP_TRY_EVERY)
                }
            };
            next = desk.now().saturating_add(pause).unwrap_or(Moment::MAX);
        }
    }

    /// When the first is due: so long after the newest that is there, or at once.
    async fn first(&self, desk: &Desk) -> Moment {
        let row = self.row.clone();
        let newest = tokio::task::spawn_blocking(move || row.newest()).await;
        let Ok(Ok(Some(newest))) = newest else {
            return desk.now();
        };
        if newest.incarnation_id == desk.standing().identity.incarnation_id {
            note(desk, &newest).await;
        }
        let due = newest.made_time.saturating_add(self.every);
        due.unwrap_or(Moment::MAX)
            .min(desk.now().saturating_add(self.every).unwrap_or(Moment::MAX))
    }

    /// Makes one, off the threads that answer callers.
    async fn make(&self, desk: &Desk, stop: &Stop) -> Result<Made, NotMade> {
        let _turn = match &self.among {
            Some(Among { turns, usage }) => {
                let turn = turns.acquire().await.map_err(|_| DeskError::Closed)?;
                Some((turn, usage.hold()))
            }
            None => None,
        };
        let (plan, of, stopped) = (self.clone(), desk.clone(), Arc::clone(&stop.0));
        let making = tokio::task::spawn_blocking(move || plan.write(&of, &stopped));
        let made = making.await.map_err(|_| DeskError::Closed)??;
        note(desk, &made.manifest).await;
        Ok(made)
    }

    fn write(&self, desk: &Desk, stopped: &AtomicBool) -> Result<Made, NotMade> {
        let (path, mut folder) = self.row.begin(desk.now())?;
        let mut copied = || {
            let mut parts = desk.backup()?;
            while let Some(part) = parts.blocking_recv() {
                if stopped.load(Ordering::SeqCst) {
                    return Err(DeskError::Closed.into());
                }
                let part = part?;
                folder.take(&part.file, &part.content)?;
            }
            Ok(())
        };
        let manifest = copied().and_then(|()| Ok(folder.finish()?));
        match manifest {
            Ok(manifest) => Ok(Made {
                path,
                manifest,
                pruned: self.row.prune(self.keep, desk.now()),
            }),
            Err(error) => {
                if let Err(more) = self.row.give_up(&path) {
                    tracing::warn!(%more, "what was written of a backup that failed stays");
                }
                Err(error)
            }
        }
    }
}

/// Waits until a moment by the desk's clock, which may jump.
async fn wait_until(desk: &Desk, moment: Moment) {
    loop {
        let left = moment.duration_since(desk.now());
        let Ok(left) = Duration::try_from(left) else {
            return;
        };
        if left.is_zero() {
            return;
        }
        tokio::time::sleep(left.min(BACKUP_LOOK_EVERY)).await;
    }
}

/// Remembers a backup in the book's folder.
async fn note(desk: &Desk, manifest: &Manifest) {
    let done = Done {
        seq: manifest.head.seq,
        time: manifest.made_time,
    };
    let desk = desk.clone();
    // What is not noted is looked for at the next start.
    let _ = tokio::task::spawn_blocking(move || desk.note_backup(done)).await;
}

fn tell(made: &Made) {
    let (path, entry_count) = (made.path.display(), made.manifest.head.seq.0);
    match &made.pruned {
        Ok(Pruned { removed, left }) => {
            let removed_count = removed.len();
            tracing::info!(%path, entry_count, removed_count, "a backup was made, read back and found whole");
            for left in left {
                let path = left.display();
                tracing::warn!(%path, "an old backup stays, because something else lies in its folder");
            }
        }
        Err(error) => {
            tracing::info!(%path, entry_count, "a backup was made, read back and found whole");
            tracing::warn!(%error, "old backups could not be taken away");
        }
    }
}
