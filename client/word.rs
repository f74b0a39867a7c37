//! The words of the contract's enums as people type and read them.
//!
//! They serve options and screens alike, so what is shown is what can be typed: the contract's name
//! without its prefix, in lower case, joined by hyphens. What else people say for them is in `synonyms`.

mod synonyms;

use std::ffi::OsStr;

use clap::builder::{PossibleValue, TypedValueParser};
use clap::error::{ContextKind, ContextValue, ErrorKind};
use fettlebook_contract::v1::{
    AreaBasis, AsideReason, Basis, BinReason, CarClass, CheckLineKind, DeedKind, Grade, JobState,
    MachineAction, OrderState, PadCleaning, PadMaterial, Press, Reach, Readiness, ToolKind,
    TowelGrade, Unit, Verdict, WearBand, Weekday,
};

/// An enum of the contract with words of its own.
pub(crate) trait Worded: Copy + TryFrom<i32> + Send + Sync + 'static {
    /// What the contract puts before each name.
    const PREFIX: &'static str;
    /// The contract's name of a value.
    fn contract_name(self) -> &'static str;
}

macro_rules! worded {
    ($($kind:ty => $prefix:literal),+ $(,)?) => {
        $(
            impl Worded for $kind {
                const PREFIX: &'static str = $prefix;
                fn contract_name(self) -> &'static str {
                    self.as_str_name()
                }
            }
        )+
    };
}

worded!(
    AreaBasis => "AREA_BASIS_",
    AsideReason => "ASIDE_REASON_",
    Basis => "BASIS_",
    BinReason => "BIN_REASON_",
    CarClass => "CAR_CLASS_",
    CheckLineKind => "CHECK_LINE_KIND_",
    DeedKind => "DEED_KIND_",
    Grade => "GRADE_",
    JobState => "JOB_STATE_",
    MachineAction => "MACHINE_ACTION_",
    OrderState => "ORDER_STATE_",
    PadCleaning => "PAD_CLEANING_",
    PadMaterial => "PAD_MATERIAL_",
    Press => "PRESS_",
    Reach => "REACH_",
    Readiness => "READINESS_",
    ToolKind => "TOOL_KIND_",
    TowelGrade => "TOWEL_GRADE_",
    Unit => "UNIT_",
    Verdict => "VERDICT_",
    WearBand => "WEAR_BAND_",
    Weekday => "WEEKDAY_",
);

/// The word of a value.
pub(crate) fn word<T: Worded>(value: T) -> String {
    let name = value.contract_name();
    name.strip_prefix(T::PREFIX)
        .unwrap_or(name)
        .to_lowercase()
        .replace('_', "-")
}

/// Every value that can be typed: all but "unspecified".
pub(crate) fn values<T: Worded>() -> impl Iterator<Item = T> {
    (1..).map_while(|number| T::try_from(number).ok())
}

/// The value that a word names, by its own word or by another that people say for it.
pub(crate) fn find<T: Worded>(text: &str) -> Option<T> {
    let asked = key(text);
    let known = |asked: &str| values().find(|value| same(&word(*value), asked));
    known(&asked).or_else(|| known(synonyms::of(T::PREFIX, &asked)?))
}

/// The number in the contract of an enum's value that a word names, where `words` are its own with their
/// numbers.
pub(crate) fn number(prefix: &str, words: &[(String, i32)], text: &str) -> Option<i32> {
    let asked = key(text);
    let known = |asked: &str| {
        let mut words = words.iter();
        words.find_map(|(word, number)| same(word, asked).then_some(*number))
    };
    known(&asked).or_else(|| known(synonyms::of(prefix, &asked)?))
}

/// A word as it is looked up: lower case, hyphens for blanks.
fn key(text: &str) -> String {
    let lower = text.trim().to_lowercase();
    let words = lower.split(|c: char| c.is_whitespace() || c == '_' || c == '-');
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    words.join("-")
}

/// Whether two words are the same, one of them perhaps in the plural.
fn same(word: &str, asked: &str) -> bool {
    let bare = |text: &str| text.strip_suffix('s').unwrap_or(text).replace('-', "");
    bare(word) == bare(asked)
}

