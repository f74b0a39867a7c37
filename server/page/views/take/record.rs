//! Recording what was packed, and giving back what was taken.
//!
//! What is not ticked is asked about; a job of several that cannot go keeps the others from going half.

use fettlebook_contract::v1::{
    Entry, ErrorReason, GetJobRequest, Job, PickedPiece, TakeJobRequest,
};
use tonic::{Code, Status};

use super::super::pick::unpacked_for;
use super::super::{Answer, to_entries, to_entry};
use super::packing::{self, Back};
use crate::asker::Asker;
use crate::form::{Fields, Form};
use crate::{changed, refusal, request};

/// What a form says is packed.
struct Packed {
    /// Jobs that it is about, in its order.
    jobs: Vec<Job>,
    /// Every piece that it showed, each with its job.
    shown: Vec<(String, PickedPiece)>,
    /// What is ticked.
    ticked: Vec<String>,
}

impl Packed {
    async fn read(asker: &Asker, sent: &Fields) -> Result<Option<Self>, Status> {
        let mut jobs = Vec::new();
        for job in sent.all("job") {
            let asked = GetJobRequest {
                job: job.to_owned(),
            };
            jobs.push(asker.call(asked).await?.job.unwrap_or_default());
        }
        let shown = sent
            .all("picked")
            .flat_map(str::split_whitespace)
            .map(|field| {
                let (job, piece) = unpacked_for(field)?;
                let is_of_form = jobs.iter().any(|one: &Job| one.job == job);
                is_of_form.then(|| (job.to_owned(), piece))
            });
        let shown: Option<Vec<_>> = shown.collect();
        Ok(shown.filter(|shown| !shown.is_empty()).map(|shown| Self {
            jobs,
            shown,
            ticked: sent.all("packed").map(str::to_owned).collect(),
        }))
    }

    fn is_ticked(&self, job: &str, piece: &PickedPiece) -> bool {
        self.ticked.contains(&packing::ticked_of(job, &piece.tag))
    }

    /// Tags of what is not ticked, each once.
    fn unticked(&self) -> Vec<String> {
        let left = self
            .shown
            .iter()
            .filter(|(job, piece)| !self.is_ticked(job, piece));
        let mut tags: Vec<String> = left.map(|(_, piece)| piece.tag.clone()).collect();
        tags.sort();
        tags.dedup();
        tags
    }

    /// Tags of all that it shows.
    fn tags(&self) -> impl Iterator<Item = String> {
        self.shown.iter().map(|(_, piece)| piece.tag.clone())
    }

    /// The takes that it tells, of all that is shown or of what is ticked; a job of which nothing goes is
    /// left out.
    fn takes(&self, sent: &Fields, whole: bool) -> Vec<TakeJobRequest> {
        let form = sent.first("request_id");
        let takes = self.jobs.iter().map(|job| {
            let of_job = self
                .shown
                .iter()
                .filter(|(of, piece)| *of == job.job && (whole || self.is_ticked(of, piece)));
            TakeJobRequest {
                request_id: request::of_part(form, &job.job),
                job: job.job.clone(),
                picked: of_job.map(|(_, piece)| piece.clone()).collect(),
                despite: sent.first(&format!("despite.{}", job.job)).to_owned(),
                ..TakeJobRequest::default()
            }
        });
        takes.filter(|take| !take.picked.is_empty()).collect()
    }

    fn title(&self) -> String {
        match self.jobs.as_slice() {
            [job] => format!("Take {}", job.job),
            jobs => format!("Take for {} jobs", jobs.len()),
        }
    }
}

/// Records what is packed as taken.
pub(crate) async fn record(asker: Asker, Form(sent): Form) -> Answer {
    let here = asker.here().await?;
    let Some(packed) = Packed::read(&asker, &sent).await? else {
        let text =
            "The form was not whole, so nothing was recorded. Open the list to pack by again.";
        return Err(refusal::not_understood(text).into());
    };
    let mut last = changed::whole_pieces(&asker, packed.tags()).await?;
    last.extend(
        packed
            .jobs
            .iter()
            .map(|job| (job.job.clone(), job.last_seq)),
    );
    if let Some(asks) = changed::since_entries(&asker, &here, &sent, last, "/take").await? {
        return Ok(asks);
    }
    let unticked = packed.unticked();
    let whole = match sent.first("which") {
        "all" => true,
        "ticked" => false,
        _ if unticked.is_empty() => true,
        _ => {
            let back = Back {
                unticked: &unticked,
                ..Back::default()
            };
            let title = packed.title();
            return packing::form(&asker, &here, &title, &packed.jobs, &sent, &back).await;
        }
    };
    match take_all(&asker, &packed.takes(&sent, whole)).await {
        Ok(seqs) if seqs.is_empty() => {
            let text =
                "Nothing is ticked, so nothing was recorded. Go back and tick what is packed.";
            Err(refusal::not_understood(text).into())
        }
        Ok(seqs) => Ok(to_entries(&seqs)),
        Err(refused) if is_to_mend(&refused) => {
            let back = Back {
                wrong: refused.message(),
                asks_why: refusal::is_for(&refused, ErrorReason::CheckStops),
                ..Back::default()
            };
            let title = packed.title();
            packing::form(&asker, &here, &title, &packed.jobs, &sent, &back).await
        }
        Err(refused) => Err(refused.into()),
    }
}

/// Whether it may go once something else is ticked or said.
fn is_to_mend(refused: &Status) -> bool {
    matches!(
        refused.code(),
        Code::FailedPrecondition | Code::InvalidArgument
    )
}

/// Takes them in turn, when each of them may go.
///
/// # Errors
/// What the service refused.
async fn take_all(asker: &Asker, takes: &[TakeJobRequest]) -> Result<Vec<i64>, Status> {
    if let [_, _, ..] = takes {
        for take in takes {
            let look = TakeJobRequest {
                validate_only: true,
                ..take.clone()
            };
            asker.call(look).await?;
        }
    }
    let mut seqs = Vec::new();
    for take in takes {
        let entry: Option<Entry> = asker.call(take.clone()).await?.entry;
        seqs.push(entry.unwrap_or_default().seq);
    }
    Ok(seqs)
}

/// Gives back what was taken for a job.
pub(crate) async fn give_back(asker: Asker, Form(sent): Form) -> Answer {
    let here = asker.here().await?;
    let job = sent.first("job").to_owned();
    let asked = GetJobRequest { job: job.clone() };
    let booked = asker.call(asked).await?.job.unwrap_or_default();
    let last = vec![(booked.job, booked.last_seq)];
    if let Some(asks) = changed::since_entries(&asker, &here, &sent, last, "/give-back").await? {
        return Ok(asks);
    }
    let given = TakeJobRequest {
        request_id: sent.first("request_id").to_owned(),
        job,
        release: true,
        ..TakeJobRequest::default()
    };
    Ok(to_entry(asker.call(given).await?.entry))
}
