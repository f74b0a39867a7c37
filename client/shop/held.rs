//! That another machine has the book: what a service says of it, and where to go then.
//!
//! It serves every connection to one of several machines. What is asked there has the same request id, so that it
//! counts once, whatever became of it before.

use fettlebook_contract::v1::ErrorReason;
use tonic::Status;
use tonic::codegen::http::HeaderMap;
use tonic_types::StatusExt as _;

use super::target::Address;
use crate::call;

/// How often a request is sent on before whoever asked is told.
pub(crate) const FOLLOWED_MAX: usize = 2;

/// That another machine has the book, and where, where that is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Held {
    /// Where it is reached.
    pub(crate) at: Option<Address>,
}

impl Held {
    /// What the headers of an answer say of it; nothing where they say something else.
    pub(crate) fn said_by(headers: &HeaderMap) -> Option<Self> {
        let status = Status::from_header_map(headers)?;
        if call::reason(&status) != Some(ErrorReason::HeldElsewhere) {
            return None;
        }
        let info = status.get_details_error_info()?;
        let at = info.metadata.get("held_at");
        let at = at.and_then(|at| Address::read(at));
        Some(Self { at })
    }

    /// The same as a clause.
    pub(crate) fn told(&self) -> String {
        match &self.at {
            Some(at) => format!("the book is at {at}, which does not answer"),
            None => "another machine has the book, or is about to".to_owned(),
        }
    }
}
