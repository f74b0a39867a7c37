//! What a device may do, as four words in order.
//!
//! It serves the guard at the edge. Each role may do all that the ones before it may, so that a
//! method needs to name only the least one.

use serde::{Deserialize, Serialize};

/// What a device may do. Each role may do all that the ones before it may.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Look; no prices.
    Look,
    /// Record what happens to the kit; no prices.
    Work,
    /// Keep the book, prices too.
    Keep,
    /// Own the shop: policies, backups, devices.
    Own,
}

impl Role {
    /// Whether prices are sent to a device of this role.
    pub fn sees_prices(self) -> bool {
        self >= Self::Keep
    }

    /// The role of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        [Self::Look, Self::Work, Self::Keep, Self::Own]
            .into_iter()
            .find(|role| role.word() == word)
    }

    /// The word as said.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Look => "look",
            Self::Work => "work",
            Self::Keep => "keep",
            Self::Own => "own",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Role;

    #[test]
    fn each_role_may_do_what_the_ones_before_it_may() {
        let in_order = [Role::Look, Role::Work, Role::Keep, Role::Own];
        assert!(in_order.is_sorted());
        let seeing = in_order.map(Role::sees_prices);
        assert_eq!(seeing, [false, false, true, true]);
    }
}
