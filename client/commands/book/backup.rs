//! `book backup`: copies the whole book into a new folder while it may be in use.
//!
//! It serves whoever must not lose the book with the disk. It ends by reading the copy back; a copy
//! that was not found whole is never called a backup.

use std::path::PathBuf;

use clap::Args;
use fettlebook_contract::v1::{BackupBookRequest, GetBookRequest};
use serde_json::json;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Form, Printer, keep};

/// What `book backup` takes.
#[derive(Args, Debug)]
pub(crate) struct Backup {
    /// New or empty folder for the backup
    #[arg(long, value_name = "DIR")]
    pub(crate) to: PathBuf,
}

/// Makes the backup.
pub(crate) async fn perform(
    session: &Session,
    args: &Backup,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut folder = session.solo().begin_backup(&args.to)?;
    let mut parts = session.stream(BackupBookRequest {}).await?;
    while let Some(part) = parts.message().await? {
        folder.take(&part.file, &part.content)?;
    }
    let held = folder.finish()?;
    let book = session.call(GetBookRequest {}).await?;
    let place = args.to.display().to_string();
    match printer.form() {
        Form::Json => printer.document(&json!({
            "to": place,
            "backup": keep::backup_document(&held),
            "readOnlyReason": book.read_only_reason,
        })),
        Form::People | Form::Csv => {
            let page = keep::backed_up(printer.screen(), &place, &held, &book.read_only_reason);
            printer.page(&page);
        }
    }
    Ok(Exit::Done)
}
