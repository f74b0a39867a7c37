//! `book verify`: reads the whole journal, says whether it is whole, and compares it with a backup.
//!
//! A difference in what follows from the journal ends with exit code 3, damage of the journal itself and
//! a history that is not the backup's with 8.

use std::path::{Path, PathBuf};

use clap::Args;
use fettlebook_contract::v1::{
    BackupBookRequest, ErrorReason, GetBookRequest, VerifyBookRequest, VerifyBookResponse,
};

use crate::call;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::render::{Form, Printer, book, keep};
use crate::solo::{SoloBeside, SoloBookSaid, SoloHistories};

/// What `book verify` takes.
#[derive(Args, Debug)]
pub(crate) struct Verify {
    /// Folder of a backup of the same book; says where the two histories part
    #[arg(long, value_name = "BACKUP")]
    pub(crate) against: Option<PathBuf>,
}

/// Verifies the book.
pub(crate) async fn verify(
    session: &Session,
    args: &Verify,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let answer = session.call(VerifyBookRequest {}).await?;
    let exit = match &args.against {
        None => {
            printer.answer(&answer, book::verified)?;
            verified_as(&answer)
        }
        Some(backup) => {
            let found = compare(session, backup).await?;
            tell_compared(&answer, &found, printer)?;
            match found.histories {
                SoloHistories::Lacks(_) | SoloHistories::Rewritten(_) => Exit::Damage,
                SoloHistories::Agree | SoloHistories::OtherIncarnation(_) => verified_as(&answer),
            }
        }
    };
    tell_notes(&answer, printer);
    Ok(exit)
}

/// Compares the history of the book with a backup's. The book comes as it would for a backup, and
/// nothing of it is written.
async fn compare(session: &Session, backup: &Path) -> Result<SoloBeside, Fault> {
    let standing = session.call(GetBookRequest::default()).await?;
    let said = SoloBookSaid {
        book_id: standing.book_id,
        incarnation_id: standing.incarnation_id,
        incarnation_seq: standing.incarnation_seq,
    };
    let mut comparing = session.solo().begin_against(backup, &said)?;
    let mut parts = session.stream(BackupBookRequest {}).await?;
    loop {
        match parts.message().await {
            Ok(Some(part)) => comparing.take(&part.file, &part.content)?,
            Ok(None) => break,
            // The book ends where its damage begins.
            Err(status) if call::reason(&status) == Some(ErrorReason::Damaged) => break,
            Err(status) => return Err(status.into()),
        }
    }
    Ok(comparing.finish())
}

/// Prints what was verified and what was compared.
fn tell_compared(
    answer: &VerifyBookResponse,
    found: &SoloBeside,
    printer: &mut Printer,
) -> Result<(), Fault> {
    match printer.form() {
        Form::Json => {
            let mut document = to_value(answer)?;
            if let Some(fields) = document.as_object_mut() {
                fields.insert("against".to_owned(), keep::beside_document(found));
            }
            printer.document(&document);
        }
        Form::People | Form::Csv => {
            let page = keep::compared(printer.screen(), answer, found);
            printer.page(&page);
        }
    }
    Ok(())
}

/// Tells what could not be looked at, beside the answer.
pub(crate) fn tell_notes(answer: &VerifyBookResponse, printer: &mut Printer) {
    for note in &answer.notes {
        let text = printer.screen().hung("", "", note);
        printer.say(&text);
    }
}

/// How a command ends that verified a book.
pub(crate) const fn verified_as(answer: &VerifyBookResponse) -> Exit {
    if answer.damaged {
        Exit::Damage
    } else if answer.newer_seq > 0 {
        Exit::Failed
    } else if answer.whole {
        Exit::Done
    } else {
        Exit::No
    }
}
