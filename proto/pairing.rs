//! Pairing by a code that a person types: how it is written and read, and how device and service each
//! prove that they know it without saying it.
//!
//! ```text
//! 192.168.1.7/K7Q2-9XJM-4TB                  address, and port where that is not 7420; ten letters; a check letter
//! https://192.168.1.7:7420/#K7Q29XJM4TB      the same as the address of the page at the bench, as a picture has it
//! ```
//!
//! The letters are never sent. Each side shows an HMAC of what both see, the certificate above all: who
//! stands between them shows another, and learns nothing in the ten minutes that a code is open.

use std::fmt;
use std::net::Ipv6Addr;

use sha2::{Digest as _, Sha256};

use crate::page;

/// The port that a code leaves out.
pub const PORT_USUAL: u16 = 7420;

/// Letters of a secret: 50 bits, of which an attacker gets ten tries a minute.
pub const SECRET_LETTERS: usize = 10;

/// The letters: figures and capitals without I, L, O and U, which are read as others or spell words.
pub const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Rounds from letters to key: some hundredths of a second once for a device, and 2^65 hashes for whoever
/// tries all secrets.
const ROUNDS: u32 = 20_000;

/// What stood before a code in the pictures of earlier programs.
const PREFIX: &str = "FETTLE:";

/// What stands before the letters in that address: a browser sends to nobody what comes after it.
/// Source: RFC 9110, section 4.2.5; RFC 3986, section 3.5.
pub(crate) const FRAGMENT: char = '#';

/// Letters written together.
const GROUP: usize = 4;

/// A code as a person types it.
#[derive(Clone, PartialEq, Eq)]
pub struct TypedCode {
    /// Name or address of the host, without brackets, in small letters.
    pub host: String,
    /// Port.
    pub port: u16,
    /// Ten of [`LETTERS`].
    pub secret: String,
}

/// Why a text is no typed code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotTyped {
    /// It has no address before its letters.
    NoAddress,
    /// Its address cannot be read.
    Address(String),
    /// A letter of it is none that a code has.
    Letter(char),
    /// So many letters, where eleven belong.
    Length(usize),
    /// Its check letter says that something was mistyped.
    Mistyped,
}

impl fmt::Display for NotTyped {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoAddress => f.write_str(
                "The code has an address and eleven letters, for example 192.0.2.7/0123-4567-89B.",
            ),
            Self::Address(text) => write!(
                f,
                "'{text}' in the code is no address, such as 192.0.2.7, bench.example:7420 or \
                 [2001:db8::7]:7420."
            ),
            Self::Letter(letter) => {
                write!(f, "'{letter}' is no letter of a code; it has figures and capitals without U.")
            }
            Self::Length(count) => write!(
                f,
                "The code has {count} letters behind its address, and eleven belong there."
            ),
            Self::Mistyped => f.write_str(
                "The code is mistyped: its last letter does not go with the rest. Compare it with the \
                 one that is shown.",
            ),
        }
    }
}

impl std::error::Error for NotTyped {}

impl fmt::Debug for TypedCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "TypedCode(for {}, secret not shown)", self.address())
    }
}

/// As a person reads it aloud or types it.
impl fmt::Display for TypedCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let letters = self.letters();
        let groups: Vec<&str> = (0..letters.len())
            .step_by(GROUP)
            .filter_map(|at| letters.get(at..letters.len().min(at.saturating_add(GROUP))))
            .collect();
        write!(f, "{}/{}", self.address(), groups.join("-"))
    }
}

impl TypedCode {
    /// The host, and its port where that is not the usual one.
    #[must_use]
    pub fn address(&self) -> String {
        let host = if self.host.contains(':') {
            format!("[{}]", self.host)
        } else {
            self.host.clone()
        };
        if self.port == PORT_USUAL {
            host
        } else {
            format!("{host}:{}", self.port)
        }
    }

    /// The address of the page at the bench with the code in its fragment, which a telephone opens and a device
    /// pairs by.
    #[must_use]
    pub fn page_address(&self) -> String {
        let page = page::first(&self.host, self.port);
        format!("{page}{FRAGMENT}{}", self.letters())
    }

