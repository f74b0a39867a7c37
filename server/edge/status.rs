//! The one table from what went wrong to what is sent: a code, a stable reason, a field, a sentence.
//!
//! It serves every handler. A new reason does not compile until it has its place here. A status
//! must never leave without a reason: whoever reads it decides by the reason, not by the sentence.

mod access;
mod no_book;

use std::collections::HashMap;
use std::sync::Arc;
use std::time::Duration;

use fettlebook_contract::ERROR_DOMAIN;
use fettlebook_contract::v1::ErrorReason;
use fettlebook_model::{Reason, Refusal, Seq};
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, FieldViolation, StatusExt};

use crate::access::AccessError;
use crate::desk::DeskError;
use crate::edge::no_book::NoBook;
use crate::limits::{
    RETRY_AFTER_MAX, RETRY_AFTER_MIN, STATUS_TEXT_BYTES_MAX, VIOLATIONS_BYTES_MAX, WATCH_STALL_MAX,
    WATCHES_MAX,
};

/// What a handler can come back with instead of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum EdgeError {
    /// The request makes no sense, or the model refuses it.
    Refused(Refusal),
    /// The desk could not do it.
    Desk(DeskError),
    /// Somebody is not let in, or a device cannot be looked after.
    Access(AccessError),
    /// There is no book for it.
    NoBook(NoBook),
    /// Devices were asked about where there are none.
    TlsNeeded,
    /// A page token that is not one of ours, or of another list.
    PageToken,
    /// A field mask names a field that cannot be edited.
    Mask {
        /// What it named.
        path: String,
        /// What it may name.
        accepted: String,
    },
    /// What is wrong with a request, the first thing and what else there is.
    Faults(Box<Fault>, Vec<Fault>),
    /// What is to be edited was changed since it was read.
    Stale {
        /// What it is.
        what: String,
        /// The fields that were changed, where that can be told.
        changed: Vec<String>,
    },
    /// The message could not be read at all.
    Unreadable {
        /// What the decoder says.
        why: String,
    },
    /// The message is longer than is taken.
    TooLarge {
        /// Its length, in bytes.
        sent_bytes: u64,
        /// The most that this rpc takes.
        most_bytes: u64,
    },
    /// A connection without a token asks for something while another such thing is not answered.
    OneAtATime,
    /// As many watches as may be are open.
    WatchesFull,
    /// A watch did not take what waited for it.
    WatchTooSlow {
        /// The last entry it was given.
        after: Seq,
    },
    /// The service stops, and with it a watch.
    Stopping {
        /// The last entry it was given.
        after: Seq,
    },
}

/// One thing that is wrong with a request, or with what it meets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Fault {
    /// Its stable reason.
    pub(super) reason: ErrorReason,
    /// Path of the field that it is about; empty for none.
    pub(super) field: String,
    /// The name that it is about, as it was given; empty for none.
    pub(super) name: String,
    /// What was wrong, a sentence.
    pub(super) what: String,
    /// What to do, a sentence; empty when the first says it.
    pub(super) todo: String,
}

impl From<Refusal> for Fault {
    fn from(refusal: Refusal) -> Self {
        let Refusal {
            reason,
            field,
            name,
            what,
            todo,
        } = refusal;
        let reason = reason_of(reason);
        Self {
            reason,
            field,
            name,
            what,
            todo,
        }
    }
}

impl EdgeError {
    /// All of this is wrong with a request; nothing where it is nothing.
    pub(super) fn of(faults: Vec<Fault>) -> Option<Self> {
        let mut faults = faults.into_iter();
        let first = faults.next()?;
        Some(Self::Faults(Box::new(first), faults.collect()))
    }

