//! What any command is held to: times, texts and figures that can be true.
//!
//! Serves every part of deciding. It looks at nothing but the figure itself: what contradicts the
//! book is not refused here.

use fettlebook_quantity::{code_point, field_words, is_unseen, out_of_bounds};

use crate::Moment;
use crate::book::command::Said;
use crate::ground::refusal::{Reason, Refusal};

/// How far a person's clock may run ahead of the service's, or behind it, s.
const CLOCK_OFF_S_MAX: i64 = 300;
/// The year 2000, s: nothing in a book happened before.
const YEAR_2000_S: i64 = 946_684_800;
/// Longest note, in characters: it is a line, not a letter.
const NOTE_CHARS_MAX: usize = 500;

/// When a thing was done: as said, or when it was kept, or now. What a device kept whose clock is off
/// is done now.
pub(super) fn done_at(said: &Said, now: Moment) -> Result<Moment, Refusal> {
    let kept_at = said.kept.as_ref().map(|kept| kept.mark.kept_at);
    let Some(moment) = said.done_at.or(kept_at) else {
        return Ok(now);
    };
    if said.kept.is_some() && is_off(moment, now) {
        return Ok(now);
    }
    if is_to_come(moment, now) {
        return Err(Refusal::new(
            Reason::TimeFuture,
            "done_time",
            "This is said to have happened in the future.",
            "Give the time it happened, or leave it out for now.",
        ));
    }
    if is_long_ago(moment) {
        return Err(Refusal::invalid(
            "done_time",
            "This is said to have happened before the year 2000.",
            "Give the time it happened, or leave it out for now.",
        ));
    }
    Ok(moment)
}

/// Whether nothing can have happened then, so that the clock that says so is off.
pub(super) fn is_off(moment: Moment, now: Moment) -> bool {
    is_to_come(moment, now) || is_long_ago(moment)
}

fn is_to_come(moment: Moment, now: Moment) -> bool {
    moment.as_second() > now.as_second().saturating_add(CLOCK_OFF_S_MAX)
}

/// Whether a moment is over. What is said to be now is not: some time goes by until it is heard.
pub(super) fn is_over(moment: Moment, now: Moment) -> bool {
    moment.as_second() < now.as_second().saturating_sub(CLOCK_OFF_S_MAX)
}

fn is_long_ago(moment: Moment) -> bool {
    moment.as_second() < YEAR_2000_S
}

/// A line of text for people: nothing in it that nobody sees, not too long.
pub(super) fn line_of_text(field: &str, text: &str, chars_max: usize) -> Result<(), Refusal> {
    if text.chars().any(char::is_control) {
        return Err(Refusal::invalid(
            field,
            format!("The {} has a control character in it.", field_words(field)),
            "Write it as one line of plain text.",
        ));
    }
    if let Some(mark) = text.chars().find(|c| is_unseen(*c)) {
        return Err(Refusal::invalid(
            field,
            format!(
                "The {} has {} in it, a mark that nobody sees.",
                field_words(field),
                code_point(mark)
            ),
            "Type it again as one line of plain text; what is pasted may bring such marks along.",
        ));
    }
    if text.chars().count() > chars_max {
        return Err(Refusal::invalid(
            field,
            format!(
                "The {} is longer than {chars_max} characters.",
                field_words(field)
            ),
            "Shorten it.",
        ));
    }
    Ok(())
}

/// A reason that a person gives: a line of text as long as a note at most.
pub(super) fn reason(field: &str, text: &str) -> Result<(), Refusal> {
    line_of_text(field, text, NOTE_CHARS_MAX)
}

/// A note: a line of text of bounded length.
pub(super) fn note(text: &str) -> Result<(), Refusal> {
    line_of_text("note", text, NOTE_CHARS_MAX)
}

/// A figure within what can be true.
pub(super) fn within(
    field: &str,
    value: i64,
    least: i64,
    most: i64,
    unit: &str,
) -> Result<(), Refusal> {
    if (least..=most).contains(&value) {
        return Ok(());
    }
    Err(Refusal::quantity(
        field,
        out_of_bounds(field, value, least, most, unit),
        "Look at the figure and its unit.",
    ))
}

/// A figure within what can be true, where it is given.
pub(super) fn open_within(
    field: &str,
    value: Option<i64>,
    least: i64,
    most: i64,
    unit: &str,
) -> Result<(), Refusal> {
    value.map_or(Ok(()), |value| within(field, value, least, most, unit))
}
