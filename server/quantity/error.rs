//! What may be wrong with a quantity as written, each as a sentence for the person who wrote it.
//!
//! The sentences serve the client and the service alike: they say what was wrong and which forms
//! are accepted. They never repeat more than a short excerpt of what was typed.

use thiserror::Error;

use crate::kind::Kind;

/// Why a text is not a quantity.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum QuantityError {
    /// Nothing was written.
    #[error("{} is missing; write for example {}", .kind.noun(), .kind.forms())]
    Empty {
        /// What was expected.
        kind: Kind,
    },
    /// The text does not begin with a plain number.
    #[error(
        "'{text}' does not begin with a plain number such as 3 or 0.5; {} is written {}",
        .kind.noun(), .kind.forms()
    )]
    NotANumber {
        /// An excerpt of what was written.
        text: String,
        /// What was expected.
        kind: Kind,
    },
    /// A comma, which may be a decimal sign or a thousands sign.
    #[error("'{text}' could mean {joined} or {pointed}; write it without the comma, as {}", .kind.forms())]
    Comma {
        /// An excerpt of what was written.
        text: String,
        /// The reading with the comma as a thousands sign.
        joined: String,
        /// The reading with the comma as a decimal sign.
        pointed: String,
        /// What was expected.
        kind: Kind,
    },
    /// A number below zero.
    #[error("'{text}' is negative; {} cannot be below zero and is written {}", .kind.noun(), .kind.forms())]
    Negative {
        /// An excerpt of what was written.
        text: String,
        /// What was expected.
        kind: Kind,
    },
    /// A number with an exponent.
    #[error("'{text}' has an exponent; write the number out, as {}", .kind.forms())]
    Exponent {
        /// An excerpt of what was written.
        text: String,
        /// What was expected.
        kind: Kind,
    },
    /// A number without the unit it needs.
    #[error("'{text}' has no unit; {} is written {}", .kind.noun(), .kind.forms())]
    MissingUnit {
        /// An excerpt of what was written.
        text: String,
        /// What was expected.
        kind: Kind,
    },
    /// A unit that is not known.
    #[error("'{unit}' is not a known unit; {} is written {}", .kind.noun(), .kind.forms())]
    UnknownUnit {
        /// An excerpt of the unit as written.
        unit: String,
        /// What was expected.
        kind: Kind,
    },
    /// A unit of another kind of quantity.
    #[error(
        "'{unit}' is a unit of {}, but {} was expected, written {}",
        .is.noun(), .kind.noun(), .kind.forms()
    )]
    WrongKind {
        /// The unit as written.
        unit: String,
        /// What that unit measures.
        is: Kind,
        /// What was expected.
        kind: Kind,
    },
    /// A bare `m`.
    #[error(
        "'{text}' is unclear: m could be metres, millilitres or minutes; write metres, ml or min \
         ({} is written {})",
        .kind.noun(), .kind.forms()
    )]
    AmbiguousM {
        /// An excerpt of what was written.
        text: String,
        /// What was expected.
        kind: Kind,
    },
    /// A fraction where things are counted.
    #[error("'{text}' is not a whole number; {} is written {}", .kind.noun(), .kind.forms())]
    NotWhole {
        /// An excerpt of what was written.
        text: String,
        /// What was expected.
        kind: Kind,
    },
    /// More than anybody has.
    #[error(
        "'{text}' is more than is believed for {} (at most {}); check the unit, {} is written {}",
        .kind.noun(), .kind.limit_words(), .kind.noun(), .kind.forms()
    )]
    TooLarge {
        /// An excerpt of what was written.
        text: String,
        /// What was expected.
        kind: Kind,
    },
    /// Parts of a time out of order or given twice.
    #[error("'{text}' does not go from the larger unit to the smaller; {} is written {}", .kind.noun(), .kind.forms())]
    OutOfOrder {
        /// An excerpt of what was written.
        text: String,
        /// What was expected.
        kind: Kind,
    },
    /// A stored fraction that is none.
    #[error("{num}/{den} is not a fraction with a denominator above zero; write for example 1/2")]
    NotARatio {
        /// The upper number.
        num: i64,
        /// The lower number.
        den: i64,
    },
}

/// A short, printable piece of what was written, for quoting back.
pub(crate) fn excerpt(text: &str) -> String {
    const LONGEST_CHARS: usize = 40;
    let mut piece: String = text
        .trim()
        .chars()
        .take(LONGEST_CHARS)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if text.trim().chars().nth(LONGEST_CHARS).is_some() {
        piece.push('…');
    }
    piece
}
