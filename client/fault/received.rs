//! From what a service or its start in this process sends to a fault.
//!
//! Reason, field, name, what was wrong and what to do come as fields of their own; no sentence is ever
//! taken apart.

use std::error::Error as _;

use fettlebook_contract::v1::ErrorReason;
use tonic::{Code, Status};
use tonic_types::{FieldViolation, StatusExt as _};

use super::{Fault, Hints, Violation};
use crate::exit::Exit;
use crate::reason::{self, Advice};
use crate::solo::{SoloError, SoloErrorKind};

/// What stands before the name of a reason in the contract, and is not sent.
const PREFIX: &str = "ERROR_REASON_";

impl From<Status> for Fault {
    fn from(status: Status) -> Self {
        let own = status.source().and_then(|source| source.downcast_ref());
        if let Some(own) = own {
            return Self::clone(own);
        }
        let bad = status.get_details_bad_request();
        let violations = bad.map(|bad| bad.field_violations).unwrap_or_default();
        let info = status
            .get_details_error_info()
            .filter(|info| info.domain == fettlebook_contract::ERROR_DOMAIN);
        let named = info.as_ref().and_then(|info| known(&info.reason));
        let (reason, (exit, hint)) = match named {
            Some(known) => (name(known), reason::outcome(known)),
            None => unnamed(status.code()),
        };
        let said = |key: &str| {
            info.as_ref()
                .and_then(|info| info.metadata.get(key).cloned())
        };
        let (field, what) = match violations.first() {
            Some(first) => (first.field.clone(), Some(each_once(&violations))),
            None => (String::new(), said("what")),
        };
        let violations = match violations.len() {
            0 | 1 => Vec::new(),
            _ => violations.into_iter().map(Violation::from).collect(),
        };
        Self {
            reason,
            message: what
                .filter(|what| !what.is_empty())
                .unwrap_or_else(|| whole(&status)),
            field: field.into(),
            hints: Box::new(Hints {
                name: said("name").unwrap_or_default(),
                violations,
                ..Hints::default()
            }),
            todo: advice(said("todo").unwrap_or_default(), hint),
            problems: Box::default(),
            exit,
        }
    }
}

impl From<FieldViolation> for Violation {
    fn from(sent: FieldViolation) -> Self {
        Self {
            field: sent.field,
            reason: sent.reason,
            text: sent.description,
        }
    }
}

/// What is wrong with each field, each sentence once.
fn each_once(violations: &[FieldViolation]) -> String {
    let mut each: Vec<&str> = Vec::new();
    for violation in violations {
        let text = violation.description.as_str();
        if !text.is_empty() && !each.contains(&text) {
            each.push(text);
        }
    }
    each.join(" ")
}

/// The reason of a name as it is sent.
pub(super) fn known(name: &str) -> Option<ErrorReason> {
    ErrorReason::from_str_name(&format!("{PREFIX}{name}"))
}

/// The name of a reason as it is sent.
pub(crate) fn name(reason: ErrorReason) -> &'static str {
    reason.as_str_name().trim_start_matches(PREFIX)
}

/// What the service says to do, and what the client knows of it.
fn advice(mut todo: String, hint: Advice) -> String {
    match hint {
        Advice::Beside(hint) | Advice::Instead(hint) if todo.is_empty() => hint.to_owned(),
        Advice::Beside(hint) => {
            todo.push(' ');
            todo.push_str(hint);
            todo
        }
        Advice::Instead(_) => todo,
    }
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

/// The whole message of a status that has no sentence by itself.
fn whole(status: &Status) -> String {
    let message = status.message().trim();
    if message.is_empty() {
        return format!("The service said: {}.", status.code());
    }
    message.to_owned()
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
            SoloErrorKind::NoAddress => (
                "NO_ADDRESS",
                Exit::Failed,
                "Name another address of this machine, for example --listen 127.0.0.1:7421.",
            ),
            SoloErrorKind::Failed => (
                "FILE",
                Exit::Failed,
                "Check the folder, who may write there, and the room on the disk.",
            ),
        };
        Self::own(reason, exit, error.message, todo)
    }
}

/// A status without a reason of ours: the transport's, or another program's.
fn unnamed(code: Code) -> (&'static str, (Exit, Advice)) {
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
    (name, (exit, Advice::Instead(todo)))
}
