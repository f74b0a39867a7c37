//! The service in the client's own process, as the client asks for it: books, backups, outboxes and
//! copies in folders.
//!
//! It says in plain facts what the desk and the room `keep` found, and gives every error its kind.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use fettlebook_model::Moment;
use fettlebook_solo::{
    AgainstBackup, BackupInto, Local, OutboxFile, OutboxHeld, Solo, SoloBackup, SoloBeside,
    SoloBookSaid, SoloClock, SoloCopy, SoloCopyOf, SoloError, SoloErrorKind, SoloFormat, SoloMend,
    SoloMended, SoloPruned, SoloRescued, SoloServe, SoloServed, SoloSession,
};
use tonic::transport::Channel;
use uuid::Uuid;

use super::{NotStarted, SoloService, StoryClock};
use crate::access::{Invite, Role, invite};
use crate::desk::{Clock, DeskOptions, OpenError, OpenReport, ShelfFound, SystemClock};
use crate::formats::formats;
use crate::journal::JournalError;
use crate::keep::{
    self, BackupComparison, BackupFolder, BackupRow, BookSaid, KeepError, Outbox, OutboxHold,
    Pruned, whole,
};
use crate::serve::ServeError;
use crate::store::{FolderStore, Store as _, StoreError};

/// Who invites with the rights to the folder alone.
const INVITED_BY: &str = "local";

/// The service in this process.
#[derive(Debug, Clone, Copy)]
pub struct InProcess;

