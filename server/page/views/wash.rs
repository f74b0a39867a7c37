//! What is soiled, and telling that it was washed.

use axum::http::StatusCode;
use fettlebook_contract::v1::{GetPieceRequest, GetTodayRequest, SoiledKit, WashKitRequest};
use minijinja::{Value, context};

use super::{Answer, tag_of, to_entry};
use crate::asker::Asker;
use crate::form::{Asked, Fields, Form};
use crate::words::Clock;
use crate::{changed, limits, refusal, request, templates};

/// The view: all that is soiled, or one piece, by its tag.
pub(crate) async fn show(asker: Asker, Asked(asked): Asked) -> Answer {
    let here = asker.here().await?;
    let clock = Clock::own();
    let soiled = if asked.has("tag") {
        one(&asker, &tag_of(asked.first("tag"))).await?
    } else {
        let place = here.place.clone();
        asker.call(GetTodayRequest { place }).await?.to_wash
    };
    let places = soiled.iter().map(|one| {
        context! {
            // Each place has a form of its own.
            request_id => request::fresh(),
            place => one.place.as_str(),
            tags => one.tags.iter().take(limits::DEED_ROWS).map(String::as_str).collect::<Value>(),
            more => one.tags.len().saturating_sub(limits::DEED_ROWS),
            towel_count => one.towel_count,
            dry => clock.moment_or_none(one.dry_time.as_ref()),
            by => clock.moment_or_none(one.wash_by_time.as_ref()),
        }
    });
    let told = context! {
        places => places.collect::<Value>(),
        seen => here.head_seq,
    };
    let page = templates::page(StatusCode::OK, "wash.html", Some(&here), "Wash", told);
    Ok(page)
}

/// One piece, whether it is soiled or not.
async fn one(asker: &Asker, tag: &str) -> Result<Vec<SoiledKit>, tonic::Status> {
    let asked = GetPieceRequest {
        tag: tag.to_owned(),
    };
    let piece = asker.call(asked).await?.piece.unwrap_or_default();
    Ok(vec![SoiledKit {
        place: piece.place,
        tags: vec![piece.tag],
        ..SoiledKit::default()
    }])
}

/// Records a wash.
pub(crate) async fn record(asker: Asker, Form(sent): Form) -> Answer {
    let tags = chosen(&sent);
    if tags.is_empty() {
        let text = "Nothing is ticked, so nothing was recorded. Go back and tick what was washed.";
        return Err(refusal::not_understood(text).into());
    }
    let here = asker.here().await?;
    if let Some(asks) = changed::since(&asker, &here, &sent, &tags, "/wash").await? {
        return Ok(asks);
    }
    let washed = WashKitRequest {
        request_id: sent.first("request_id").to_owned(),
        tags,
        ..WashKitRequest::default()
    };
    Ok(to_entry(asker.call(washed).await?.entry))
}

/// The tags that are ticked, each once.
fn chosen(sent: &Fields) -> Vec<String> {
    let mut tags: Vec<String> = sent.all("tag").map(tag_of).collect();
    tags.retain(|tag| !tag.is_empty());
    tags.sort();
    tags.dedup();
    tags
}
