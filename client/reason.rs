//! The one table from an error reason of the contract to an exit code and what to do.
//!
//! It serves `fault`. A reason that is added to the contract does not compile until it has its place
//! here.

use fettlebook_contract::v1::ErrorReason;

use self::Advice::{Beside, Instead};
use crate::exit::Exit;

/// What the client knows of what to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Advice {
    /// A command that helps, told behind what the service says to do.
    Beside(&'static str),
    /// What to do where the service says nothing of it.
    Instead(&'static str),
}

/// A tag that is taken.
const TAG_TAKEN: Advice = Instead("Take another tag, or leave --tag out to be given the next one.");
/// Prices in two currencies.
const ONE_CURRENCY: Advice = Beside(
    "Give every price in one currency; see 'fettle make list' and 'fettle supplier show \
     SUPPLIER'.",
);
/// A piece of another sort.
const WRONG_SORT: Advice =
    Beside("See 'fettle kit show TAG' for what it is, and take the command for its sort.");
/// A request id that another command had.
const REQUEST_ID_REUSED: Advice = Instead("Run the command again; it makes a new request id.");
/// Names of everything.
const LOOK_ROUND: Advice = Instead(
    "Look at the label, or list the kit, makes, cars, routines, jobs, suppliers and \
     orders.",
);
/// An entry that cannot be taken back.
const NOT_REVERSIBLE: Advice =
    Beside("See 'fettle book show SEQ' for what it says and what reversed it.");
/// A book in which a later program wrote.
const UPDATE: Advice = Instead(
    "Update this fettle, and the fettled that it talks to; nothing in the book is \
     damaged, and looking at it goes on up to that entry.",
);
/// A clock that may be wrong.
const CLOCK: Advice = Instead(
    "Set the clock, or run the command again with --accept-clock; a fettled is started with it.",
);
/// A watch that fell behind.
const WATCH_AGAIN: Advice =
    Beside("Go on from there with 'fettle book entries --follow --after SEQ'.");
/// A watch that was open when the service stopped.
const STOPPED: Advice = Instead("See that fettled runs again, then run the command again.");
/// A job that no plan can be made of.
const NO_PLAN: Advice =
    Instead("Look at the job, its car and its routine, and mend what the message names.");
/// A job that the kit cannot be picked for.
const NO_PICK: Advice = Beside(
    "Run 'fettle check' on the job, or name what was used with --swap, --used or \
     --towels.",
);
/// A check that says stop, and may be passed.
const CHECK_STOPS: Advice = Beside(
    "See 'fettle check' on the job; to take it all the same: fettle take JOB --despite 'why'.",
);
/// A check that says stop for what is never passed.
const NEVER_PASSED: Advice = Beside("See 'fettle check' on the job.");
/// A disk that failed.
const LOOK_AT_THE_DISK: Advice = Beside(
    "If this was to record something, look with 'fettle book entries --newest' before you \
     run it again: it may be recorded.",
);
/// A device that the shop does not let in.
const NOT_PAIRED: Advice = Beside(
    "Pair this device: ask whoever owns the shop for a code, then run 'fettle shop pair \
     CODE'.",
);
/// A device that the shop lets in no more.
const SHUT_OUT: Advice = Beside("With a new code run 'fettle shop pair CODE --again'.");
/// A code that pairs nothing any more.
const CODE_UNKNOWN: Advice = Instead("Ask for a new code.");
/// The only device that owns the shop.
const LAST_OWNER: Advice =
    Beside("Give another device the role own first, with 'fettle shop devices --role NAME=own'.");
/// A service without devices.
const NO_TLS: Advice = Instead("Start fettled with --tls, or let it listen for other machines.");
/// A book that another machine has.
const HELD_ELSEWHERE: Advice = Beside(
    "Ask that machine with --at, or run it again in a moment: where nobody answers there, another takes over.",
);
/// An engine that is not ready.
const ENGINE_UNREADY: Advice = Beside("'fettle doctor' says whether the service itself is well.");
/// A disk without room.
const DISK_REFUSES: Advice =
    Instead("Put right what the message says, as by making room on a full disk, and run it again.");
/// An edit of what has changed since.
const CHANGED_MEANWHILE: Advice = Instead("Run the command again; it reads what is there now.");
/// A journal that a disk has spoilt.
const DAMAGED: Advice =
    Beside("Keep a copy of the folder as it is, then run 'fettle book verify'.");

/// How a command ends for a reason, and what the person can do about it.
pub(crate) const fn outcome(reason: ErrorReason) -> (Exit, Advice) {
    (exit(reason), advice(reason))
}

/// How a command ends for a reason.
const fn exit(reason: ErrorReason) -> Exit {
    match reason {
        ErrorReason::Unspecified
        | ErrorReason::Busy
        | ErrorReason::NewerThanThis
        | ErrorReason::WatchTooSlow
        | ErrorReason::PageTokenInvalid
        | ErrorReason::DiskFailed
        | ErrorReason::DiskRefuses => Exit::Failed,
        ErrorReason::FieldMissing
        | ErrorReason::FieldInvalid
        | ErrorReason::QuantityInvalid
        | ErrorReason::PanelUnknown
        | ErrorReason::TimePast
        | ErrorReason::TimeFuture
        | ErrorReason::WrongSort
        | ErrorReason::FieldMaskInvalid
        | ErrorReason::PolicyUnknown => Exit::Usage,
        ErrorReason::TagUnknown
        | ErrorReason::MakeUnknown
        | ErrorReason::CarUnknown
        | ErrorReason::RoutineUnknown
        | ErrorReason::JobUnknown
        | ErrorReason::SupplierUnknown
        | ErrorReason::OrderUnknown
        | ErrorReason::SubjectUnknown
        | ErrorReason::EntryUnknown
        | ErrorReason::DeviceUnknown => Exit::NotFound,
        ErrorReason::TagTaken
        | ErrorReason::OrderState
        | ErrorReason::CurrencyMismatch
        | ErrorReason::IdTaken
        | ErrorReason::JobState
        | ErrorReason::RequestIdReused
        | ErrorReason::NotReversible
        | ErrorReason::NoPlan
        | ErrorReason::NoPick
        | ErrorReason::LastOwner
        | ErrorReason::TlsNeeded
        | ErrorReason::ClockAhead
        | ErrorReason::ChangedMeanwhile => Exit::Conflict,
        ErrorReason::ReadOnly
        | ErrorReason::TokenMissing
        | ErrorReason::TokenUnknown
        | ErrorReason::TokenOtherBook
        | ErrorReason::DeviceRevoked
        | ErrorReason::RoleTooLow
        | ErrorReason::CodeUnknown
        | ErrorReason::CodeExpired
        | ErrorReason::CodeUsed
        | ErrorReason::TriesUsedUp => Exit::NotAllowed,
        ErrorReason::CheckStops | ErrorReason::NeverPassed => Exit::No,
        ErrorReason::Stopping | ErrorReason::HeldElsewhere | ErrorReason::EngineUnready => {
            Exit::Unreachable
        }
        ErrorReason::Damaged => Exit::Damage,
    }
}

/// What the person can do about a reason.
const fn advice(reason: ErrorReason) -> Advice {
    match reason {
        ErrorReason::Unspecified => Instead("Try again."),
        ErrorReason::FieldMissing => Instead("Give what is missing; --help lists it."),
        ErrorReason::FieldInvalid => Instead("Write it as the message says."),
        ErrorReason::QuantityInvalid => Instead("Check the quantity and its unit."),
        ErrorReason::TagUnknown => Beside("See 'fettle kit list' for every tag."),
        ErrorReason::TagTaken => TAG_TAKEN,
        ErrorReason::MakeUnknown => Beside("See 'fettle make list' for every make."),
        ErrorReason::CarUnknown => Beside("See 'fettle car list' for every car."),
        ErrorReason::RoutineUnknown => Beside("See 'fettle routine list' for every routine."),
        ErrorReason::JobUnknown => Beside("See 'fettle job list' for every job."),
        ErrorReason::SupplierUnknown => Beside("See 'fettle supplier list' for every supplier."),
        ErrorReason::OrderUnknown => Beside("See 'fettle order list --closed' for every order."),
        ErrorReason::OrderState => Beside("See 'fettle order show ORDER' for where it stands."),
        ErrorReason::CurrencyMismatch => ONE_CURRENCY,
        ErrorReason::PanelUnknown => Beside("See 'fettle car show CAR' for the panel words."),
        ErrorReason::IdTaken => Instead("Take another id, or edit the one there is."),
        ErrorReason::TimePast => Instead("Give a time to come."),
        ErrorReason::TimeFuture => Instead("Give the time when it happened."),
        ErrorReason::WrongSort => WRONG_SORT,
        ErrorReason::JobState => Beside("See 'fettle job show JOB' for where it stands."),
        ErrorReason::RequestIdReused => REQUEST_ID_REUSED,
        ErrorReason::SubjectUnknown => LOOK_ROUND,
        ErrorReason::EntryUnknown => Beside("See 'fettle book entries' for the numbers there are."),
        ErrorReason::NotReversible => NOT_REVERSIBLE,
        ErrorReason::ReadOnly => Beside("'fettle book verify' says how it stands."),
        ErrorReason::Busy => Instead("Wait a moment and run it again."),
        ErrorReason::NewerThanThis => UPDATE,
        ErrorReason::ClockAhead => CLOCK,
        ErrorReason::WatchTooSlow => WATCH_AGAIN,
        ErrorReason::Stopping => STOPPED,
        ErrorReason::PageTokenInvalid => Instead("Start the list again."),
        ErrorReason::FieldMaskInvalid => Instead("Leave that field out of the edit."),
        ErrorReason::NoPlan => NO_PLAN,
        ErrorReason::NoPick => NO_PICK,
        ErrorReason::CheckStops => CHECK_STOPS,
        ErrorReason::NeverPassed => NEVER_PASSED,
        ErrorReason::PolicyUnknown => Beside("See 'fettle book policy' for every key."),
        ErrorReason::DiskFailed => LOOK_AT_THE_DISK,
        ErrorReason::TokenMissing | ErrorReason::TokenUnknown | ErrorReason::TokenOtherBook => {
            NOT_PAIRED
        }
        ErrorReason::DeviceRevoked => SHUT_OUT,
        ErrorReason::RoleTooLow => Instead("Ask whoever owns the shop."),
        ErrorReason::CodeUnknown | ErrorReason::CodeExpired | ErrorReason::CodeUsed => CODE_UNKNOWN,
        ErrorReason::TriesUsedUp => Instead("Wait, then try again."),
        ErrorReason::DeviceUnknown => Beside("See 'fettle shop devices' for every device."),
        ErrorReason::LastOwner => LAST_OWNER,
        ErrorReason::TlsNeeded => NO_TLS,
        ErrorReason::DiskRefuses => DISK_REFUSES,
        ErrorReason::ChangedMeanwhile => CHANGED_MEANWHILE,
        ErrorReason::Damaged => DAMAGED,
        ErrorReason::HeldElsewhere => HELD_ELSEWHERE,
        ErrorReason::EngineUnready => ENGINE_UNREADY,
    }
}
