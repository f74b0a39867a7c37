//! Making a pairing code, beside a running service or in it.
//!
//! It serves whoever lets a device in: the owner at the machine, or a device of the owner. The secret
//! is in the code and nowhere else; a name is given once.

use std::path::Path;

use data_encoding::BASE32_NOPAD;
use fettlebook_model::{Id, Moment};
use tokio_rustls::rustls::crypto::ring;

use super::code_text::{CODE_SECRET_BYTES, is_address};
use super::codes::{self, Code, Codes};
use super::{
    AccessError, CodeText, Fingerprint, Role, ServiceNote, access_folder, certificate, private,
    registry,
};
use crate::limits::CODE_OPEN_FOR;

/// Names that entries have which no device reported.
const NAMES_KEPT: [&str; 2] = ["local", "solo"];

/// Where a service is reached when none has said where it listens.
const ADDRESS_DEFAULT: &str = "127.0.0.1:7420";

/// What is asked for.
#[derive(Debug, Clone)]
pub struct Invite {
    /// Name for the device.
    pub name: Id,
    /// What it may do.
    pub role: Role,
    /// Who asks.
    pub by: String,
    /// Where the device reaches the service, as `HOST:PORT`; nothing for where it listens.
    pub at: Option<String>,
}

/// A code for a device.
#[derive(Debug, Clone)]
pub struct Invitation {
    /// The code.
    pub code: CodeText,
    /// When it runs out.
    pub expires_at: Moment,
}

impl Invite {
    /// Whether a text can be the address of a code: a host and a port.
    pub fn is_address(text: &str) -> bool {
        is_address(text)
    }
}

/// Makes a code for a new device of the book in a folder. A service that runs knows it at once.
///
/// # Errors
/// When the name was used before, or a file cannot be read or written.
pub fn invite(book: &Path, asked: &Invite, now: Moment) -> Result<Invitation, AccessError> {
    let folder = access_folder(book);
    private::make_folder(&folder)?;
    in_folder(&folder, asked, now)
}

pub(super) fn in_folder(
    folder: &Path,
    asked: &Invite,
    now: Moment,
) -> Result<Invitation, AccessError> {
    let name = asked.name.clone();
    if NAMES_KEPT.contains(&name.as_str()) {
        return Err(AccessError::NameKept { name });
    }
    let note = ServiceNote::read(folder)?;
    let noted = note.as_ref().and_then(ServiceNote::fingerprint);
    let fingerprint = noted.map_or_else(|| made_ahead(folder, now), Ok)?;
    let address = asked.at.clone();
    let address = address.or_else(|| note.map(|note| note.address));
    let _turn = private::lock(folder)?;
    let mut codes = Codes::read(folder)?;
    let devices = registry::read(folder)?;
    if codes.used(&name) || devices.iter().any(|device| device.name == name) {
        return Err(AccessError::NameTaken { name });
    }
    let secret = secret()?;
    let expires_at = now.checked_add(CODE_OPEN_FOR).unwrap_or(now);
    codes.add(Code {
        secret: codes::hash(&secret),
        name,
        role: asked.role,
        made_at: now,
        expires_at,
        invited_by: asked.by.clone(),
        used_by: None,
        tries: 0,
        wrong: Vec::new(),
    });
    codes.write(folder, now)?;
    let code = CodeText {
        address: address.unwrap_or_else(|| ADDRESS_DEFAULT.to_owned()),
        fingerprint,
        secret,
    };
    Ok(Invitation { code, expires_at })
}

/// The fingerprint that a service will have which has not run yet.
fn made_ahead(folder: &Path, now: Moment) -> Result<Fingerprint, AccessError> {
    certificate::authority_fingerprint(folder, now)
}

/// A new secret, as the code has it.
fn secret() -> Result<String, AccessError> {
    let mut bytes = [0; CODE_SECRET_BYTES];
    let random = ring::default_provider().secure_random;
    random.fill(&mut bytes).map_err(|_| AccessError::NoRandom)?;
    Ok(BASE32_NOPAD.encode(&bytes))
}
