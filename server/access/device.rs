//! A device that is or was paired, as it is kept.
//!
//! It serves the registry. A device is never taken off the list, so that a name on an entry always
//! means the same one.

use fettlebook_model::{Id, Moment};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::Role;
use super::token::SecretHash;

/// A device that is or was paired.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Device {
    /// Its id, as in its token.
    pub id: Uuid,
    /// Its name, as on the entries it reports.
    pub name: Id,
    /// What it may do.
    pub role: Role,
    /// Hash of the secret of its token.
    pub(super) secret: SecretHash,
    /// When it was paired.
    pub paired_at: Moment,
    /// When it last called, to the minute.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub used_at: Option<Moment>,
    /// When it was revoked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revoked_at: Option<Moment>,
    /// Who made its code.
    pub invited_by: String,
    /// Who revoked it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revoked_by: Option<String>,
}

impl Device {
    /// Whether it is shut out.
    pub const fn is_revoked(&self) -> bool {
        self.revoked_at.is_some()
    }

    /// What it may do; nothing once it is shut out.
    pub const fn allowed(&self) -> Option<Role> {
        if self.is_revoked() {
            None
        } else {
            Some(self.role)
        }
    }
}
