//! The pairing codes that are open, and those that were lately.
//!
//! It serves pairing. A code lets in one device, for ten minutes. A wrong secret ends no code: whoever
//! guesses has to wait (`tries.rs`), and 50 bits are not found in ten minutes. Only whoever has the right
//! secret is told what became of a code.

use data_encoding::HEXLOWER;
use fettlebook_contract::pairing::Key;
use fettlebook_model::{Id, Moment};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::paper;
use super::registry::Registry;
use super::token::SecretHash;
use super::{AccessError, Device, Role};
use crate::limits::{CODE_KEPT_FOR, CODES_MAX};
use crate::store::{Cabinet, Paper};

const FORMAT: u32 = 1;

/// The codes of a book, as the file holds them, the oldest first.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Codes {
    format: u32,
    codes: Vec<Code>,
}

/// A code.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Code {
    /// Hash of its long secret.
    pub(super) secret: SecretHash,
    /// Key of its typed secret, in hex, for as long as the code can be used. Whoever reads it could pair
    /// in its place, but may read the whole cabinet then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) typed: Option<String>,
    /// Name for the device.
    pub(super) name: Id,
    /// What the device may do.
    pub(super) role: Role,
    /// When it was made.
    pub(super) made_at: Moment,
    /// When it runs out.
    pub(super) expires_at: Moment,
    /// Who made it.
    pub(super) invited_by: String,
    /// Whether it is for a device whose name another may have, which is shut out then.
    #[serde(default, skip_serializing_if = "is_false")]
    pub(super) again: bool,
    /// The life of the book in which the device will be of the office; none where it will not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) office: Option<Uuid>,
    /// Hash of the token's secret that it was used with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) used_by: Option<SecretHash>,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde passes a reference"
)]
const fn is_false(word: &bool) -> bool {
    !*word
}

impl Codes {
    /// The codes in a cabinet.
    pub(super) fn read(cabinet: &dyn Cabinet) -> Result<Self, AccessError> {
        let codes = paper::read::<Self>(cabinet, Paper::Codes)?;
        let codes = codes.unwrap_or(Self {
            format: FORMAT,
            codes: Vec::new(),
        });
        paper::check_format(cabinet, Paper::Codes, codes.format, FORMAT)?;
        Ok(codes)
    }

    /// The codes in a paper; what is wrong with it where there are none.
    #[cfg(feature = "postgres")]
    pub(super) fn of_paper(paper: &[u8]) -> Result<Self, String> {
        let codes: Self = serde_json::from_slice(paper).map_err(|error| error.to_string())?;
        if codes.format == FORMAT {
            return Ok(codes);
        }
        Err(format!(
            "they have format {}, and this program knows format {FORMAT}",
            codes.format
        ))
    }

    /// Writes them, without those that are long over.
    pub(super) fn write(&mut self, cabinet: &dyn Cabinet, now: Moment) -> Result<(), AccessError> {
        let kept = |code: &Code| {
            let over = now.duration_since(code.expires_at);
            jiff::SignedDuration::try_from(CODE_KEPT_FOR).is_ok_and(|kept| over < kept)
        };
        self.codes.retain(kept);
        for code in &mut self.codes {
            if code.used_by.is_some() || now >= code.expires_at {
                code.typed = None;
            }
        }
        let too_many = self.codes.len().saturating_sub(CODES_MAX);
        self.codes.drain(..too_many);
        paper::write(cabinet, Paper::Codes, self)
    }

    /// Adds a code; one for the same name that is still open ends.
    pub(super) fn add(&mut self, code: Code) {
        self.codes
            .retain(|held| held.name != code.name || held.used_by.is_some());
        self.codes.push(code);
    }

    /// Whether a name went into a code that was used.
    pub(super) fn used(&self, name: &Id) -> bool {
        let mut codes = self.codes.iter();
        codes.any(|code| code.name == *name && code.used_by.is_some())
    }

    /// The code that a secret belongs to. Each is compared, whichever it is.
    pub(super) fn find(&mut self, secret: &str) -> Option<&mut Code> {
        let given = hash(secret);
        let mut found = None;
        for code in &mut self.codes {
            if code.secret.is(&given) {
                found = Some(code);
            }
        }
        found
    }

