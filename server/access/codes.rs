//! The pairing codes that are open, and those that were lately.
//!
//! It serves pairing. A code lets in one device, for ten minutes. Whoever tries five wrong secrets has
//! ended it for the address they came from and for no other: a neighbour who guesses keeps nobody
//! else out. Only whoever has the right secret is told what became of a code.

use std::net::IpAddr;
use std::path::Path;

use fettlebook_model::{Id, Moment};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::private;
use super::registry::Registry;
use super::token::SecretHash;
use super::{AccessError, Device, Role};
use crate::limits::{CODE_KEPT_FOR, CODE_PLACES_MAX, CODE_TRIES_MAX, CODES_MAX};

const FILE: &str = "codes.json";
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
    /// Hash of its secret.
    pub(super) secret: SecretHash,
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
    /// Hash of the token's secret that it was used with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) used_by: Option<SecretHash>,
    /// Wrong secrets that were tried while it was open, from wherever, as programs counted them once.
    #[serde(default)]
    pub(super) tries: u32,
    /// Wrong secrets that were tried while it was open, by where they came from.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(super) wrong: Vec<WrongFrom>,
}

/// Wrong secrets from one place, the last tried last.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct WrongFrom {
    /// The place.
    from: IpAddr,
    /// How many.
    tries: u32,
}

impl Codes {
    /// The codes in a folder.
    pub(super) fn read(folder: &Path) -> Result<Self, AccessError> {
        let codes = private::read_json::<Self>(folder, FILE)?;
        let codes = codes.unwrap_or(Self {
            format: FORMAT,
            codes: Vec::new(),
        });
        if codes.format == FORMAT {
            return Ok(codes);
        }
        Err(AccessError::Damaged {
            path: folder.join(FILE).display().to_string(),
            what: format!(
                "it has format {}, and this program knows format {FORMAT}",
                codes.format
            ),
        })
    }

    /// Writes them, without those that are long over.
    pub(super) fn write(&mut self, folder: &Path, now: Moment) -> Result<(), AccessError> {
        let kept = |code: &Code| {
            let over = now.duration_since(code.expires_at);
            jiff::SignedDuration::try_from(CODE_KEPT_FOR).is_ok_and(|kept| over < kept)
        };
        self.codes.retain(kept);
        let too_many = self.codes.len().saturating_sub(CODES_MAX);
        self.codes.drain(..too_many);
        private::write_json(folder, FILE, self)
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

    /// Counts a wrong secret from a place against every code that is open for it; says what came of it.
    pub(super) fn count_wrong(&mut self, from: IpAddr, now: Moment) -> Wrong {
        let mut wrong = Wrong::Uncounted;
        let open = self.codes.iter_mut().filter(|code| code.is_open(now));
        for code in open.filter(|code| !code.has_ended_for(from)) {
            code.count_wrong(from);
            if code.has_ended_for(from) {
                wrong = Wrong::Ended;
            } else if wrong == Wrong::Uncounted {
                wrong = Wrong::Counted;
            }
        }
        wrong
    }
}

/// What came of a wrong secret.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wrong {
    /// No code was open: there is nothing to write down.
    Uncounted,
    /// It was counted.
    Counted,
    /// It was one too many, and a code ended for the place it came from.
    Ended,
}

/// The hash of a code's secret, however its letters were typed.
pub(super) fn hash(secret: &str) -> SecretHash {
    SecretHash::of(secret.trim().to_ascii_uppercase().as_bytes())
}

impl Code {
    fn is_open(&self, now: Moment) -> bool {
        self.used_by.is_none() && self.tries < CODE_TRIES_MAX && now < self.expires_at
    }

    /// Whether so many wrong secrets came from a place that the code is worth nothing there.
    fn has_ended_for(&self, from: IpAddr) -> bool {
        let mut wrong = self.wrong.iter();
        self.tries >= CODE_TRIES_MAX
            || wrong.any(|held| held.from == from && held.tries >= CODE_TRIES_MAX)
    }

    fn count_wrong(&mut self, from: IpAddr) {
        let held = self.wrong.iter().position(|held| held.from == from);
        let before = held.map_or(0, |at| self.wrong.remove(at).tries);
        let too_many = (self.wrong.len() + 1).saturating_sub(CODE_PLACES_MAX);
        self.wrong.drain(..too_many);
        self.wrong.push(WrongFrom {
            from,
            tries: before.saturating_add(1),
        });
    }

    /// Takes the code for a device whose token has this secret: a new device, or the same again where
    /// the first answer was lost.
    pub(super) fn take(
        &mut self,
        given: SecretHash,
        registry: &Registry,
        from: IpAddr,
        now: Moment,
    ) -> Result<Device, AccessError> {
        let name = self.name.clone();
        if let Some(device) = registry.named(&name) {
            let again = device.secret.is(&given) && !device.is_revoked();
            if again && now < self.expires_at {
                self.used_by = Some(given);
                return Ok(device);
            }
            return Err(AccessError::CodeUsed { name });
        }
        if self.used_by.is_some() {
            return Err(AccessError::CodeUsed { name });
        }
        if self.has_ended_for(from) {
            return Err(AccessError::CodesEnded);
        }
        if now >= self.expires_at {
            return Err(AccessError::CodeExpired { name });
        }
        let device = Device {
            id: Uuid::now_v7(),
            name,
            role: self.role,
            secret: given,
            paired_at: now,
            used_at: None,
            revoked_at: None,
            invited_by: self.invited_by.clone(),
            revoked_by: None,
        };
        registry.add(device.clone())?;
        self.used_by = Some(given);
        Ok(device)
    }
}
