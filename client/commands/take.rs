//! `take JOB`: fixes the pick of a job, or gives it back.
//!
//! It serves the packing of the van. It asks the service what would be taken, and takes just that. A job
//! that the check stops ends with exit code 3, as the check does.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{
    GetJobRequest, ListPiecesRequest, PickedPiece, Piece, TakeJobRequest, TakeJobResponse,
};

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Form, Printer, take};
use crate::request;

/// What `take` takes.
#[derive(Args, Debug)]
pub(crate) struct Take {
    /// The booked job
    #[arg(value_name = "JOB", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
    /// Give back what was taken for it
    #[arg(long, conflicts_with_all = ["despite", "dry_run"])]
    pub(crate) release: bool,
    /// Why it is taken although the check says stop; recorded with what was passed
    #[arg(long, value_name = "WHY")]
    pub(crate) despite: Option<String>,
    /// Say what would be taken, and record nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Most pieces that are asked for at once, as many as the service gives.
const PIECES_MAX: i32 = 1_000;

/// Asks what would be taken, and takes it.
pub(crate) async fn perform(
    session: &Session,
    args: &Take,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut request = TakeJobRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        job: args.job.clone(),
        release: args.release,
        despite: args.despite.clone().unwrap_or_default(),
        ..TakeJobRequest::default()
    };
    if args.release {
        return give_back(session, request, printer).await;
    }
    request.validate_only = true;
    let seen: TakeJobResponse = session.call(request.clone()).await?;
    let pieces = pieces_of(session, &seen.picked).await?;
    let found = seen.entry.as_ref();
    let found = found.ok_or_else(|| Fault::answer("the entry"))?;
    if args.dry_run {
        printer.answer(&seen, |screen, _| {
            let by = seen.bring_by_time.as_ref();
            take::preview(screen, found, by, &seen.picked, &pieces)
        })?;
        return Ok(Exit::Done);
    }
    request.validate_only = false;
    // What was shown is what is taken.
    request.picked.clone_from(&seen.picked);
    let answer: TakeJobResponse = session.call(request).await?;
    let entry = answer.entry.as_ref();
    let entry = entry.ok_or_else(|| Fault::answer("the entry"))?;
    printer.answer(&answer, |screen, _| {
        let by = answer.bring_by_time.as_ref();
        take::taken(screen, entry, by, &seen.picked, &pieces)
    })?;
    Ok(Exit::Done)
}

/// Gives back what was taken, and says what is not at the bench: nothing is brought back by that.
async fn give_back(
    session: &Session,
    request: TakeJobRequest,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetJobRequest {
        job: request.job.clone(),
    };
    let job = session.call(asked).await;
    let exit = record(session, printer, request).await?;
    let taken = job.ok().and_then(|answer| answer.job?.taken);
    if let Some(taken) = taken.filter(|_| printer.form() == Form::People) {
        let of_tag = |tag: &String| PickedPiece {
            tag: tag.clone(),
            ..PickedPiece::default()
        };
        let picked: Vec<PickedPiece> = taken.tags.iter().map(of_tag).collect();
        let said = take::left_at(&taken.tags, &pieces_of(session, &picked).await?);
        if !said.is_empty() {
            printer.page(&said);
        }
    }
    Ok(exit)
}

/// The pieces of a pick, for saying what they are.
async fn pieces_of(session: &Session, picked: &[PickedPiece]) -> Result<Vec<Piece>, Fault> {
    let mut pieces = Vec::new();
    let mut asked = ListPiecesRequest {
        page_size: PIECES_MAX,
        ..ListPiecesRequest::default()
    };
    while !picked.is_empty() {
        let answer = session.call(asked.clone()).await?;
        let of_pick = |piece: &Piece| picked.iter().any(|one| one.tag == piece.tag);
        pieces.extend(answer.pieces.into_iter().filter(of_pick));
        if answer.next_page_token.is_empty() {
            break;
        }
        asked.page_token = answer.next_page_token;
    }
    Ok(pieces)
}
