//! `book backup`, `book restore`, `book mend`: copies of the book, and books made of what is whole.
//!
//! A book that was there is never written over, and what was made is opened and verified.

use std::path::{Path, PathBuf};

use clap::Args;
use fettlebook_contract::v1::{
    BackupBookRequest, GetBookRequest, NoteBackupRequest, VerifyBookRequest, VerifyBookResponse,
};
use serde_json::json;
use tonic::Code;

use crate::commands::book::verify::{tell_notes, verified_as};
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::whole;
use crate::json::to_value;
use crate::last_seen::Memory;
use crate::render::{Form, Printer, keep};
use crate::solo::{Solo, SoloBackup, SoloClock, SoloMend, SoloPruned};

/// What `book backup` takes.
#[derive(Args, Debug)]
pub(crate) struct Backup {
    /// New or empty folder for the backup
    #[arg(long, value_name = "DIR", required_unless_present = "into")]
    pub(crate) to: Option<PathBuf>,
    /// Folder for many backups: this one goes into a new folder there, named by its moment
    #[arg(long, value_name = "DIR", conflicts_with = "to")]
    pub(crate) into: Option<PathBuf>,
    /// How many of this book to keep there: once this one is whole, the oldest go. Nothing else is touched
    #[arg(long, value_name = "COUNT", requires = "into", value_parser = kept_count)]
    pub(crate) keep: Option<usize>,
}

/// Refuses the address of a database, which would be taken for the name of a folder: what this makes are folders.
fn refuse_database(place: &Path, does: &str) -> Result<(), Fault> {
    let is_one = |text: &str| text.starts_with("postgres://") || text.starts_with("postgresql://");
    if place.to_str().is_some_and(is_one) {
        let told = format!("This is of folders, and a database was named. {does}");
        return Err(Fault::usage("folder", told));
    }
    Ok(())
}

/// How many backups are kept.
fn kept_count(text: &str) -> Result<usize, String> {
    let read = text
        .parse()
        .ok()
        .filter(|count| (1..=10_000).contains(count));
    read.ok_or_else(|| "write a number from 1 to 10000".to_owned())
}

/// Makes the backup.
/// It ends by reading the copy back; a copy that was not found whole is never called a backup.
pub(crate) async fn back_up(
    session: &Session,
    args: &Backup,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if let Some(place) = args.to.as_ref().or(args.into.as_ref()) {
        let does = "A book in PostgreSQL is backed up into a folder too.";
        let example = "fettle book backup --to book-backup";
        refuse_database(place, does).map_err(|fault| fault.with_example(example))?;
    }
    let book = session.call(GetBookRequest::default()).await?;
    let now = session.now().timestamp();
    let (place, mut folder) = match (&args.into, &args.to) {
        (Some(into), _) => session.solo().begin_backup_into(into, &book.book_id, now)?,
        (None, to) => {
            let to = to.clone().unwrap_or_default();
            let folder = session.solo().begin_backup(&to)?;
            (to, folder)
        }
    };
    let mut parts = session.stream(BackupBookRequest {}).await?;
    while let Some(part) = parts.message().await? {
        folder.take(&part.file, &part.content)?;
    }
    let held = folder.finish()?;
    note(session, &held, printer).await;
    let pruned = prune(session, args, &book.book_id)?;
    let place = place.display().to_string();
    match printer.form() {
        Form::Json => printer.document(&json!({
            "to": place,
            "backup": keep::backup_document(&held),
            "readOnlyReason": book.read_only_reason,
            "removed": shown(&pruned.removed),
            "left": shown(&pruned.left),
        })),
        Form::People | Form::Csv => {
            let mut page = keep::backed_up(printer.screen(), &place, &held, &book.read_only_reason);
            page.push_str(&keep::pruned(printer.screen(), &pruned));
            printer.page(&page);
        }
    }
    Ok(Exit::Done)
}

/// Takes the oldest backups away where only so many are wanted.
fn prune(session: &Session, args: &Backup, book_id: &str) -> Result<SoloPruned, Fault> {
    let (Some(into), Some(keep)) = (&args.into, args.keep) else {
        return Ok(SoloPruned::default());
    };
    let now = session.now().timestamp();
    Ok(session.solo().prune_backups(into, book_id, keep, now)?)
}

fn shown(paths: &[PathBuf]) -> Vec<String> {
    paths
        .iter()
        .map(|path| path.display().to_string())
        .collect()
}

/// Tells the service that there is a backup which was found whole. One that is older does not ask, and the backup
/// is as good without.
async fn note(session: &Session, held: &SoloBackup, printer: &mut Printer) {
    let made = held.made_time;
    let noted = NoteBackupRequest {
        made_time: Some(prost_types::Timestamp {
            seconds: made.as_second(),
            nanos: made.subsec_nanosecond(),
        }),
        head_seq: held.head_seq,
    };
    match session.once(noted).await {
        Err(status) if status.code() != Code::Unimplemented => {
            let why = Fault::from(status).message;
            let told = format!("The service does not know of this backup: {why}");
            printer.say(&printer.screen().hung("", "", &told));
        }
        Ok(_) | Err(_) => {}
    }
}

