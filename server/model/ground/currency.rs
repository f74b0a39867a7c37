//! Currencies by their ISO 4217 codes, with the decimals of their smallest coin.
//!
//! Serves money. The table is the standard's; a code that was withdrawn since stays readable in the
//! books that have it.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::ground::ids::shown;
use crate::ground::money::MoneyError;

/// Decimals of a coin that the table does not have: those of almost every currency.
const USUAL_PLACES: u32 = 2;

/// The codes that have a coin, by its decimals. Source: ISO 4217, list one, as published on 2026-01-01.
const CODES: [(u32, &str); 4] = [
    (
        0,
        "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    ),
    (
        2,
        "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD \
         CDF CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS \
         GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD \
         LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB \
         PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP \
         SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW \
         ZWG",
    ),
    (3, "BHD IQD JOD KWD LYD OMR TND"),
    (4, "CLF UYW"),
];

/// An ISO 4217 currency code.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency([u8; 3]);

impl Currency {
    /// Decimals of the smallest coin.
    #[must_use]
    pub fn places(self) -> u32 {
        self.listed().unwrap_or(USUAL_PLACES)
    }

    /// Decimals of the smallest coin by the standard; none for a code that it does not have.
    fn listed(self) -> Option<u32> {
        let is_it = |code: &str| code.as_bytes() == self.0;
        let mut lists = CODES.iter();
        let found = lists.find(|(_, codes)| codes.split(' ').any(is_it));
        found.map(|(places, _)| *places)
    }

    /// Three capital letters, whatever they stand for.
    fn of_form(text: &str) -> Result<Self, MoneyError> {
        match text.as_bytes() {
            &[a, b, c] if [a, b, c].iter().all(u8::is_ascii_uppercase) => Ok(Self([a, b, c])),
            _ => Err(MoneyError::Currency(shown(text))),
        }
    }
}

impl FromStr for Currency {
    type Err = MoneyError;

    fn from_str(text: &str) -> Result<Self, MoneyError> {
        let code = Self::of_form(text)?;
        match code.listed() {
            Some(_) => Ok(code),
            None => Err(MoneyError::Currency(shown(text))),
        }
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(std::str::from_utf8(&self.0).unwrap_or_default())
    }
}

impl fmt::Debug for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl Serialize for Currency {
    fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.collect_str(self)
    }
}

/// A journal holds what was taken for a currency when it was written.
impl<'de> Deserialize<'de> for Currency {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        Self::of_form(&text).map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::{CODES, Currency};

    /// Source: ISO 4217, list one, as published on 2026-01-01: 165 codes with a coin, and those below.
    #[test]
    fn the_codes_are_those_of_the_standard_with_their_coins() {
        let codes: BTreeSet<&str> = CODES.iter().flat_map(|(_, all)| all.split(' ')).collect();
        let written = CODES.iter().flat_map(|(_, all)| all.split(' ')).count();
        assert_eq!((codes.len(), written), (165, 165));
        for (code, places) in [
            ("EUR", 2),
            ("JPY", 0),
            ("KWD", 3),
            ("CLF", 4),
            ("XCG", 2),
            ("SLE", 2),
            ("ISK", 0),
        ] {
            let currency: Currency = code.parse().unwrap();
            assert_eq!(
                (currency.to_string().as_str(), currency.places()),
                (code, places)
            );
        }
    }

    /// Gold, the code for tests, a word that is none, one that was withdrawn, and other forms.
    #[test]
    fn what_nobody_pays_with_is_no_currency() {
        for code in ["XAU", "XTS", "XXX", "QQQ", "HRK", "eur", "EURO", "E R", ""] {
            let said = code.parse::<Currency>().unwrap_err().to_string();
            assert!(said.contains("ISO 4217"), "{code}: {said}");
        }
    }

    #[test]
    fn a_book_in_a_currency_that_was_withdrawn_is_read() {
        let kuna: Currency = serde_json::from_str("\"HRK\"").unwrap();
        assert_eq!((kuna.to_string().as_str(), kuna.places()), ("HRK", 2));
        assert!(serde_json::from_str::<Currency>("\"kuna\"").is_err());
    }
}
