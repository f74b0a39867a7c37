//! A shop: its service elsewhere, what this device holds of it, and how the two come together.
//!
//! It serves everything that works with a shop's book rather than one's own. A device talks only to
//! the service whose certificate it has pinned, and says its secrets to nobody else.

use fettlebook_contract::v1::Role;

pub(crate) mod code;
mod dial;
pub(crate) mod folder;
pub(crate) mod held;
pub(crate) mod other_books;
pub(crate) mod place;
pub(crate) mod service;
pub(crate) mod target;
#[cfg(test)]
mod tests;
pub(crate) mod trouble;
pub(crate) mod trust;
pub(crate) mod wire;

/// The word of a role, as it is typed and kept.
pub(crate) const fn role_word(role: Role) -> &'static str {
    match role {
        Role::Unspecified => "",
        Role::Look => "look",
        Role::Work => "work",
        Role::Keep => "keep",
        Role::Own => "own",
    }
}

/// Reads the word of a role.
pub(crate) fn role(text: &str) -> Result<Role, String> {
    let roles = [Role::Look, Role::Work, Role::Keep, Role::Own];
    let found = roles.into_iter().find(|role| role_word(*role) == text);
    found.ok_or_else(|| format!("'{text}' is not one of look, work, keep, own"))
}

/// Whether a role may less than another, by their words.
pub(crate) fn may_less(role: &str, than: &str) -> bool {
    let rank = |word: &str| {
        let roles = [Role::Look, Role::Work, Role::Keep, Role::Own];
        roles.into_iter().position(|role| role_word(role) == word)
    };
    rank(role).unwrap_or_default() < rank(than).unwrap_or_default()
}
