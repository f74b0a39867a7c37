//! What went wrong, as the person and as a script read it.
//!
//! It serves every command: a status of the service, a refusal to connect and a wrong word on the
//! command line all become a `Fault` with a reason, a sentence, the field and what to do. It never
//! prints.

use std::error::Error;
use std::fmt;
use std::sync::Arc;

use fettlebook_contract::v1::ErrorReason;
use serde_json::{Value, json};
use tonic::codegen::StdError;
use tonic::{Code, Status};
use tonic_types::StatusExt as _;

use crate::exit::Exit;
use crate::reason;
use crate::solo::{SoloError, SoloErrorKind};

/// A command that did not do what was asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Fault {
    /// Stable reason, as in the contract or one of the client's own.
    pub(crate) reason: String,
    /// What was wrong, a sentence.
    pub(crate) message: String,
    /// Field or option it is about; empty for none.
    pub(crate) field: String,
    /// What to do, a sentence; empty for nothing.
    pub(crate) todo: String,
    /// Everything wrong with a file, by its place; empty where it is about one thing.
    pub(crate) problems: Box<[Problem]>,
    /// How the command ends.
    pub(crate) exit: Exit,
}

/// One thing of several that are wrong with a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Problem {
    /// File, as the person named it.
    pub(crate) file: String,
    /// Line of the file, from 1.
    pub(crate) line: i64,
    /// Column, as the file names it; empty for the whole line.
    pub(crate) column: String,
    /// What is wrong, a sentence.
    pub(crate) text: String,
    /// What to do, a sentence; empty when the first says it.
    pub(crate) todo: String,
}

impl Problem {
    /// The problem as a sentence that begins with its place.
    pub(crate) fn told(&self) -> String {
        let column = if self.column.is_empty() {
            String::new()
        } else {
            format!(", column {}", self.column)
        };
        let todo = if self.todo.is_empty() {
            String::new()
        } else {
            format!(" {}", self.todo)
        };
        format!(
            "{} line {}{column}: {}{todo}",
            self.file, self.line, self.text
        )
    }

    fn to_json(&self) -> Value {
        json!({
            "line": self.line,
            "column": self.column,
            "text": self.text,
            "todo": self.todo,
        })
    }
}

impl Fault {
    /// Something typed wrong: the option and a sentence with the accepted forms.
    pub(crate) fn usage(field: &str, message: impl Into<String>) -> Self {
        Self {
            reason: "USAGE".to_owned(),
            message: message.into(),
            field: field.to_owned(),
            todo: String::new(),
            problems: Box::default(),
            exit: Exit::Usage,
        }
    }

    /// A file that cannot be read or written.
    pub(crate) fn file(path: &str, error: &std::io::Error) -> Self {
        Self {
            reason: "FILE".to_owned(),
            message: format!("{path} cannot be used: {error}."),
            field: String::new(),
            todo: "Check the path and who may read it.".to_owned(),
            problems: Box::default(),
            exit: Exit::Failed,
        }
    }

    /// The service cannot be reached.
    pub(crate) fn unreachable(at: &str, why: &str) -> Self {
        Self {
            reason: "UNREACHABLE".to_owned(),
            message: format!("The service at {at} cannot be reached: {why}."),
            field: String::new(),
            todo: "Start fettled there, or leave --at and FETTLE_AT out to work alone.".to_owned(),
            problems: Box::default(),
            exit: Exit::Unreachable,
        }
    }

    /// What answers at an address that was typed speaks TLS.
    pub(crate) fn speaks_tls(at: &str) -> Self {
        Self {
            reason: "UNREACHABLE".to_owned(),
            message: format!("The service at {at} speaks TLS, so it answers paired devices only."),
            field: "--at".to_owned(),
            todo:
                "Ask whoever owns the shop for a code and run 'fettle shop pair CODE'; then leave \
                   --at and FETTLE_AT out."
                    .to_owned(),
            problems: Box::default(),
            exit: Exit::Unreachable,
        }
    }

    /// Something that only the shop can do or answer, while it is out of reach.
    pub(crate) fn needs_shop(at: &str, why: &str) -> Self {
        Self {
            reason: "UNREACHABLE".to_owned(),
            message: format!(
                "This needs the shop, and the service at {at} cannot be reached: {why}."
            ),
            field: String::new(),
            todo: "Run it again when there is signal. Uses, washes, weigh-ins, counts, moves and \
                   losses can be told without; a copy to look at is taken along with 'fettle shop \
                   sync'."
                .to_owned(),
            problems: Box::default(),
            exit: Exit::Unreachable,
        }
    }

