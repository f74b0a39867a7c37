//! Names of things in the book: tags on kit, ids of what is set up, places, entry numbers.
//!
//! What a person types is what is on the label, so every name has one canonical spelling and is
//! parsed once, where it comes in. A name must never be reused or renumbered.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

/// A name that is not one, with the accepted form.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NameError {
    /// Not a tag.
    #[error(
        "`{0}` is not a tag. A tag is one to three letters, a hyphen and a number from 1 to 99999, such as P-07."
    )]
    Tag(String),
    /// Not an id.
    #[error(
        "`{0}` is not an id. An id is lower-case letters and digits joined by hyphens, 1 to 48 long, such as coarse-foam-150."
    )]
    Id(String),
    /// Not a subject key.
    #[error("`{0}` does not name anything a book can hold.")]
    Subject(String),
}

/// A tag printed on a piece of kit, such as `P-07`. Compared by letters, then by number.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Tag {
    letters: [u8; 3],
    number: u32,
}

/// Highest number on a tag.
pub(crate) const TAG_NUMBER_MAX: u32 = 99_999;

impl Tag {
    /// The tag with these letters (1 to 3 of A–Z) and this number (1 to 99999); `None` otherwise.
    pub fn new(letters: &str, number: u32) -> Option<Self> {
        if letters.is_empty() || letters.len() > 3 || number == 0 || number > TAG_NUMBER_MAX {
            return None;
        }
        let mut held = [0; 3];
        for (slot, letter) in held.iter_mut().zip(letters.bytes()) {
            if !letter.is_ascii_alphabetic() {
                return None;
            }
            *slot = letter.to_ascii_uppercase();
        }
        Some(Self {
            letters: held,
            number,
        })
    }

    /// Letters and number as one number that orders tags: every look into the kit compares some ten of them.
    const fn rank(self) -> u64 {
        let [first, second, third] = self.letters;
        let [a, b, c, d] = self.number.to_be_bytes();
        u64::from_be_bytes([0, first, second, third, a, b, c, d])
    }

    /// The number after the hyphen.
    pub const fn number(self) -> u32 {
        self.number
    }

    /// The letters before the hyphen.
    pub fn letters(&self) -> &str {
        let end = self.letters.iter().position(|b| *b == 0).unwrap_or(3);
        self.letters
            .get(..end)
            .and_then(|b| std::str::from_utf8(b).ok())
            .unwrap_or_default()
    }
}

impl Ord for Tag {
    fn cmp(&self, other: &Self) -> Ordering {
        self.rank().cmp(&other.rank())
    }
}

impl PartialOrd for Tag {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// Digits of the highest number on a tag.
const NUMBER_LENGTH_MAX: usize = 5;

/// Longest spelling of a tag: three letters, the hyphen, the number.
const TAG_LENGTH_MAX: usize = 3 + 1 + NUMBER_LENGTH_MAX;

/// All digits of a number on a tag, zeros in front.
fn digits(number: u32) -> [u8; NUMBER_LENGTH_MAX] {
    let (mut digits, mut left) = ([b'0'; NUMBER_LENGTH_MAX], number);
    for digit in digits.iter_mut().rev() {
        *digit = b'0'.saturating_add(u8::try_from(left % 10).unwrap_or_default());
        left /= 10;
    }
    digits
}

/// A tag as it is spelt. Every deed written and every record kept spells some: no detour through a new string.
struct Spelt {
    bytes: [u8; TAG_LENGTH_MAX],
    length: usize,
}

impl Spelt {
    fn of(tag: Tag) -> Self {
        let mut spelt = Self {
            bytes: [0; TAG_LENGTH_MAX],
            length: 0,
        };
        for letter in tag.letters.into_iter().filter(|letter| *letter != 0) {
            spelt.put(letter);
        }
        spelt.put(b'-');
        let digits = digits(tag.number);
        let leading = digits.iter().take_while(|digit| **digit == b'0').count();
        for digit in digits.into_iter().skip(leading.min(NUMBER_LENGTH_MAX - 2)) {
            spelt.put(digit);
        }
        spelt
    }

