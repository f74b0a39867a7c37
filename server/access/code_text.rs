//! A pairing code as people copy it and cameras read it: address, fingerprint, secret.
//!
//! It serves pairing. Everything is in capitals, digits and `: / .`, which a QR code packs closest;
//! what is spelt otherwise is refused with the form.
//!
//! ```text
//! FETTLE:192.168.1.7:7420/<52 letters of base32>/<16 letters of base32>
//! ```

use std::fmt;
use std::str::FromStr;

use data_encoding::BASE32_NOPAD;

use super::{Fingerprint, address_of};

const PREFIX: &str = "FETTLE:";

/// Bytes of a code's secret: 80 bits, which nobody guesses in ten minutes and five tries.
pub(super) const CODE_SECRET_BYTES: usize = 10;

/// A pairing code.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CodeText {
    /// Host and port of the service, as `HOST:PORT`; an address of IPv6 stands in brackets.
    pub address: String,
    /// The certificate to hold on to.
    pub fingerprint: Fingerprint,
    /// The secret, 16 letters and digits.
    pub secret: String,
}

/// Not a pairing code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "this is not a pairing code; copy it whole, from FETTLE: to the last letter, as 'fettled pair' shows it"
)]
pub struct CodeTextError;

impl fmt::Display for CodeText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let address = self.address.to_ascii_uppercase();
        let fingerprint = BASE32_NOPAD.encode(&self.fingerprint.0);
        write!(f, "{PREFIX}{address}/{fingerprint}/{}", self.secret)
    }
}

impl FromStr for CodeText {
    type Err = CodeTextError;

    fn from_str(text: &str) -> Result<Self, CodeTextError> {
        let text = text.trim().to_ascii_uppercase();
        let rest = text.strip_prefix(PREFIX).ok_or(CodeTextError)?;
        let (rest, secret) = rest.rsplit_once('/').ok_or(CodeTextError)?;
        let (address, print) = rest.rsplit_once('/').ok_or(CodeTextError)?;
        let print = BASE32_NOPAD.decode(print.as_bytes()).ok();
        let print = print.and_then(|bytes| bytes.try_into().ok());
        let secret_bytes = BASE32_NOPAD.decode(secret.as_bytes());
        if secret_bytes.map_or(0, |bytes| bytes.len()) != CODE_SECRET_BYTES {
            return Err(CodeTextError);
        }
        Ok(Self {
            address: address_of(address)
                .filter(|read| *read == address.to_ascii_lowercase())
                .ok_or(CodeTextError)?,
            fingerprint: print.map(Fingerprint).ok_or(CodeTextError)?,
            secret: secret.to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(address: &str) -> CodeText {
        CodeText {
            address: address.to_owned(),
            fingerprint: Fingerprint([0xA5; 32]),
            secret: "ABCDEFGHIJ234567".to_owned(),
        }
    }

    /// Source: RFC 4648, section 6, for the alphabet; ISO/IEC 18004, table 5, for what an
    /// alphanumeric QR code holds.
    #[test]
    fn a_code_is_read_as_it_is_written_in_letters_of_a_small_qr_code() {
        for address in ["192.168.1.7:7420", "bench.example:7420", "[fe80::1]:65535"] {
            let text = code(address).to_string();
            assert_eq!(text.parse(), Ok(code(address)), "{text}");
            assert_eq!(text.to_lowercase().parse(), Ok(code(address)), "{text}");
            let packed = |letter: char| {
                letter.is_ascii_uppercase()
                    || letter.is_ascii_digit()
                    || " $%*+-./:[]".contains(letter)
            };
            assert!(text.chars().all(packed), "{text}");
        }
        let text = code("192.168.1.7:7420").to_string();
        let parts: Vec<usize> = text.split('/').map(str::len).collect();
        assert_eq!(parts, ["FETTLE:192.168.1.7:7420".len(), 52, 16]);
    }

    #[test]
    fn what_is_cut_short_or_spelt_otherwise_is_refused() {
        let good = code("192.168.1.7:7420").to_string();
        for end in 0..good.len() {
            assert_eq!(good[..end].parse::<CodeText>(), Err(CodeTextError), "{end}");
        }
        for (from, to) in [
            ("FETTLE:", "KETTLE:"),
            ("FETTLE:", ""),
            (":7420", ":0"),
            (":7420", ":70000"),
            (":7420", ":+742"),
            (":7420", ""),
            ("192.168.1.7", ""),
            ("192.168.1.7", "a/b"),
            ("192.168.1.7", "[::1"),
            ("192.168.1.7", "fe80::1"),
            ("ABCDEFGH", "ABCDEFG1"),
            ("234567", "234567AA"),
        ] {
            let bad = good.replacen(from, to, 1);
            assert_eq!(bad.parse::<CodeText>(), Err(CodeTextError), "{bad}");
        }
    }
}
