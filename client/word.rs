//! The words of the contract's enums as people type and read them.
//!
//! They serve options and screens alike, so what is shown is what can be typed: the contract's name
//! without its prefix, in lower case, joined by hyphens. There is no second list to keep in step.

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use fettlebook_contract::v1::{
    AreaBasis, AsideReason, Basis, BinReason, CarClass, CheckLineKind, DeedKind, Grade, JobState,
    MachineAction, OrderState, PadCleaning, PadMaterial, Press, Readiness, ToolKind, TowelGrade,
    Unit, Verdict, WearBand, Weekday,
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

/// Every word that can be typed, with its number in the contract.
pub(crate) fn numbered<T: Worded + Into<i32>>() -> Vec<(String, i32)> {
    values::<T>()
        .map(|value| (word(value), value.into()))
        .collect()
}

/// The value a word names.
pub(crate) fn find<T: Worded>(text: &str) -> Option<T> {
    values().find(|value| word(*value) == text)
}

/// An option's reader for such words.
pub(crate) fn parser<T: Worded>() -> impl TypedValueParser<Value = T> {
    PossibleValuesParser::new(values::<T>().map(|value| PossibleValue::new(word(value))))
        .try_map(|text| find::<T>(&text).ok_or_else(|| format!("'{text}' is not one of the words")))
}

/// The words of an enum, for a sentence.
pub(crate) fn list<T: Worded>() -> String {
    values::<T>().map(word).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::{find, list, word};
    use fettlebook_contract::v1::{BinReason, CarClass, Verdict};

    #[test]
    fn a_word_is_read_back_as_the_value_it_was_printed_from() {
        assert_eq!(word(CarClass::MediumSaloon), "medium-saloon");
        assert_eq!(find("medium-saloon"), Some(CarClass::MediumSaloon));
        assert_eq!(find("cross-loaded"), Some(BinReason::CrossLoaded));
    }

    #[test]
    fn unspecified_can_neither_be_typed_nor_offered() {
        assert_eq!(find::<Verdict>("unspecified"), None);
        assert_eq!(list::<Verdict>(), "go, watch, stop");
    }
}
