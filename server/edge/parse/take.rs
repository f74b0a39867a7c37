//! Takes from the wire: the pick of a job that is taken or given back.
//!
//! It serves `TakeJob`.

use fettlebook_contract::v1;
use fettlebook_model::command::JobTake;
use fettlebook_model::{Book, Command, Refusal};

use super::log::picked;
use super::{id, said_and_kept};

pub(in crate::edge) fn take(sent: v1::TakeJobRequest, _: &Book) -> Result<Command, Refusal> {
    let stray = [
        ("picked", !sent.picked.is_empty()),
        ("despite", !sent.despite.is_empty()),
    ];
    if let Some((field, _)) = stray.iter().find(|(_, given)| *given && sent.release) {
        return Err(Refusal::invalid(
            field,
            format!("`{field}` is about a pick that is taken; this one is given back."),
            "Leave it out, or leave `release` out.",
        ));
    }
    Ok(Command::TakeJob(Box::new(JobTake {
        job: id("job", &sent.job)?,
        is_released: sent.release,
        picked: picked("picked", &sent.picked)?,
        despite: sent.despite,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_given_back_brings_neither_a_pick_nor_a_reason() {
        let given_back = v1::TakeJobRequest {
            job: "saloon-thursday".to_owned(),
            release: true,
            ..v1::TakeJobRequest::default()
        };
        assert!(take(given_back.clone(), &Book::new()).is_ok());
        let reasoned = v1::TakeJobRequest {
            despite: "the customer waits".to_owned(),
            ..given_back.clone()
        };
        assert_eq!(take(reasoned, &Book::new()).unwrap_err().field, "despite");
        let picked = v1::TakeJobRequest {
            picked: vec![v1::PickedPiece {
                tag: "P-01".to_owned(),
                ..v1::PickedPiece::default()
            }],
            ..given_back
        };
        assert_eq!(take(picked, &Book::new()).unwrap_err().field, "picked");
    }
}
