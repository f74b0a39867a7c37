//! The one table from what went wrong to what is sent: a code, a stable reason, a field, a sentence.
//!
//! It serves every handler. A new reason does not compile until it has its place here. A status
//! must never leave without a reason: whoever reads it decides by the reason, not by the sentence.

mod access;

use std::collections::HashMap;
use std::time::Duration;

use fettlebook_contract::ERROR_DOMAIN;
use fettlebook_contract::numbers::{Beyond, Bounds};
use fettlebook_contract::v1::ErrorReason;
use fettlebook_model::{Reason, Refusal, Seq};
use fettlebook_quantity::out_of_bounds;
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, StatusExt};

use crate::access::AccessError;
use crate::desk::DeskError;
use crate::limits::{
    RETRY_AFTER_MAX, RETRY_AFTER_MIN, STATUS_TEXT_BYTES_MAX, WATCH_STALL_MAX, WATCHES_MAX,
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
    /// Numbers that cannot be true.
    Beyond(Vec<Beyond>),
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

impl From<EdgeError> for Status {
    fn from(error: EdgeError) -> Self {
        told(error).status()
    }
}

/// What is sent: reason, field, name, what was wrong, what to do; when to try again and where a watch
/// goes on, where that is the question. Each stands by itself for programs; the message puts the two
/// sentences together for clients that have no words of their own.
struct Told {
    reason: ErrorReason,
    field: String,
    name: String,
    what: String,
    todo: String,
    retry_after: Option<Duration>,
    after: Option<Seq>,
    /// Each field that is wrong with what is wrong with it, where there is more than the one.
    violations: Vec<(String, String)>,
}

impl Told {
    fn new(reason: ErrorReason, field: &str, what: impl Into<String>, todo: &str) -> Self {
        Self {
            reason,
            field: field.to_owned(),
            name: String::new(),
            what: what.into(),
            todo: todo.to_owned(),
            retry_after: None,
            after: None,
            violations: Vec::new(),
        }
    }

    const fn retry_after(mut self, wait: Duration) -> Self {
        self.retry_after = Some(wait);
        self
    }

    const fn going_on_after(mut self, seq: Seq) -> Self {
        self.after = Some(seq);
        self
    }

    fn status(self) -> Status {
        let what = cut(self.what);
        let todo = cut(self.todo);
        let name = cut(self.name);
        let after = self.after.map(|seq| seq.to_string()).unwrap_or_default();
        // With a field it is the description of that field's violation; headers are short.
        let alone = if self.field.is_empty() { &what } else { "" };
        let mut metadata = HashMap::new();
        for (key, value) in [
            ("field", self.field.as_str()),
            ("name", &name),
            ("what", alone),
            ("todo", &todo),
            ("after_seq", &after),
        ] {
            if !value.is_empty() {
                metadata.insert(key.to_owned(), value.to_owned());
            }
        }
        let mut details =
            ErrorDetails::with_error_info(reason_name(self.reason), ERROR_DOMAIN, metadata);
        if self.violations.is_empty() && !self.field.is_empty() {
            details.add_bad_request_violation(self.field, what.clone());
        }
        for (field, what) in self.violations {
            details.add_bad_request_violation(field, what);
        }
        if let Some(wait) = self.retry_after {
            details.set_retry_info(Some(wait));
        }
        let message = if todo.is_empty() {
            what
        } else {
            format!("{what} {todo}")
        };
        Status::with_error_details(code_of(self.reason), message, details)
    }
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
        ErrorReason::DiskFailed | ErrorReason::Stopping => Code::Unavailable,
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
        EdgeError::Refused(refusal) => refused(refusal),
        EdgeError::Desk(error) => desk(&error),
        EdgeError::Access(error) => access::told(&error),
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
        EdgeError::Beyond(found) => beyond(&found),
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

/// Numbers that cannot be true, each a violation of its field.
/// A number that cannot be true, by the words for its field.
fn sentence(beyond: &Beyond) -> String {
    let Bounds { least, most, unit } = beyond.bounds;
    out_of_bounds(&beyond.field, beyond.number, least, most, unit)
}

fn beyond(found: &[Beyond]) -> Told {
    let said: Vec<String> = found.iter().map(sentence).collect();
    let first = found.first().map_or("", |beyond| beyond.field.as_str());
    let mut told = Told::new(
        ErrorReason::QuantityInvalid,
        first,
        said.join(" "),
        "Look at the figure and its unit.",
    );
    told.violations = found
        .iter()
        .map(|beyond| (beyond.field.clone(), sentence(beyond)))
        .collect();
    told
}

fn refused(refusal: Refusal) -> Told {
    let Refusal {
        reason,
        field,
        name,
        what,
        todo,
    } = refusal;
    let told = Told::new(reason_of(reason), &field, what, &todo);
    Told { name, ..told }
}

/// The desk's errors. Their sentences say what to do already.
fn desk(error: &DeskError) -> Told {
    let (reason, field) = match error {
        DeskError::Refused(refusal) => return refused(Refusal::clone(refusal)),
        DeskError::RequestIdReused { .. } => (ErrorReason::RequestIdReused, "request_id"),
        DeskError::ReadOnly { .. } | DeskError::Stopped { .. } => (ErrorReason::ReadOnly, ""),
        DeskError::NewerThanThis { .. } => (ErrorReason::NewerThanThis, ""),
        DeskError::ClockAhead { .. } => (ErrorReason::ClockAhead, ""),
        DeskError::Busy { retry_after } | DeskError::Unread { retry_after } => {
            let told = Told::new(ErrorReason::Busy, "", error.to_string(), "");
            return told.retry_after(*retry_after);
        }
        DeskError::Closed | DeskError::CloseTooSlow => (ErrorReason::Busy, ""),
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
