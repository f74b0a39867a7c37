//! `book restore`: brings a book back from a backup, into a new folder.
//!
//! It serves whoever lost the book. The backup is verified first and only read; the new book is
//! opened once and verified as any book is.

use std::path::{Path, PathBuf};

use clap::Args;
use fettlebook_contract::v1::{VerifyBookRequest, VerifyBookResponse};
use serde_json::json;

use crate::commands::book::verify;
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::render::{Form, Printer, keep};
use crate::seen::Memory;
use crate::solo::{Solo, SoloClock};

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
pub(crate) async fn perform(
    args: &Restore,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
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
    Ok(verify::exit(&verified))
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
        verify::tell_notes(verified, printer);
    }
    verified
}
