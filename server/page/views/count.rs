//! Counting a place: what the book says is there, a field for what runs down, a tick for what is missing.

mod found;
mod record;

use axum::http::StatusCode;
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{ListPiecesRequest, Piece};
use minijinja::{Value, context};

use super::{Answer, go_to};
use crate::asker::{Asker, Here};
use crate::form::{Asked, Fields};
use crate::words::{self, Clock};
use crate::{limits, request, templates};

pub(crate) use record::record;

/// What stands before the tag in the name of the field for what is left.
const LEFT: &str = "left.";
/// The same for clean towels.
const CLEAN: &str = "clean.";
/// The same for soiled ones.
const SOILED: &str = "soiled.";

/// The view: the places, or one to be counted.
pub(crate) async fn show(asker: Asker, Asked(asked): Asked) -> Answer {
    let here = asker.here().await?;
    if !here.may_work() {
        // Without a deed to tell it would be the kit once more.
        return Ok(go_to("/kit"));
    }
    if !asked.first("place").is_empty() {
        return form(&asker, &here, &asked, "").await;
    }
    let mut places = here.places.clone();
    // The device's own comes first.
    places.sort_by_key(|place| *place != here.place);
    let told = context! { places };
    Ok(templates::page(
        StatusCode::OK,
        "count.html",
        Some(&here),
        "Count",
        told,
    ))
}

/// The form for a page of what is at a place, with what was typed into it and what is wrong with that.
async fn form(asker: &Asker, here: &Here, sent: &Fields, wrong: &str) -> Answer {
    let (place, sort) = (sent.first("place"), sent.first("sort"));
    let listed = ListPiecesRequest {
        page_size: limits::COUNT_ROWS,
        page_token: sent.first("after").to_owned(),
        place: place.to_owned(),
        sort: words::sort_of(sort).into(),
        ..ListPiecesRequest::default()
    };
    let listed = asker.call(listed).await?;
    let clock = Clock::own();
    let missing: Vec<&str> = sent.all("missing").collect();
    let row = |piece: &Piece| {
        let typed = |start: &str| sent.first(&format!("{start}{}", piece.tag));
        context! {
            tag => piece.tag.as_str(),
            make => piece.make_name.as_str(),
            standing => words::standing(piece, &clock),
            figure => words::figure(piece),
            unit => found::unit(piece),
            left => typed(LEFT),
            clean => typed(CLEAN),
            soiled => typed(SOILED),
            missing => missing.contains(&piece.tag.as_str()),
        }
    };
    let (counted, whole): (Vec<&Piece>, Vec<&Piece>) =
        listed.pieces.iter().partition(|piece| is_counted(piece));
    let id = sent.first("request_id");
    let id = if id.is_empty() {
        request::fresh()
    } else {
        id.to_owned()
    };
    let told = context! {
        place,
        sort,
        sorts => words::SORTS.iter().map(|(_, word)| *word).collect::<Value>(),
        whole => whole.into_iter().map(row).collect::<Value>(),
        counted => counted.into_iter().map(row).collect::<Value>(),
        after => sent.first("after"),
        next => listed.next_page_token,
        found => sent.first("found"),
        lost => sent.first("meaning") == "lost",
        wrong,
        request_id => id,
        seen => here.head_seq,
    };
    let code = if wrong.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    let title = format!("Count {place}");
    Ok(templates::page(
        code,
        "counted.html",
        Some(here),
        &title,
        told,
    ))
}

/// Whether so much of it can be there, and not only it or nothing.
fn is_counted(piece: &Piece) -> bool {
    matches!(
        piece.state,
        Some(State::Bottle(_) | State::Bundle(_) | State::Sundry(_))
    )
}

/// The piece with this tag.
fn of_tag<'a>(pieces: &'a [Piece], tag: &str) -> Option<&'a Piece> {
    pieces.iter().find(|piece| piece.tag == tag)
}
