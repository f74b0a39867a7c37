//! A pairing code in each form: `HOST/LETTERS` as people type it, the same as the address of the page that a picture
//! holds, `FETTLE:HOST:PORT/FINGERPRINT/SECRET` as it is copied whole.
//!
//! It serves `shop pair`. Letters may be of either case and blanks anywhere; each part that is wrong is
//! named. The secret is never shown again.

use std::fmt;
use std::net::Ipv6Addr;

use data_encoding::{BASE32_NOPAD, HEXLOWER};
use fettlebook_contract::page;
use fettlebook_contract::pairing::TypedCode;

/// Characters of a fingerprint: 32 bytes in base 32.
const FINGERPRINT_CHARS: usize = 52;
/// Characters of a secret: 80 bits in base 32.
const SECRET_CHARS: usize = 16;

/// A code that was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Given {
    /// As people type it.
    Typed(TypedCode),
    /// As it is copied whole.
    Long(Code),
}

impl Given {
    /// Host and port.
    pub(crate) fn place(&self) -> (&str, u16) {
        match self {
            Self::Typed(code) => (&code.host, code.port),
            Self::Long(code) => (&code.host, code.port),
        }
    }
}

/// Reads a code in either form; what of it is wrong, and how, as a sentence.
pub(crate) fn given(text: &str) -> Result<Given, String> {
    // The address of the typed form has no stroke, and beside the page's only the long form has two.
    if text.matches('/').count() > 1 && page::host_and_port(text).is_none() {
        return parse(text).map(Given::Long);
    }
    let typed = TypedCode::parse(text).map_err(|why| why.to_string())?;
    Ok(Given::Typed(typed))
}

/// A pairing code in its long form.
#[derive(Clone, PartialEq, Eq)]
pub(crate) struct Code {
    /// Name or address of the host, without brackets.
    pub(crate) host: String,
    /// Port.
    pub(crate) port: u16,
    /// SHA-256 of the certificate that is to be pinned.
    pub(crate) fingerprint: [u8; 32],
    /// The one-time secret, as the service knows it.
    pub(crate) secret: String,
}

impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fingerprint = HEXLOWER.encode(&self.fingerprint);
        let secret = "(not shown)";
        write!(
            f,
            "{} {fingerprint} {secret}",
            address(&self.host, self.port)
        )
    }
}

/// A host and port as they are written together: `192.0.2.7:7420`, `[2001:db8::7]:7420`.
pub(crate) fn address(host: &str, port: u16) -> String {
    if host.contains(':') {
        format!("[{host}]:{port}")
    } else {
        format!("{host}:{port}")
    }
}

/// Reads a long code; which part of it is wrong, and how, as a sentence.
pub(crate) fn parse(text: &str) -> Result<Code, String> {
    let plain: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    let plain = plain.to_ascii_uppercase();
    let rest = plain.strip_prefix("FETTLE:").ok_or_else(|| {
        "A pairing code begins with FETTLE: and has the form \
         FETTLE:HOST:PORT/FINGERPRINT/SECRET."
            .to_owned()
    })?;
    let mut parts = rest.split('/');
    let (Some(place), Some(fingerprint), Some(secret), None) =
        (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Err(
            "The code has three parts with / between them: HOST:PORT, FINGERPRINT and SECRET. \
             See that all of it was copied."
                .to_owned(),
        );
    };
    let (host, port) = host_and_port(place)?;
    Ok(Code {
        host,
        port,
        fingerprint: fingerprint_of(fingerprint)?,
        secret: secret_of(secret)?,
    })
}

fn host_and_port(text: &str) -> Result<(String, u16), String> {
    let wrong = || {
        format!(
            "'{text}' in the code is not HOST:PORT, such as 192.0.2.7:7420 or [2001:DB8::7]:7420."
        )
    };
    let (host, port) = text.rsplit_once(':').ok_or_else(wrong)?;
    let port = port.parse().ok().filter(|port| *port != 0);
    let bracketed = host
        .strip_prefix('[')
        .and_then(|host| host.strip_suffix(']'));
    let host = match bracketed {
        Some(inner) => inner.parse::<Ipv6Addr>().ok().map(|host| host.to_string()),
        None => Some(host.to_ascii_lowercase()).filter(|host| {
            let is_name = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
            !host.is_empty() && host.chars().all(is_name)
        }),
    };
    host.zip(port).ok_or_else(wrong)
}

fn fingerprint_of(text: &str) -> Result<[u8; 32], String> {
    let wrong = || {
        format!(
            "The fingerprint in the code has {} characters; it is {FINGERPRINT_CHARS} of A to Z and \
             2 to 7. See that all of it was copied.",
            text.chars().count()
        )
    };
    let bytes = BASE32_NOPAD.decode(text.as_bytes()).map_err(|_| wrong())?;
    bytes.try_into().map_err(|_| wrong())
}

fn secret_of(text: &str) -> Result<String, String> {
    let whole = text.len() == SECRET_CHARS && BASE32_NOPAD.decode(text.as_bytes()).is_ok();
    whole.then(|| text.to_owned()).ok_or_else(|| {
        format!(
            "The secret in the code has {} characters; it is {SECRET_CHARS} of A to Z and 2 to 7. See \
             that all of it was copied.",
            text.chars().count()
        )
    })
}
