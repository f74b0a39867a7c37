//! The `fettle` binary: the client, with the service in this process for whoever works alone.
//!
//! It serves the person with the kit. All it does is fit the service's way of starting to what the
//! client asks for.

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use fettlebook_client::{
    AgainstBackup, BackupInto, Local, OutboxFile, OutboxHeld, Solo, SoloBackup, SoloBeside,
    SoloBookSaid, SoloClock, SoloCopy, SoloCopyOf, SoloError, SoloErrorKind, SoloHistories,
    SoloLeftOut, SoloMend, SoloMended, SoloRescued, SoloSession,
};
use fettlebook_server::desk::{Clock, Manifest, OpenError, OpenReport, ShelfFound, SystemClock};
use fettlebook_server::journal::JournalError;
use fettlebook_server::keep::{
    self, BackupFolder, BookSaid, CopyStanding, Histories, KeepError, MendAsked, Mended, Parted,
};
use fettlebook_server::solo::{self, SoloService, StoryClock};

fn main() -> ExitCode {
    fettlebook_client::run(std::env::args_os(), &InProcess)
}

/// The service in this process.
struct InProcess;

impl Solo for InProcess {
    fn open<'a>(
        &'a self,
        folder: &'a Path,
        clock: SoloClock,
    ) -> Local<'a, Result<SoloSession, SoloError>> {
        Box::pin(async move {
            let accept_clock = matches!(clock, SoloClock::Accepted);
            let clock: Arc<dyn Clock> = match clock {
                SoloClock::System | SoloClock::Accepted => Arc::new(SystemClock),
                SoloClock::Story(moment_us) => Arc::new(StoryClock::new(moment_us)),
            };
            let opened = solo::open(folder, clock, accept_clock).await;
            opened.map(session).map_err(|error| told(&error))
        })
    }

    fn begin_backup(&self, to: &Path) -> Result<Box<dyn BackupInto>, SoloError> {
        let folder = BackupFolder::begin(to).map_err(|error| not_kept(&error))?;
        Ok(Box::new(Backup(folder)))
    }

    fn restore(&self, from: &Path, to: &Path) -> Result<SoloBackup, SoloError> {
        let restored = keep::restore(from, to, keep::new_incarnation());
        let restored = restored.map_err(|error| not_kept(&error))?;
        Ok(backup(&restored.backup))
    }

    fn begin_against(
        &self,
        backup: &Path,
        book: &SoloBookSaid,
    ) -> Result<Box<dyn AgainstBackup>, SoloError> {
        let since = u64::try_from(book.incarnation_seq).unwrap_or_default();
        let said = BookSaid::parse(&book.book_id, &book.incarnation_id, since);
        let begun = said.and_then(|said| keep::Against::begin(backup, said));
        let begun = begun.map_err(|error| not_kept(&error))?;
        Ok(Box::new(Comparing(begun)))
    }

    fn mend(&self, asked: &SoloMend) -> Result<SoloMended, SoloError> {
        let found = keep::mend(&MendAsked {
            from: asked.from.clone(),
            to: asked.to.clone(),
            backup: asked.backup.clone(),
            write: asked.write,
            incarnation_id: keep::new_incarnation(),
        });
        found.map(mended).map_err(|error| not_kept(&error))
    }

    fn accept_end(&self, folder: &Path, seq: i64) -> Result<i64, SoloError> {
        let last = u64::try_from(seq).unwrap_or_default();
        let put_aside = keep::accept_end(folder, last).map_err(|error| not_kept(&error))?;
        Ok(whole(put_aside))
    }

    fn open_outbox(&self, folder: &Path) -> Result<Box<dyn OutboxFile>, SoloError> {
        let outbox = keep::Outbox::open(folder).map_err(|error| not_kept(&error))?;
        Ok(Box::new(Outbox(outbox)))
    }

    fn rescue_outbox(&self, folder: &Path) -> Result<SoloRescued, SoloError> {
        let lines = keep::rescue_outbox(folder).map_err(|error| not_kept(&error))?;
        Ok(SoloRescued { lines })
    }

    fn replace_outbox(&self, folder: &Path, lines: &[Vec<u8>]) -> Result<PathBuf, SoloError> {
        keep::replace_outbox(folder, lines).map_err(|error| not_kept(&error))
    }

    fn hold_outbox(&self, folder: &Path) -> Result<Box<dyn OutboxHeld>, SoloError> {
        let held = keep::hold_outbox(folder).map_err(|error| not_kept(&error))?;
        Ok(Box::new(Held(held)))
    }

    fn copy_standing(&self, folder: &Path) -> Result<Option<SoloCopy>, SoloError> {
        let found = keep::copy_standing(folder);
        let found = found.map_err(|error| not_kept(&error))?;
        Ok(found.as_ref().map(copy))
    }

    fn extend_copy(
        &self,
        folder: &Path,
        of: &SoloCopyOf,
        entries: &[Vec<u8>],
    ) -> Result<SoloCopy, SoloError> {
        let read = keep::copy_of(
            &of.book_id,
            &of.incarnation_id,
            &of.caller,
            &of.role,
            of.as_of_time,
        );
        let extended = read.and_then(|of| keep::extend_copy(folder, &of, entries));
        let standing = extended.map_err(|error| not_kept(&error))?;
        Ok(copy(&standing))
    }

    fn open_copy<'a>(&'a self, folder: &'a Path) -> Local<'a, Result<SoloSession, SoloError>> {
        Box::pin(async move {
            let opened = solo::open_copy(folder, Arc::new(SystemClock)).await;
            opened.map(session).map_err(|error| told(&error))
        })
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

fn copy(standing: &CopyStanding) -> SoloCopy {
    SoloCopy {
        book_id: standing.of.book_id.to_string(),
        incarnation_id: standing.of.incarnation_id.to_string(),
        head_seq: whole(standing.head.0),
        as_of_time: standing.of.as_of_time,
    }
}

/// The outbox of a device.
struct Outbox(keep::Outbox);

impl OutboxFile for Outbox {
    fn lines(&self) -> &[Vec<u8>] {
        self.0.lines()
    }

    fn append(&mut self, lines: &[Vec<u8>]) -> Result<(), SoloError> {
        self.0.append(lines).map_err(|error| not_kept(&error))
    }
}

/// The outbox of a device, held shut.
struct Held(#[expect(dead_code, reason = "it is only dropped")] keep::OutboxHold);

impl OutboxHeld for Held {}

/// The folder of a backup.
struct Backup(BackupFolder);

impl BackupInto for Backup {
    fn take(&mut self, file: &str, content: &[u8]) -> Result<(), SoloError> {
        let taken = self.0.take(file, content);
        taken.map_err(|error| not_kept(&error))
    }

    fn finish(self: Box<Self>) -> Result<SoloBackup, SoloError> {
        let manifest = self.0.finish().map_err(|error| not_kept(&error))?;
        Ok(backup(&manifest))
    }
}

/// A book that is being compared with a backup.
struct Comparing(keep::Against);

impl AgainstBackup for Comparing {
    fn take(&mut self, file: &str, content: &[u8]) -> Result<(), SoloError> {
        let taken = self.0.take(file, content);
        taken.map_err(|error| not_kept(&error))
    }

    fn finish(self: Box<Self>) -> SoloBeside {
        let found = self.0.finish();
        SoloBeside {
            backup: backup(&found.backup),
            book_head_seq: whole(found.book_head.0),
            histories: match found.histories {
                Histories::Agree => SoloHistories::Agree,
                Histories::Lacks { first } => SoloHistories::Lacks(whole(first.0)),
                Histories::Parted(parted) => parted_as(parted),
            },
        }
    }
}

fn parted_as(parted: Parted) -> SoloHistories {
    let first = whole(parted.first.0);
    if parted.other_incarnation {
        SoloHistories::OtherIncarnation(first)
    } else {
        SoloHistories::Rewritten(first)
    }
}

fn backup(manifest: &Manifest) -> SoloBackup {
    SoloBackup {
        book_id: manifest.book_id.to_string(),
        incarnation_id: manifest.incarnation_id.to_string(),
        head_seq: whole(manifest.head.seq.0),
        head_chain: manifest.head.chain.to_string(),
        made_time: manifest.made_time,
        file_count: whole(manifest.files.len() as u64),
        byte_count: whole(manifest.byte_count()),
    }
}

fn mended(found: Mended) -> SoloMended {
    let damage = found.damage.as_ref();
    let left_out = found.left_out.into_iter().map(|stretch| SoloLeftOut {
        file: stretch.file,
        offset: whole(stretch.offset),
        byte_count: whole(stretch.byte_count),
        why: stretch.why,
    });
    let taken = found.taken.iter();
    SoloMended {
        book_id: found.book_id.to_string(),
        head_seq: whole(found.head.seq.0),
        head_chain: found.head.chain.to_string(),
        damage: damage.map(ToString::to_string).unwrap_or_default(),
        first_bad_seq: damage.map_or(0, |damage| whole(damage.seq.0)),
        taken: taken
            .map(|run| (whole(run.first.0), whole(run.last.0)))
            .collect(),
        histories: found.parted.map_or(SoloHistories::Agree, parted_as),
        left_out: left_out.collect(),
        only_torn: found.only_torn,
    }
}

/// A count as the contract's numbers have it.
fn whole(count: u64) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

fn not_kept(error: &KeepError) -> SoloError {
    let kind = match error {
        KeepError::InUse { .. }
        | KeepError::OutboxInUse { .. }
        | KeepError::Open(OpenError::InUse { .. }) => SoloErrorKind::Held,
        KeepError::BackupDamaged { .. }
        | KeepError::NothingKept { .. }
        | KeepError::NoIdentity { .. }
        | KeepError::OutboxDamaged { .. }
        | KeepError::Open(OpenError::OtherBook { .. })
        | KeepError::Journal(JournalError::Damaged(_)) => SoloErrorKind::Damaged,
        KeepError::NotEmpty { .. }
        | KeepError::Inside { .. }
        | KeepError::NotABackup { .. }
        | KeepError::NotABook { .. }
        | KeepError::NotACopy { .. }
        | KeepError::OtherBook { .. } => SoloErrorKind::WrongFolder,
        KeepError::Newer { .. }
        | KeepError::NewerEntry { .. }
        | KeepError::Open(OpenError::Newer { .. }) => SoloErrorKind::Newer,
        KeepError::NotOurs { .. }
        | KeepError::CopyNotContinued { .. }
        | KeepError::CopyNotUnderstood { .. }
        | KeepError::ChangedMeanwhile { .. }
        | KeepError::EndNotOpen { .. }
        | KeepError::Disk { .. }
        | KeepError::Open(_)
        | KeepError::Journal(_) => SoloErrorKind::Failed,
    };
    SoloError {
        message: error.to_string(),
        kind,
    }
}

/// What was found on opening that the person should know.
fn notices(report: &OpenReport) -> Vec<String> {
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
        ShelfFound::Current | ShelfFound::Behind { .. } | ShelfFound::Ahead => None,
    };
    let read_only = report
        .read_only
        .as_ref()
        .map(|reason| format!("The book can be read, but nothing can be recorded: {reason}."));
    [torn, shelf, read_only].into_iter().flatten().collect()
}

fn told(error: &solo::SoloError) -> SoloError {
    let kind = match error {
        solo::SoloError::Open(OpenError::InUse { .. }) => SoloErrorKind::Held,
        solo::SoloError::Open(
            OpenError::NoIdentity { .. }
            | OpenError::NoJournal { .. }
            | OpenError::Identity { .. }
            | OpenError::CopyDamaged { .. }
            | OpenError::OtherBook { .. }
            | OpenError::Journal(JournalError::Damaged(_)),
        ) => SoloErrorKind::Damaged,
        solo::SoloError::Open(
            OpenError::Backup { .. }
            | OpenError::Copy { .. }
            | OpenError::NoCopy { .. }
            | OpenError::Unfinished { .. },
        ) => SoloErrorKind::WrongFolder,
        solo::SoloError::Open(OpenError::Newer { .. } | OpenError::NewerCopy { .. }) => {
            SoloErrorKind::Newer
        }
        _ => SoloErrorKind::Failed,
    };
    SoloError {
        message: error.to_string(),
        kind,
    }
}
