//! Hazard codes from a liquid's data sheet, and the caution printed with each kind.
//!
//! It serves every list that names such a liquid. It reads the code's form and its group only; what
//! to do is on the label and the data sheet, to which every sentence here defers.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::ground::word::word_enum;

/// What goes with every use of solvent or of an oily cloth.
pub const CLOTH_CAUTION: &str = "Cloths with solvent or oil can take fire by themselves: put them \
     in a lidded metal bin at once; follow the label and the data sheet";

/// The hazard of such cloths in a few words.
pub(crate) const CLOTH_HAZARD: &str = "cloths with solvent or oil can take fire by themselves";

/// A hazard statement code: `H225`, `H360Fd`, `EUH066`.
///
/// Source: UN GHS, annex 3; Regulation (EC) 1272/2008, annex III for the EUH codes.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct HazardCode(String);

/// Why a hazard code is refused.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error(
    "'{0}' is not a hazard code; write one as on the data sheet: H200 to H499 or EUH and three \
     digits, for example H225 or EUH066, each on its own"
)]
pub struct HazardCodeError(String);

word_enum! {
    /// The cautions printed, by what the code warns of.
    Caution is "a kind of caution" {
        /// It burns.
        Flammable = "flammable",
        /// Fatal if swallowed and breathed in.
        Aspiration = "aspiration",
        /// It harms skin or eyes.
        SkinAndEye = "skin-and-eye",
        /// It harms when breathed.
        Inhalation = "inhalation",
        /// It harms water or air.
        Environment = "environment",
        /// Any other hazard.
        Other = "other",
    }
}

impl HazardCode {
    /// The caution this code calls for. Source of the grouping: the statements' texts in UN GHS,
    /// annex 3.
    #[must_use]
    pub(crate) fn caution(&self) -> Caution {
        if self.0.starts_with("EUH") {
            return match self.0.as_str() {
                "EUH066" | "EUH070" => Caution::SkinAndEye,
                "EUH071" => Caution::Inhalation,
                "EUH018" | "EUH209" | "EUH209A" => Caution::Flammable,
                "EUH059" => Caution::Environment,
                _ => Caution::Other,
            };
        }
        let digits = self.0.get(1..4).unwrap_or_default();
        match digits.parse::<u16>().unwrap_or_default() {
            220..=232 | 242 | 250..=252 | 260 | 261 | 270..=272 => Caution::Flammable,
            304 | 305 => Caution::Aspiration,
            310..=320 => Caution::SkinAndEye,
            330..=336 => Caution::Inhalation,
            400..=499 => Caution::Environment,
            _ => Caution::Other,
        }
    }
}

impl Caution {
    /// The hazard in a few words, for a line that names it.
    #[must_use]
    pub(crate) const fn hazard(self) -> &'static str {
        match self {
            Self::Flammable => "burns",
            Self::Aspiration => "can kill if swallowed and drawn into the lungs",
            Self::SkinAndEye => "harms skin or eyes",
            Self::Inhalation => "harms when breathed",
            Self::Environment => "harms water or air",
            Self::Other => "has further hazards",
        }
    }

    /// The caution as a sentence.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::Flammable => {
                "Burns: keep it from flames, sparks and hot surfaces, and air the room; follow the \
                 label and the data sheet"
            }
            Self::Aspiration => {
                "Can kill if swallowed and drawn into the lungs: keep it in its own bottle, never \
                 make anybody vomit, call for help at once; follow the label and the data sheet"
            }
            Self::SkinAndEye => {
                "Harms skin or eyes: wear the gloves and glasses named on the data sheet; follow \
                 the label and the data sheet"
            }
            Self::Inhalation => {
                "Harms when breathed: air the room and wear the mask named on the data sheet; \
                 follow the label and the data sheet"
            }
            Self::Environment => {
                "Harms water or air: keep it out of drains and hand the waste in; follow the label \
                 and the data sheet"
            }
            Self::Other => "Has further hazards: follow the label and the data sheet",
        }
    }
}

/// The cautions a set of codes calls for, each once, in the order of [`Caution::ALL`].
#[must_use]
pub(crate) fn cautions(codes: &[HazardCode]) -> Vec<Caution> {
    let called: Vec<_> = codes.iter().map(HazardCode::caution).collect();
    Caution::ALL
        .iter()
        .copied()
        .filter(|caution| called.contains(caution))
        .collect()
}

impl FromStr for HazardCode {
    type Err = HazardCodeError;

