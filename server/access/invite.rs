//! Making a pairing code, beside a running service or in it.
//!
//! It serves whoever lets a device in: the owner at the machine, or a device of the owner. The secret
//! is in the code and nowhere else; a name is given once.

#[cfg(feature = "postgres")]
use std::sync::Arc;

use data_encoding::BASE32_NOPAD;
use fettlebook_contract::pairing::{self, Key, TypedCode, host_and_port, secret_of};
use fettlebook_model::{Id, Moment};
use tokio_rustls::rustls::crypto::ring;
use uuid::Uuid;

use super::code_text::CODE_SECRET_BYTES;
use super::codes::{self, Code, Codes};
use super::{AccessError, CodeText, Fingerprint, Role, ServiceNote, certificate, registry};
use crate::limits::CODE_OPEN_FOR;
use crate::store::Cabinet;

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
    /// Whether the name may have been used before: whoever has it is shut out once the code is used.
    pub again: bool,
    /// The life of the book in which the device is to be of the office; none where it is not to be.
    pub office: Option<Uuid>,
}

/// A code for a device.
#[derive(Debug, Clone)]
pub struct Invitation {
    /// The code.
    pub code: CodeText,
    /// The same as a person types it.
    pub typed: TypedCode,
    /// When it runs out.
    pub expires_at: Moment,
}

/// An address as a code has it, `HOST:PORT`, of one that may lack its port; nothing where it is none.
pub fn address_of(text: &str) -> Option<String> {
    let (host, port) = host_and_port(text)?;
    Some(if host.contains(':') {
        format!("[{host}]:{port}")
    } else {
        format!("{host}:{port}")
    })
}

/// Makes a code for a new device of the book with this cabinet. A service that runs knows it at once.
///
/// # Errors
/// When the name was used before, or a file cannot be read or written.
pub fn invite(
    cabinet: &dyn Cabinet,
    asked: &Invite,
    now: Moment,
) -> Result<Invitation, AccessError> {
    invite_by(cabinet, &KnownBy::Noted, asked, now)
}

/// By which fingerprint a new device will know the service.
#[derive(Debug, Clone)]
pub(crate) enum KnownBy {
    /// By that of the service which makes the code.
    This(Fingerprint),
    /// By what the service noted when it ran last; before its first run by its book's own authority.
    Noted,
    /// By the authority in this cabinet, unless the service was given a certificate when it ran last: how many books
    /// there are says what it shows, and that may have changed since it noted anything.
    #[cfg(feature = "postgres")]
    Authority(Arc<dyn Cabinet>),
}

/// The same, of a service that a new device will know so.
///
/// # Errors
/// Those of [`invite`].
pub(crate) fn invite_by(
    cabinet: &dyn Cabinet,
    known_by: &KnownBy,
    asked: &Invite,
    now: Moment,
) -> Result<Invitation, AccessError> {
    cabinet.open()?;
    made(cabinet, known_by, asked, now)
}

/// Makes a code by a cabinet that is open.
pub(super) fn made(
    cabinet: &dyn Cabinet,
    known_by: &KnownBy,
    asked: &Invite,
    now: Moment,
) -> Result<Invitation, AccessError> {
    let name = asked.name.clone();
    if NAMES_KEPT.contains(&name.as_str()) {
        return Err(AccessError::NameKept { name });
    }
    let note = ServiceNote::read(cabinet)?;
    let noted = || note.as_ref().and_then(ServiceNote::fingerprint);
    let fingerprint = match known_by {
        KnownBy::This(fingerprint) => *fingerprint,
        KnownBy::Noted => noted().map_or_else(|| made_ahead(cabinet, now), Ok)?,
        #[cfg(feature = "postgres")]
        KnownBy::Authority(shown) => {
            let given = note.as_ref().is_some_and(ServiceNote::is_given);
            let noted = noted().filter(|_| given);
            noted.map_or_else(|| made_ahead(&**shown, now), Ok)?
        }
    };
    let address = asked.at.clone();
    let address = address.or_else(|| note.map(|note| note.reached_now()));
    let address = address.unwrap_or_else(|| ADDRESS_DEFAULT.to_owned());
    let _turn = cabinet.turn()?;
    let mut codes = Codes::read(cabinet)?;
    let devices = registry::read(cabinet)?;
    let is_known = codes.used(&name) || devices.iter().any(|device| device.name == name);
    if is_known && !asked.again {
        return Err(AccessError::NameTaken { name });
    }
    if asked.role != Role::Own {
        registry::still_owned(&devices, &name)?;
    }
    let secret = BASE32_NOPAD.encode(&random::<CODE_SECRET_BYTES>()?);
    let (host, port) = host_and_port(&address).unwrap_or_default();
    let typed = TypedCode {
        host,
        port,
        secret: secret_of(random::<{ pairing::SECRET_LETTERS }>()?),
    };
    let key = Key::of(&typed.secret, &fingerprint.0);
    let expires_at = now.checked_add(CODE_OPEN_FOR).unwrap_or(now);
    codes.add(Code {
        secret: codes::hash(&secret),
        typed: Some(codes::kept(&key)),
        name,
        role: asked.role,
        made_at: now,
        expires_at,
        invited_by: asked.by.clone(),
        again: asked.again,
        office: asked.office,
        used_by: None,
    });
    codes.write(cabinet, now)?;
    let code = CodeText {
        address,
        fingerprint,
        secret,
    };
    Ok(Invitation {
        code,
        typed,
        expires_at,
    })
}

/// The fingerprint that a service will have which has not run yet.
fn made_ahead(cabinet: &dyn Cabinet, now: Moment) -> Result<Fingerprint, AccessError> {
    let authority = certificate::authority(cabinet, now)?;
    Ok(Fingerprint::of(&authority))
}

/// Bytes that nobody can guess.
fn random<const N: usize>() -> Result<[u8; N], AccessError> {
    let mut bytes = [0; N];
    let random = ring::default_provider().secure_random;
    random.fill(&mut bytes).map_err(|_| AccessError::NoRandom)?;
    Ok(bytes)
}
