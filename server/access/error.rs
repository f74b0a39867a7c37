//! Why somebody is not let in, or a device could not be looked after.
//!
//! It serves the edge, which sends it, and people, who read it. No sentence tells whoever is outside
//! more than what they have shown to know.

use std::sync::Arc;
use std::time::Duration;

use fettlebook_model::Id;

use super::Role;
use crate::store::CabinetError;

/// Why not.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AccessError {
    /// No token came.
    #[error("The request has no token, and this book is only open to paired devices.")]
    TokenMissing,
    /// Not a token of this book.
    #[error("The token is not one that this book gave.")]
    TokenUnknown,
    /// A token of another book.
    #[error("The token is for another book.")]
    TokenOtherBook,
    /// The device is shut out.
    #[error("The device {name} was revoked.")]
    DeviceRevoked {
        /// The device.
        name: Id,
    },
    /// The device may not do that.
    #[error("The device {name} has the role {held}, and that needs {needed}.", held = .held.word(), needed = .needed.word())]
    RoleTooLow {
        /// The device.
        name: Arc<str>,
        /// What it may do.
        held: Role,
        /// The least that would do.
        needed: Role,
    },
    /// The device may not say what kit cost.
    #[error("The device {name} has the role {held}, and what kit cost is said by whoever keeps the book.", held = .held.word())]
    CostForKeepers {
        /// The device.
        name: Arc<str>,
        /// What it may do.
        held: Role,
    },
    /// The device may take back only what it reported itself, on the day it did.
    #[error("The device {name} has the role {held}: it takes back only what it reported itself, today.", held = .held.word())]
    NotOwnOfToday {
        /// The device.
        name: Arc<str>,
        /// What it may do.
        held: Role,
    },
    /// The device may do less than when it was let in, and what was still open for it ends.
    #[error("The device {name} has the role {role} now, and what it had open is ended.", role = .role.word())]
    RoleLowered {
        /// The device.
        name: Id,
        /// What it may do now.
        role: Role,
    },
    /// Too many tries from one place.
    #[error("Too many tokens or codes from there were wrong.")]
    TriesUsedUp {
        /// How long nothing more is looked at.
        wait: Duration,
    },
    /// No code goes with the secret.
    #[error("No pairing code that is open goes with this secret.")]
    CodeUnknown,
    /// The code is too old.
    #[error("The pairing code for {name} has run out.")]
    CodeExpired {
        /// Whom it was for.
        name: Id,
    },
    /// The code was used.
    #[error("The pairing code for {name} was used before.")]
    CodeUsed {
        /// Whom it was for.
        name: Id,
    },
    /// A device had that name before.
    #[error("A device has or had the name {name}.")]
    NameTaken {
        /// The name.
        name: Id,
    },
    /// A name that means somebody at the machine.
    #[error("{name} stands for whoever sits at the machine with the book.")]
    NameKept {
        /// The name.
        name: Id,
    },
    /// No device has the name.
    #[error("No device has the name {name}.")]
    DeviceUnknown {
        /// The name.
        name: Id,
    },
    /// No code for the name can be used.
    #[error("No code for {name} is open.")]
    NoOpenCode {
        /// The name.
        name: Id,
    },
    /// The device was shut out, and nothing about it can be changed.
    #[error("The device {name} was revoked and does not come back.")]
    DeviceGone {
        /// The device.
        name: Id,
    },
    /// It is the only device that owns the shop.
    #[error(
        "The device {name} is the only one that owns the shop, and a shop is left to somebody."
    )]
    LastOwner {
        /// The device.
        name: Id,
    },
    /// A device cannot be paired, for a reason that is not for strangers.
    #[error("The service cannot pair a device now.")]
    PairingFailed,
    /// A link, or something of another kind, stands where a file or folder of our own should.
    #[error("{path} is a link or something else that does not belong there.")]
    Astray {
        /// What stands there.
        path: String,
    },
    /// A file cannot be used.
    #[error("{path} could not be {action}: {why}.")]
    Disk {
        /// The file.
        path: String,
        /// What was tried, as "read" or "written".
        action: &'static str,
        /// What the system said.
        why: String,
    },
    /// A file does not hold what it should.
    #[error("{path} cannot be understood: {what}.")]
    Damaged {
        /// The file.
        path: String,
        /// What is wrong, without a full stop.
        what: String,
    },
    /// The system gives no random numbers.
    #[error("The system gives no random numbers.")]
    NoRandom,
    /// The own certificate cannot be made or used.
    #[error("{what}")]
    Certificate {
        /// What is wrong, in sentences.
        what: String,
    },
}

