//! The list to pack by: each piece of the pick where it stands, to be ticked, under what the check says.

use std::collections::BTreeMap;

use axum::http::StatusCode;
use fettlebook_contract::v1::{
    CheckJobsRequest, CheckLine, ErrorReason, Job, JobCheck, PickedPiece, Piece, TakeJobRequest,
    Unit, Verdict,
};
use minijinja::{Value, context};
use tonic::Status;

use super::super::Answer;
use super::super::pick::packed_for;
use crate::asker::{Asker, Here};
use crate::form::Fields;
use crate::words::{self, Clock};
use crate::{refusal, request, templates};

/// What a list is shown with beside its jobs: why it came back, where it was sent.
#[derive(Default)]
pub(super) struct Back<'a> {
    /// What stands in the way; empty for a list that is shown for the first time.
    pub(super) wrong: &'a str,
    /// Whether a sentence why it goes all the same would let it go.
    pub(super) asks_why: bool,
    /// Tags that are not ticked, where that is what stands in the way.
    pub(super) unticked: &'a [String],
    /// Jobs of the day that are packed after these.
    pub(super) more: usize,
}

/// Whether a job may be taken.
enum Gate {
    /// It goes.
    Open,
    /// It goes where a person says why.
    Asks,
    /// It is never passed; why, and how that ends.
    Shut(String),
}

impl Gate {
    /// By the check, and where that stops it by what the service says of a take.
    ///
    /// # Errors
    /// What the service refused of anything else.
    async fn of(asker: &Asker, here: &Here, check: &JobCheck) -> Result<Self, Status> {
        if check.verdict() != Verdict::Stop || check.taken.is_some() || !here.may_work() {
            return Ok(Self::Open);
        }
        let look = TakeJobRequest {
            job: check.job.clone(),
            validate_only: true,
            ..TakeJobRequest::default()
        };
        match asker.call(look).await {
            Err(refused) if refusal::is_for(&refused, ErrorReason::CheckStops) => Ok(Self::Asks),
            Err(refused) if refusal::is_for(&refused, ErrorReason::NeverPassed) => {
                Ok(Self::Shut(refused.message().to_owned()))
            }
            Err(refused) => Err(refused),
            Ok(_) => Ok(Self::Open),
        }
    }
}

/// The list, as nobody has touched it yet.
pub(super) async fn show(
    asker: &Asker,
    here: &Here,
    title: &str,
    jobs: &[Job],
    more: usize,
) -> Answer {
    let back = Back {
        more,
        ..Back::default()
    };
    form(asker, here, title, jobs, &Fields::default(), &back).await
}

/// The list, with what was ticked and typed.
pub(super) async fn form(
    asker: &Asker,
    here: &Here,
    title: &str,
    jobs: &[Job],
    sent: &Fields,
    back: &Back<'_>,
) -> Answer {
    let asked = CheckJobsRequest {
        jobs: jobs.iter().map(|job| job.job.clone()).collect(),
        ..CheckJobsRequest::default()
    };
    let checked = asker.call(asked).await?;
    let tags = checked
        .checks
        .iter()
        .flat_map(picks)
        .map(|(_, one)| one.tag);
    let pieces = asker.pieces(tags).await?;
    let ticked: Vec<&str> = sent.all("packed").collect();
    let mut of_jobs = Vec::new();
    for check in &checked.checks {
        let job = jobs.iter().find(|job| job.job == check.job);
        let clock = job.map_or_else(Clock::own, |job| Clock::of_job(job.utc_offset_s));
        let gate = Gate::of(asker, here, check).await?;
        let why = sent.first(&format!("despite.{}", check.job));
        of_jobs.push(context! {
            start => clock.moment_or_none(check.start_time.as_ref()),
            asks_why => matches!(gate, Gate::Asks) || back.asks_why,
            why,
            shut => match &gate {
                Gate::Shut(why) => why.as_str(),
                Gate::Open | Gate::Asks => "",
            },
            goes => check.taken.is_none() && !matches!(gate, Gate::Shut(_)),
            ..one_job(check, &pieces, &ticked)
        });
    }
    let goes = |job: &Value| job.get_attr("goes").is_ok_and(|goes| goes.is_true());
    let id = sent.first("request_id");
    let id = if id.is_empty() {
        request::fresh()
    } else {
        id.to_owned()
    };
    let told = context! {
        open => of_jobs.iter().any(goes),
        jobs => of_jobs.into_iter().collect::<Value>(),
        assumption => checked.assumption,
        wrong => back.wrong,
        unticked => back.unticked.join(", "),
        more => back.more,
        request_id => id,
        seen => here.head_seq,
    };
    let code = if back.wrong.is_empty() && back.unticked.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    Ok(templates::page(code, "pack.html", Some(here), title, told))
}

