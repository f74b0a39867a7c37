//! The unit words people write, with the exact factor of each to the integer unit of its kind.
//!
//! A unit stands in one row only, so that a word can never mean two things; the bare `m` is kept out on
//! purpose, and the grammar takes it where only metres can be meant.

use crate::kind::Kind;

/// One unit: the words for it and how many of the kind's integer units it holds, `num` / `den`.
pub(crate) struct UnitWord {
    pub(crate) words: &'static [&'static str],
    pub(crate) kind: Kind,
    pub(crate) num: i128,
    pub(crate) den: i128,
}

const fn unit(words: &'static [&'static str], kind: Kind, num: i128, den: i128) -> UnitWord {
    UnitWord {
        words,
        kind,
        num,
        den,
    }
}

/// Every known unit. Customary units are exact: US fluid ounce 29.5735295625 mL, inch 25.4 mm,
/// avoirdupois ounce 28.349523125 g and pound 453.59237 g.
/// Source: NIST Handbook 44, appendix C.
const UNITS: &[UnitWord] = &[
    unit(&["ul", "microlitre", "microlitres"], Kind::Volume, 1, 1),
    unit(
        &[
            "ml",
            "millilitre",
            "millilitres",
            "milliliter",
            "milliliters",
            "mls",
            "cc",
        ],
        Kind::Volume,
        1_000,
        1,
    ),
    unit(&["cl"], Kind::Volume, 10_000, 1),
    unit(
        &["l", "litre", "litres", "liter", "liters", "ltr"],
        Kind::Volume,
        1_000_000,
        1,
    ),
    unit(
        &["fl oz", "us fl oz", "floz", "fl oz (us)"],
        Kind::Volume,
        295_735_295_625,
        10_000_000,
    ),
    unit(&["mg"], Kind::Mass, 1, 1),
    unit(&["g", "gr", "gram", "grams", "gms"], Kind::Mass, 1_000, 1),
    unit(&["kg", "kgs", "kilo", "kilos"], Kind::Mass, 1_000_000, 1),
    unit(
        &["oz", "ounce", "ounces"],
        Kind::Mass,
        28_349_523_125,
        1_000_000,
    ),
    unit(
        &["lb", "lbs", "pound", "pounds"],
        Kind::Mass,
        45_359_237,
        100,
    ),
    unit(
        &[
            "mm",
            "millimetre",
            "millimetres",
            "millimeter",
            "millimeters",
        ],
        Kind::Length,
        1,
        1,
    ),
    unit(
        &[
            "cm",
            "centimetre",
            "centimetres",
            "centimeter",
            "centimeters",
        ],
        Kind::Length,
        10,
        1,
    ),
    unit(
        &["in", "inch", "inches", "\"", "″", "''"],
        Kind::Length,
        254,
        10,
    ),
    unit(METRE_WORDS, Kind::Length, 1_000, 1),
    unit(&["um", "micron", "microns"], Kind::Thickness, 1, 1),
    unit(&["mil", "mils"], Kind::Thickness, 254, 10),
    unit(&["mm2"], Kind::Area, 1, 1),
    unit(&["cm2"], Kind::Area, 100, 1),
    unit(&["m2"], Kind::Area, 1_000_000, 1),
    unit(&["s", "sec", "secs", "second", "seconds"], Kind::Time, 1, 1),
    unit(&["min", "mins", "minute", "minutes"], Kind::Time, 60, 1),
    unit(&["h", "hr", "hrs", "hour", "hours"], Kind::Time, 3_600, 1),
    unit(&["d", "day", "days"], Kind::Time, 86_400, 1),
    unit(&["dot", "dots"], Kind::Dots, 1, 1),
    unit(&["pc", "pcs", "piece", "pieces", "off"], Kind::Count, 1, 1),
];

/// Film is sometimes read in millimetres; where a film is asked for, nothing else is meant by them.
pub(crate) const MM_OF_FILM: UnitWord = unit(&["mm"], Kind::Thickness, 1_000, 1);

const METRE_WORDS: &[&str] = &["metre", "metres", "meter", "meters"];
/// Tape and hose are bought in metres, so that word allows up to 10 km.
const TAPE_LIMIT_MM: i64 = 10_000_000;

impl UnitWord {
    /// The largest quantity believed when written in this unit, in the kind's integer unit.
    pub(crate) fn limit(&self) -> i64 {
        if self.words == METRE_WORDS {
            TAPE_LIMIT_MM
        } else {
            self.kind.limit()
        }
    }
}

/// A unit as looked up: lower case, one space between words, `u` for µ and `2` for ².
pub(crate) fn key(written: &str) -> String {
    let lower = written
        .to_lowercase()
        .replace(['µ', 'μ'], "u")
        .replace('²', "2");
    lower.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The unit a word stands for.
pub(crate) fn find(key: &str) -> Option<&'static UnitWord> {
    UNITS.iter().find(|unit| unit.words.contains(&key))
}

#[cfg(test)]
mod tests {
    use super::UNITS;

    #[test]
    fn no_word_stands_for_two_units_and_bare_m_for_none() {
        let mut words: Vec<_> = UNITS.iter().flat_map(|unit| unit.words).collect();
        let listed = words.len();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), listed);
        assert!(!words.contains(&&"m"));
    }
}