    /// A deed that could neither be sent nor be kept.
    pub(crate) fn neither_kept(kept: &Self, why_away: &str) -> Self {
        let mut message = format!("This was neither recorded nor kept: {}", kept.message);
        if !why_away.is_empty() {
            message.push_str(&format!(" The shop cannot be reached either: {why_away}."));
        }
        Self {
            message,
            ..kept.clone()
        }
    }

    /// A deed that the shop does not take just now, and that stays on this device.
    pub(crate) fn and_kept(mut self, number: i64) -> Self {
        let kept = format!(
            "It is kept here as deed {number} and is sent when that is put right; 'fettle shop sync' \
             shows it, and --drop {number} gives it up."
        );
        self.todo = format!("{} {kept}", self.todo).trim().to_owned();
        self
    }

    /// A request or its answer was lost, and tries over so long a time were too.
    pub(crate) fn lost(status: &Status, tried: std::time::Duration) -> Self {
        let why = innermost(status).trim_end_matches('.').to_owned();
        Self {
            reason: "UNREACHABLE".to_owned(),
            message: format!(
                "The connection to the service broke and did not come back in {} seconds: {why}.",
                tried.as_secs()
            ),
            field: String::new(),
            todo: "See that fettled runs. If this was to record something, look with 'fettle book \
                   entries --newest' before you run it again: it may be recorded."
                .to_owned(),
            problems: Box::default(),
            exit: Exit::Unreachable,
        }
    }

    /// An answer that does not keep to the contract.
    pub(crate) fn answer(what: &str) -> Self {
        Self {
            reason: "ANSWER".to_owned(),
            message: format!("The service's answer lacks {what}."),
            field: String::new(),
            todo: "Use a fettle and a fettled of the same version.".to_owned(),
            problems: Box::default(),
            exit: Exit::Failed,
        }
    }

    /// The one JSON document of a command that failed; its problems are there where it has some.
    pub(crate) fn to_json(&self) -> Value {
        let mut error = json!({
            "reason": self.reason,
            "message": self.message,
            "field": self.field,
            "todo": self.todo,
            "exitCode": self.exit.code(),
        });
        if let (Some(fields), false) = (error.as_object_mut(), self.problems.is_empty()) {
            let problems = self.problems.iter().map(Problem::to_json).collect();
            fields.insert("problems".to_owned(), problems);
        }
        json!({ "error": error })
    }

    /// This fault as a call hands it on, to come out again as it is.
    pub(crate) fn into_status(self) -> Status {
        // Not a code that is tried again.
        let mut status = Status::new(Code::FailedPrecondition, self.message.clone());
        status.set_source(Arc::new(self));
        status
    }

    /// This fault as a service hands it on that answers a call.
    pub(crate) fn carried(self) -> StdError {
        Box::new(self.into_status())
    }

