//! Every rpc as a call: its path, its answer, who may call it and what it does.
//!
//! All of it is generated from the contract: from the rpcs and the option `call` that each has
//! (`options.proto`). Nobody keeps a list of rpcs beside it.

use prost::Message;
use prost::{DecodeError, Name};
use prost_types::Timestamp;

use crate::v1::{self, CallKind, Role};

/// What the contract says of an rpc.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rpc {
    /// Its path, such as `/fettlebook.v1.KitService/WashKit`.
    pub path: &'static str,
    /// The least role that may call it; nothing where anyone may, without a token.
    pub least_role: Option<Role>,
    /// What it does.
    pub kind: CallKind,
}

/// A request of an rpc.
pub trait Call: Message + Name + Clone + Default + 'static {
    /// What answers it.
    type Answer: Message + Name + Default + 'static;
    /// Its rpc.
    const RPC: Rpc;
}

/// A request that is answered once.
pub trait Unary: Call {}

/// A request that is answered by a stream.
pub trait Streamed: Call {}

/// A request for a list that comes in pages.
pub trait Paged: Unary {
    /// Turns to the page that a token names.
    fn turn(&mut self, rows: i32, token: String);
    /// Takes the token of the next page out of a page; empty at the end.
    fn take_token(page: &mut Self::Answer) -> String;
    /// Puts the rows of a further page behind those of a page.
    fn join(page: &mut Self::Answer, more: Self::Answer);
}

/// An answer that carries the entry it recorded.
pub trait Recorded: Message + Name {
    /// The entry.
    fn entry(&self) -> Option<&v1::Entry>;
}

/// What the contract says of the rpc at a path.
pub fn rpc(path: &str) -> Option<&'static Rpc> {
    RPCS.iter().find(|rpc| rpc.path == path)
}

include!(concat!(env!("OUT_DIR"), "/fettlebook_calls.rs"));
