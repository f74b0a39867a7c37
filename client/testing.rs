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

use roxmltree::Document;

/// Runs a test that waits.
pub(crate) fn wait<T>(test: impl Future<Output = T>) -> T {
    crate::runtime::runtime().unwrap().block_on(test)
}

/// What is written in a picture, in its order.
pub(crate) fn texts(picture: &str) -> Vec<String> {
    let document = Document::parse(picture).unwrap();
    let words = document
        .descendants()
        .filter(|node| node.has_tag_name("text"));
    words
        .filter_map(|node| node.text().map(|text| text.trim().to_owned()))
        .collect()
}
