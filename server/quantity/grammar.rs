//! How people write quantities: a plain number, a unit, and nothing that could be read two ways.
//!
//! It serves every place where a quantity is typed. What is unclear is refused with both readings
//! or the accepted forms, never guessed; a refusal is the only other outcome, on any text.

use crate::error::{QuantityError, excerpt};
use crate::kind::Kind;
use crate::number::{Decimal, Rounding, split_number};
use crate::unit_words::{self, UnitWord};
use crate::units::{Area, Count, Length, Mass, Thickness, Volume};

/// An amount of something, in whichever way it is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Amount {
    /// A volume of liquid.
    Volume(Volume),
    /// A mass, as from a scale.
    Mass(Mass),
    /// Dots of product on a pad.
    Dots(Count),
    /// A length, as of tape.
    Length(Length),
    /// Whole things.
    Pieces(Count),
}

/// Reads a volume, to the nearest microlitre; see [`crate::VOLUME_FORMS`].
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub(crate) fn parse_volume(text: &str) -> Result<Volume, QuantityError> {
    measure(text, Kind::Volume).map(Volume::new)
}

/// Reads a volume, to the nearest microlitre; a number without a unit is millilitres, as on a bottle. See
/// [`crate::VOLUME_FORMS`].
///
/// ```
/// use fettlebook_quantity::{Volume, parse_millilitres};
/// assert_eq!(parse_millilitres("1.5 l"), Ok(Volume::from_ul(1_500_000)));
/// assert_eq!(parse_millilitres("1,5 l"), Ok(Volume::from_ul(1_500_000)));
/// assert!(parse_millilitres("1,500 l").unwrap_err().to_string().contains("1500 l or 1.500 l"));
/// ```
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub fn parse_millilitres(text: &str) -> Result<Volume, QuantityError> {
    measure_or(text, Kind::Volume, "ml").map(Volume::new)
}

/// Reads a mass, to the nearest milligram; a number without a unit is grams, as on a scale. See
/// [`crate::MASS_FORMS`].
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub fn parse_grams(text: &str) -> Result<Mass, QuantityError> {
    measure_or(text, Kind::Mass, "g").map(Mass::new)
}

/// Reads a length, to the nearest millimetre; a number without a unit is millimetres, as on a plate. See
/// [`crate::LENGTH_FORMS`].
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub fn parse_millimetres(text: &str) -> Result<Length, QuantityError> {
    measure_or(text, Kind::Length, "mm").map(Length::new)
}

/// Reads a film thickness, rounded *down* to whole micrometres, because the lower figure is the cautious one; a
/// number without a unit is micrometres, as a gauge shows them. See [`crate::THICKNESS_FORMS`].
///
/// # Errors
/// Says what was wrong and which forms are accepted; a number below 20 without a unit may be mils.
pub fn parse_micrometres(text: &str) -> Result<Thickness, QuantityError> {
    /// Mils of any coat are below this, micrometres of one above.
    const MILS_BELOW_UM: i64 = 20;
    let read = measure_or(text, Kind::Thickness, "um").map(Thickness::new)?;
    if read.um() < MILS_BELOW_UM && parse_thickness(text).is_err() {
        return parse_thickness(text);
    }
    Ok(read)
}

/// Reads a mass, to the nearest milligram; see [`crate::MASS_FORMS`]. Ounces are avoirdupois.
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub(crate) fn parse_mass(text: &str) -> Result<Mass, QuantityError> {
    measure(text, Kind::Mass).map(Mass::new)
}

/// Reads a length, to the nearest millimetre; see [`crate::LENGTH_FORMS`].
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub(crate) fn parse_length(text: &str) -> Result<Length, QuantityError> {
    measure(text, Kind::Length).map(Length::new)
}

/// Reads a film thickness, rounded *down* to whole micrometres, because the lower figure is the
/// cautious one; see [`crate::THICKNESS_FORMS`].
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub(crate) fn parse_thickness(text: &str) -> Result<Thickness, QuantityError> {
    measure(text, Kind::Thickness).map(Thickness::new)
}

/// Reads an area, as such or as length × width without any crown; see [`crate::AREA_FORMS`].
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub fn parse_area(text: &str) -> Result<Area, QuantityError> {
    let kind = Kind::Area;
    let Some((length, width)) = text.split_once(['x', 'X', '×', '*']) else {
        return measure(text, kind).map(Area::new);
    };
    parse_length(length)?
        .get()
        .checked_mul(parse_length(width)?.get())
        .filter(|mm2| *mm2 <= kind.limit())
        .map(Area::new)
        .ok_or_else(|| too_large(text, kind))
}

/// Reads a bare whole number; see [`crate::COUNT_FORMS`].
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub fn parse_count(text: &str) -> Result<Count, QuantityError> {
    let kind = Kind::Count;
    let (number, rest) = split_number(text, kind)?;
    if rest.is_empty() {
        return whole(number, text, kind);
    }
    match unit_words::find(&unit_words::key(rest)) {
        Some(unit) => Err(wrong_kind(rest, unit, kind)),
        None => Err(QuantityError::UnknownUnit {
            unit: excerpt(rest),
            kind,
        }),
    }
}

