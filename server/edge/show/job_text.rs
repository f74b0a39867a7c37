//! What entries say of jobs: when one is booked, and what went to it, what it was done without and by whom.

use fettlebook_model::Tag;
use fettlebook_model::job::Job;
use fettlebook_model::panel::Panel;
use fettlebook_model::take::Picked;
use jiff::tz::Offset;

use super::deed_text::list;

/// The sentence of a job that is booked or edited.
pub(super) fn booked(subject: &str, job: &Job) -> String {
    let offset = Offset::from_seconds(job.utc_offset_s).unwrap_or(Offset::UTC);
    let start = offset.to_datetime(job.starts_at);
    let start = jiff::fmt::strtime::format("%a %-d %b %Y %H:%M", start).unwrap_or_default();
    format!(
        "{subject}: booked for {start} at {}, {} on {}.",
        job.place, job.routine, job.car
    )
}

/// The sentence of a job that is done: without which panels, and by whom where that is not who was booked.
pub(super) fn done(subject: &str, left_out: &[Panel], person: &str) -> String {
    format!("{subject}: done{}.", how(left_out, person))
}

/// The same of its first day alone.
pub(super) fn first_day_done(subject: &str, left_out: &[Panel], person: &str) -> String {
    format!("{subject}: first day done{}.", how(left_out, person))
}

fn how(left_out: &[Panel], person: &str) -> String {
    let without = if left_out.is_empty() {
        String::new()
    } else {
        format!(", without {}", list(left_out))
    };
    let by = if person.is_empty() {
        String::new()
    } else {
        format!(" by {person}")
    };
    format!("{by}{without}")
}

/// The sentence of a job that a pick was taken for.
pub(super) fn taken(subject: &str, picked: &[Picked]) -> String {
    let mut tags: Vec<Tag> = picked.iter().map(|one| one.tag).collect();
    tags.sort();
    tags.dedup();
    format!("{subject}: taken with {}.", list(&tags))
}
