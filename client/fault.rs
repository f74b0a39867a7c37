//! What went wrong, as the person and as a script read it.
//!
//! It serves every command: a status of the service, a refusal to connect and a wrong word on the
//! command line all become a `Fault` with a reason, a sentence, the field and what to do. It never
//! prints.

use fettlebook_contract::v1::ErrorReason;
use serde_json::{Value, json};
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
    /// How the command ends.
    pub(crate) exit: Exit,
}

impl Fault {
    /// Something typed wrong: the option and a sentence with the accepted forms.
    pub(crate) fn usage(field: &str, message: impl Into<String>) -> Self {
        Self {
            reason: "USAGE".to_owned(),
            message: message.into(),
            field: field.to_owned(),
            todo: String::new(),
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
            exit: Exit::Failed,
        }
    }

    /// The one JSON document of a command that failed.
    pub(crate) fn to_json(&self) -> Value {
        json!({
            "error": {
                "reason": self.reason,
                "message": self.message,
                "field": self.field,
                "todo": self.todo,
                "exitCode": self.exit.code(),
            }
        })
    }

    /// The reason of the contract, where it is one.
    pub(crate) fn contract_reason(&self) -> Option<ErrorReason> {
        ErrorReason::from_str_name(&format!("ERROR_REASON_{}", self.reason))
    }
}

impl From<Status> for Fault {
    fn from(status: Status) -> Self {
        let info = status.get_details_error_info();
        let field = status
            .get_details_bad_request()
            .and_then(|bad| bad.field_violations.into_iter().next())
            .map(|violation| violation.field)
            .unwrap_or_default();
        let named = info
            .as_ref()
            .filter(|info| info.domain == fettlebook_contract::ERROR_DOMAIN)
            .and_then(|info| {
                ErrorReason::from_str_name(&format!("ERROR_REASON_{}", info.reason))
                    .map(|known| (info.reason.clone(), known))
            });
        let (reason, (exit, todo)) = match named {
            Some((name, known)) => (name, reason::outcome(known)),
            None => unnamed(status.code()),
        };
        Self {
            reason,
            message: sentence(status.message(), status.code()),
            field,
            todo: todo.to_owned(),
            exit,
        }
    }
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

fn sentence(message: &str, code: Code) -> String {
    if message.is_empty() {
        format!("The service said: {code}.")
    } else {
        message.to_owned()
    }
}
