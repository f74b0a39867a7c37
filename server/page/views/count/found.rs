//! What was found of a piece that runs down, as it is typed: a bare number is in the unit in which people measure.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{CountKitRequest, Piece, Unit};
use fettlebook_quantity::{Amount, parse_amount, parse_count, parse_millilitres};

/// In what a piece is counted, for its field; empty for what is not.
pub(super) fn unit(piece: &Piece) -> &'static str {
    match &piece.state {
        Some(State::Bottle(_)) => "mL",
        Some(State::Sundry(sundry)) => match sundry.unit() {
            Unit::Microlitre => "mL",
            Unit::Millimetre => "m",
            Unit::Pair => "pairs",
            _ => "pieces",
        },
        _ => "",
    }
}

/// The count of a bottle or a sundry.
pub(super) fn left(piece: &Piece, typed: &str) -> Result<CountKitRequest, String> {
    let unit = match &piece.state {
        Some(State::Bottle(_)) => Unit::Microlitre,
        Some(State::Sundry(sundry)) => sundry.unit(),
        _ => return Err(format!("{} is neither a bottle nor a sundry.", piece.tag)),
    };
    let quantity = match unit {
        Unit::Microlitre => parse_millilitres(typed).map(|volume| volume.ul()),
        Unit::Millimetre => return metres(piece, typed),
        _ => parse_count(typed).map(|count| count.get()),
    };
    counted(piece, quantity.map_err(|error| error.to_string())?)
}

/// So much of a roll.
fn metres(piece: &Piece, typed: &str) -> Result<CountKitRequest, String> {
    let is_bare = typed
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | ','));
    let whole = if is_bare {
        format!("{typed} m")
    } else {
        typed.to_owned()
    };
    match parse_amount(&whole).map_err(|error| error.to_string())? {
        Amount::Length(length) => counted(piece, length.mm()),
        _ => Err(format!(
            "{typed} is no length. Write metres, for example 12 or 12.5."
        )),
    }
}

fn counted(piece: &Piece, quantity: i64) -> Result<CountKitRequest, String> {
    Ok(CountKitRequest {
        tag: piece.tag.clone(),
        quantity: Some(quantity),
        ..CountKitRequest::default()
    })
}

/// The count of a bundle. Where only one of both was typed the other is as the book says, and what dries
/// counts as clean.
pub(super) fn towels(piece: &Piece, clean: &str, soiled: &str) -> Result<CountKitRequest, String> {
    let Some(State::Bundle(bundle)) = &piece.state else {
        return Err(format!("{} is no bundle of towels.", piece.tag));
    };
    let read = |typed: &str, held: i64| match typed {
        "" => Ok(held),
        _ => parse_count(typed)
            .map(|count| count.get())
            .map_err(|error| error.to_string()),
    };
    let by_book = bundle.clean_count.saturating_add(bundle.drying_count);
    Ok(CountKitRequest {
        tag: piece.tag.clone(),
        clean_count: Some(read(clean, by_book)?),
        soiled_count: Some(read(soiled, bundle.soiled_count)?),
        ..CountKitRequest::default()
    })
}
