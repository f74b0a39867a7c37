//! The fingerprint of a certificate, by which a device knows the book it calls.
//!
//! It serves pairing: in a code for devices, and in groups for people who compare it by eye.

use std::fmt;
use std::str::FromStr;

use data_encoding::HEXLOWER;
use sha2::{Digest as _, Sha256};

/// SHA-256 of a certificate.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Fingerprint(pub [u8; 32]);

/// Not a fingerprint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a fingerprint has 64 hex digits")]
pub struct NoFingerprint;

impl Fingerprint {
    /// That of a certificate, given as DER.
    pub fn of(certificate: &[u8]) -> Self {
        Self(Sha256::digest(certificate).into())
    }

    /// Its 64 hex digits.
    pub fn hex(&self) -> String {
        HEXLOWER.encode(&self.0)
    }
}

impl FromStr for Fingerprint {
    type Err = NoFingerprint;

    fn from_str(text: &str) -> Result<Self, NoFingerprint> {
        let bytes = HEXLOWER
            .decode(text.as_bytes())
            .map_err(|_| NoFingerprint)?;
        bytes.try_into().map(Self).map_err(|_| NoFingerprint)
    }
}

/// Hex digits in groups of four.
impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (number, pair) in self.0.chunks(2).enumerate() {
            let space = if number == 0 { "" } else { " " };
            write!(f, "{space}{}", HEXLOWER.encode(pair))?;
        }
        Ok(())
    }
}

impl fmt::Debug for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.hex())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: FIPS 180-2, appendix B.1: the SHA-256 of "abc".
    #[test]
    fn it_is_shown_in_groups_and_read_without() {
        let print = Fingerprint::of(b"abc");
        let shown = print.to_string();
        assert!(shown.starts_with("ba78 16bf 8f01 cfea "), "{shown}");
        assert_eq!(shown.split(' ').count(), 16);
        assert_eq!(print.hex().parse(), Ok(print));
        assert!(print.hex()[1..].parse::<Fingerprint>().is_err());
    }
}