/// What a check picks, each with its line.
fn picks(check: &JobCheck) -> impl Iterator<Item = (&CheckLine, PickedPiece)> {
    check.lines.iter().flat_map(|line| {
        line.picks.iter().map(move |pick| {
            let picked = PickedPiece {
                tag: pick.tag.clone(),
                step: line.step.clone(),
                quantity: pick.quantity,
                spare: pick.spare,
            };
            (line, picked)
        })
    })
}

/// What the check says of a job, and its pick by place.
fn one_job(check: &JobCheck, pieces: &[Piece], ticked: &[&str]) -> Value {
    let id = check.job.as_str();
    let mut all = Vec::new();
    // A piece that works in two steps is packed once.
    let mut goes: Vec<(Option<&Piece>, String, String)> = Vec::new();
    for (line, picked) in picks(check) {
        all.push(packed_for(id, &picked));
        let part = part(line, &picked);
        if let Some((_, _, said)) = goes.iter_mut().find(|(_, tag, _)| *tag == picked.tag) {
            said.push_str(&format!("; {part}"));
            continue;
        }
        let piece = pieces.iter().find(|piece| piece.tag == picked.tag);
        let make = piece.map_or(line.what.as_str(), |piece| piece.make_name.as_str());
        let comma = if part.is_empty() { "" } else { ", " };
        let said = format!("{} {make}{comma}{part}", picked.tag);
        goes.push((piece, picked.tag, said));
    }
    let mut by_place: BTreeMap<&str, Vec<Value>> = BTreeMap::new();
    for (piece, tag, said) in goes {
        let place = piece.map_or(check.place.as_str(), |piece| piece.place.as_str());
        let value = ticked_of(id, &tag);
        let row = context! { said, ticked => ticked.contains(&value.as_str()), value };
        by_place.entry(place).or_default().push(row);
    }
    let stops = check
        .lines
        .iter()
        .filter(|line| line.verdict() == Verdict::Stop);
    context! {
        job => id,
        place => check.place.as_str(),
        verdict => words::verdict(check.verdict()),
        stops => stops.map(|line| format!("{}: {}", line.what, words::reasons(line).join(" · "))).collect::<Value>(),
        taken => check.taken.as_ref().map(|taken| taken.by.as_str()),
        release_id => request::fresh(),
        places => by_place
            .into_iter()
            .map(|(place, rows)| context! { place, rows => rows.into_iter().collect::<Value>() })
            .collect::<Value>(),
        // None of them has a blank.
        all => all.join(" "),
    }
}

/// What stands in the tick of a piece that goes to a job.
pub(super) fn ticked_of(job: &str, tag: &str) -> String {
    format!("{job}~{tag}")
}

/// How much of a piece goes, and what for.
fn part(line: &CheckLine, picked: &PickedPiece) -> String {
    let mut parts = Vec::new();
    if line.unit() != Unit::Piece || picked.quantity > 1 {
        parts.push(words::quantity(picked.quantity, line.unit()));
    }
    if !picked.step.is_empty() {
        parts.push(picked.step.clone());
    }
    if picked.spare {
        parts.push("spare".to_owned());
    }
    parts.join(", ")
}
