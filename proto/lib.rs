//! The gRPC contract of Fettlebook: code generated from `fettlebook/v1/*.proto`.
//!
//! Whoever speaks to the service, the client first of all, sees this crate and nothing of the
//! inside. It must never hold a rule of the trade.

pub mod call;
pub mod hint;
pub mod numbers;
pub mod page;
pub mod pairing;

/// Messages, clients and servers of package `fettlebook.v1`.
pub mod v1 {
    #![allow(
        missing_docs,
        clippy::all,
        clippy::pedantic,
        reason = "generated from proto/, where every item carries its comment"
    )]
    tonic::include_proto!("fettlebook.v1");
}

/// Descriptor set of the whole contract and what it imports, for JSON mapping.
pub const DESCRIPTOR_SET: &[u8] =
    include_bytes!(concat!(env!("OUT_DIR"), "/fettlebook_descriptor.bin"));

/// The same with the contract's comments, for reflection.
pub const DESCRIBED_SET: &[u8] =
    include_bytes!(concat!(env!("OUT_DIR"), "/fettlebook_described.bin"));

/// Header of each answer to a device: what it may do, by the word of its role.
pub const ROLE: &str = "fettlebook-role";
/// Header of each answer to a device: the place where it works.
pub const PLACE: &str = "fettlebook-place";
/// Header of each answer to a device: the letter of the tags that it gives itself; empty where it has none.
pub const TAG_LETTER: &str = "fettlebook-tag-letter";

/// Domain of the reasons sent in `google.rpc.ErrorInfo`.
pub const ERROR_DOMAIN: &str = "fettlebook";
