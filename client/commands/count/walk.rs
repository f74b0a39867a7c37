//! A stock-take as a walk through a place: a line a piece, Enter keeps what the book says.
//!
//! What was typed is recorded at the end, each piece as a count of its own; whoever leaves half-way is asked
//! whether to record what was counted so far.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{CountKitRequest, ListPiecesRequest, Piece, Unit};

use super::Count;
use crate::ask::{ask_line, is_so, somebody_is_there};
use crate::commands::doubt::record_if_meant;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options;
use crate::page;
use crate::render::screen::several;
use crate::render::{Printer, amount};
use crate::request;

/// What was found of a piece.
#[derive(Debug, PartialEq, Eq)]
enum Found {
    /// So much of what runs down, in the piece's unit.
    Left(i64),
    /// So many clean towels, and soiled ones where that was said.
    Towels(i64, Option<i64>),
}

/// Walks through a place.
///
/// # Errors
/// When nobody is there to count, or there is nothing to count.
pub(super) async fn perform(
    session: &Session,
    args: &Count,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if !somebody_is_there(printer) {
        let mut fault = Fault::usage("TAG", "What was counted was not said.");
        fault.todo =
            "At a terminal 'fettle count' walks through a place; else name the piece, for \
                      example 'fettle count B-01 --left 300ml'."
                .to_owned();
        return Err(fault);
    }
    let asked = ListPiecesRequest {
        place: args.place.clone().unwrap_or_default(),
        ..ListPiecesRequest::default()
    };
    let pieces = page::every(session, asked).await?.pieces;
    let counted: Vec<&Piece> = pieces
        .iter()
        .filter(|piece| held(piece).is_some())
        .collect();
    if counted.is_empty() {
        printer.page("Nothing to count there: no bottle, no towels, no sundry.");
        return Ok(Exit::Done);
    }
    let found = walk(&counted, printer)?;
    if found.is_empty() {
        printer.page("All is kept as the book says.");
        return Ok(Exit::Done);
    }
    let counts = i64::try_from(found.len()).unwrap_or(i64::MAX);
    if !is_so(&format!("Record {}?", several(counts, "count", "counts")))? {
        return Err(Fault::own(
            "NOT_MEANT",
            Exit::No,
            "Nothing was recorded.",
            "Walk again when you are ready.",
        ));
    }
    let mut exit = Exit::Done;
    for (tag, found) in found {
        let request = request_of(session, args, tag, &found)?;
        exit = record_if_meant(session, printer, request).await?;
        printer.flush();
    }
    Ok(exit)
}

/// Asks of each piece; what is kept, or not reached, is left out.
fn walk<'a>(pieces: &[&'a Piece], printer: &mut Printer) -> Result<Vec<(&'a str, Found)>, Fault> {
    printer.say("Enter keeps what the book says, Esc ends the walk.");
    let mut all = Vec::new();
    for piece in pieces {
        let question = format!(
            "{} {}, {}:",
            piece.tag,
            piece.make_name,
            held(piece).unwrap_or_default()
        );
        let read = |text: &str| found(piece, text).map(|_| ());
        let Some(text) = ask_line(&question, read)? else {
            break;
        };
        if let Ok(Some(found)) = found(piece, &text) {
            all.push((piece.tag.as_str(), found));
        }
    }
    Ok(all)
}

/// What the book says of what can be counted; nothing of all else.
fn held(piece: &Piece) -> Option<String> {
    match piece.state.as_ref()? {
        State::Bottle(bottle) => Some(format!("{} left", amount::volume(bottle.left_ul))),
        State::Sundry(sundry) => Some(format!(
            "{} left",
            amount::quantity(sundry.left_quantity, sundry.unit())
        )),
        State::Bundle(bundle) => Some(format!(
            "{} clean, {} soiled",
            bundle.clean_count.saturating_add(bundle.drying_count),
            bundle.soiled_count
        )),
        State::Pad(_)
        | State::Plate(_)
        | State::Machine(_)
        | State::Tool(_)
        | State::Battery(_) => None,
    }
}

