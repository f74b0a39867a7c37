//! The chain value that binds each line to all lines before it.
//!
//! It serves anyone who has to know that no line was changed, dropped or moved. It is kept as the
//! digits that stand in the file, and must never accept another spelling of the same value.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use sha2::{Digest, Sha256};

/// Hex digits of a chain value.
pub(crate) const CHAIN_LENGTH: usize = 64;

/// A SHA-256 as 64 lower-case hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Chain([u8; CHAIN_LENGTH]);

impl Chain {
    /// What stands before the first entry.
    pub const ZERO: Self = Self([b'0'; CHAIN_LENGTH]);

    /// The chain value of the next line, whose entry object has these bytes.
    ///
    /// Formula: SHA-256(digits of this value ‖ bytes of the entry object).
    #[must_use]
    pub fn link(&self, entry: &[u8]) -> Self {
        let digest = Sha256::new()
            .chain_update(self.0)
            .chain_update(entry)
            .finalize();
        let mut digits = [0; CHAIN_LENGTH];
        for (pair, byte) in digits.chunks_exact_mut(2).zip(digest) {
            pair.copy_from_slice(&[hex_digit(byte >> 4), hex_digit(byte & 0x0f)]);
        }
        Self(digits)
    }

    /// The value written with these digits; `None` unless they are 64 lower-case hex digits.
    pub fn from_digits(digits: &[u8]) -> Option<Self> {
        let digits: [u8; CHAIN_LENGTH] = digits.try_into().ok()?;
        let good = digits
            .iter()
            .all(|d| matches!(d, b'0'..=b'9' | b'a'..=b'f'));
        good.then_some(Self(digits))
    }

    /// The 64 digits.
    pub const fn digits(&self) -> &[u8] {
        &self.0
    }
}

/// The lower-case digit of a value below 16.
const fn hex_digit(value: u8) -> u8 {
    if value < 10 {
        b'0' + value
    } else {
        b'a' + value - 10
    }
}

impl fmt::Display for Chain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(std::str::from_utf8(&self.0).unwrap_or_default())
    }
}

impl fmt::Debug for Chain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// A text that is not a chain value.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a chain value is 64 lower-case hexadecimal digits")]
pub struct NotAChain;

impl FromStr for Chain {
    type Err = NotAChain;

    fn from_str(text: &str) -> Result<Self, NotAChain> {
        Self::from_digits(text.as_bytes()).ok_or(NotAChain)
    }
}

impl Serialize for Chain {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Chain {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: GNU coreutils sha256sum over 64 zeros and `{"seq":1}`, an implementation of
    /// FIPS 180-4 that is not ours.
    #[test]
    fn the_chain_is_the_sha256_of_the_digits_before_and_the_bytes() {
        let first = Chain::ZERO.link(br#"{"seq":1}"#);
        assert_eq!(
            first.to_string(),
            "0a00898550374c41186879d92f30325cd0a550ce8c5da4d9aeef34a95c0b85ea"
        );
    }

    #[test]
    fn only_one_spelling_of_a_chain_value_is_taken() {
        assert!("0".repeat(64).parse::<Chain>().is_ok());
        for text in [
            "",
            "0",
            &"0".repeat(63),
            &"0".repeat(65),
            &"A".repeat(64),
            &"g".repeat(64),
        ] {
            assert_eq!(text.parse::<Chain>(), Err(NotAChain), "{text}");
        }
    }
}