    fn from_str(text: &str) -> Result<Self, HazardCodeError> {
        let text = text.trim();
        let refused = || {
            let piece = text.chars().filter(|c| !c.is_control()).take(20).collect();
            HazardCodeError(piece)
        };
        let prefix_end = text
            .find(|c: char| c.is_ascii_digit())
            .ok_or_else(refused)?;
        let (prefix, rest) = text.split_at_checked(prefix_end).ok_or_else(refused)?;
        let (digits, suffix) = rest.split_at_checked(3).ok_or_else(refused)?;
        let prefix = prefix.trim_end().to_ascii_uppercase();
        let all_digits = digits.chars().all(|c| c.is_ascii_digit());
        let known = match prefix.as_str() {
            "H" => digits.starts_with(['2', '3', '4']) && is_h_suffix(suffix),
            "EUH" => matches!(suffix, "" | "A"),
            _ => false,
        };
        if all_digits && known {
            Ok(Self(format!("{prefix}{digits}{suffix}")))
        } else {
            Err(refused())
        }
    }
}

/// The letters that tell fertility, the unborn child and breathing apart; their case means something.
fn is_h_suffix(suffix: &str) -> bool {
    matches!(
        suffix,
        "" | "i" | "F" | "D" | "f" | "d" | "FD" | "fd" | "Fd" | "Df"
    )
}

impl TryFrom<String> for HazardCode {
    type Error = HazardCodeError;

    fn try_from(text: String) -> Result<Self, HazardCodeError> {
        text.parse()
    }
}

impl From<HazardCode> for String {
    fn from(code: HazardCode) -> Self {
        code.0
    }
}

impl fmt::Display for HazardCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{any, proptest};

    use super::{CLOTH_CAUTION, CLOTH_HAZARD, Caution, HazardCode, cautions};

    fn code(text: &str) -> HazardCode {
        text.parse().unwrap()
    }

    #[test]
    fn codes_are_read_as_printed_on_a_data_sheet() {
        for text in [
            "H225", "H304", "H319", "EUH066", "H360Fd", "EUH209A", "H350i",
        ] {
            assert_eq!(code(text).to_string(), text);
        }
        assert_eq!(code(" h225 ").to_string(), "H225");
    }

    #[test]
    fn what_has_not_the_form_of_a_code_is_refused() {
        for text in [
            "",
            "H",
            "225",
            "H22",
            "H2255",
            "H125",
            "H501",
            "P210",
            "H301+H311",
            "EUH66",
        ] {
            assert!(text.parse::<HazardCode>().is_err(), "{text}");
        }
    }

    /// Source: UN GHS, annex 3: H225 highly flammable liquid and vapour, H304 may be fatal if
    /// swallowed and enters airways, H315 skin irritation, H319 eye irritation, H336 drowsiness,
    /// H411 toxic to aquatic life; Regulation (EC) 1272/2008, annex III: EUH066 skin dryness.
    #[test]
    fn each_code_calls_for_its_caution() {
        assert_eq!(code("H225").caution(), Caution::Flammable);
        assert_eq!(code("H304").caution(), Caution::Aspiration);
        assert_eq!(code("H315").caution(), Caution::SkinAndEye);
        assert_eq!(code("H319").caution(), Caution::SkinAndEye);
        assert_eq!(code("EUH066").caution(), Caution::SkinAndEye);
        assert_eq!(code("H336").caution(), Caution::Inhalation);
        assert_eq!(code("H411").caution(), Caution::Environment);
        assert_eq!(code("H350").caution(), Caution::Other);
    }

    #[test]
    fn a_caution_is_printed_once_and_none_is_dropped() {
        let codes = [
            code("H411"),
            code("H226"),
            code("H319"),
            code("H315"),
            code("H373"),
        ];
        let expected = [
            Caution::Flammable,
            Caution::SkinAndEye,
            Caution::Environment,
            Caution::Other,
        ];
        assert_eq!(cautions(&codes), expected);
        assert_eq!(cautions(&[]), []);
    }

    #[test]
    fn the_few_words_of_a_hazard_are_those_that_begin_its_caution() {
        for caution in Caution::ALL {
            let sentence = caution.sentence().to_lowercase();
            assert!(sentence.starts_with(caution.hazard()), "{sentence}");
        }
        let cloths = CLOTH_CAUTION.to_lowercase();
        assert!(cloths.starts_with(CLOTH_HAZARD), "{cloths}");
    }

    #[test]
    fn every_caution_defers_to_label_and_data_sheet() {
        let sentences = Caution::ALL.iter().map(|caution| caution.sentence());
        for sentence in sentences.chain([CLOTH_CAUTION]) {
            assert!(
                sentence.ends_with("ollow the label and the data sheet"),
                "{sentence}"
            );
            assert!(!sentence.to_lowercase().contains("safe"), "{sentence}");
        }
        assert!(CLOTH_CAUTION.contains("lidded metal bin"));
    }

    proptest! {
        #[test]
        fn no_text_makes_the_reader_panic(text in any::<String>(), near in "[EUHh]{0,3}[0-9é]{0,5}[A-z]{0,2}") {
            let _ = text.parse::<HazardCode>();
            let _ = near.parse::<HazardCode>();
        }
    }
}