    fn put(&mut self, letter: u8) {
        if let Some(slot) = self.bytes.get_mut(self.length) {
            *slot = letter;
            self.length = self.length.saturating_add(1);
        }
    }

    fn as_str(&self) -> &str {
        let spelt = self.bytes.get(..self.length);
        spelt
            .and_then(|spelt| std::str::from_utf8(spelt).ok())
            .unwrap_or_default()
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let spelt = Spelt::of(*self);
        if f.width().is_none() && f.precision().is_none() {
            return f.write_str(spelt.as_str());
        }
        f.pad(spelt.as_str())
    }
}

impl fmt::Debug for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Tag {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        let refused = || NameError::Tag(shown(text));
        let (letters, digits) = text.trim().split_once('-').ok_or_else(refused)?;
        if digits.is_empty() || digits.len() > 5 || !digits.bytes().all(|b| b.is_ascii_digit()) {
            return Err(refused());
        }
        let number = digits.parse().map_err(|_| refused())?;
        Self::new(letters, number).ok_or_else(refused)
    }
}

/// An id that a person types for what is set up: a make, a car, a routine, a job.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Id(Arc<str>);

/// Longest id, in characters: it has to fit a column.
pub(crate) const ID_LENGTH_MAX: usize = 48;

impl Id {
    /// The id as typed.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl fmt::Debug for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl FromStr for Id {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        let good = !text.is_empty()
            && text.len() <= ID_LENGTH_MAX
            && text.split('-').all(|word| {
                !word.is_empty()
                    && word
                        .bytes()
                        .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit())
            });
        if good {
            Ok(Self(text.into()))
        } else {
            Err(NameError::Id(shown(text)))
        }
    }
}

/// Where kit is: `bench`, `van-a`. Spelt like an id.
pub type Place = Id;

/// Number of an entry, dense from 1; 0 stands before the first.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Seq(pub u64);

impl Seq {
    /// The number after this one.
    #[must_use]
    pub const fn next(self) -> Self {
        Self(self.0.saturating_add(1))
    }
}

impl fmt::Display for Seq {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

/// What a deed can be about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    /// A piece of kit.
    Piece(Tag),
    /// A make.
    Make(Id),
    /// A car.
    Car(Id),
    /// A routine.
    Routine(Id),
    /// A job.
    Job(Id),
    /// A supplier.
    Supplier(Id),
    /// An order.
    Order(Id),
    /// The policies of the book.
    Policy,
    /// An earlier entry.
    Entry(Seq),
}

impl Subject {
    /// The key under which records and indexes know it, such as `piece/P-07`.
    pub fn key(&self) -> String {
        match self {
            Self::Piece(tag) => format!("piece/{tag}"),
            Self::Make(id) => format!("make/{id}"),
            Self::Car(id) => format!("car/{id}"),
            Self::Routine(id) => format!("routine/{id}"),
            Self::Job(id) => format!("job/{id}"),
            Self::Supplier(id) => format!("supplier/{id}"),
            Self::Order(id) => format!("order/{id}"),
            Self::Policy => "policy".to_owned(),
            Self::Entry(seq) => format!("entry/{seq}"),
        }
    }

    /// The tag, id or number alone, as a person says it.
    pub fn word(&self) -> String {
        match self {
            Self::Piece(tag) => tag.to_string(),
            Self::Make(id)
            | Self::Car(id)
            | Self::Routine(id)
            | Self::Job(id)
            | Self::Supplier(id)
            | Self::Order(id) => id.to_string(),
            Self::Policy => "policy".to_owned(),
            Self::Entry(seq) => seq.to_string(),
        }
    }
}

impl FromStr for Subject {
    type Err = NameError;

    fn from_str(key: &str) -> Result<Self, NameError> {
        if key == "policy" {
            return Ok(Self::Policy);
        }
        let refused = || NameError::Subject(shown(key));
        let (sort, name) = key.split_once('/').ok_or_else(refused)?;
        match sort {
            "piece" => name.parse().map(Self::Piece),
            "make" => name.parse().map(Self::Make),
            "car" => name.parse().map(Self::Car),
            "routine" => name.parse().map(Self::Routine),
            "job" => name.parse().map(Self::Job),
            "supplier" => name.parse().map(Self::Supplier),
            "order" => name.parse().map(Self::Order),
            "entry" => name
                .parse()
                .map(|n| Self::Entry(Seq(n)))
                .map_err(|_| refused()),
            _ => Err(refused()),
        }
    }
}

