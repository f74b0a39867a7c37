//! A shop that is not there, for tests: a small service over real TLS whose link can be cut at will,
//! and a device without a disk of its own.
//!
//! It serves the tests of pairing, of the way to a shop and of its commands. It answers only what they
//! ask, and remembers everything that came, in order.

pub(crate) mod device;
mod shop;

pub(crate) use device::Device;
pub(crate) use shop::{Shop, refusal};

use std::future::Future;

/// Runs a test that waits.
pub(crate) fn wait<T>(test: impl Future<Output = T>) -> T {
    crate::runtime::runtime().unwrap().block_on(test)
}