    /// The secret and its check letter.
    fn letters(&self) -> String {
        let check = check_letter(&self.address(), &self.secret);
        format!("{}{check}", self.secret)
    }

    /// Reads a code, however it was typed: small letters, blanks and hyphens anywhere, O for 0, I and L
    /// for 1, a blank in place of the stroke.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn parse(text: &str) -> Result<Self, NotTyped> {
        let text = text.trim();
        let page = behind(text, page::SCHEME);
        let rest = page.or_else(|| behind(text, PREFIX)).unwrap_or(text);
        let parted = rest
            .split_once('/')
            .or_else(|| rest.split_once(char::is_whitespace));
        let (address, letters) = parted.ok_or(NotTyped::NoAddress)?;
        let port_usual = page.map_or(PORT_USUAL, |_| page::PORT_USUAL);
        let (host, port) = place(address.trim(), port_usual)
            .ok_or_else(|| NotTyped::Address(address.trim().to_owned()))?;
        let letters = letters.trim_start().trim_start_matches(FRAGMENT);
        let is_letter = |letter: &char| !letter.is_whitespace() && *letter != '-';
        let letters: String = letters
            .chars()
            .filter(is_letter)
            .map(|typed| meant(typed).ok_or(NotTyped::Letter(typed)))
            .collect::<Result<_, _>>()?;
        if letters.len() != SECRET_LETTERS.saturating_add(1) {
            return Err(NotTyped::Length(letters.len()));
        }
        let (secret, check) = letters.split_at_checked(SECRET_LETTERS).unwrap_or_default();
        let code = Self {
            host,
            port,
            secret: secret.to_owned(),
        };
        if check.chars().eq([check_letter(&code.address(), secret)]) {
            return Ok(code);
        }
        Err(NotTyped::Mistyped)
    }
}

/// A secret of these random bytes.
#[must_use]
pub fn secret_of(random: [u8; SECRET_LETTERS]) -> String {
    random.into_iter().map(|byte| letter(byte & 31)).collect()
}

/// What stands behind a beginning, however that is spelt.
pub(crate) fn behind<'a>(text: &'a str, start: &str) -> Option<&'a str> {
    let begins = text.get(..start.len())?.eq_ignore_ascii_case(start);
    begins.then(|| text.get(start.len()..).unwrap_or_default().trim_start())
}

/// Reads `HOST`, `HOST:PORT`, `[ADDRESS]` or `[ADDRESS]:PORT`; the host comes without brackets.
#[must_use]
pub fn host_and_port(text: &str) -> Option<(String, u16)> {
    place(text, PORT_USUAL)
}

/// The same, where another port is meant by none.
pub(crate) fn place(text: &str, port_usual: u16) -> Option<(String, u16)> {
    let (host, port) = match text.rsplit_once(':') {
        Some((host, port)) if !port.ends_with(']') => (host, digits(port)?),
        _ => (text, port_usual),
    };
    if let Some(inner) = host.strip_prefix('[') {
        let address: Ipv6Addr = inner.strip_suffix(']')?.parse().ok()?;
        return Some((address.to_string(), port));
    }
    let is_name = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
    let good = !host.is_empty() && host.len() <= HOST_LENGTH_MAX && host.chars().all(is_name);
    good.then(|| (host.to_ascii_lowercase(), port))
}

/// Longest name of a host. Source: RFC 1035, section 2.3.4.
const HOST_LENGTH_MAX: usize = 253;

/// A port, in digits alone.
fn digits(text: &str) -> Option<u16> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit());
    text.parse().ok().filter(|port| plain && *port > 0)
}

/// The letter that was meant.
fn meant(typed: char) -> Option<char> {
    let letter = match typed.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        other => other,
    };
    value(letter).map(|_| letter)
}

fn letter(value: u8) -> char {
    LETTERS
        .get(usize::from(value))
        .map_or('0', |letter| char::from(*letter))
}

