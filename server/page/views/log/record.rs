//! Recording a job as done.

use axum::extract::Path;
use fettlebook_contract::v1::{GetJobRequest, LogUseRequest};
use tonic::Code;

use super::super::pick::unpacked;
use super::super::{Answer, to_entry};
use super::{FIRST_DAY, Sheet, form, otherwise};
use crate::asker::Asker;
use crate::form::Form;
use crate::{changed, refusal};

/// Records it, with the pick that the form shows.
pub(crate) async fn record(asker: Asker, Path(job): Path<String>, Form(sent): Form) -> Answer {
    let here = asker.here().await?;
    let picked: Option<Vec<_>> = sent.all("picked").map(unpacked).collect();
    let Some(picked) = picked else {
        let text =
            "The form was not whole, so nothing was recorded. Open the log of the job again.";
        return Err(refusal::not_understood(text).into());
    };
    let asked = GetJobRequest { job: job.clone() };
    let booked = asker.call(asked).await?.job.unwrap_or_default();
    let first_day = !sent.first(FIRST_DAY).is_empty();
    let again = |wrong| Sheet {
        booked: &booked,
        picked: &picked,
        planned: "",
        first_day,
        sent: &sent,
        wrong,
    };
    let said = match otherwise::read(&sent) {
        Ok(said) => said,
        Err(wrong) => return form(&asker, &here, &again(&wrong)).await,
    };
    let tags = picked.iter().map(|one| one.tag.clone());
    let mut last = changed::whole_pieces(&asker, tags).await?;
    last.push((booked.job.clone(), booked.last_seq));
    let action = format!("/log/{}", booked.job);
    if let Some(asks) = changed::since_entries(&asker, &here, &sent, last, &action).await? {
        return Ok(asks);
    }
    let logged = LogUseRequest {
        request_id: sent.first("request_id").to_owned(),
        job,
        picked: picked.clone(),
        first_day,
        ..said
    };
    match asker.call(logged).await {
        Ok(logged) => Ok(to_entry(logged.entry)),
        // A tag that does not exist, a figure that cannot be: what was typed stays.
        Err(refused) if matches!(refused.code(), Code::NotFound | Code::InvalidArgument) => {
            let wrong = format!("{} Nothing was recorded.", refused.message());
            form(&asker, &here, &again(&wrong)).await
        }
        Err(refused) => Err(refused.into()),
    }
}