impl Solo for InProcess {
    fn open<'a>(
        &'a self,
        folder: &'a Path,
        clock: SoloClock,
    ) -> Local<'a, Result<SoloSession, SoloError>> {
        let options = options(clock);
        Box::pin(async move { Ok(session(super::open(folder, options).await?)) })
    }

    fn look<'a>(
        &'a self,
        folder: &'a Path,
        clock: SoloClock,
    ) -> Local<'a, Result<SoloSession, SoloError>> {
        let options = DeskOptions {
            only_looks: true,
            ..options(clock)
        };
        Box::pin(async move { Ok(session(super::open(folder, options).await?)) })
    }

    #[cfg(unix)]
    fn reach<'a>(&'a self, folder: &'a Path) -> Local<'a, Option<Channel>> {
        Box::pin(super::socket::reach(folder))
    }

    /// Other processes have no way in here.
    #[cfg(not(unix))]
    fn reach<'a>(&'a self, _: &'a Path) -> Local<'a, Option<Channel>> {
        Box::pin(std::future::ready(None))
    }

    fn serve<'a>(
        &'a self,
        asked: &'a SoloServe,
        clock: SoloClock,
    ) -> Local<'a, Result<SoloServed, SoloError>> {
        let options = options(clock);
        Box::pin(async move { Ok(super::house::serve(asked, options).await?) })
    }

    fn invite(&self, folder: &Path, name: &str) -> Result<String, SoloError> {
        let failed = |message: String| SoloError {
            message,
            kind: SoloErrorKind::Failed,
        };
        let asked = Invite {
            office: None,
            name: name.parse().map_err(|error| failed(format!("{error}")))?,
            role: Role::Own,
            by: INVITED_BY.to_owned(),
            at: None,
            again: true,
        };
        let made = invite(
            &*FolderStore::at(folder).cabinet(),
            &asked,
            SystemClock.now(),
        );
        Ok(made.map_err(|error| failed(error.told()))?.code.to_string())
    }

    fn formats(&self) -> Vec<SoloFormat> {
        formats()
    }

    fn begin_backup(&self, to: &Path) -> Result<Box<dyn BackupInto>, SoloError> {
        Ok(Box::new(BackupFolder::begin(to)?))
    }

    fn begin_backup_into(
        &self,
        into: &Path,
        book_id: &str,
        now: Moment,
    ) -> Result<(PathBuf, Box<dyn BackupInto>), SoloError> {
        let (path, folder) = BackupRow::of(into, book_id)?.begin(now)?;
        Ok((path, Box::new(folder)))
    }

    fn prune_backups(
        &self,
        into: &Path,
        book_id: &str,
        keep: usize,
        now: Moment,
    ) -> Result<SoloPruned, SoloError> {
        let Pruned { removed, left } = BackupRow::of(into, book_id)?.prune(keep, now)?;
        Ok(SoloPruned { removed, left })
    }

    fn restore(&self, from: &Path, to: &Path) -> Result<SoloBackup, SoloError> {
        let restored = keep::restore(from, to, keep::new_incarnation())?;
        Ok(keep::said(&restored.backup))
    }

    fn begin_against(
        &self,
        backup: &Path,
        book: &SoloBookSaid,
    ) -> Result<Box<dyn AgainstBackup>, SoloError> {
        let since = u64::try_from(book.incarnation_seq).unwrap_or_default();
        let said = BookSaid::parse(&book.book_id, &book.incarnation_id, since)?;
        Ok(Box::new(BackupComparison::begin(backup, said)?))
    }

    fn mend(&self, asked: &SoloMend) -> Result<SoloMended, SoloError> {
        Ok(keep::mend(asked, keep::new_incarnation())?)
    }

    fn accept_end(&self, folder: &Path, seq: i64) -> Result<i64, SoloError> {
        let last = u64::try_from(seq).unwrap_or_default();
        Ok(whole(keep::accept_end(folder, last)?))
    }

    fn open_outbox(&self, folder: &Path) -> Result<Box<dyn OutboxFile>, SoloError> {
        Ok(Box::new(Outbox::open(folder)?))
    }

    fn rescue_outbox(&self, folder: &Path) -> Result<SoloRescued, SoloError> {
        let lines = keep::rescue_outbox(folder)?;
        Ok(SoloRescued { lines })
    }

    fn replace_outbox(&self, folder: &Path, lines: &[Vec<u8>]) -> Result<PathBuf, SoloError> {
        Ok(keep::replace_outbox(folder, lines)?)
    }

    fn hold_outbox(&self, folder: &Path) -> Result<Box<dyn OutboxHeld>, SoloError> {
        Ok(Box::new(keep::hold_outbox(folder)?))
    }

    fn copy_standing(&self, folder: &Path) -> Result<Option<SoloCopy>, SoloError> {
        Ok(keep::copy_standing(folder)?)
    }

    fn extend_copy(
        &self,
        folder: &Path,
        of: &SoloCopyOf,
        entries: &[Vec<u8>],
    ) -> Result<SoloCopy, SoloError> {
        let of = keep::copy_of(
            &of.book_id,
            &of.incarnation_id,
            &of.caller,
            &of.role,
            of.as_of_time,
        )?;
        Ok(keep::extend_copy(folder, &of, entries)?)
    }

    fn open_copy<'a>(&'a self, folder: &'a Path) -> Local<'a, Result<SoloSession, SoloError>> {
        Box::pin(async move {
            let opened = super::open_copy(folder, Arc::new(SystemClock)).await;
            Ok(session(opened?))
        })
    }
}

/// How a book is opened by a clock. One that is accepted is right, whatever the last entry says.
fn options(clock: SoloClock) -> DeskOptions {
    let accept_clock = matches!(clock, SoloClock::Accepted);
    let clock: Arc<dyn Clock> = match clock {
        SoloClock::System | SoloClock::Accepted => Arc::new(SystemClock),
        SoloClock::Story(moment_us) => Arc::new(StoryClock::new(moment_us)),
    };
    DeskOptions {
        accept_clock,
        ..DeskOptions::new(clock, Uuid::now_v7())
    }
}

/// A session with a service in this process.
fn session(service: SoloService) -> SoloSession {
    SoloSession {
        channel: service.channel(),
        notices: notices(service.report()),
        finish: Box::pin(async {
            // What was acknowledged is on the disk already, however the book closes.
            let _ = service.close().await;
        }),
    }
}

impl OutboxFile for Outbox {
    fn lines(&self) -> &[Vec<u8>] {
        self.lines()
    }

    fn append(&mut self, lines: &[Vec<u8>]) -> Result<(), SoloError> {
        Ok(self.append(lines)?)
    }
}

impl OutboxHeld for OutboxHold {}

impl BackupInto for BackupFolder {
    fn take(&mut self, file: &str, content: &[u8]) -> Result<(), SoloError> {
        Ok(self.take(file, content)?)
    }

