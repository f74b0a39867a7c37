//! Picks on the wire: the pieces that go to a job, as they are shown and sent back, and what was taken.

use fettlebook_contract::v1;
use fettlebook_model::Moment;
use fettlebook_model::job::Job;
use fettlebook_model::take::Picked;

use super::{moment, seq};

pub(in crate::edge) fn picked(picked: &Picked) -> v1::PickedPiece {
    v1::PickedPiece {
        tag: picked.tag.to_string(),
        step: picked
            .step
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
        quantity: picked.quantity,
        spare: picked.spare,
    }
}

/// What was taken for a job, as at a moment.
pub(in crate::edge) fn taken(job: &Job, now: Moment) -> Option<v1::JobTake> {
    let take = job.taken.as_ref()?;
    let mut tags: Vec<String> = Vec::new();
    for picked in &take.picked {
        let tag = picked.tag.to_string();
        if !tags.contains(&tag) {
            tags.push(tag);
        }
    }
    let despite = take.despite.as_ref();
    Some(v1::JobTake {
        seq: seq(take.told.seq),
        by: take.told.by.to_string(),
        taken_time: Some(moment(take.at)),
        tags,
        despite: despite.map_or_else(String::new, |despite| despite.why.clone()),
        passed: despite.map_or_else(Vec::new, |despite| despite.passed.clone()),
        unlogged: job.is_left_unlogged(now),
    })
}
