//! The one table from an error reason of the contract to an exit code and what to do.
//!
//! It serves `fault`. A reason that is added to the contract does not compile until it has its place
//! here.

use fettlebook_contract::v1::ErrorReason;

use crate::exit::Exit;

/// A watch that fell behind.
const WATCH_AGAIN: (Exit, &str) = (
    Exit::Failed,
    "Go on from there with 'fettle book entries --follow --after SEQ'.",
);
/// A watch that was open when the service stopped.
const STOPPED: (Exit, &str) = (
    Exit::Unreachable,
    "See that fettled runs again, then run the command again.",
);
/// A device that the shop does not let in.
const NOT_PAIRED: (Exit, &str) = (
    Exit::NotAllowed,
    "Pair this device: ask whoever owns the shop for a code, then run 'fettle shop pair CODE'.",
);
/// A device that the shop lets in no more.
const SHUT_OUT: (Exit, &str) = (
    Exit::NotAllowed,
    "With a new code run 'fettle shop pair CODE --again'.",
);
/// A device that may do less.
const ROLE_TOO_LOW: (Exit, &str) = (Exit::NotAllowed, "Ask whoever owns the shop.");
/// A device that there is not.
const NO_DEVICE: (Exit, &str) = (
    Exit::NotFound,
    "See 'fettle shop devices' for every device.",
);
/// The only device that owns the shop.
const LAST_OWNER: (Exit, &str) = (
    Exit::Conflict,
    "Give another device the role own first, with 'fettle shop devices --role NAME=own'.",
);
/// A service without devices.
const NO_TLS: (Exit, &str) = (
    Exit::Conflict,
    "Start fettled with --tls, or let it listen for other machines.",
);
/// A journal that a disk has spoilt.
const DAMAGED: (Exit, &str) = (
    Exit::Damage,
    "Keep a copy of the folder as it is, then run 'fettle book verify'.",
);
/// Names of everything.
const LOOK_ROUND: (Exit, &str) = (
    Exit::NotFound,
    "Look at the label, or list the kit, makes, cars, routines, jobs, suppliers and orders.",
);
/// A disk that failed.
const LOOK_AT_THE_DISK: (Exit, &str) = (
    Exit::Failed,
    "If this was to record something, look with 'fettle book entries --newest' before you run it \
     again: it may be recorded.",
);
/// Prices in two currencies.
const ONE_CURRENCY: (Exit, &str) = (
    Exit::Conflict,
    "Give every price in one currency; see 'fettle make list' and 'fettle supplier show SUPPLIER'.",
);

/// A book in which a later program wrote.
const UPDATE: (Exit, &str) = (
    Exit::Failed,
    "Update this fettle, and the fettled that it talks to; nothing in the book is damaged, and \
     looking at it goes on up to that entry.",
);

