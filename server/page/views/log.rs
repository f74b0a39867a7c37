//! Telling that a job was done: as planned, or with pads that tore or fell and bottles that were weighed.
//!
//! The form carries the pick that it shows, so that what was on the page is what is recorded.

use axum::extract::Path;
use axum::http::StatusCode;
use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{
    AsideReason, BinReason, GetJobRequest, GetPieceRequest, Job, LogUseRequest, PadUse, PickedPiece,
};
use fettlebook_quantity::Volume;
use minijinja::{Value, context};

use super::{Answer, go_to, request_id, weigh};
use crate::asker::Asker;
use crate::form::{Fields, Form};
use crate::words::Clock;
use crate::{changed, refusal, templates};

/// Name of the fields that carry the pick.
const PICKED: &str = "picked";

/// What parts a picked piece in its field. None of tag, step and number has it.
const PART: char = '/';

/// The view.
pub(crate) async fn show(asker: Asker, Path(job): Path<String>) -> Answer {
    let here = asker.here().await?;
    let booked = asker.call(GetJobRequest { job: job.clone() }).await?;
    let booked = booked.job.unwrap_or_default();
    let preview = LogUseRequest {
        request_id: request_id(),
        job,
        validate_only: true,
        ..LogUseRequest::default()
    };
    let picked = asker.call(preview).await?.picked;
    let (pads, bottles) = rows(&asker, &picked).await?;
    let clock = Clock::of_job(booked.utc_offset_s);
    let told = context! {
        job => booked.job.as_str(),
        start => clock.moment_or_none(booked.start_time.as_ref()),
        place => booked.place.as_str(),
        pads,
        bottles,
        picked => picked.iter().map(packed).collect::<Vec<_>>(),
        request_id => request_id(),
        seen => here.head_seq,
    };
    let title = format!("Log {}", booked.job);
    let page = templates::page(StatusCode::OK, "log.html", Some(&here), &title, told);
    Ok(page)
}

/// The pads and the bottles of a pick, each once.
async fn rows(asker: &Asker, picked: &[PickedPiece]) -> Result<(Value, Value), tonic::Status> {
    let (mut pads, mut bottles, mut seen) = (Vec::new(), Vec::new(), Vec::new());
    for one in picked {
        if seen.contains(&&one.tag) {
            continue;
        }
        seen.push(&one.tag);
        let asked = GetPieceRequest {
            tag: one.tag.clone(),
        };
        let piece = asker.call(asked).await?.piece.unwrap_or_default();
        let row = |left: String| {
            context! { tag => piece.tag.as_str(), make => piece.make_name.as_str(), step => one.step.as_str(), spare => one.spare, left }
        };
        match &piece.state {
            Some(State::Pad(_)) => pads.push(row(String::new())),
            Some(State::Bottle(bottle)) => {
                bottles.push(row(Volume::from_ul(bottle.left_ul).to_string()));
            }
            _ => {}
        }
    }
    Ok((pads.into_iter().collect(), bottles.into_iter().collect()))
}

/// A picked piece as a field carries it.
fn packed(piece: &PickedPiece) -> String {
    let spare = if piece.spare { "spare" } else { "" };
    let (tag, step, quantity) = (&piece.tag, &piece.step, piece.quantity);
    format!("{tag}{PART}{step}{PART}{quantity}{PART}{spare}")
}

fn unpacked(text: &str) -> Option<PickedPiece> {
    let mut parts = text.split(PART);
    let (tag, step) = (parts.next()?, parts.next()?);
    let (quantity, spare) = (parts.next()?, parts.next()?);
    Some(PickedPiece {
        tag: tag.to_owned(),
        step: step.to_owned(),
        quantity: quantity.parse().ok()?,
        spare: spare == "spare",
    })
}

/// Records the job as done.
pub(crate) async fn record(asker: Asker, Path(job): Path<String>, Form(sent): Form) -> Answer {
    let here = asker.here().await?;
    let weighings = weigh::weighings(&sent);
    let weighings = weighings.map_err(|wrong| refusal::not_understood(&wrong))?;
    let picked: Option<Vec<_>> = sent.all(PICKED).map(unpacked).collect();
    let Some(picked) = picked else {
        let text =
            "The form was not whole, so nothing was recorded. Open the log of the job again.";
        return Err(refusal::not_understood(text).into());
    };
    let asked = GetJobRequest { job: job.clone() };
    let booked: Job = asker.call(asked).await?.job.unwrap_or_default();
    let last = vec![(booked.job.as_str(), booked.last_seq)];
    let action = format!("/log/{}", booked.job);
    if let Some(asks) = changed::since_entries(&asker, &here, &sent, last, &action).await? {
        return Ok(asks);
    }
    let logged = LogUseRequest {
        request_id: sent.first("request_id").to_owned(),
        job,
        pads: found(&sent),
        weighings,
        picked,
        ..LogUseRequest::default()
    };
    let entry = asker.call(logged).await?.entry.unwrap_or_default();
    Ok(go_to(&format!("/entry/{}", entry.seq)))
}

/// The pads that tore, and those that fell.
fn found(sent: &Fields) -> Vec<PadUse> {
    let torn = sent.all("torn").map(|tag| PadUse {
        tag: tag.to_owned(),
        found: BinReason::Torn.into(),
        ..PadUse::default()
    });
    let is_torn = |tag: &str| sent.all("torn").any(|torn| torn == tag);
    let dropped = sent.all("dropped").filter(|tag| !is_torn(tag));
    let dropped = dropped.map(|tag| PadUse {
        tag: tag.to_owned(),
        aside: AsideReason::Dropped.into(),
        ..PadUse::default()
    });
    torn.chain(dropped).collect()
}