impl AccessError {
    /// What to do about it.
    pub const fn todo(&self) -> &'static str {
        match self {
            Self::TokenMissing => {
                "Pair this device: ask for a code on the machine with the book, with 'fettled pair'."
            }
            Self::TokenUnknown => "Pair this device again with a new code.",
            Self::TokenOtherBook => {
                "Call the shop that this device is paired with, or pair it here."
            }
            Self::DeviceRevoked { .. } => {
                "Ask whoever owns the shop for a code, if it is to come back."
            }
            Self::RoleTooLow { .. } | Self::NotOwnOfToday { .. } => {
                "Ask whoever owns the shop to do it or to give a higher role."
            }
            Self::CostForKeepers { .. } => {
                "Leave the cost out; whoever keeps the book sets the price of its make, or receives the order."
            }
            Self::RoleLowered { .. } => "Ask again; what the role allows is answered.",
            Self::TriesUsedUp { .. } => "Wait, then use a token or a code that is right.",
            Self::CodeUnknown => {
                "Copy the code again, whole, or ask for a new one: it is open for ten minutes and good once."
            }
            Self::CodeExpired { .. } => "Ask whoever owns the shop for a new code.",
            Self::CodeUsed { .. } => {
                "If that was not you, revoke the device; in any case ask for a new code."
            }
            Self::NameTaken { .. } => {
                "Choose another name, or say --again to pair it anew: whoever has the name is shut out then."
            }
            Self::NameKept { .. } => "Choose another name.",
            Self::DeviceUnknown { .. } => "List the devices to see their names.",
            Self::NoOpenCode { .. } => {
                "List the codes that are open. One that was used has let a device in: revoke that."
            }
            Self::DeviceGone { .. } => "Pair it anew: 'fettle shop pair --name NAME --again'.",
            Self::LastOwner { .. } => {
                "Nothing was changed. Give another device the role own first, or pair one on the \
                 machine with the book: 'fettled pair --name NAME --role own'."
            }
            Self::PairingFailed => "Ask whoever looks after it to read its log, then try again.",
            Self::Astray { .. } => {
                "Nothing was changed. Find out who put it there and remove it, then try again."
            }
            Self::Disk { .. } => {
                "Nothing was changed. See to the disk and to the rights on the book's folder, then try again."
            }
            Self::Damaged { .. } => {
                "Nothing was changed. Put back a good copy of the file, or remove it; without \
                 devices.json every device has to be paired again."
            }
            Self::NoRandom => "Nothing was changed. See to the system, then try again.",
            Self::Certificate { .. } => "",
        }
    }

    /// Whether it tells of the service's own files and system, which is for whoever runs it alone.
    pub(super) const fn is_own_fault(&self) -> bool {
        matches!(
            self,
            Self::Astray { .. }
                | Self::Disk { .. }
                | Self::Damaged { .. }
                | Self::NoRandom
                | Self::Certificate { .. }
        )
    }

    /// The error with what to do, for people who are not at the other end of a call.
    pub fn told(&self) -> String {
        format!("{self} {}", self.todo()).trim_end().to_owned()
    }
}

impl From<CabinetError> for AccessError {
    fn from(error: CabinetError) -> Self {
        match error {
            CabinetError::Astray { path } => Self::Astray { path },
            CabinetError::Changed { path } => Self::Disk {
                path,
                action: "written",
                why: "it was changed on another machine meanwhile; do it again".to_owned(),
            },
            CabinetError::Failed { path, action, why } => Self::Disk { path, action, why },
        }
    }
}
