//! Whether prices are shown, which depends on who asks.
//!
//! It serves every answer that may hold money. What shows such a thing asks for this, so that no
//! handler can forget it; of an entry the model says what is left.

use std::borrow::Cow;
use std::sync::Arc;

use fettlebook_model::money::Money;
use fettlebook_model::{Entry, Unread};

use super::Caller;
use crate::access::AccessError;

/// Whether prices are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Prices {
    /// To whoever keeps the book.
    Shown,
    /// To whoever looks or works.
    Hidden,
}

impl Prices {
    /// The money, where it is shown.
    pub(super) fn of(self, money: Option<Money>) -> Option<Money> {
        money.filter(|_| self == Self::Shown)
    }

    /// What is shown of an entry, as the journal has it.
    ///
    /// # Errors
    /// When it is not read here.
    pub(super) fn of_bytes(self, entry: Vec<u8>) -> Result<Vec<u8>, Unread> {
        match self {
            Self::Shown => Ok(entry),
            Self::Hidden => Entry::bytes_without_prices(&entry),
        }
    }

    /// What is shown of an entry.
    pub(super) fn of_entry(self, entry: &Entry) -> Cow<'_, Entry> {
        match self {
            Self::Shown => Cow::Borrowed(entry),
            Self::Hidden => Cow::Owned(entry.without_prices()),
        }
    }
}

impl Caller {
    /// Whether prices are shown to it.
    pub(super) fn prices(&self) -> Prices {
        if self.role.sees_prices() {
            Prices::Shown
        } else {
            Prices::Hidden
        }
    }

    /// Why it may not say what kit cost: it would set a figure that it is not shown.
    pub(super) fn may_not_say_costs(&self) -> AccessError {
        AccessError::CostForKeepers {
            name: Arc::clone(&self.name),
            held: self.role,
        }
    }
}
