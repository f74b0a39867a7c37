//! The bottles, and telling what they weigh.

use axum::http::StatusCode;
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    BottleState, GetPieceRequest, ListPiecesRequest, MakeSort, Piece, WeighBottlesRequest, Weighing,
};
use fettlebook_quantity::{Volume, parse_grams};
use minijinja::{Value, context};

use super::{Answer, tag_of, to_entry};
use crate::asker::{Asker, Here};
use crate::form::{Asked, Fields, Form};
use crate::{changed, limits, refusal, request, templates, words};

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
    let from = usize::try_from(asked.number("from").unwrap_or_default()).unwrap_or_default();
    let rest = bottles.get(from..).unwrap_or_default();
    let shown = rest.get(..limits::DEED_ROWS).unwrap_or(rest);
    let sheet = Sheet {
        bottles: shown,
        next: (rest.len() > shown.len()).then(|| from.saturating_add(shown.len())),
        typed: &Fields::default(),
        wrong: "",
    };
    Ok(form(&here, &sheet))
}

fn of_bottle(piece: &Piece) -> Option<(&Piece, &BottleState)> {
    match &piece.state {
        Some(State::Bottle(bottle)) => Some((piece, bottle)),
        _ => None,
    }
}

/// What the form is laid out from.
struct Sheet<'a> {
    bottles: &'a [(&'a Piece, &'a BottleState)],
    /// Where those begin that are not on it; nothing where all are.
    next: Option<usize>,
    typed: &'a Fields,
    wrong: &'a str,
}

/// The form, with what was typed into it and what is wrong with that.
fn form(here: &Here, sheet: &Sheet<'_>) -> axum::response::Response {
    let (typed, wrong) = (sheet.typed, sheet.wrong);
    let rows = sheet.bottles.iter().map(|(piece, bottle)| {
        context! {
            tag => piece.tag.as_str(),
            make => piece.make_name.as_str(),
            place => piece.place.as_str(),
            left => Volume::from_ul(bottle.left_ul).to_string(),
            typed => typed.first(&format!("{GROSS}{}", piece.tag)),
        }
    });
    let id = typed.first("request_id");
    let id = if id.is_empty() {
        request::fresh()
    } else {
        id.to_owned()
    };
    let told = context! {
        bottles => rows.collect::<Value>(),
        next => sheet.next,
        wrong,
        request_id => id,
        seen => here.head_seq,
    };
    let code = if wrong.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
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
    Ok(to_entry(asker.call(weighed).await?.entry))
}

/// The weights that were typed, or what is wrong with one.
pub(super) fn weighings(sent: &Fields) -> Result<Vec<Weighing>, String> {
    let typed = sent.behind(GROSS).filter(|(_, typed)| !typed.is_empty());
    let read = typed.map(|(tag, typed)| {
        let gross = parse_grams(typed).map_err(|error| words::wrong(tag, &error.to_string()))?;
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
    let sheet = Sheet {
        bottles: &bottles,
        next: None,
        typed: sent,
        wrong,
    };
    Ok(form(here, &sheet))
}