    /// What is wrong with the request, where that is what it says; else the error as it is.
    pub(super) fn faults(self) -> Result<Vec<Fault>, Self> {
        let told = match self {
            Self::Faults(first, others) => {
                return Ok(std::iter::once(*first).chain(others).collect());
            }
            Self::Refused(_) | Self::PageToken | Self::Mask { .. } => told(self.clone()),
            _ => return Err(self),
        };
        match code_of(told.fault.reason) {
            Code::InvalidArgument | Code::NotFound if !told.fault.field.is_empty() => {
                Ok(vec![told.fault])
            }
            _ => Err(self),
        }
    }
}

impl From<Refusal> for EdgeError {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

impl From<DeskError> for EdgeError {
    fn from(error: DeskError) -> Self {
        match error {
            DeskError::Refused(refusal) => Self::Refused(*refusal),
            other => Self::Desk(other),
        }
    }
}

impl From<AccessError> for EdgeError {
    fn from(error: AccessError) -> Self {
        Self::Access(error)
    }
}

impl From<NoBook> for EdgeError {
    fn from(none: NoBook) -> Self {
        Self::NoBook(none)
    }
}

impl From<EdgeError> for Status {
    fn from(error: EdgeError) -> Self {
        told(error).status()
    }
}

/// What is sent: what is wrong; when to try again and where a watch goes on, where that is the question.
/// Each stands by itself for programs; the message puts the sentences together for clients that have no
/// words of their own.
struct Told {
    fault: Fault,
    retry_after: Option<Duration>,
    after: Option<Seq>,
    /// Where the book is, where that is the question.
    held_at: Option<Arc<str>>,
    /// What else is wrong.
    others: Vec<Fault>,
}

impl Told {
    fn new(reason: ErrorReason, field: &str, what: impl Into<String>, todo: &str) -> Self {
        Self::from(Fault {
            reason,
            field: field.to_owned(),
            name: String::new(),
            what: what.into(),
            todo: todo.to_owned(),
        })
    }

    const fn retry_after(mut self, wait: Duration) -> Self {
        self.retry_after = Some(wait);
        self
    }

    fn held_at(mut self, at: Option<Arc<str>>) -> Self {
        self.held_at = at;
        self
    }

    const fn going_on_after(mut self, seq: Seq) -> Self {
        self.after = Some(seq);
        self
    }

    fn status(self) -> Status {
        let Self {
            fault,
            retry_after,
            after,
            held_at,
            others,
        } = self;
        let all = || std::iter::once(&fault).chain(&others);
        let what = cut(joined(all().map(|fault| fault.what.as_str())));
        let todo = cut(joined(all().map(|fault| fault.todo.as_str())));
        let name = cut(fault.name.clone());
        let after = after.map(|seq| seq.to_string()).unwrap_or_default();
        // With a field it is the description of that field's violation; headers are short.
        let alone = if fault.field.is_empty() { &what } else { "" };
        let mut metadata = HashMap::new();
        for (key, value) in [
            ("field", fault.field.as_str()),
            ("name", &name),
            ("what", alone),
            ("todo", &todo),
            ("after_seq", &after),
            ("held_at", held_at.as_deref().unwrap_or_default()),
        ] {
            if !value.is_empty() {
                metadata.insert(key.to_owned(), value.to_owned());
            }
        }
        let mut details =
            ErrorDetails::with_error_info(reason_name(fault.reason), ERROR_DOMAIN, metadata);
        let violations = violations(all().filter(|fault| !fault.field.is_empty()));
        if !violations.is_empty() {
            details.set_bad_request(violations);
        }
        if let Some(wait) = retry_after {
            details.set_retry_info(Some(wait));
        }
        let message = if todo.is_empty() {
            what
        } else {
            format!("{what} {todo}")
        };
        Status::with_error_details(code_of(fault.reason), message, details)
    }
}

impl From<Fault> for Told {
    fn from(fault: Fault) -> Self {
        Self {
            fault,
            retry_after: None,
            after: None,
            held_at: None,
            others: Vec::new(),
        }
    }
}

/// Sentences behind each other, each once.
fn joined<'a>(sentences: impl Iterator<Item = &'a str>) -> String {
    let mut each: Vec<&str> = Vec::new();
    for sentence in sentences.filter(|sentence| !sentence.is_empty()) {
        if !each.contains(&sentence) {
            each.push(sentence);
        }
    }
    each.join(" ")
}