/// Reads an answer about a piece; nothing where it is kept.
fn found(piece: &Piece, text: &str) -> Result<Option<Found>, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    match &piece.state {
        Some(State::Bundle(_)) => towels(text).map(Some),
        Some(State::Bottle(_)) => left(piece, text, Unit::Microlitre),
        Some(State::Sundry(sundry)) => left(piece, text, sundry.unit()),
        _ => Ok(None),
    }
}

/// `8`, or `8 2` with those that are soiled.
fn towels(text: &str) -> Result<Found, String> {
    let parts: Vec<&str> = text
        .split(|c: char| !c.is_ascii_digit())
        .filter(|part| !part.is_empty())
        .collect();
    let number = |text: &str| {
        let read = fettlebook_quantity::parse_count(text);
        read.map(|count| count.get())
            .map_err(|error| error.to_string())
    };
    match parts.as_slice() {
        [clean] => Ok(Found::Towels(number(clean)?, None)),
        [clean, soiled] => Ok(Found::Towels(number(clean)?, Some(number(soiled)?))),
        _ => Err(format!(
            "'{text}' is not a count of towels; write those that are clean, for example 8, or clean and \
             soiled, 8 2"
        )),
    }
}

/// An amount; a bare number is in the unit in which a person measures.
fn left(piece: &Piece, text: &str, unit: Unit) -> Result<Option<Found>, String> {
    let is_bare = text
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | ','));
    let suffix = match unit {
        Unit::Microlitre if is_bare => " ml",
        Unit::Millimetre if is_bare => " m",
        _ => "",
    };
    let stock = options::stock(&format!("{text}{suffix}"))?;
    let full = match &piece.state {
        Some(State::Bottle(bottle)) => Some(bottle.full_ul),
        _ => None,
    };
    let kept = options::Kept { unit, full };
    let quantity = stock.in_unit(kept, "--left", &piece.tag);
    let quantity = quantity.map_err(|fault| fault.message)?;
    Ok(Some(Found::Left(quantity)))
}

fn request_of(
    session: &Session,
    args: &Count,
    tag: &str,
    found: &Found,
) -> Result<CountKitRequest, Fault> {
    let mut request = CountKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tag: tag.to_owned(),
        ..CountKitRequest::default()
    };
    match found {
        Found::Left(quantity) => request.quantity = Some(*quantity),
        Found::Towels(clean, soiled) => {
            request.clean_count = Some(*clean);
            request.soiled_count = *soiled;
        }
    }
    Ok(request)
}

#[cfg(test)]
mod tests {
    use super::{Found, found, held};
    use crate::render::scenario::{bottle, kit};
    use fettlebook_contract::v1::piece::State;

    #[test]
    fn what_runs_down_is_counted_and_nothing_else() {
        let tags: Vec<String> = kit()
            .into_iter()
            .filter(|piece| held(piece).is_some())
            .map(|piece| piece.tag)
            .collect();
        assert_eq!(tags, ["B-03", "S-01", "T-01"]);
    }

    #[test]
    fn a_bare_number_is_in_the_unit_that_is_measured_in() {
        let bottle = bottle();
        assert_eq!(found(&bottle, "380"), Ok(Some(Found::Left(380_000))));
        assert_eq!(found(&bottle, "0.4 l"), Ok(Some(Found::Left(400_000))));
        assert_eq!(found(&bottle, " "), Ok(None));
        assert!(found(&bottle, "much").unwrap_err().contains("much"));
    }

    #[test]
    fn towels_are_counted_clean_and_if_one_likes_soiled() {
        let kit = kit();
        let bundle = kit
            .iter()
            .find(|piece| matches!(piece.state, Some(State::Bundle(_))));
        let bundle = bundle.unwrap();
        assert_eq!(found(bundle, "8"), Ok(Some(Found::Towels(8, None))));
        assert_eq!(
            found(bundle, "8 clean, 2 soiled"),
            Ok(Some(Found::Towels(8, Some(2))))
        );
        assert!(found(bundle, "some").unwrap_err().contains("8 2"));
    }
}
