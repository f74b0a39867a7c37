//! A connection as the guard sees it: where it comes from, and whether a good token came on it.
//!
//! Whoever has shown none may ask one thing at a time. How long such a connection may stay, and how
//! much it may say, is for whoever takes connections in to see.

use std::net::{IpAddr, Ipv4Addr};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use tonic::codegen::http::Extensions;

/// Where a request comes from that says nothing about it: the process itself.
const NOWHERE: IpAddr = IpAddr::V4(Ipv4Addr::UNSPECIFIED);

/// A connection. Clones are of the same one.
#[derive(Debug, Clone)]
pub struct Visit(Arc<Shown>);

/// What a connection has shown.
#[derive(Debug)]
struct Shown {
    from: IpAddr,
    known: AtomicBool,
    asking: AtomicBool,
    asked: AtomicU32,
}

impl Visit {
    /// A new connection from an address.
    pub fn new(from: IpAddr) -> Self {
        Self(Arc::new(Shown {
            from,
            known: AtomicBool::new(false),
            asking: AtomicBool::new(false),
            asked: AtomicU32::new(0),
        }))
    }

    /// Where it comes from.
    pub fn from(&self) -> IpAddr {
        self.0.from
    }

    /// Whether a good token came on it.
    pub fn is_known(&self) -> bool {
        self.0.known.load(Ordering::Acquire)
    }

    /// A good token came on it.
    pub(crate) fn make_known(&self) {
        if !self.is_known() {
            self.0.known.store(true, Ordering::Release);
        }
    }

    /// How many requests came on it before a good token did.
    pub fn asked(&self) -> u32 {
        self.0.asked.load(Ordering::Relaxed)
    }

    /// One more request came on it, if no good token has.
    pub(super) fn count_asked(&self) {
        if !self.is_known() {
            self.0.asked.fetch_add(1, Ordering::Relaxed);
        }
    }

    /// Begins to answer something that needs no token; nothing while another such thing is not
    /// answered.
    pub(super) fn ask(&self) -> Option<Asking> {
        let before = self.0.asking.swap(true, Ordering::AcqRel);
        (!before).then(|| Asking(self.clone()))
    }
}

/// In a request by which a device is paired: the book whose code it has.
#[cfg(feature = "postgres")]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct OfBook(pub(super) uuid::Uuid);

/// Something that needs no token and is not answered yet.
#[derive(Debug)]
pub(super) struct Asking(Visit);

impl Drop for Asking {
    fn drop(&mut self) {
        self.0.0.asking.store(false, Ordering::Release);
    }
}

/// The address that a request comes from.
pub(super) fn from(extensions: &Extensions) -> IpAddr {
    let visit = extensions.get::<Visit>();
    visit.map_or(NOWHERE, Visit::from)
}