/// A violation for each fault, as many as headers carry.
fn violations<'a>(faults: impl Iterator<Item = &'a Fault>) -> Vec<FieldViolation> {
    let mut room = VIOLATIONS_BYTES_MAX;
    let told = faults.map(|fault| FieldViolation {
        field: fault.field.clone(),
        description: cut(fault.what.clone()),
        reason: reason_name(fault.reason).to_owned(),
        localized_message: None,
    });
    let fits = told.take_while(|violation| {
        let FieldViolation {
            field,
            description,
            reason,
            ..
        } = violation;
        let bytes = field.len() + description.len() + reason.len();
        let fits = bytes <= room;
        room = room.saturating_sub(bytes);
        fits
    });
    fits.collect()
}

/// The name of a reason as it is sent.
pub(crate) fn reason_name(reason: ErrorReason) -> &'static str {
    reason.as_str_name().trim_start_matches("ERROR_REASON_")
}

/// The code of each reason, as the contract says beside it.
pub(crate) const fn code_of(reason: ErrorReason) -> Code {
    match reason {
        ErrorReason::Unspecified => Code::Unknown,
        ErrorReason::FieldMissing
        | ErrorReason::FieldInvalid
        | ErrorReason::QuantityInvalid
        | ErrorReason::PanelUnknown
        | ErrorReason::PolicyUnknown
        | ErrorReason::TimePast
        | ErrorReason::TimeFuture
        | ErrorReason::PageTokenInvalid
        | ErrorReason::FieldMaskInvalid => Code::InvalidArgument,
        ErrorReason::TagUnknown
        | ErrorReason::MakeUnknown
        | ErrorReason::CarUnknown
        | ErrorReason::RoutineUnknown
        | ErrorReason::JobUnknown
        | ErrorReason::EntryUnknown
        | ErrorReason::SubjectUnknown
        | ErrorReason::SupplierUnknown
        | ErrorReason::OrderUnknown
        | ErrorReason::DeviceUnknown => Code::NotFound,
        ErrorReason::TagTaken | ErrorReason::IdTaken => Code::AlreadyExists,
        ErrorReason::WrongSort
        | ErrorReason::JobState
        | ErrorReason::NotReversible
        | ErrorReason::ReadOnly
        | ErrorReason::NoPlan
        | ErrorReason::NoPick
        | ErrorReason::CheckStops
        | ErrorReason::NeverPassed
        | ErrorReason::OrderState
        | ErrorReason::CurrencyMismatch
        | ErrorReason::TlsNeeded
        | ErrorReason::LastOwner
        | ErrorReason::NewerThanThis
        | ErrorReason::ClockAhead => Code::FailedPrecondition,
        ErrorReason::RequestIdReused | ErrorReason::ChangedMeanwhile => Code::Aborted,
        ErrorReason::Busy
        | ErrorReason::DiskRefuses
        | ErrorReason::WatchTooSlow
        | ErrorReason::TriesUsedUp => Code::ResourceExhausted,
        ErrorReason::TokenMissing
        | ErrorReason::TokenUnknown
        | ErrorReason::TokenOtherBook
        | ErrorReason::DeviceRevoked => Code::Unauthenticated,
        ErrorReason::RoleTooLow
        | ErrorReason::CodeUnknown
        | ErrorReason::CodeExpired
        | ErrorReason::CodeUsed => Code::PermissionDenied,
        ErrorReason::DiskFailed
        | ErrorReason::EngineUnready
        | ErrorReason::Stopping
        | ErrorReason::HeldElsewhere => Code::Unavailable,
        ErrorReason::Damaged => Code::DataLoss,
    }
}