    /// The code whose key made a proof that a device shows, and that key. Each is compared.
    pub(super) fn proved(&mut self, is_proof: impl Fn(&Key) -> bool) -> Option<(&mut Code, Key)> {
        let mut found = None;
        for code in &mut self.codes {
            if let Some(key) = code.key().filter(|key| is_proof(key)) {
                found = Some((code, key));
            }
        }
        found
    }

    /// The codes that can be used, by name.
    pub(super) fn open(&self, now: Moment) -> Vec<OpenCode> {
        let open = self.codes.iter().filter(|code| code.is_open(now));
        let mut open: Vec<OpenCode> = open.map(Code::shown).collect();
        open.sort_by(|one, other| one.name.cmp(&other.name));
        open
    }

    /// Takes out the code for a name that can be used.
    pub(super) fn withdraw(&mut self, name: &Id, now: Moment) -> Option<OpenCode> {
        let is_it = |code: &Code| code.name == *name && code.is_open(now);
        let found = self.codes.iter().find(|code| is_it(code)).map(Code::shown);
        self.codes.retain(|code| !is_it(code));
        found
    }

    /// Whether somebody could come in by a code and own the shop.
    pub(super) fn let_an_owner_in(&self, now: Moment) -> bool {
        let mut open = self.codes.iter().filter(|code| code.is_open(now));
        open.any(|code| code.role == Role::Own)
    }
}

/// The key of a typed secret, as it is kept.
pub(super) fn kept(key: &Key) -> String {
    HEXLOWER.encode(key.as_bytes())
}

/// The hash of a code's secret, however its letters were typed.
pub(super) fn hash(secret: &str) -> SecretHash {
    SecretHash::of(secret.trim().to_ascii_uppercase().as_bytes())
}

/// A code that can be used, without what is secret of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenCode {
    /// Name for the device.
    pub name: Id,
    /// What the device may do.
    pub role: Role,
    /// When it was made.
    pub made_at: Moment,
    /// When it runs out.
    pub expires_at: Moment,
    /// Who made it.
    pub invited_by: String,
    /// Whether whoever has the name is shut out once it is used.
    pub again: bool,
    /// The life of the book in which the device will be of the office; none where it will not.
    pub office: Option<Uuid>,
}

impl Code {
    /// Whether it can be used.
    fn is_open(&self, now: Moment) -> bool {
        self.used_by.is_none() && now < self.expires_at
    }

    fn shown(&self) -> OpenCode {
        OpenCode {
            name: self.name.clone(),
            role: self.role,
            made_at: self.made_at,
            expires_at: self.expires_at,
            invited_by: self.invited_by.clone(),
            again: self.again,
            office: self.office,
        }
    }

    fn key(&self) -> Option<Key> {
        let bytes = HEXLOWER.decode(self.typed.as_ref()?.as_bytes()).ok()?;
        bytes.try_into().ok().map(Key::from_bytes)
    }

    /// Takes the code for a device whose token has this secret: a new device, or the same again where
    /// the first answer was lost.
    pub(super) fn take(
        &mut self,
        given: SecretHash,
        registry: &Registry,
        now: Moment,
    ) -> Result<Device, AccessError> {
        let name = self.name.clone();
        let held = registry.named(&name);
        let is_open = now < self.expires_at;
        let is_same = |device: &Device| device.secret.is(&given) && !device.is_revoked();
        if let Some(device) = held.as_ref().filter(|device| is_open && is_same(device)) {
            self.used_by = Some(given);
            return Ok(device.clone());
        }
        // Where the service was stopped between device and code, the device alone says that it was used.
        let is_used = |device: &Device| !self.again || device.paired_at >= self.made_at;
        if self.used_by.is_some() || held.as_ref().is_some_and(is_used) {
            return Err(AccessError::CodeUsed { name });
        }
        if !is_open {
            return Err(AccessError::CodeExpired { name });
        }
        let device = Device {
            version: None,
            id: Uuid::now_v7(),
            name,
            role: self.role,
            secret: given,
            paired_at: now,
            used_at: None,
            revoked_at: None,
            invited_by: self.invited_by.clone(),
            revoked_by: None,
            synced_at: None,
            held: None,
            tag_letter: None,
            office: self.office,
        };
        registry.add(device.clone(), self.again)?;
        self.used_by = Some(given);
        Ok(device)
    }
}
