//! Ports for services that have to know where they listen before they do.

use std::net::TcpListener;
use std::process;
use std::sync::atomic::{AtomicU32, Ordering};

/// Ports that no system gives by itself to whoever connects or asks for any: one that is free stays so until it is
/// listened on. Source: ip(7), `ip_local_port_range`, from 32768 as it comes; RFC 6335, section 6, from 49152.
const FIRST: u32 = 20_000;
const COUNT: u32 = 12_000;

/// An address of this machine on which nothing listens, and that no other test is given.
pub(crate) fn free() -> String {
    static GIVEN: AtomicU32 = AtomicU32::new(0);
    // Another run of these tests beside this one begins elsewhere.
    let start = process::id().wrapping_mul(97);
    (0..COUNT)
        .map(|_| {
            let next = start.wrapping_add(GIVEN.fetch_add(1, Ordering::Relaxed));
            format!("127.0.0.1:{}", FIRST + next % COUNT)
        })
        .find(|address| TcpListener::bind(address).is_ok())
        .unwrap()
}
