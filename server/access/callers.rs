//! Who would be let in to a book that is not open.
//!
//! It serves nodes, which open a book only for those. The book itself looks again, and knows what each may do.

use super::registry::{proven, read};
use super::{AccessError, Device, Token};
use crate::store::Cabinet;

/// The devices of a book, as they were kept at a moment.
#[derive(Debug)]
pub(crate) struct Callers(Vec<Device>);

impl Callers {
    /// Reads them.
    ///
    /// # Errors
    /// When they cannot be read.
    pub(crate) fn read(cabinet: &dyn Cabinet) -> Result<Self, AccessError> {
        read(cabinet).map(Self)
    }

    /// Whether one of them would be let in by a token of this book.
    ///
    /// # Errors
    /// When none would: why, as the book would say it.
    pub(crate) fn admit(&self, token: &Token) -> Result<(), AccessError> {
        let mut devices = self.0.iter();
        let found = devices.find(|device| device.id == token.device_id);
        proven(found, |device| device, token).map(drop)
    }
}
