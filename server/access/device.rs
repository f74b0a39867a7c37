//! A device that is or was paired, as it is kept.
//!
//! It serves the registry. A device is never taken off the list; of those that had one name in turn, as
//! where a van got another laptop, at most the last is let in.

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
    /// When it last brought its copy of the book up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub synced_at: Option<Moment>,
    /// What it held that the book does not have, when it last said so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held: Option<Held>,
    /// Version of its program, when it last said so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub version: Option<String>,
    /// The letter of the tags that it gives itself, which no other device has or had; none for those after
    /// the alphabet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tag_letter: Option<char>,
    /// The life of the book in which it is of the office; none where it is not. A book that is moved, restored
    /// or mended has another life, so that the mark goes nowhere with its papers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub office: Option<Uuid>,
}

/// What a device holds that the book does not have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Held {
    /// Deeds that wait to be sent.
    pub waiting: i64,
    /// Deeds that a person has to look at.
    pub parked: i64,
    /// When the device said so.
    pub said_at: Moment,
}

/// With this begins the name of a device that is the van of that name.
const VAN: &str = "van";
/// The place of every other device.
const BENCH: &str = "bench";

/// Gives each device without a letter the next one, those that were paired first before others.
pub(super) fn give_letters(devices: &mut [Device]) {
    let mut without: Vec<&mut Device> = Vec::new();
    let mut last = None;
    for device in devices {
        match device.tag_letter {
            Some(letter) => last = last.max(Some(letter)),
            None => without.push(device),
        }
    }
    without.sort_by_key(|device| (device.paired_at, device.id));
    let after = move |letter: &char| last.is_none_or(|last| *letter > last);
    for (device, letter) in without.into_iter().zip(('A'..='Z').filter(after)) {
        device.tag_letter = Some(letter);
    }
}

impl Device {
    /// The place where it works: a van's its own, every other's the bench.
    pub fn place(&self) -> &str {
        let name = self.name.as_str();
        if name.starts_with(VAN) { name } else { BENCH }
    }

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