/// Reads an amount of any countable kind: the unit tells which, a bare number is pieces; see
/// [`crate::AMOUNT_FORMS`].
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub fn parse_amount(text: &str) -> Result<Amount, QuantityError> {
    let kind = Kind::Amount;
    let (number, rest) = split_number(text, kind)?;
    if rest.is_empty() {
        return whole(number, text, kind).map(Amount::Pieces);
    }
    let unit_text = split_times(rest).map_or(Ok(rest), |after| {
        split_number(after, kind).map(|(_, unit)| unit)
    })?;
    let unit = known_unit(unit_text, text, kind)?;
    match unit.kind {
        Kind::Volume => parse_volume(text).map(Amount::Volume),
        Kind::Mass => parse_mass(text).map(Amount::Mass),
        Kind::Length => parse_length(text).map(Amount::Length),
        Kind::Dots => whole(number, text, Kind::Dots).map(Amount::Dots),
        Kind::Count => whole(number, text, kind).map(Amount::Pieces),
        Kind::Thickness | Kind::Area | Kind::Time | Kind::Amount => {
            Err(wrong_kind(unit_text, unit, kind))
        }
    }
}

/// Reads `number unit`, or `times*number unit` for volumes and masses.
fn measure(text: &str, kind: Kind) -> Result<i64, QuantityError> {
    measure_or(text, kind, "")
}

/// Reads it with a unit for a number that has none.
fn measure_or(text: &str, kind: Kind, unit: &str) -> Result<i64, QuantityError> {
    let (number, rest) = split_number(text, kind)?;
    let rest = if rest.is_empty() { unit } else { rest };
    match split_times(rest) {
        Some(after) if matches!(kind, Kind::Volume | Kind::Mass) => {
            let times = number.whole().ok_or_else(|| not_whole(text, kind))?;
            let (each, unit_text) = split_number(after, kind)?;
            scaled(each, unit_text, times, text, kind)
        }
        _ => scaled(number, rest, 1, text, kind),
    }
}

fn scaled(
    number: Decimal,
    unit_text: &str,
    times: i64,
    text: &str,
    kind: Kind,
) -> Result<i64, QuantityError> {
    let unit = known_unit(unit_text, text, kind)?;
    if unit.kind != kind {
        return Err(wrong_kind(unit_text, unit, kind));
    }
    let rounding = if kind == Kind::Thickness {
        Rounding::Down
    } else {
        Rounding::HalfAway
    };
    i128::from(times)
        .checked_mul(unit.num)
        .and_then(|num| number.scaled(num, unit.den, rounding))
        .filter(|value| *value <= unit.limit())
        .ok_or_else(|| too_large(text, kind))
}

/// What follows a multiplication sign.
fn split_times(rest: &str) -> Option<&str> {
    rest.strip_prefix(['*', 'x', 'X', '×'])
}

/// The unit written, or why there is none.
pub(crate) fn known_unit(
    unit_text: &str,
    text: &str,
    kind: Kind,
) -> Result<&'static UnitWord, QuantityError> {
    let key = unit_words::key(unit_text);
    if key.is_empty() {
        return missing_unit(text, kind);
    }
    if key == "m" && !matches!(kind, Kind::Length | Kind::Amount) {
        return Err(QuantityError::AmbiguousM {
            text: excerpt(text),
            kind,
        });
    }
    // Where a length is asked for, or what is counted may be one, nothing else begins with it: a volume
    // and a time are refused by their kind.
    let key = if key == "m" { "metres" } else { &key };
    if kind == Kind::Thickness && key == "mm" {
        return Ok(&unit_words::MM_OF_FILM);
    }
    unit_words::find(key).ok_or_else(|| QuantityError::UnknownUnit {
        unit: excerpt(unit_text),
        kind,
    })
}

fn whole(number: Decimal, text: &str, kind: Kind) -> Result<Count, QuantityError> {
    let count = number.whole().ok_or_else(|| not_whole(text, kind))?;
    if count > kind.limit() {
        return Err(too_large(text, kind));
    }
    Ok(Count::new(count))
}

fn missing_unit<T>(text: &str, kind: Kind) -> Result<T, QuantityError> {
    Err(QuantityError::MissingUnit {
        text: excerpt(text),
        kind,
    })
}

fn not_whole(text: &str, kind: Kind) -> QuantityError {
    QuantityError::NotWhole {
        text: excerpt(text),
        kind,
    }
}

pub(crate) fn wrong_kind(unit_text: &str, unit: &UnitWord, kind: Kind) -> QuantityError {
    QuantityError::WrongKind {
        unit: excerpt(unit_text),
        is: unit.kind,
        kind,
    }
}

pub(crate) fn too_large(text: &str, kind: Kind) -> QuantityError {
    QuantityError::TooLarge {
        text: excerpt(text),
        kind,
    }
}

#[cfg(test)]
mod tests;