    fn finish(self: Box<Self>) -> Result<SoloBackup, SoloError> {
        Ok(keep::said(&(*self).finish()?))
    }
}

impl AgainstBackup for BackupComparison {
    fn take(&mut self, file: &str, content: &[u8]) -> Result<(), SoloError> {
        Ok(self.take(file, content)?)
    }

    fn finish(self: Box<Self>) -> SoloBeside {
        (*self).finish()
    }
}

impl From<KeepError> for SoloError {
    fn from(error: KeepError) -> Self {
        let kind = match &error {
            KeepError::InUse { .. }
            | KeepError::OutboxInUse { .. }
            | KeepError::Store(StoreError::InUse { .. }) => SoloErrorKind::Held,
            KeepError::BackupDamaged { .. }
            | KeepError::NothingKept { .. }
            | KeepError::NoIdentity { .. }
            | KeepError::OutboxDamaged { .. }
            | KeepError::Store(StoreError::OtherBook { .. })
            | KeepError::Journal(JournalError::Damaged(_)) => SoloErrorKind::Damaged,
            KeepError::NotEmpty { .. }
            | KeepError::Inside { .. }
            | KeepError::NotABackup { .. }
            | KeepError::NotABook { .. }
            | KeepError::NotACopy { .. }
            | KeepError::OtherBook { .. } => SoloErrorKind::WrongFolder,
            KeepError::Newer { .. }
            | KeepError::NewerEntry { .. }
            | KeepError::Store(StoreError::Newer { .. }) => SoloErrorKind::Newer,
            KeepError::NotOurs { .. }
            | KeepError::CopyNotContinued { .. }
            | KeepError::CopyNotUnderstood { .. }
            | KeepError::ChangedMeanwhile { .. }
            | KeepError::EndNotOpen { .. }
            | KeepError::Disk { .. }
            | KeepError::Store(_)
            | KeepError::Journal(_) => SoloErrorKind::Failed,
        };
        Self {
            message: error.to_string(),
            kind,
        }
    }
}

/// What was found on opening that the person should know.
pub(super) fn notices(report: &OpenReport) -> Vec<String> {
    let torn = report
        .torn
        .as_ref()
        .map(|torn| format!("The journal: {torn}."));
    let shelf = match &report.shelf {
        ShelfFound::Rebuilt { why } => Some(format!(
            "The shelf was built again from the journal, because {why}."
        )),
        ShelfFound::OutOfUse { why } => Some(format!(
            "The book is read from its journal alone, and nothing can be recorded: {why}."
        )),
        ShelfFound::Current
        | ShelfFound::Unopened
        | ShelfFound::Behind { .. }
        | ShelfFound::Ahead => None,
    };
    let read_only = report
        .read_only
        .as_ref()
        .map(|reason| format!("The book can be read, but nothing can be recorded: {reason}."));
    [torn, shelf, read_only].into_iter().flatten().collect()
}

impl From<NotStarted> for SoloError {
    fn from(error: NotStarted) -> Self {
        let kind = match &error {
            NotStarted::Open(OpenError::Store(StoreError::InUse { .. })) => SoloErrorKind::Held,
            NotStarted::Open(
                OpenError::Store(
                    StoreError::NoIdentity { .. }
                    | StoreError::NoJournal { .. }
                    | StoreError::Identity { .. }
                    | StoreError::OtherBook { .. },
                )
                | OpenError::CopyDamaged { .. }
                | OpenError::Journal(JournalError::Damaged(_)),
            ) => SoloErrorKind::Damaged,
            NotStarted::Open(
                OpenError::Store(
                    StoreError::Backup { .. }
                    | StoreError::Copy { .. }
                    | StoreError::Moved { .. }
                    | StoreError::Unfinished { .. },
                )
                | OpenError::NoCopy { .. },
            ) => SoloErrorKind::WrongFolder,
            NotStarted::NoNetwork | NotStarted::Serve(ServeError::Listen { .. }) => {
                SoloErrorKind::NoAddress
            }
            NotStarted::Open(
                OpenError::Store(StoreError::Newer { .. }) | OpenError::NewerCopy { .. },
            ) => SoloErrorKind::Newer,
            _ => SoloErrorKind::Failed,
        };
        Self {
            message: error.to_string(),
            kind,
        }
    }
}
