//! The bottles, and telling what they weigh.

use axum::http::StatusCode;
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    BottleState, GetPieceRequest, ListPiecesRequest, MakeSort, Piece, WeighBottlesRequest, Weighing,
};
use fettlebook_quantity::{Volume, parse_grams};
use minijinja::{Value, context};

use super::{Answer, go_to, request_id, tag_of};
use crate::asker::{Asker, Here};
use crate::form::{Asked, Fields, Form};
use crate::{changed, refusal, templates};

/// What stands before the tag in the name of the field for a weight.
const GROSS: &str = "gross.";

/// The view: every bottle, or one, by its tag.
pub(crate) async fn show(asker: Asker, Asked(asked): Asked) -> Answer {
    let here = asker.here().await?;
    let pieces = if asked.has("tag") {
        let tag = tag_of(asked.first("tag"));
        let found = asker.call(GetPieceRequest { tag }).await?;
        found.piece.into_iter().collect()
    } else {
        let listed = ListPiecesRequest {
            sort: MakeSort::Liquid.into(),
            ..ListPiecesRequest::default()
        };
        asker.every(listed).await?.pieces
    };
    let mut bottles: Vec<(&Piece, &BottleState)> = pieces.iter().filter_map(of_bottle).collect();
    // What is in use comes first, and what is here before what is elsewhere.
    bottles
        .sort_by_key(|(piece, bottle)| (bottle.opened_time.is_none(), piece.place != here.place));
    Ok(form(
        &here,
        StatusCode::OK,
        &bottles,
        &Fields::default(),
        "",
    ))
}

fn of_bottle(piece: &Piece) -> Option<(&Piece, &BottleState)> {
    match &piece.state {
        Some(State::Bottle(bottle)) => Some((piece, bottle)),
        _ => None,
    }
}

/// The form, with what was typed into it and what is wrong with that.
fn form(
    here: &Here,
    code: StatusCode,
    bottles: &[(&Piece, &BottleState)],
    typed: &Fields,
    wrong: &str,
) -> axum::response::Response {
    let rows = bottles.iter().map(|(piece, bottle)| {
        context! {
            tag => piece.tag.as_str(),
            make => piece.make_name.as_str(),
            place => piece.place.as_str(),
            left => Volume::from_ul(bottle.left_ul).to_string(),
            typed => typed.first(&format!("{GROSS}{}", piece.tag)),
        }
    });
    let told = context! {
        bottles => rows.collect::<Value>(),
        wrong,
        request_id => request_id(),
        seen => here.head_seq,
    };
    templates::page(code, "weigh.html", Some(here), "Weigh", told)
}

/// Records weights.
pub(crate) async fn record(asker: Asker, Form(sent): Form) -> Answer {
    let here = asker.here().await?;
    let weighings = match weighings(&sent) {
        Ok(weighings) => weighings,
        Err(wrong) => return mend(&asker, &here, &sent, &wrong).await,
    };
    if weighings.is_empty() {
        let text =
            "No weight is typed, so nothing was recorded. Go back and type what the scale shows.";
        return Err(refusal::not_understood(text).into());
    }
    let tags: Vec<String> = weighings.iter().map(|one| one.bottle.clone()).collect();
    if let Some(asks) = changed::since(&asker, &here, &sent, &tags, "/weigh").await? {
        return Ok(asks);
    }
    let weighed = WeighBottlesRequest {
        request_id: sent.first("request_id").to_owned(),
        weighings,
        ..WeighBottlesRequest::default()
    };
    let entry = asker.call(weighed).await?.entry.unwrap_or_default();
    Ok(go_to(&format!("/entry/{}", entry.seq)))
}

/// The weights that were typed, or what is wrong with one.
pub(super) fn weighings(sent: &Fields) -> Result<Vec<Weighing>, String> {
    let typed = sent.behind(GROSS).filter(|(_, typed)| !typed.is_empty());
    let read = typed.map(|(tag, typed)| {
        let gross =
            parse_grams(typed).map_err(|error| format!("{tag}: {error} Nothing was recorded."))?;
        Ok(Weighing {
            bottle: tag_of(tag),
            gross_mg: gross.mg(),
        })
    });
    read.collect()
}

/// The form once more, of the bottles that it was about, with what was typed.
async fn mend(asker: &Asker, here: &Here, sent: &Fields, wrong: &str) -> Answer {
    let mut pieces = Vec::new();
    for (tag, _) in sent.behind(GROSS) {
        let tag = tag_of(tag);
        pieces.extend(asker.call(GetPieceRequest { tag }).await?.piece);
    }
    let bottles: Vec<_> = pieces.iter().filter_map(of_bottle).collect();
    Ok(form(here, StatusCode::BAD_REQUEST, &bottles, sent, wrong))
}
