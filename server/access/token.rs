//! The token of a device, and the hash of a secret, which is all that is kept of one.
//!
//! It serves the look at every request. Secrets are compared in constant time, so that how long an
//! answer takes says nothing about them; a token is never logged or shown.

use std::fmt;
use std::str::FromStr;

use data_encoding::{BASE64URL_NOPAD, HEXLOWER};
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use sha2::{Digest as _, Sha256};
use subtle::ConstantTimeEq as _;
use uuid::Uuid;

/// Bytes of the secret part of a token.
pub const SECRET_BYTES: usize = 32;

/// What a device sends with every request: `<book>.<device>.<secret>`, two ids of 32 hex digits and 32
/// bytes in the base64 for addresses, without padding.
#[derive(Clone, PartialEq, Eq)]
pub struct Token {
    /// The book it is for.
    pub book_id: Uuid,
    /// The device.
    pub device_id: Uuid,
    /// What only the device knows.
    pub secret: [u8; SECRET_BYTES],
}

/// Not a token.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("this is not a token")]
pub struct NoToken;

impl FromStr for Token {
    type Err = NoToken;

    fn from_str(text: &str) -> Result<Self, NoToken> {
        let mut parts = text.split('.');
        let mut part = || parts.next().ok_or(NoToken);
        let (book_id, device_id, secret) = (simple(part()?)?, simple(part()?)?, part()?);
        if parts.next().is_some() {
            return Err(NoToken);
        }
        let secret = BASE64URL_NOPAD.decode(secret.as_bytes());
        let secret = secret.ok().and_then(|bytes| bytes.try_into().ok());
        Ok(Self {
            book_id,
            device_id,
            secret: secret.ok_or(NoToken)?,
        })
    }
}

/// The book that a token is for, by how it begins: whether it is one is not looked at.
#[must_use]
pub fn book_of(token: &str) -> Option<Uuid> {
    let (book, _) = token.split_once('.')?;
    let mut bytes = [0; 16];
    let read = (book.len() == 2 * bytes.len())
        .then(|| HEXLOWER.decode_mut(book.as_bytes(), &mut bytes))?;
    read.ok().map(|_| Uuid::from_bytes(bytes))
}

/// An id in its one spelling here: 32 hex digits in lower case.
fn simple(text: &str) -> Result<Uuid, NoToken> {
    let bytes = HEXLOWER.decode(text.as_bytes()).map_err(|_| NoToken)?;
    Uuid::from_slice(&bytes).map_err(|_| NoToken)
}

impl fmt::Display for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (book, device) = (self.book_id.simple(), self.device_id.simple());
        let secret = BASE64URL_NOPAD.encode(&self.secret);
        write!(f, "{book}.{device}.{secret}")
    }
}

impl fmt::Debug for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Token(of {})", self.device_id)
    }
}

/// SHA-256 of a secret. The secrets have 80 bits of chance or more, so that a plain hash gives
/// nothing away.
#[derive(Debug, Clone, Copy)]
pub(super) struct SecretHash([u8; 32]);

impl SecretHash {
    /// The hash that no secret has that anybody knows: for comparing where there is nothing to.
    pub(super) const NONE: Self = Self([0; 32]);

    /// The hash of a secret.
    pub(super) fn of(secret: &[u8]) -> Self {
        Self(Sha256::digest(secret).into())
    }

    /// A hash that the device itself made.
    pub(super) const fn from_hash(hash: [u8; 32]) -> Self {
        Self(hash)
    }

    /// Whether both are of the same secret, in constant time.
    pub(super) fn is(&self, other: &Self) -> bool {
        self.0.ct_eq(&other.0).into()
    }
}

impl Serialize for SecretHash {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&HEXLOWER.encode(&self.0))
    }
}

impl<'de> Deserialize<'de> for SecretHash {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        let bytes = HEXLOWER.decode(text.as_bytes()).map_err(D::Error::custom)?;
        let bytes = bytes.try_into();
        bytes
            .map(Self)
            .map_err(|_| D::Error::custom("a hash has 64 hex digits"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn token() -> Token {
        Token {
            book_id: Uuid::from_u128(0x0198_0000_0000_7000_8000_0000_0000_00ab),
            device_id: Uuid::from_u128(7),
            secret: [0xFB; SECRET_BYTES],
        }
    }

    /// Source: RFC 4648, section 5: 0xFB 0xFB 0xFB is `-_v7` in the alphabet for addresses.
    #[test]
    fn a_token_is_read_as_it_is_written() {
        let text = token().to_string();
        let (ids, secret) = text.rsplit_once('.').unwrap();
        assert_eq!(
            ids,
            "019800000000700080000000000000ab.00000000000000000000000000000007"
        );
        assert!(secret.starts_with("-_v7-_v7"), "{secret}");
        assert_eq!(secret.len(), 43);
        assert_eq!(text.parse(), Ok(token()));
        assert!(!format!("{:?}", token()).contains(secret));
    }

    #[test]
    fn the_book_is_read_from_the_beginning_of_a_token() {
        let good = token().to_string();
        assert_eq!(book_of(&good), Some(token().book_id));
        assert_eq!(
            book_of(&format!("{}.", token().book_id.simple())),
            Some(token().book_id)
        );
        let dashed = good.replacen("0198", "01-98", 1);
        for text in [
            "",
            ".",
            &good[..32],
            &good[1..],
            &good.to_uppercase(),
            &dashed,
        ] {
            assert_eq!(book_of(text), None, "{text:?}");
        }
    }

    #[test]
    fn what_is_spelt_otherwise_is_no_token() {
        let good = token().to_string();
        let (ids, secret) = good.rsplit_once('.').unwrap();
        let bad = [
            String::new(),
            "..".to_owned(),
            ids.to_owned(),
            format!("{good}.x"),
            format!("{good}="),
            format!("{good}A"),
            good.to_uppercase(),
            good.replace('-', "+"),
            format!("{ids}.{}", &secret[1..]),
            format!("{}.{secret}", ids.replacen("0198", "01-98", 1)),
            format!(" {good}"),
            // Bits beyond the last byte must be zero, or one secret had many spellings.
            format!("{ids}.{}9", &secret[..42]),
        ];
        for text in bad {
            assert_eq!(text.parse::<Token>(), Err(NoToken), "{text:?}");
        }
    }

    /// Source: FIPS 180-2, appendix B.1: the SHA-256 of "abc".
    #[test]
    fn a_hash_is_kept_as_hex() {
        let hash = SecretHash::of(b"abc");
        let text = serde_json::to_string(&hash).unwrap();
        assert!(
            text.starts_with("\"ba7816bf8f01cfea414140de5dae2223"),
            "{text}"
        );
        let read: SecretHash = serde_json::from_str(&text).unwrap();
        assert!(read.is(&hash) && !read.is(&SecretHash::of(b"abd")));
        assert!(serde_json::from_str::<SecretHash>("\"ba78\"").is_err());
    }
}
