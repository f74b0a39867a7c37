//! The commands that a device can keep while it has no signal.
//!
//! Serves the taking in of kept deeds. They say what happened, so that they can be taken in late; a
//! wish, which may be refused, is never kept.

use super::{Command, Said};
use crate::trade::kept::Kept;

impl Command {
    /// When it was done and how it was kept, for a command that a device can keep.
    pub fn keepable(&self) -> Option<&Said> {
        match self {
            Self::Move { said, .. }
            | Self::Wash { said, .. }
            | Self::MarkDry { said, .. }
            | Self::MarkLabelled { said, .. }
            | Self::Charge { said, .. }
            | Self::Weigh { said, .. }
            | Self::Fill { said, .. }
            | Self::Count { said, .. }
            | Self::SetAside { said, .. }
            | Self::Return { said, .. }
            | Self::Bin { said, .. }
            | Self::Demote { said, .. } => Some(said),
            Self::Receive(receipt) => Some(&receipt.said),
            Self::TakeJob(take) => Some(&take.said),
            Self::LogJob(log) => Some(&log.said),
            Self::LogLoose(loose) => Some(&loose.said),
            Self::RecordFilm(read) => Some(&read.said),
            _ => None,
        }
    }

    fn kept_mut(&mut self) -> Option<&mut Kept> {
        let said = match self {
            Self::Move { said, .. }
            | Self::Wash { said, .. }
            | Self::MarkDry { said, .. }
            | Self::MarkLabelled { said, .. }
            | Self::Weigh { said, .. }
            | Self::Fill { said, .. }
            | Self::Count { said, .. }
            | Self::SetAside { said, .. }
            | Self::Return { said, .. }
            | Self::Bin { said, .. }
            | Self::Demote { said, .. }
            | Self::Charge { said, .. } => said,
            Self::Receive(receipt) => &mut receipt.said,
            Self::TakeJob(take) => &mut take.said,
            Self::LogJob(log) => &mut log.said,
            Self::LogLoose(loose) => &mut loose.said,
            Self::RecordFilm(read) => &mut read.said,
            _ => return None,
        };
        said.kept.as_mut()
    }

    /// The command as this device reports it, which matters where it was kept.
    #[must_use]
    pub fn reported_by(mut self, by: &str) -> Self {
        if let Some(kept) = self.kept_mut() {
            by.clone_into(&mut kept.by);
        }
        self
    }
}