    /// The reason of the contract, where it is one.
    pub(crate) fn contract_reason(&self) -> Option<ErrorReason> {
        known(&self.reason)
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl Error for Fault {}

impl From<Status> for Fault {
    fn from(status: Status) -> Self {
        let own = status.source().and_then(|source| source.downcast_ref());
        if let Some(own) = own {
            return Self::clone(own);
        }
        let field = status
            .get_details_bad_request()
            .and_then(|bad| bad.field_violations.into_iter().next())
            .map(|violation| violation.field)
            .unwrap_or_default();
        let info = status
            .get_details_error_info()
            .filter(|info| info.domain == fettlebook_contract::ERROR_DOMAIN);
        let named = info
            .as_ref()
            .and_then(|info| known(&info.reason).map(|known| (info.reason.clone(), known)));
        let (reason, (exit, hint)) = match named {
            Some((name, known)) => (name, reason::outcome(known)),
            None => unnamed(status.code()),
        };
        let todo = info
            .and_then(|info| info.metadata.get("todo").cloned())
            .unwrap_or_default();
        Self {
            reason,
            message: sentence(&status, &todo),
            field,
            todo: advice(todo, hint),
            problems: Box::default(),
            exit,
        }
    }
}

fn known(name: &str) -> Option<ErrorReason> {
    ErrorReason::from_str_name(&format!("ERROR_REASON_{name}"))
}

/// What the service says to do, and the command that helps.
fn advice(mut todo: String, hint: &str) -> String {
    if todo.is_empty() {
        return hint.to_owned();
    }
    if hint.contains("'fettle ") {
        todo.push(' ');
        todo.push_str(hint);
    }
    todo
}

/// The innermost cause, which is the one that says something.
pub(crate) fn root_cause(error: &dyn std::error::Error) -> String {
    let mut cause = error;
    while let Some(inner) = cause.source() {
        cause = inner;
    }
    cause.to_string()
}

/// What broke at the bottom of a status, which is what says something.
pub(crate) fn innermost(status: &Status) -> String {
    let mut cause = status.source();
    let mut told = status.message().to_owned();
    while let Some(inner) = cause {
        told = inner.to_string();
        cause = inner.source();
    }
    told
}

/// What was wrong: the status message without what to do, which stands apart.
fn sentence(status: &Status, todo: &str) -> String {
    let message = status.message().trim();
    if message.is_empty() {
        return format!("The service said: {}.", status.code());
    }
    message
        .strip_suffix(todo)
        .map(str::trim_end)
        .filter(|what| !what.is_empty())
        .unwrap_or(message)
        .to_owned()
}

impl From<SoloError> for Fault {
    fn from(error: SoloError) -> Self {
        let (reason, exit, todo) = match error.kind {
            SoloErrorKind::Held => (
                "HELD",
                Exit::Conflict,
                "Close the other program, or talk to it with --at if it is a fettled.",
            ),
            SoloErrorKind::Damaged => (
                "DAMAGED",
                Exit::Damage,
                "Keep a copy of the folder as it is before anything else.",
            ),
            SoloErrorKind::Newer => ("NEWER_THAN_THIS", Exit::Failed, ""),
            SoloErrorKind::WrongFolder => ("FOLDER", Exit::Usage, ""),
            SoloErrorKind::Failed => (
                "FILE",
                Exit::Failed,
                "Check the folder, who may write there, and the room on the disk.",
            ),
        };
        Self {
            reason: reason.to_owned(),
            message: error.message,
            field: String::new(),
            todo: todo.to_owned(),
            problems: Box::default(),
            exit,
        }
    }
}

/// A status without a reason of ours: the transport's, or another program's.
fn unnamed(code: Code) -> (String, (Exit, &'static str)) {
    let (name, exit, todo) = match code {
        Code::Unavailable | Code::DeadlineExceeded | Code::Cancelled => (
            "UNREACHABLE",
            Exit::Unreachable,
            "See that fettled still runs, then run the command again.",
        ),
        Code::PermissionDenied | Code::Unauthenticated => (
            "NOT_ALLOWED",
            Exit::NotAllowed,
            "Ask whoever keeps the book to allow it.",
        ),
        Code::InvalidArgument | Code::OutOfRange => ("INVALID", Exit::Usage, ""),
        Code::NotFound => ("NOT_FOUND", Exit::NotFound, ""),
        Code::AlreadyExists | Code::Aborted | Code::FailedPrecondition => {
            ("CONFLICT", Exit::Conflict, "")
        }
        Code::DataLoss => ("DAMAGED", Exit::Damage, ""),
        Code::Unimplemented => (
            "UNIMPLEMENTED",
            Exit::Failed,
            "Use a fettle and a fettled of the same version.",
        ),
        Code::Ok | Code::Unknown | Code::Internal | Code::ResourceExhausted => {
            ("FAILED", Exit::Failed, "")
        }
    };
    (name.to_owned(), (exit, todo))
}

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use super::Fault;
    use crate::exit::Exit;
    use crate::solo::{SoloError, SoloErrorKind};
    use fettlebook_contract::ERROR_DOMAIN;
    use fettlebook_contract::v1::ErrorReason;
    use tonic::{Code, Status};
    use tonic_types::{ErrorDetails, StatusExt as _};

    fn status(reason: &str, code: Code, what: &str, todo: &str) -> Status {
        let metadata = HashMap::from([("todo".to_owned(), todo.to_owned())]);
        let mut details = ErrorDetails::with_error_info(reason, ERROR_DOMAIN, metadata);
        details.add_bad_request_violation("tags[0]", what);
        Status::with_error_details(code, format!("{what} {todo}"), details)
    }

    #[test]
    fn a_refusal_is_told_with_its_field_and_what_to_do() {
        let what = "No piece of kit has the tag P-99.";
        let todo = "Look at the label.";
        let fault = Fault::from(status("TAG_UNKNOWN", Code::NotFound, what, todo));
        assert_eq!(fault.message, what);
        assert_eq!(fault.field, "tags[0]");
        assert_eq!(
            fault.todo,
            "Look at the label. See 'fettle kit list' for every tag."
        );
        assert_eq!(fault.exit, Exit::NotFound);
        insta::assert_snapshot!(format!("{:#}", fault.to_json()), @r#"
        {
          "error": {
            "exitCode": 4,
            "field": "tags[0]",
            "message": "No piece of kit has the tag P-99.",
            "reason": "TAG_UNKNOWN",
            "todo": "Look at the label. See 'fettle kit list' for every tag."
          }
        }
        "#);
    }

    #[test]
    fn every_reason_of_the_contract_ends_as_the_exit_codes_say() {
        let cases = [
            (ErrorReason::FieldMissing, 2),
            (ErrorReason::QuantityInvalid, 2),
            (ErrorReason::PanelUnknown, 2),
            (ErrorReason::TimePast, 2),
            (ErrorReason::WrongSort, 2),
            (ErrorReason::TagUnknown, 4),
            (ErrorReason::JobUnknown, 4),
            (ErrorReason::EntryUnknown, 4),
            (ErrorReason::SupplierUnknown, 4),
            (ErrorReason::OrderUnknown, 4),
            (ErrorReason::TagTaken, 5),
            (ErrorReason::IdTaken, 5),
            (ErrorReason::JobState, 5),
            (ErrorReason::NotReversible, 5),
            (ErrorReason::OrderState, 5),
            (ErrorReason::CurrencyMismatch, 5),
            (ErrorReason::RequestIdReused, 5),
            (ErrorReason::ReadOnly, 7),
            (ErrorReason::NewerThanThis, 1),
            (ErrorReason::Busy, 1),
            (ErrorReason::WatchTooSlow, 1),
            (ErrorReason::Stopping, 6),
            (ErrorReason::DiskFailed, 1),
            (ErrorReason::DiskRefuses, 1),
            (ErrorReason::Damaged, 8),
        ];
        for (reason, code) in cases {
            let name = reason.as_str_name().trim_start_matches("ERROR_REASON_");
            let fault = Fault::from(status(name, Code::Unknown, "What.", "Do."));
            assert_eq!(fault.exit.code(), code, "{name}");
            assert_eq!(fault.contract_reason(), Some(reason));
        }
    }

    #[test]
    fn after_a_failed_disk_the_disk_comes_first_and_telling_it_again_last() {
        let todo = "Look at the disk first. Only then start fettled again.";
        let fault = Fault::from(status("DISK_FAILED", Code::Unavailable, "It failed.", todo));
        let told = fault.todo;
        assert!(told.starts_with(todo), "{told}");
        assert!(told.contains("fettle book entries --newest"), "{told}");
        let fault = Fault::from(status(
            "READ_ONLY",
            Code::FailedPrecondition,
            "It is.",
            todo,
        ));
        assert!(!fault.todo.contains("mend"), "{}", fault.todo);
    }

    #[test]
    fn a_service_that_is_gone_is_unreachable() {
        let fault = Fault::from(Status::unavailable("connection refused"));
        assert_eq!(
            (fault.reason.as_str(), fault.exit.code()),
            ("UNREACHABLE", 6)
        );
        let fault = Fault::from(Status::permission_denied(""));
        assert_eq!(fault.exit, Exit::NotAllowed);
        assert!(!fault.message.is_empty());
    }

    #[test]
    fn a_book_that_cannot_be_opened_says_why_by_its_exit_code() {
        let fault = |kind| {
            Fault::from(SoloError {
                message: "Held.".to_owned(),
                kind,
            })
        };
        assert_eq!(fault(SoloErrorKind::Held).exit.code(), 5);
        assert_eq!(fault(SoloErrorKind::Damaged).exit.code(), 8);
        assert_eq!(fault(SoloErrorKind::Newer).exit.code(), 1);
        assert_eq!(fault(SoloErrorKind::Failed).exit.code(), 1);
    }
}