/// What `book restore` takes.
#[derive(Args, Debug)]
pub(crate) struct Restore {
    /// Folder of the backup
    #[arg(long, value_name = "BACKUP")]
    pub(crate) from: PathBuf,
    /// New or empty folder for the book
    #[arg(long, value_name = "DIR")]
    pub(crate) to: PathBuf,
}

/// Restores the book.
/// The backup is verified first and only read; the new book is opened once and verified as any book is.
pub(crate) async fn restore(
    args: &Restore,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let does = "It is brought back into PostgreSQL with 'fettled restore --from BACKUP --store URL --node DIR'.";
    refuse_database(&args.to, does).map_err(|fault| {
        let from = args.from.display();
        fault.with_example(format!("fettle book restore --from {from} --to book-again"))
    })?;
    let held = solo.restore(&args.from, &args.to)?;
    let verified = open_and_verify(&args.to, solo, printer).await?;
    let place = args.to.display().to_string();
    match printer.form() {
        Form::Json => printer.document(&json!({
            "to": place,
            "backup": keep::backup_document(&held),
            "verified": to_value(&verified)?,
        })),
        Form::People | Form::Csv => {
            let page = keep::restored(printer.screen(), &place, &held, &verified);
            printer.page(&page);
        }
    }
    Ok(verified_as(&verified))
}

/// Opens a book that was just made, so that its shelf is built, and verifies it.
pub(crate) async fn open_and_verify(
    folder: &Path,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<VerifyBookResponse, Fault> {
    let place = Whereabouts::Folder(folder.to_owned());
    let session = Session::open(place, solo, SoloClock::System).await?;
    let memory = Memory::of_this_machine();
    let met = memory.meet(&session, printer).await;
    let verified = session.call(VerifyBookRequest {}).await;
    memory.part(&session, met, printer).await;
    session.close().await;
    if let Ok(verified) = &verified {
        tell_notes(verified, printer);
    }
    verified
}

const HOW: &str = "\
Kept is the longest beginning in which every entry follows from the one before by its chain value. \
Where the damaged book has no such entry, a backup of the same book may have it: name one with \
--with. What is left out is not lost: it goes byte for byte into DIR/left-out.bytes, and \
DIR/left-out.txt says where each stretch came from.";

/// What `book mend` takes.
#[derive(Args, Debug)]
#[command(after_help = HOW)]
pub(crate) struct Mend {
    /// Folder of the damaged book; nothing in it is changed
    #[arg(long, value_name = "DAMAGED")]
    pub(crate) from: PathBuf,
    /// New or empty folder for the mended book
    #[arg(long, value_name = "DIR", required_unless_present = "accept_end")]
    pub(crate) to: Option<PathBuf>,
    /// Folder of a backup of the same book, for what is damaged
    #[arg(long, value_name = "BACKUP")]
    pub(crate) with: Option<PathBuf>,
    /// Make the mended book; without it only what it would hold is told
    #[arg(long)]
    pub(crate) write: bool,
    /// Say that this was the last entry, where the book asks: in DAMAGED itself what stands behind it is
    /// put aside in journal/cut-off, and the book goes on. No program may have the book open
    #[arg(long, value_name = "SEQ", value_parser = whole, conflicts_with_all = ["to", "with", "write"])]
    pub(crate) accept_end: Option<i64>,
}

/// Mends the book, or says what mending it would do.
/// The damaged folder is only read, and without `--write` nothing is made at all.
pub(crate) async fn mend(
    args: &Mend,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if let Some(seq) = args.accept_end {
        return accept_end(&args.from, seq, solo, printer).await;
    }
    let to = args.to.clone().unwrap_or_default();
    let does = "A book in PostgreSQL is mended there, with 'fettled mend --store URL --node DIR'.";
    for place in [&args.from, &to] {
        refuse_database(place, does)?;
    }
    let found = solo.mend(&SoloMend {
        from: args.from.clone(),
        to: to.clone(),
        backup: args.with.clone(),
        write: args.write,
    })?;
    let verified = if args.write {
        Some(open_and_verify(&to, solo, printer).await?)
    } else {
        None
    };
    match printer.form() {
        Form::Json => {
            let verified = verified.as_ref().map(to_value).transpose()?;
            printer.document(&json!({
                "from": args.from.display().to_string(),
                "to": to.display().to_string(),
                "mend": keep::mend_document(&found),
                "written": args.write,
                "verified": verified,
            }));
        }
        Form::People | Form::Csv => {
            let (from, to) = (args.from.display().to_string(), to.display().to_string());
            let page = keep::mended(printer.screen(), (&from, &to), &found, verified.as_ref());
            printer.page(&page);
        }
    }
    Ok(verified.as_ref().map_or(Exit::Done, verified_as))
}

/// Takes an entry for the last one of the book in a folder, then opens and verifies the book.
async fn accept_end(
    from: &Path,
    seq: i64,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let byte_count = solo.accept_end(from, seq)?;
    let verified = open_and_verify(from, solo, printer).await?;
    let place = from.display().to_string();
    match printer.form() {
        Form::Json => printer.document(&json!({
            "from": place,
            "acceptedEndSeq": seq,
            "cutOffByteCount": byte_count,
            "verified": to_value(&verified)?,
        })),
        Form::People | Form::Csv => {
            let page = keep::end_accepted(printer.screen(), &place, (seq, byte_count), &verified);
            printer.page(&page);
        }
    }
    Ok(verified_as(&verified))
}
