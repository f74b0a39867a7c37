//! Deciding: a command becomes deeds, or a refusal that changes nothing.
//!
//! What is wished (a definition, a booking, a price) may be refused with reason and field. What
//! happened (a use, a wash, a weigh-in, a loss) is taken in and flagged where it contradicts the
//! book; it is refused only when it cannot be understood.

mod define;
mod diary;
mod flags;
mod log;
mod loose;
mod receive;
mod reverse;
mod shares;
mod upkeep;

pub use log::log_as_planned;

use crate::command::{Command, Said};
use crate::deed::{Deed, Flag};
use crate::refusal::{Reason, Refusal};
use crate::{Book, Moment};

/// What a command does, before it is recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Decision {
    /// What happens.
    pub deeds: Vec<Deed>,
    /// What contradicts the book.
    pub flags: Vec<Flag>,
    /// When it happened.
    pub done_at: Moment,
    /// Anything worth remembering.
    pub note: String,
}

impl Decision {
    /// These deeds, done now, with nothing to flag.
    fn now(deeds: Vec<Deed>, now: Moment) -> Self {
        Self {
            deeds,
            flags: Vec::new(),
            done_at: now,
            note: String::new(),
        }
    }
}

/// Decides a command against a book at a moment.
///
/// # Errors
/// A [`Refusal`] that names the field, what was wrong and what to do. Nothing has changed then.
pub fn decide(book: &Book, command: &Command, now: Moment) -> Result<Decision, Refusal> {
    match command {
        Command::CreateMake { make } => define::create_make(book, make, now),
        Command::EditMake { was, make } => define::edit_make(book, was, make, now),
        Command::CreateCar { car } => define::create_car(book, car, now),
        Command::EditCar { was, car } => define::edit_car(book, was, car, now),
        Command::CreateRoutine { routine } => define::create_routine(book, routine, now),
        Command::EditRoutine { was, routine } => define::edit_routine(book, was, routine, now),
        Command::SetPolicies { changes, note } => define::set_policies(book, changes, note, now),
        Command::Receive(receipt) => receive::receive(book, receipt, now),
        Command::Move { said, tags, place } => upkeep::move_kit(book, said, tags, place, now),
        Command::Wash { said, tags } => upkeep::wash(book, said, tags, now),
        Command::MarkDry { said, tags } => upkeep::mark_dry(book, said, tags, now),
        Command::Weigh { said, weighings } => upkeep::weigh(book, said, weighings, now),
        Command::Count { said, tag, count } => upkeep::count(book, said, *tag, *count, now),
        Command::SetAside { said, tags, reason } => {
            upkeep::set_aside(book, said, tags, *reason, now)
        }
        Command::Return { said, tags } => upkeep::give_back(book, said, tags, now),
        Command::Bin {
            said,
            tags,
            reason,
            count,
        } => upkeep::bin(book, said, tags, *reason, *count, now),
        Command::Demote { said, tag, grade } => upkeep::demote(book, said, *tag, *grade, now),
        Command::BookJob { job } => diary::book_job(book, job, now),
        Command::EditJob { was, job } => diary::edit_job(book, was, job, now),
        Command::CallOff { said, job } => diary::call_off(book, said, job, now),
        Command::LogJob(log) => log::log_job(book, log, now),
        Command::LogLoose(loose) => loose::log_loose(book, loose, now),
        Command::Reverse { said, seq, past } => {
            reverse::reverse(book, said, *seq, past.as_deref(), now)
        }
    }
}

/// How far a person's clock may run ahead of the service's, s.
const CLOCK_AHEAD_S_MAX: i64 = 300;
/// Longest note, in characters: it is a line, not a letter.
const NOTE_CHARS_MAX: usize = 500;

/// When a thing was done: as said, or now.
fn done_at(said: &Said, now: Moment) -> Result<Moment, Refusal> {
    let Some(moment) = said.done_at else {
        return Ok(now);
    };
    if moment.as_second() > now.as_second().saturating_add(CLOCK_AHEAD_S_MAX) {
        return Err(Refusal::new(
            Reason::TimeFuture,
            "done_time",
            "This is said to have happened in the future.",
            "Give the time it happened, or leave it out for now.",
        ));
    }
    const YEAR_2000_S: i64 = 946_684_800;
    if moment.as_second() < YEAR_2000_S {
        return Err(Refusal::invalid(
            "done_time",
            "This is said to have happened before the year 2000.",
            "Give the time it happened, or leave it out for now.",
        ));
    }
    Ok(moment)
}

/// A line of text for people: no control characters, not too long.
fn line_of_text(field: &str, text: &str, chars_max: usize) -> Result<(), Refusal> {
    if text.chars().any(char::is_control) {
        return Err(Refusal::invalid(
            field,
            format!("`{field}` has a control character in it."),
            "Write it as one line of plain text.",
        ));
    }
    if text.chars().count() > chars_max {
        return Err(Refusal::invalid(
            field,
            format!("`{field}` is longer than {chars_max} characters."),
            "Shorten it.",
        ));
    }
    Ok(())
}

/// A note: a line of text of bounded length.
fn note(text: &str) -> Result<(), Refusal> {
    line_of_text("note", text, NOTE_CHARS_MAX)
}

/// A figure within what can be true.
fn within(field: &str, value: i64, least: i64, most: i64, unit: &str) -> Result<(), Refusal> {
    if (least..=most).contains(&value) {
        return Ok(());
    }
    Err(Refusal::quantity(
        field,
        format!("`{field}` is {value}; it lies between {least} and {most} {unit}.")
            .replace(" .", "."),
        "Look at the figure and its unit.",
    ))
}