/// How a command ends for a reason, and what the person can do about it.
pub(crate) const fn outcome(reason: ErrorReason) -> (Exit, &'static str) {
    match reason {
        ErrorReason::Unspecified => (Exit::Failed, "Try again."),
        ErrorReason::FieldMissing => (Exit::Usage, "Give what is missing; --help lists it."),
        ErrorReason::FieldInvalid => (Exit::Usage, "Write it as the message says."),
        ErrorReason::QuantityInvalid => (Exit::Usage, "Check the quantity and its unit."),
        ErrorReason::TagUnknown => (Exit::NotFound, "See 'fettle kit list' for every tag."),
        ErrorReason::TagTaken => (
            Exit::Conflict,
            "Take another tag, or leave --tag out to be given the next one.",
        ),
        ErrorReason::MakeUnknown => (Exit::NotFound, "See 'fettle make list' for every make."),
        ErrorReason::CarUnknown => (Exit::NotFound, "See 'fettle car list' for every car."),
        ErrorReason::RoutineUnknown => (
            Exit::NotFound,
            "See 'fettle routine list' for every routine.",
        ),
        ErrorReason::JobUnknown => (Exit::NotFound, "See 'fettle job list' for every job."),
        ErrorReason::SupplierUnknown => (
            Exit::NotFound,
            "See 'fettle supplier list' for every supplier.",
        ),
        ErrorReason::OrderUnknown => (
            Exit::NotFound,
            "See 'fettle order list --closed' for every order.",
        ),
        ErrorReason::OrderState => (
            Exit::Conflict,
            "See 'fettle order show ORDER' for where it stands.",
        ),
        ErrorReason::CurrencyMismatch => ONE_CURRENCY,
        ErrorReason::PanelUnknown => (
            Exit::Usage,
            "See 'fettle car show CAR' for the panel words.",
        ),
        ErrorReason::IdTaken => (Exit::Conflict, "Take another id, or edit the one there is."),
        ErrorReason::TimePast => (Exit::Usage, "Give a time to come."),
        ErrorReason::TimeFuture => (Exit::Usage, "Give the time when it happened."),
        ErrorReason::WrongSort => (
            Exit::Usage,
            "See 'fettle kit show TAG' for what it is, and take the command for its sort.",
        ),
        ErrorReason::JobState => (
            Exit::Conflict,
            "See 'fettle job show JOB' for where it stands.",
        ),
        ErrorReason::RequestIdReused => (
            Exit::Conflict,
            "Run the command again; it makes a new request id.",
        ),
        ErrorReason::SubjectUnknown => LOOK_ROUND,
        ErrorReason::EntryUnknown => (
            Exit::NotFound,
            "See 'fettle book entries' for the numbers there are.",
        ),
        ErrorReason::NotReversible => (
            Exit::Conflict,
            "See 'fettle book show SEQ' for what it says and what reversed it.",
        ),
        ErrorReason::ReadOnly => (Exit::NotAllowed, "'fettle book verify' says how it stands."),
        ErrorReason::NewerThanThis => UPDATE,
        ErrorReason::Busy => (Exit::Failed, "Wait a moment and run it again."),
        ErrorReason::WatchTooSlow => WATCH_AGAIN,
        ErrorReason::Stopping => STOPPED,
        ErrorReason::PageTokenInvalid => (Exit::Failed, "Start the list again."),
        ErrorReason::FieldMaskInvalid => (Exit::Usage, "Leave that field out of the edit."),
        ErrorReason::NoPlan => (
            Exit::Conflict,
            "Look at the job, its car and its routine, and mend what the message names.",
        ),
        ErrorReason::NoPick => (
            Exit::Conflict,
            "Run 'fettle check' on the job, or name what was used with --swap, --used or --towels.",
        ),
        ErrorReason::PolicyUnknown => (Exit::Usage, "See 'fettle book policy' for every key."),
        ErrorReason::DiskFailed => LOOK_AT_THE_DISK,
        ErrorReason::TokenMissing | ErrorReason::TokenUnknown | ErrorReason::TokenOtherBook => {
            NOT_PAIRED
        }
        ErrorReason::DeviceRevoked => SHUT_OUT,
        ErrorReason::RoleTooLow => ROLE_TOO_LOW,
        ErrorReason::CodeUnknown | ErrorReason::CodeExpired | ErrorReason::CodeUsed => {
            (Exit::NotAllowed, "Ask for a new code.")
        }
        ErrorReason::TriesUsedUp => (Exit::NotAllowed, "Wait, then try again."),
        ErrorReason::DeviceUnknown => NO_DEVICE,
        ErrorReason::LastOwner => LAST_OWNER,
        ErrorReason::TlsNeeded => NO_TLS,
        ErrorReason::DiskRefuses => (
            Exit::Failed,
            "Make room on the disk, or put right what the message says, and run it again.",
        ),
        ErrorReason::ChangedMeanwhile => (
            Exit::Conflict,
            "Run the command again; it reads what is there now.",
        ),
        ErrorReason::Damaged => DAMAGED,
    }
}