/// The contract's word for each reason of the model.
const fn reason_of(reason: Reason) -> ErrorReason {
    match reason {
        Reason::FieldMissing => ErrorReason::FieldMissing,
        Reason::FieldInvalid => ErrorReason::FieldInvalid,
        Reason::QuantityInvalid => ErrorReason::QuantityInvalid,
        Reason::TagUnknown => ErrorReason::TagUnknown,
        Reason::TagTaken => ErrorReason::TagTaken,
        Reason::MakeUnknown => ErrorReason::MakeUnknown,
        Reason::CarUnknown => ErrorReason::CarUnknown,
        Reason::RoutineUnknown => ErrorReason::RoutineUnknown,
        Reason::JobUnknown => ErrorReason::JobUnknown,
        Reason::PanelUnknown => ErrorReason::PanelUnknown,
        Reason::IdTaken => ErrorReason::IdTaken,
        Reason::TimePast => ErrorReason::TimePast,
        Reason::TimeFuture => ErrorReason::TimeFuture,
        Reason::WrongSort => ErrorReason::WrongSort,
        Reason::JobState => ErrorReason::JobState,
        Reason::SubjectUnknown => ErrorReason::SubjectUnknown,
        Reason::EntryUnknown => ErrorReason::EntryUnknown,
        Reason::NotReversible => ErrorReason::NotReversible,
        Reason::NoPlan => ErrorReason::NoPlan,
        Reason::NoPick => ErrorReason::NoPick,
        Reason::PolicyUnknown => ErrorReason::PolicyUnknown,
        Reason::ChangedMeanwhile => ErrorReason::ChangedMeanwhile,
        Reason::SupplierUnknown => ErrorReason::SupplierUnknown,
        Reason::OrderUnknown => ErrorReason::OrderUnknown,
        Reason::OrderState => ErrorReason::OrderState,
        Reason::CurrencyMismatch => ErrorReason::CurrencyMismatch,
        Reason::CheckStops => ErrorReason::CheckStops,
        Reason::NeverPassed => ErrorReason::NeverPassed,
    }
}

fn told(error: EdgeError) -> Told {
    match error {
        EdgeError::Refused(refusal) => Told::from(Fault::from(refusal)),
        EdgeError::Desk(error) => desk(&error),
        EdgeError::Access(error) => access::told(&error),
        EdgeError::NoBook(none) => no_book::told(&none),
        EdgeError::TlsNeeded => Told::new(
            ErrorReason::TlsNeeded,
            "",
            "Devices are paired over TLS only, and this service does not speak it.",
            "Start fettled with --tls.",
        ),
        EdgeError::PageToken => Told::new(
            ErrorReason::PageTokenInvalid,
            "page_token",
            "This page token is not one that this list gave.",
            "Start the list again without a token, and ask for its pages with the same filters.",
        ),
        EdgeError::Mask { path, accepted } => Told::new(
            ErrorReason::FieldMaskInvalid,
            "update_mask",
            format!("The field mask names `{path}`, which cannot be edited."),
            &format!("It may name: {accepted}."),
        ),
        EdgeError::Faults(first, others) => Told {
            others,
            ..Told::from(*first)
        },
        EdgeError::Stale { what, changed } => Told::new(
            ErrorReason::ChangedMeanwhile,
            "etag",
            if changed.is_empty() {
                format!("The {what} was changed since it was read.")
            } else {
                format!(
                    "The {what} was changed since it was read: {}.",
                    changed.join(", ")
                )
            },
            "Read it again, and edit what is there now.",
        ),
        EdgeError::Unreadable { why } => Told::new(
            ErrorReason::FieldInvalid,
            "",
            format!("The message cannot be read: {why}. Nothing was recorded."),
            "Encode it by the contract, whole and with text in UTF-8.",
        ),
        EdgeError::TooLarge {
            sent_bytes,
            most_bytes,
        } => Told::new(
            ErrorReason::FieldInvalid,
            "",
            format!(
                "The message has {sent_bytes} bytes, and {most_bytes} at most are taken here. \
                 Nothing was recorded."
            ),
            "Send less at once.",
        ),
        EdgeError::OneAtATime => Told::new(
            ErrorReason::Busy,
            "",
            "This connection has shown no token and waits for an answer already.",
            "Wait for that answer first.",
        )
        .retry_after(RETRY_AFTER_MIN),
        EdgeError::WatchesFull => Told::new(
            ErrorReason::Busy,
            "",
            format!("{WATCHES_MAX} watches of the book are open, as many as may be."),
            "End one, or try again later.",
        )
        .retry_after(RETRY_AFTER_MAX),
        EdgeError::WatchTooSlow { after } => Told::new(
            ErrorReason::WatchTooSlow,
            "",
            format!(
                "The watch took nothing for {} seconds, though there was more.",
                WATCH_STALL_MAX.as_secs()
            ),
            &format!("Watch again after entry {after}."),
        )
        .going_on_after(after),
        EdgeError::Stopping { after } => Told::new(
            ErrorReason::Stopping,
            "",
            "The service stops.",
            &format!("Watch again after entry {after} when it runs again."),
        )
        .going_on_after(after),
    }
}