fn value(letter: char) -> Option<u8> {
    let found = LETTERS.iter().position(|held| char::from(*held) == letter);
    found.and_then(|at| u8::try_from(at).ok())
}

/// The check letter: it shows every single wrong letter, and any two neighbours that changed places, in
/// the secret and in an address of figures.
///
/// Formula: c = Σ αⁱ dᵢ in the field of 32 elements, with α a root of x⁵ + x² + 1 and i counted from the
/// last letter, which has 1; αⁱ ≠ 0 shows what is wrong, αⁱ ≠ αⁱ⁺¹ what changed places. Each byte of the
/// address is two of the d, its upper three bits and its lower five.
fn check_letter(address: &str, secret: &str) -> char {
    let of_address = address.bytes().flat_map(|byte| [byte >> 5, byte & 31]);
    let of_secret = secret
        .chars()
        .map(|letter| value(letter).unwrap_or_default());
    // Horner's rule: each further letter moves those before it on by α.
    let sum = of_address
        .chain(of_secret)
        .fold(0, |sum, digit| times_alpha(sum) ^ digit);
    letter(times_alpha(sum))
}

/// The product with α in the field of 32 elements.
const fn times_alpha(value: u8) -> u8 {
    let moved = value << 1;
    if moved & 0b10_0000 == 0 {
        moved
    } else {
        moved ^ 0b10_0101
    }
}

/// What both sides make of a typed secret and of the certificate that the service shows.
#[derive(Clone, PartialEq, Eq)]
pub struct Key([u8; 32]);

impl fmt::Debug for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Key(not shown)")
    }
}

impl Key {
    /// The key of a secret, with a service whose certificate has this SHA-256.
    #[must_use]
    pub fn of(secret: &str, fingerprint: &[u8; 32]) -> Self {
        Self(stretched(secret.as_bytes(), fingerprint, ROUNDS))
    }

    /// A key that was kept.
    #[must_use]
    pub const fn from_bytes(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }

    /// The key, to be kept.
    #[must_use]
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// What a device shows.
    #[must_use]
    pub fn device_proof(&self, fingerprint: &[u8; 32], token_hash: &[u8; 32]) -> [u8; 32] {
        hmac(&self.0, &[b"device", fingerprint, token_hash])
    }

    /// What the service shows.
    #[must_use]
    pub fn shop_proof(
        &self,
        fingerprint: &[u8; 32],
        token_hash: &[u8; 32],
        token_start: &str,
    ) -> [u8; 32] {
        hmac(
            &self.0,
            &[b"shop", fingerprint, token_hash, token_start.as_bytes()],
        )
    }
}

/// PBKDF2 with HMAC-SHA-256, its first block. Source: RFC 8018, section 5.2.
fn stretched(password: &[u8], salt: &[u8], rounds: u32) -> [u8; 32] {
    let mut round = hmac(password, &[salt, &1_u32.to_be_bytes()]);
    let mut sum = round;
    for _ in 1..rounds {
        round = hmac(password, &[&round]);
        for (whole, part) in sum.iter_mut().zip(round) {
            *whole ^= part;
        }
    }
    sum
}

/// HMAC-SHA-256 of these parts, one behind the other. Source: RFC 2104.
fn hmac(key: &[u8], parts: &[&[u8]]) -> [u8; 32] {
    /// Bytes that SHA-256 takes at once.
    const BLOCK: usize = 64;
    let mut block = [0_u8; BLOCK];
    let short: [u8; 32];
    let key = if key.len() > BLOCK {
        short = Sha256::digest(key).into();
        &short[..]
    } else {
        key
    };
    for (place, byte) in block.iter_mut().zip(key) {
        *place = *byte;
    }
    let mut inner = Sha256::new();
    inner.update(block.map(|byte| byte ^ 0x36));
    for part in parts {
        inner.update(part);
    }
    let mut outer = Sha256::new();
    outer.update(block.map(|byte| byte ^ 0x5c));
    outer.update(inner.finalize());
    outer.finalize().into()
}

#[cfg(test)]
mod tests;