/// Every word of an enum with its number in the contract.
#[derive(Clone, Debug)]
pub(crate) struct Words {
    prefix: &'static str,
    /// Each word with its number.
    pub(crate) known: Vec<(String, i32)>,
}

/// The words of an enum.
pub(crate) fn numbered<T: Worded + Into<i32>>() -> Words {
    let known = values::<T>().map(|value| (word(value), value.into()));
    Words {
        prefix: T::PREFIX,
        known: known.collect(),
    }
}

impl TypedValueParser for Words {
    type Value = i32;

    fn parse_ref(
        &self,
        command: &clap::Command,
        arg: Option<&clap::Arg>,
        value: &OsStr,
    ) -> Result<i32, clap::Error> {
        let text = value.to_string_lossy();
        number(self.prefix, &self.known, &text)
            .ok_or_else(|| not_one_of(command, arg, &text, self.known.iter().map(|(word, _)| word)))
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        let values = self.known.iter();
        Some(Box::new(
            values.map(|(word, _)| PossibleValue::new(word.clone())),
        ))
    }
}

/// What clap is told of a word that is none of some.
fn not_one_of<'a>(
    command: &clap::Command,
    arg: Option<&clap::Arg>,
    text: &str,
    words: impl Iterator<Item = &'a String>,
) -> clap::Error {
    let mut error = clap::Error::new(ErrorKind::InvalidValue).with_cmd(command);
    if let Some(arg) = arg {
        let named = ContextValue::String(arg.to_string());
        error.insert(ContextKind::InvalidArg, named);
    }
    error.insert(
        ContextKind::InvalidValue,
        ContextValue::String(text.to_owned()),
    );
    let words = words.cloned().collect();
    error.insert(ContextKind::ValidValue, ContextValue::Strings(words));
    error
}

/// An option's reader for such words.
pub(crate) fn parser<T: Worded + Into<i32>>() -> impl TypedValueParser<Value = T> {
    numbered::<T>().try_map(|number| T::try_from(number).map_err(|_| "no such word"))
}

/// The words of an enum, for a sentence.
pub(crate) fn list<T: Worded>() -> String {
    values::<T>().map(word).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::{find, list, word};
    use fettlebook_contract::v1::{
        BinReason, CarClass, Grade, MachineAction, PadMaterial, TowelGrade, Verdict,
    };

    #[test]
    fn a_word_is_read_back_as_the_value_it_was_printed_from() {
        assert_eq!(word(CarClass::MediumSaloon), "medium-saloon");
        assert_eq!(find("medium-saloon"), Some(CarClass::MediumSaloon));
        assert_eq!(find("cross-loaded"), Some(BinReason::CrossLoaded));
    }

    #[test]
    fn a_word_is_read_however_people_say_it() {
        for (said, grade) in [
            ("cut", Grade::Coarse),
            ("Heavy cut", Grade::Coarse),
            ("polish", Grade::Medium),
            ("finishing", Grade::Fine),
            ("FINE", Grade::Fine),
        ] {
            assert_eq!(find(said), Some(grade), "{said}");
        }
        for (said, class) in [
            ("Van", CarClass::Van),
            ("medium saloon", CarClass::MediumSaloon),
            ("medium_saloon", CarClass::MediumSaloon),
            ("hatchback", CarClass::MediumHatch),
            ("SUV", CarClass::MediumSuv),
            ("small car", CarClass::City),
            ("pick-up", CarClass::Pickup),
        ] {
            assert_eq!(find(said), Some(class), "{said}");
        }
        for said in ["dual action", "dual-action", "DA", "gear driven", "forced"] {
            assert_eq!(find(said), Some(MachineAction::Orbital), "{said}");
        }
        assert_eq!(find("foam"), Some(PadMaterial::ThinFoam));
        assert_eq!(find("rags"), Some(TowelGrade::Rag));
        assert_eq!(find("ripped"), Some(BinReason::Torn));
        assert_eq!(find::<BinReason>("mistake"), None);
    }

    #[test]
    fn unspecified_can_neither_be_typed_nor_offered() {
        assert_eq!(find::<Verdict>("unspecified"), None);
        assert_eq!(list::<Verdict>(), "go, watch, stop");
    }
}
