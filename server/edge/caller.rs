//! Who asks: the name that goes on what is recorded, and what that one may do.
//!
//! It serves the handlers. Whoever checks tokens puts a caller into the request; without one it is
//! whoever the services were made for, such as the person at this machine.

use std::sync::Arc;

use tonic::Request;
use uuid::Uuid;

use super::Edge;
use crate::access::Role;

/// Who sent a request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caller {
    /// Name, as on the entries it reports.
    pub name: Arc<str>,
    /// What it may do.
    pub role: Role,
    /// Where it works; empty for the bench.
    pub place: Arc<str>,
    /// The letter of the tags that it gives itself, where it is a device.
    pub tag_letter: Option<char>,
    /// The life of the book in which it is of the office, which is told of all shops; none where it is not.
    pub office: Option<Uuid>,
}

impl Caller {
    /// A caller who owns the book, such as the person at the machine that holds it.
    pub fn owner(name: &str) -> Self {
        Self {
            name: name.into(),
            role: Role::Own,
            place: "".into(),
            tag_letter: None,
            office: None,
        }
    }
}

impl Edge {
    /// Who sent a request. The span of the request says so from then on.
    pub(super) fn caller<T>(&self, request: &Request<T>) -> Caller {
        let sent = request.extensions().get::<Caller>();
        let caller = sent.unwrap_or(&self.owner).clone();
        tracing::Span::current().record("caller", &*caller.name);
        caller
    }
}
