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

use crate::exit::Exit;

mod received;

pub(crate) use received::{innermost, name as name_of};

/// A command that did not do what was asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Fault {
    /// Stable reason, as in the contract or one of the client's own.
    pub(crate) reason: &'static str,
    /// What was wrong, a sentence.
    pub(crate) message: String,
    /// Field or option it is about; empty for none.
    pub(crate) field: Box<str>,
    /// What helps to put it right.
    pub(crate) hints: Box<Hints>,
    /// What to do, a sentence; empty for nothing.
    pub(crate) todo: String,
    /// Everything wrong with a file, by its place; empty where it is about one thing.
    pub(crate) problems: Box<[Problem]>,
    /// How the command ends.
    pub(crate) exit: Exit,
}

/// What helps to put right what went wrong.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Hints {
    /// Name it is about, such as a tag that no piece has; empty for none.
    pub(crate) name: String,
    /// The name in the book that is most like it; empty for none.
    pub(crate) meant: String,
    /// What was typed for the field that it is about; empty where nobody knows.
    pub(crate) typed: String,
    /// A whole command that works as it stands; empty where none is known.
    pub(crate) example: String,
    /// Everything that is wrong with a request, where that is more than one thing.
    pub(crate) violations: Vec<Violation>,
}

/// One thing of several that are wrong with a request.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Violation {
    /// Path of its field.
    pub(crate) field: String,
    /// Its stable reason.
    pub(crate) reason: String,
    /// What is wrong, a sentence.
    pub(crate) text: String,
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
    /// A fault of the client's own, about no field.
    pub(crate) fn own(
        reason: &'static str,
        exit: Exit,
        message: impl Into<String>,
        todo: impl Into<String>,
    ) -> Self {
        Self {
            reason,
            message: message.into(),
            field: Box::default(),
            hints: Box::default(),
            todo: todo.into(),
            problems: Box::default(),
            exit,
        }
    }

    /// Something typed wrong: the option and a sentence with the accepted forms.
    pub(crate) fn usage(field: &str, message: impl Into<String>) -> Self {
        let mut fault = Self::own("USAGE", Exit::Usage, message, "");
        fault.field = field.into();
        fault
    }

    /// The fault with a whole command that works as it stands.
    #[must_use]
    pub(crate) fn with_example(mut self, command: impl Into<String>) -> Self {
        self.hints.example = command.into();
        self
    }

    /// A file that cannot be read or written.
    pub(crate) fn file(path: &str, error: &std::io::Error) -> Self {
        let mut fault = Self::own(
            "FILE",
            Exit::Failed,
            format!("{path} cannot be used: {error}."),
            "Check the path and who may read it.",
        );
        path.clone_into(&mut fault.hints.name);
        fault
    }

    /// A service that cannot be reached.
    fn away(message: String, todo: &str) -> Self {
        Self::own("UNREACHABLE", Exit::Unreachable, message, todo)
    }

    /// The service cannot be reached.
    pub(crate) fn unreachable(at: &str, why: &str) -> Self {
        Self::away(
            format!("The service at {at} cannot be reached: {why}."),
            "Start fettled there, or leave --at and FETTLE_AT out to work alone.",
        )
    }

    /// What answers at an address that was typed speaks TLS.
    pub(crate) fn speaks_tls(at: &str) -> Self {
        let mut fault = Self::away(
            format!("The service at {at} speaks TLS, so it answers paired devices only."),
            "Ask whoever owns the shop for a code and run 'fettle shop pair CODE'; then leave \
             --at and FETTLE_AT out.",
        );
        fault.field = "--at".into();
        fault
    }

    /// Something that only the shop can do or answer, while it is out of reach; whether its book is on this
    /// very machine.
    pub(crate) fn needs_shop(why: &str, is_here: bool) -> Self {
        let todo = if is_here {
            "'fettle shop open' starts it."
        } else {
            "Run it again when the shop can be reached; -v says what was tried. Uses, washes, weigh-ins, \
             counts, moves and losses can be told without."
        };
        Self::away(format!("This needs the shop: {why}."), todo)
    }

    /// A deed that could neither be sent nor be kept.
    pub(crate) fn neither_kept(kept: &Self, why_away: &str) -> Self {
        let mut message = format!("This was neither recorded nor kept: {}", kept.message);
        if !why_away.is_empty() {
            message.push_str(&format!(" Nor can the shop be reached: {why_away}."));
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
        Self::away(
            format!(
                "The connection to the service broke and did not come back in {} seconds: {why}.",
                tried.as_secs()
            ),
            "See that fettled runs. If this was to record something, look with 'fettle book \
             entries --newest' before you run it again: it may be recorded.",
        )
    }

    /// An answer that does not keep to the contract.
    pub(crate) fn answer(what: &str) -> Self {
        Self::own(
            "ANSWER",
            Exit::Failed,
            format!("The service's answer lacks {what}."),
            "Use a fettle and a fettled of the same version.",
        )
    }

    /// The one JSON document of a command that failed; an example, violations and problems are there where
    /// it has some.
    pub(crate) fn to_json(&self) -> Value {
        let mut error = json!({
            "reason": self.reason,
            "message": self.message,
            "field": self.field,
            "todo": self.todo,
            "exitCode": self.exit.code(),
        });
        if let Some(fields) = error.as_object_mut() {
            if !self.hints.example.is_empty() {
                fields.insert("example".to_owned(), json!(self.hints.example));
            }
            if !self.hints.violations.is_empty() {
                let each = self.hints.violations.iter().map(
                    |one| json!({ "field": one.field, "reason": one.reason, "message": one.text }),
                );
                fields.insert("violations".to_owned(), each.collect());
            }
            if !self.problems.is_empty() {
                let problems = self.problems.iter().map(Problem::to_json).collect();
                fields.insert("problems".to_owned(), problems);
            }
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
        received::known(self.reason)
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl Error for Fault {}

/// The innermost cause, which is the one that says something.
pub(crate) fn root_cause(error: &dyn std::error::Error) -> String {
    let mut cause = error;
    while let Some(inner) = cause.source() {
        cause = inner;
    }
    cause.to_string()
}

#[cfg(test)]
mod tests;
