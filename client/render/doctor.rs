//! What is well and what is not, a line a thing, each that is not with what to do next.
//!
//! The service tells facts; from when on they are not well stands in `lines.rs`.

mod lines;
#[cfg(test)]
mod tests;

use fettlebook_contract::v1::{Device, GetConditionResponse};
use jiff::Timestamp;
use serde_json::{Value, json};

use crate::fault::Fault;
use crate::json::to_value;
use crate::render::screen::{Screen, several};
use crate::render::tint;

pub(crate) use lines::lines;

/// Columns of the word before a line.
const MARK_WIDTH: usize = 9;
/// Columns of what a line is about.
const ABOUT_WIDTH: usize = 12;
/// Narrowest page on which these have columns of their own.
const COLUMNS_WIDE: usize = 60;

/// What was asked of the service, and what came of it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Answered {
    /// How it stands.
    Condition(Box<GetConditionResponse>),
    /// It is older than this program and does not know the question.
    Older,
    /// It is out of reach, and why.
    Away(String),
}

/// Where the book is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// In a folder, served by this process.
    Folder(String),
    /// Served at an address.
    At(String),
    /// In a shop that this device is paired with.
    Shop {
        /// Where it is dialled.
        address: String,
        /// Name of this device.
        device: String,
        /// What it may do.
        role: String,
        /// Whether its book is on this very machine, and its service does not run.
        is_here: bool,
    },
}

/// What a device holds of its shop.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Held {
    /// Deeds that wait to be sent.
    pub(crate) waiting_count: usize,
    /// Deeds that were refused and wait for a person.
    pub(crate) parked_count: usize,
    /// Why the outbox cannot be read; empty where it can.
    pub(crate) trouble: String,
    /// When the copy was last brought up; none where there is none.
    pub(crate) copied: Option<Timestamp>,
}

/// All that was looked at.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Facts {
    /// The moment by this device's clock.
    pub(crate) now: Timestamp,
    /// Where the book is.
    pub(crate) place: Place,
    /// What the service says.
    pub(crate) answered: Answered,
    /// What this device holds of its shop; none where there is no shop.
    pub(crate) held: Option<Held>,
    /// Devices of the shop that are let in, where this one may know.
    pub(crate) devices: Vec<Device>,
}

/// One thing that was looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Line {
    /// What it is about, a word.
    pub(crate) about: &'static str,
    /// How it stands.
    pub(crate) told: String,
    /// What to do next; nothing where it is well.
    pub(crate) todo: Option<String>,
}

/// Whether all of it is well.
pub(crate) fn is_well(lines: &[Line]) -> bool {
    lines.iter().all(|line| line.todo.is_none())
}

/// The screen.
pub(crate) fn page(screen: &Screen, facts: &Facts, lines: &[Line]) -> String {
    let now = prost_types::Timestamp {
        seconds: facts.now.as_second(),
        nanos: 0,
    };
    let mut page = tint::strong(&screen.moment(&now));
    for line in lines {
        page.push('\n');
        page.push_str(&told(screen, line));
    }
    let bad_count = lines.iter().filter(|line| line.todo.is_some()).count();
    page.push('\n');
    page.push_str(&match bad_count {
        0 => tint::good("All is well."),
        1 => tint::warn("1 thing is not well."),
        count => {
            let count = i64::try_from(count).unwrap_or(i64::MAX);
            tint::warn(&format!(
                "{} are not well.",
                several(count, "thing", "things")
            ))
        }
    });
    page
}

/// A line, with what to do behind it or, where that has no room, below it.
fn told(screen: &Screen, line: &Line) -> String {
    let (word, mark) = match line.todo {
        None => ("well", tint::good("well")),
        Some(_) => ("not well", tint::warn("not well")),
    };
    let Line { about, told, todo } = line;
    let (first, rest) = if screen.width < COLUMNS_WIDE {
        (
            format!("{mark}  {}: ", tint::strong(about)),
            "  ".to_owned(),
        )
    } else {
        let gap = " ".repeat(MARK_WIDTH.saturating_sub(word.len()));
        let space = " ".repeat(ABOUT_WIDTH.saturating_sub(about.len()));
        let first = format!("{mark}{gap}{}{space}", tint::strong(about));
        (first, " ".repeat(MARK_WIDTH + ABOUT_WIDTH))
    };
    let Some(todo) = todo else {
        return screen.hung(&first, &rest, told);
    };
    let in_one = screen.hung(&first, &rest, &format!("{told} → {todo}"));
    if !in_one.contains('\n') {
        return in_one;
    }
    let below = screen.hung(&format!("{rest}→ "), &format!("{rest}  "), todo);
    format!("{}\n{below}", screen.hung(&first, &rest, told))
}

/// The same as a document.
///
/// # Errors
/// When what the service said cannot be written as JSON.
pub(crate) fn document(facts: &Facts, lines: &[Line]) -> Result<Value, Fault> {
    let condition = match &facts.answered {
        Answered::Condition(condition) => to_value(&**condition)?,
        Answered::Older | Answered::Away(_) => Value::Null,
    };
    let lines_told = lines.iter().map(|line| {
        json!({
            "about": line.about,
            "well": line.todo.is_none(),
            "told": line.told,
            "todo": line.todo.clone().unwrap_or_default(),
        })
    });
    Ok(json!({
        "well": is_well(lines),
        "reached": !matches!(facts.answered, Answered::Away(_)),
        "lines": lines_told.collect::<Vec<_>>(),
        "condition": condition,
    }))
}
