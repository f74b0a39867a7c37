//! Which certificate a device believes, as it says in the handshake: before it shows its token, and unsealed.
//!
//! A service of many books shows each device the certificate that this one holds on to. A client names the authorities
//! that it believes by their distinguished names (RFC 8446, section 4.2.4). Those of services all have one name;
//! beside it stands what tells them apart: the SHA-256 of the certificate as its qualifier, and the id of the book
//! as the unit. A service that does not understand it shows what it shows everyone.
//!
//! Neither is a secret. Who listens sees the address that is called anyway; an id lets nobody in, and what is
//! asked of a book is sealed.

use data_encoding::HEXLOWER;

/// The name of the authorities that services make for themselves. Leaves are signed in it: it may never change.
pub const AUTHORITY_NAME: &str = "Fettlebook authority";

/// Characters of the id of a book, with its hyphens. Source: RFC 9562, section 4.
const ID_CHARS: usize = 36;

/// Tags of DER. Source: ITU-T X.690, clause 8.
const SEQUENCE: u8 = 0x30;
const SET: u8 = 0x31;
const OBJECT_IDENTIFIER: u8 = 0x06;
const PRINTABLE_STRING: u8 = 0x13;

/// `id-at` (2.5.4), and what is in it. Source: ITU-T X.520, clauses 6.2.2, 6.2.8 and 6.4.2.
const COMMON_NAME: [u8; 3] = [0x55, 0x04, 3];
const ORGANIZATIONAL_UNIT: [u8; 3] = [0x55, 0x04, 11];
const DN_QUALIFIER: [u8; 3] = [0x55, 0x04, 46];

/// What a device says of the certificate that it believes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hint {
    /// Its SHA-256.
    pub fingerprint: [u8; 32],
    /// Id of the book that the device has a token for.
    pub book_id: Option<String>,
}

impl Hint {
    /// The parts of the distinguished name, without the sequence around them. An id that is none is left out.
    #[must_use]
    pub fn to_parts(&self) -> Vec<u8> {
        let fingerprint = HEXLOWER.encode(&self.fingerprint);
        let id = self.book_id.as_deref().filter(|id| is_id(id));
        let parts = [
            Some((COMMON_NAME, AUTHORITY_NAME)),
            Some((DN_QUALIFIER, fingerprint.as_str())),
            id.map(|id| (ORGANIZATIONAL_UNIT, id)),
        ];
        parts.into_iter().flatten().flat_map(part).collect()
    }

    /// Reads a distinguished name; nothing where it is of another kind.
    #[must_use]
    pub fn of_name(name: &[u8]) -> Option<Self> {
        let mut outer = name;
        let mut parts = taken(&mut outer, SEQUENCE).filter(|_| outer.is_empty())?;
        if value(&mut parts, COMMON_NAME)? != AUTHORITY_NAME {
            return None;
        }
        let fingerprint = value(&mut parts, DN_QUALIFIER)?;
        let fingerprint = HEXLOWER.decode(fingerprint.as_bytes()).ok()?;
        let mut hint = Self {
            fingerprint: fingerprint.try_into().ok()?,
            book_id: None,
        };
        if !parts.is_empty() {
            let id = value(&mut parts, ORGANIZATIONAL_UNIT).filter(|id| is_id(id))?;
            hint.book_id = Some(id.to_owned());
        }
        parts.is_empty().then_some(hint)
    }
}

/// Whether a text can be the id of a book.
fn is_id(text: &str) -> bool {
    let is_of_id = |byte: u8| byte.is_ascii_hexdigit() || byte == b'-';
    text.len() == ID_CHARS && text.bytes().all(is_of_id)
}

/// A part of a name: one attribute and its value.
fn part((attribute, value): ([u8; 3], &str)) -> Vec<u8> {
    let attribute = der(OBJECT_IDENTIFIER, &attribute);
    let value = der(PRINTABLE_STRING, value.as_bytes());
    der(SET, &der(SEQUENCE, &[attribute, value].concat()))
}

/// A value with its tag and its length, which is short here. Source: ITU-T X.690, clause 8.1.3.4.
fn der(tag: u8, content: &[u8]) -> Vec<u8> {
    let length = u8::try_from(content.len()).unwrap_or(u8::MAX);
    [&[tag, length], content].concat()
}

/// The value of the next part, where that is of this attribute.
fn value<'a>(parts: &mut &'a [u8], attribute: [u8; 3]) -> Option<&'a str> {
    let mut set = taken(parts, SET)?;
    let mut pair = taken(&mut set, SEQUENCE).filter(|_| set.is_empty())?;
    let found = taken(&mut pair, OBJECT_IDENTIFIER)?;
    let value = taken(&mut pair, PRINTABLE_STRING).filter(|_| pair.is_empty())?;
    (found == attribute).then(|| std::str::from_utf8(value).ok())?
}

/// What stands behind a tag, which has to be this one, and its length: short, or of one byte more.
fn taken<'a>(bytes: &mut &'a [u8], tag: u8) -> Option<&'a [u8]> {
    /// Says that the length is in the next byte. Source: ITU-T X.690, clause 8.1.3.5.
    const ONE_BYTE: u8 = 0x81;
    let (found, rest) = bytes.split_first()?;
    let (length, rest) = match rest.split_first()? {
        (&ONE_BYTE, rest) => rest.split_first()?,
        (length, rest) if *length < 0x80 => (length, rest),
        _ => return None,
    };
    let (content, rest) = rest.split_at_checked(usize::from(*length))?;
    *bytes = rest;
    (*found == tag).then_some(content)
}

#[cfg(test)]
mod tests;
