//! The outbox: deeds that were kept on this device, in order, until the shop has them.
//!
//! It serves whoever works without signal. A deed is written here before it is sent, and every step
//! of it after that is a further line; nothing is ever taken out. What cannot be read is damage,
//! which stops keeping and is told; it is never passed over.

use std::path::{Path, PathBuf};

use jiff::Timestamp;

use crate::exit::Exit;
use crate::fault::Fault;
use crate::solo::{OutboxFile, Solo, SoloError, SoloErrorKind};

mod fold;
pub(crate) mod keepable;
mod line;
#[cfg(test)]
mod tests;

pub(crate) use fold::{Deed, Folded, Standing, mend};
pub(crate) use line::{FORMAT_NEWEST, Line, Unread};

/// An outbox that is open: nobody else writes to it meanwhile.
pub(crate) struct Outbox {
    file: Box<dyn OutboxFile>,
    folded: Folded,
}

/// A deed that is to be kept.
pub(crate) struct ToKeep {
    /// Its request id.
    pub(crate) request_id: String,
    /// Path of the rpc, `/fettlebook.v1.KitService/WashKit`.
    pub(crate) method: String,
    /// The request as it is sent.
    pub(crate) body: Vec<u8>,
    /// When it is kept.
    pub(crate) kept_time: Timestamp,
    /// What it is, for people: `wash P-01 P-02`.
    pub(crate) told: String,
}

/// The reason of what a later program wrote.
const NEWER: &str = "NEWER_THAN_THIS";

/// Why a deed could not be kept.
#[derive(Debug)]
pub(crate) enum NotKept {
    /// The outbox is damaged or another process has it: the deed cannot be put behind the others.
    Barred(Fault),
    /// Its file cannot be written.
    Unwritten(Fault),
}

impl NotKept {
    /// What is wrong.
    pub(crate) const fn fault(&self) -> &Fault {
        match self {
            Self::Barred(fault) | Self::Unwritten(fault) => fault,
        }
    }

    /// What is wrong, for a command that cannot go on without the outbox.
    pub(crate) fn into_fault(self) -> Fault {
        match self {
            Self::Barred(fault) | Self::Unwritten(fault) => fault,
        }
    }
}

impl Outbox {
    /// Opens the outbox of a shop's folder.
    ///
    /// # Errors
    /// When another process has it, it is damaged, or it cannot be made.
    pub(crate) fn open(solo: &dyn Solo, folder: &Path) -> Result<Self, NotKept> {
        let opened = solo.open_outbox(folder);
        let file = opened.map_err(|error| not_opened(error, folder))?;
        let folded = Folded::read(file.lines());
        let folded = folded.map_err(|why| NotKept::Barred(unread(why, folder)))?;
        Ok(Self { file, folded })
    }

    /// What is in it.
    pub(crate) const fn folded(&self) -> &Folded {
        &self.folded
    }

    /// Keeps a deed under the next number; it survives loss of power when this returns.
    ///
    /// # Errors
    /// When the file cannot be written; nothing was kept then.
    pub(crate) fn keep(&mut self, deed: ToKeep) -> Result<i64, Fault> {
        let number = self.folded.next_number();
        self.mark(&[Line::kept(number, deed)])?;
        Ok(number)
    }

    /// Keeps a deed in the place of one that is parked, which is given up; both or neither.
    ///
    /// # Errors
    /// When the file cannot be written; nothing has changed then.
    pub(crate) fn replace(&mut self, parked: i64, deed: ToKeep) -> Result<i64, Fault> {
        let number = self.folded.next_number();
        let gone = Line::Dropped { number: parked };
        self.mark(&[gone, Line::kept(number, deed)])?;
        Ok(number)
    }

    /// Writes down further steps of deeds, all in one go.
    ///
    /// # Errors
    /// When a step does not follow, or the file cannot be written; then none was taken.
    pub(crate) fn mark(&mut self, lines: &[Line]) -> Result<(), Fault> {
        if lines.is_empty() {
            return Ok(());
        }
        let mut after = self.folded.clone();
        for line in lines {
            after.apply(line.clone()).map_err(damaged)?;
        }
        let bytes: Result<Vec<_>, Fault> = lines.iter().map(Line::to_json).collect();
        self.file.append(&bytes?)?;
        self.folded = after;
        Ok(())
    }
}

/// Sends on what can be read of a damaged outbox: a new one of that takes its place. Gives where the
/// damaged one is kept, and the numbers that nothing can be read of.
///
/// # Errors
/// When the outbox is not damaged, a later program wrote in it, it is in use, or the disk fails.
pub(crate) fn rescue(solo: &dyn Solo, folder: &Path) -> Result<(PathBuf, Vec<i64>), Fault> {
    match Outbox::open(solo, folder) {
        Ok(_) => {
            return Err(Fault::usage(
                "--mend",
                format!(
                    "The outbox in {} is whole; there is nothing to mend.",
                    folder.display()
                ),
            ));
        }
        Err(why) if why.fault().reason == NEWER => return Err(why.into_fault()),
        Err(_) => {}
    }
    let rescued = solo.rescue_outbox(folder)?;
    let mended = mend(&rescued.lines).map_err(|why| unread(why, folder))?;
    let aside = solo.replace_outbox(folder, &mended.lines)?;
    Ok((aside, mended.lost))
}

fn not_opened(error: SoloError, folder: &Path) -> NotKept {
    match error.kind {
        SoloErrorKind::Damaged => NotKept::Barred(damaged(error.message)),
        SoloErrorKind::Held => {
            let mut fault = Fault::from(error);
            fault.todo = "Another fettle sends or keeps just now; run it again.".to_owned();
            NotKept::Barred(fault)
        }
        SoloErrorKind::Newer => NotKept::Barred(Fault::from(error)),
        SoloErrorKind::WrongFolder | SoloErrorKind::NoAddress | SoloErrorKind::Failed => {
            let mut fault = Fault::from(error);
            fault.todo = format!(
                "See that there is room on the disk and that {} can be written to.",
                folder.display()
            );
            NotKept::Unwritten(fault)
        }
    }
}

/// Why the lines of an outbox are not read.
fn unread(why: Unread, folder: &Path) -> Fault {
    let folder = folder.display();
    match why {
        Unread::Spoilt(what) => damaged(format!("The outbox in {folder} is damaged: {what}.")),
        Unread::Newer(what) => Fault::own(
            NEWER,
            Exit::Failed,
            format!("The outbox in {folder} is not damaged, but not understood: {what}."),
            "Update this fettle; what waits there stays until then.",
        ),
    }
}

fn damaged(message: String) -> Fault {
    Fault::own(
        "DAMAGED",
        Exit::Damage,
        message,
        "Nothing more is kept in it until 'fettle shop sync --mend' has sent on what can be \
         read; the damaged one stays where it is, under another name.",
    )
}