/// The desk's errors. Their sentences say what to do already.
fn desk(error: &DeskError) -> Told {
    let (reason, field) = match error {
        DeskError::Refused(refusal) => return Told::from(Fault::from(Refusal::clone(refusal))),
        DeskError::RequestIdReused { .. } => (ErrorReason::RequestIdReused, "request_id"),
        DeskError::ReadOnly { .. } | DeskError::Stopped { .. } => (ErrorReason::ReadOnly, ""),
        DeskError::NewerThanThis { .. } => (ErrorReason::NewerThanThis, ""),
        DeskError::ClockAhead { .. } => (ErrorReason::ClockAhead, ""),
        DeskError::Busy { retry_after } | DeskError::Unread { retry_after } => {
            let told = Told::new(ErrorReason::Busy, "", error.to_string(), "");
            return told.retry_after(*retry_after);
        }
        DeskError::Closed | DeskError::CloseTooSlow => (ErrorReason::Busy, ""),
        DeskError::HeldElsewhere { at } => {
            let told = Told::new(
                ErrorReason::HeldElsewhere,
                "",
                error.to_string(),
                error.todo(),
            );
            return told.held_at(at.clone()).retry_after(RETRY_AFTER_MIN);
        }
        DeskError::EngineUnready { .. } => {
            let reason = ErrorReason::EngineUnready;
            let told = Told::new(reason, "", error.to_string(), error.todo());
            return told.retry_after(RETRY_AFTER_MAX);
        }
        DeskError::DiskFailed { .. } | DeskError::Unreadable { .. } => {
            (ErrorReason::DiskFailed, "")
        }
        DeskError::DiskRefuses { .. } => (ErrorReason::DiskRefuses, ""),
        DeskError::TooLong { .. } => (ErrorReason::FieldInvalid, ""),
        DeskError::EntryUnknown { .. } => (ErrorReason::EntryUnknown, "seq"),
        DeskError::Damaged { .. } => (ErrorReason::Damaged, ""),
    };
    Told::new(reason, field, error.to_string(), error.todo())
}

/// A status travels in headers, whose length every client bounds.
fn cut(mut text: String) -> String {
    if text.len() > STATUS_TEXT_BYTES_MAX {
        let mut ends = (0..=STATUS_TEXT_BYTES_MAX).rev();
        let end = ends.find(|at| text.is_char_boundary(*at));
        text.truncate(end.unwrap_or_default());
        text.push('…');
    }
    text
}

#[cfg(test)]
mod tests;