macro_rules! as_text {
    ($($name:ty),*) => {$(
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                struct Text;
                impl serde::de::Visitor<'_> for Text {
                    type Value = $name;
                    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                        f.write_str("a name of the book")
                    }
                    fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<$name, E> {
                        text.parse().map_err(E::custom)
                    }
                }
                from.deserialize_str(Text)
            }
        }
    )*};
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.key())
    }
}

as_text!(Tag, Id, Subject);

impl Serialize for Tag {
    fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.serialize_str(Spelt::of(*self).as_str())
    }
}

impl Serialize for Id {
    fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.serialize_str(self.as_str())
    }
}

impl Serialize for Subject {
    fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.collect_str(self)
    }
}

/// What was typed, cut to a length that fits an error message.
pub(crate) fn shown(text: &str) -> String {
    const SHOWN_CHARS_MAX: usize = 60;
    let mut cut: String = text.chars().take(SHOWN_CHARS_MAX).collect();
    if cut.len() < text.len() {
        cut.push('…');
    }
    cut
}

/// Tags, or names, as a person lists them: `P-02, P-03 and P-05`.
pub(crate) fn list<Name: ToString>(names: &[Name]) -> String {
    let words: Vec<String> = names.iter().map(ToString::to_string).collect();
    match words.split_last() {
        None => String::new(),
        Some((only, [])) => only.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tag_has_one_spelling() {
        for typed in ["P-07", "p-7", "p-007", " P-07 "] {
            assert_eq!(typed.parse::<Tag>().unwrap().to_string(), "P-07");
        }
        assert_eq!("bp-112".parse::<Tag>().unwrap().to_string(), "BP-112");
        for typed in [
            "", "P", "P-", "-7", "P-0", "P-x", "PADS-1", "P-123456", "P 7", "é-1",
        ] {
            assert!(typed.parse::<Tag>().is_err(), "{typed}");
        }
    }

    #[test]
    fn a_tag_is_spelt_with_two_digits_or_more_and_lines_up_in_a_table() {
        for spelt in ["P-01", "P-10", "BP-100", "XYZ-1203", "XYZ-99999"] {
            assert_eq!(spelt.parse::<Tag>().unwrap().to_string(), spelt);
        }
        let tag: Tag = "BP-07".parse().unwrap();
        assert_eq!(format!("{tag:<7}|{tag:>7}|{tag:.2}"), "BP-07  |  BP-07|BP");
    }

    #[test]
    fn tags_are_in_the_order_of_their_letters_and_then_of_their_numbers() {
        let order = [
            "A-99999", "AB-01", "B-01", "B-02", "B-10", "B-256", "BP-01", "BPA-01", "P-01",
        ];
        let tags = order.map(|tag| tag.parse::<Tag>().unwrap());
        assert!(tags.is_sorted_by(|one, next| one < next), "{tags:?}");
    }

    #[test]
    fn an_id_is_words_joined_by_hyphens() {
        assert!("coarse-foam-150".parse::<Id>().is_ok());
        for typed in ["", "Coarse", "a--b", "-a", "a b", "a_b", &"x".repeat(49)] {
            assert!(typed.parse::<Id>().is_err(), "{typed}");
        }
    }

    #[test]
    fn a_subject_key_names_the_subject_again() {
        let subjects = [
            Subject::Piece("P-07".parse().unwrap()),
            Subject::Make("coarse-foam-150".parse().unwrap()),
            Subject::Job("thursday".parse().unwrap()),
            Subject::Supplier("tern-quay".parse().unwrap()),
            Subject::Order("order-12".parse().unwrap()),
            Subject::Policy,
            Subject::Entry(Seq(12)),
        ];
        for subject in subjects {
            assert_eq!(subject.key().parse::<Subject>().unwrap(), subject);
        }
    }
}
