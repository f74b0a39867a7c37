//! The kit: how much of it is where, and what is at one place.

use std::collections::BTreeMap;

use axum::http::StatusCode;
use fettlebook_contract::v1::{ListPiecesRequest, Piece, Readiness};
use minijinja::{Value, context};

use super::Answer;
use crate::asker::{Asker, Here};
use crate::form::{Asked, Fields};
use crate::limits::KIT_ROWS;
use crate::templates;
use crate::words::{self, Clock};

/// The view: all places, or the one that is named.
pub(crate) async fn show(asker: Asker, Asked(asked): Asked) -> Answer {
    let here = asker.here().await?;
    if asked.first("place").is_empty() {
        places(&asker, &here).await
    } else {
        place(&asker, &here, &asked).await
    }
}

/// How much is where.
async fn places(asker: &Asker, here: &Here) -> Answer {
    let all = asker.every(ListPiecesRequest::default()).await?.pieces;
    let mut by_place: BTreeMap<&str, Vec<&Piece>> = BTreeMap::new();
    for piece in &all {
        by_place.entry(&piece.place).or_default().push(piece);
    }
    let places = by_place.into_iter().map(|(place, pieces)| {
        let so = |readiness| {
            let of_it = pieces.iter().filter(|piece| piece.readiness() == readiness);
            of_it.count()
        };
        context! {
            place,
            count => pieces.len(),
            soiled => so(Readiness::Soiled),
            drying => so(Readiness::Drying),
            aside => so(Readiness::Aside),
        }
    });
    let told = context! { places => places.collect::<Value>() };
    let page = templates::page(StatusCode::OK, "kit.html", Some(here), "Kit", told);
    Ok(page)
}

/// What is at a place, so many pieces at a time.
async fn place(asker: &Asker, here: &Here, asked: &Fields) -> Answer {
    let place = asked.first("place");
    let listed = ListPiecesRequest {
        page_size: KIT_ROWS,
        page_token: asked.first("after").to_owned(),
        place: place.to_owned(),
        sort: words::sort_of(asked.first("sort")).into(),
        ..ListPiecesRequest::default()
    };
    let listed = asker.call(listed).await?;
    let clock = Clock::own();
    let pieces = listed.pieces.iter().map(|piece| {
        context! {
            tag => piece.tag.as_str(),
            make => piece.make_name.as_str(),
            standing => words::standing(piece, &clock),
            figure => words::figure(piece),
        }
    });
    let told = context! {
        place,
        sort => asked.first("sort"),
        sorts => words::SORTS.iter().map(|(_, word)| *word).collect::<Value>(),
        pieces => pieces.collect::<Value>(),
        after => listed.next_page_token,
    };
    let title = format!("Kit at {place}");
    let page = templates::page(StatusCode::OK, "place.html", Some(here), &title, told);
    Ok(page)
}
