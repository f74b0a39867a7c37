//! Entries of the book: what was recorded, what contradicts it, and how to take it back.
//!
//! It serves every command that writes, and `book entries` and `book show`. The sentences are the
//! service's; this page only sets them out.

use fettlebook_contract::v1::{Deed, DeedKind, Entry, Flag};
use textwrap::core::display_width;

use crate::render::screen::{NO_BREAK, Screen, several};
use crate::render::tint;

pub(crate) mod list;

pub(crate) use list::{List, about, line};

/// An entry that a command has just recorded.
pub(crate) fn recorded(screen: &Screen, entry: &Entry) -> String {
    whole(screen, entry) + &take_back(entry)
}

/// One thing that was set, as it was understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Understood {
    /// What it is called.
    pub(crate) name: String,
    /// What it was before; empty where it was nothing.
    pub(crate) old: String,
    /// What it is now; empty where it is nothing.
    pub(crate) new: String,
}

/// An entry that a command has just recorded, with what it set, old beside new.
pub(crate) fn recorded_as(screen: &Screen, entry: &Entry, understood: &[Understood]) -> String {
    let mut text = whole(screen, entry);
    let widest = understood.iter().map(|one| display_width(&one.name)).max();
    let widest = widest.unwrap_or_default();
    for Understood { name, old, new } in understood {
        let said = match (old.as_str(), new.as_str()) {
            ("", new) => new.to_owned(),
            (old, "") => format!("nothing (was {old})"),
            (old, new) => format!("{new} (was {old})"),
        };
        let pad = widest.saturating_sub(display_width(name));
        let first = format!("  {name}{}  ", " ".repeat(pad));
        text.push('\n');
        text.push_str(&screen.hung(&first, &" ".repeat(widest.saturating_add(4)), &said));
    }
    text + &take_back(entry)
}

/// An entry that says what its preview said: its number and how to take it back.
pub(crate) fn as_understood(screen: &Screen, entry: &Entry) -> String {
    let deeds = i64::try_from(entry.deeds.len()).unwrap_or(i64::MAX);
    if is_kept_here(entry) {
        let heading = heading(screen, entry);
        let lines = several(deeds, "line", "lines");
        return format!("{heading}\n  Kept as understood, {lines}.");
    }
    let lines = several(deeds, "line", "lines");
    let read = format!("fettle book show {}", entry.seq).replace(' ', &NO_BREAK.to_string());
    let told = format!("Recorded as understood, {lines}; to read it again: {read}");
    format!(
        "{}\n{}{}",
        heading(screen, entry),
        screen.hung("  ", "  ", &told),
        take_back(entry)
    )
}

/// An entry of too many deeds to list: its number, what it did in all, what contradicts it and how to
/// take it back.
pub(crate) fn summed_up(screen: &Screen, entry: &Entry, what: &str) -> String {
    format!(
        "{}\n{what}{}{}",
        heading(screen, entry),
        flags(screen, entry),
        take_back(entry)
    )
}

/// Whether it was only kept on this device so far, and has no number in the book.
fn is_kept_here(entry: &Entry) -> bool {
    entry.seq == 0
}

/// How to take an entry back; a reversal is not taken back itself, nor what is not in the book yet.
fn take_back(entry: &Entry) -> String {
    if is_kept_here(entry) || entry.deeds.iter().any(is_reversal) {
        return String::new();
    }
    let how = format!("To take it back: fettle undo {}", entry.seq);
    format!("\n{}", tint::faint(&how))
}

/// That an entry was taken back by another.
pub(crate) fn taken_back(screen: &Screen, entry: &Entry, by: i64) -> String {
    let told = format!("entry {}, {}.", entry.seq, brief(entry));
    screen.hung(&format!("Taken back by entry {by}: "), "  ", &told)
}

fn is_reversal(deed: &Deed) -> bool {
    deed.kind() == DeedKind::Reversed
}

/// What a command would record, before it is sent.
pub(crate) fn preview(screen: &Screen, entry: &Entry) -> String {
    let mut text = format!(
        "Understood, done {}:",
        screen.moment_or(entry.done_time.as_ref(), "now")
    );
    text.push_str(&deeds_and_flags(screen, entry));
    if entry.deeds.is_empty() {
        text.push_str("\n  What follows from it only the shop can say.");
    }
    text
}

/// One entry with everything it says.
pub(crate) fn whole(screen: &Screen, entry: &Entry) -> String {
    let mut text = heading(screen, entry);
    text.push_str(&deeds_and_flags(screen, entry));
    if !entry.note.is_empty() {
        text.push('\n');
        text.push_str(&screen.hung("  Note: ", "    ", &entry.note));
    }
    if let Some(by) = entry.reversed_by_seq {
        text.push_str(&format!(
            "\n  {}",
            tint::warn(&format!("Reversed by entry {by}"))
        ));
    }
    text
}

/// The figures of an entry that only `book show` tells.
pub(crate) fn details(screen: &Screen, entry: &Entry) -> String {
    let mut text = whole(screen, entry);
    text.push_str(&format!(
        "\n  Recorded {} by {}, request {}",
        screen.moment_or(entry.recorded_time.as_ref(), "at no known time"),
        if entry.by.is_empty() {
            "nobody named"
        } else {
            &entry.by
        },
        if entry.request_id.is_empty() {
            "without id"
        } else {
            &entry.request_id
        },
    ));
    if let Some(kept) = &entry.kept {
        text.push_str(&format!(
            "\n  Kept {} as deed {} of {}, which had seen entry {}",
            screen.moment_or(kept.kept_time.as_ref(), "at no known time"),
            kept.number,
            entry.by,
            kept.seen_seq
        ));
    }
    text
}

fn heading(screen: &Screen, entry: &Entry) -> String {
    let when = screen.moment_or(
        entry.done_time.as_ref().or(entry.recorded_time.as_ref()),
        "",
    );
    let name = match &entry.kept {
        Some(kept) if is_kept_here(entry) => format!("Kept here as deed {}", kept.number),
        None if is_kept_here(entry) => "Kept here".to_owned(),
        _ => format!("Entry {}", entry.seq),
    };
    format!("{}  {when}", tint::strong(&name))
}

fn deeds_and_flags(screen: &Screen, entry: &Entry) -> String {
    let told = told(entry);
    let fits = |width: &usize| *width <= SUBJECTS_WIDTH_MAX;
    let widths = told.iter().map(|told| display_width(&told.named()));
    let widest = widths.filter(fits).max().unwrap_or(0);
    let mut text = String::new();
    for told in &told {
        let named = told.named();
        text.push('\n');
        if named.is_empty() {
            text.push_str(&screen.hung("  ", "    ", &told.sentence()));
        } else if fits(&display_width(&named)) {
            let first = format!("  {named:<widest$}  ");
            text.push_str(&screen.hung(&first, &" ".repeat(widest + 4), &told.sentence()));
        } else {
            let all = format!("{named}  {}", told.sentence());
            text.push_str(&screen.hung("  ", "    ", &all));
        }
    }
    text.push_str(&flags(screen, entry));
    text
}

/// What contradicts the book, a line each, each after a line end.
pub(crate) fn flags(screen: &Screen, entry: &Entry) -> String {
    let mut text = String::new();
    for flag in &entry.flags {
        text.push('\n');
        let first = format!("  {} ", tint::warn("Flagged:"));
        text.push_str(&screen.hung(&first, "    ", flag_text(flag)));
    }
    text
}

/// What contradicts the book, told alone; an earlier service says it in one way only.
fn flag_text(flag: &Flag) -> &str {
    match flag.tagged_text.as_str() {
        "" => &flag.text,
        tagged => tagged,
    }
}

/// One sentence of an entry and all that it is said of.
struct Told<'a> {
    subjects: Vec<&'a str>,
    /// What is said, without its full stop.
    clause: String,
    /// Whether it stands behind a colon rather than going on from its subject.
    colon: bool,
}

impl Told<'_> {
    fn named(&self) -> String {
        self.subjects.join(", ")
    }

    fn sentence(&self) -> String {
        format!("{}.", self.clause)
    }
}

/// The sentences of an entry in order; what is said of several in a row is said once.
fn told(entry: &Entry) -> Vec<Told<'_>> {
    let mut all: Vec<Told<'_>> = Vec::new();
    for deed in &entry.deeds {
        let clause = with_step(deed);
        let subject = Some(deed.subject.as_str()).filter(|_| !deed.clause.is_empty());
        match (all.last_mut(), subject) {
            (Some(last), Some(subject)) if last.clause == clause => {
                last.subjects.push(subject);
            }
            _ => all.push(Told {
                colon: deed.apart,
                subjects: subject.into_iter().collect(),
                clause,
            }),
        }
    }
    all
}

/// What was done, with the step in which it was.
pub(crate) fn with_step(deed: &Deed) -> String {
    if deed.step.is_empty() {
        clause(deed).to_owned()
    } else {
        format!("{} ({})", clause(deed), deed.step)
    }
}

/// Longer subjects, such as the ids of makes, do not push every sentence to the right.
const SUBJECTS_WIDTH_MAX: usize = 24;

/// The deed's sentence without its full stop, and without its subject where it opens with it.
pub(crate) fn clause(deed: &Deed) -> &str {
    match deed.clause.as_str() {
        "" => deed.text.trim_end_matches('.'),
        clause => clause,
    }
}

/// The deed's whole sentence without its full stop.
pub(crate) fn told_of(deed: &Deed) -> String {
    match deed.clause.as_str() {
        "" => clause(deed).to_owned(),
        said if deed.apart => format!("{}: {said}", deed.subject),
        said => format!("{} {said}", deed.subject),
    }
}

/// Sentences told in a list before the rest is only counted.
const SENTENCES_TOLD: usize = 3;

fn brief(entry: &Entry) -> String {
    let mut told = told(entry);
    // Of a job that was done the job comes first, whatever it used.
    let done = entry
        .deeds
        .iter()
        .find(|deed| matches!(deed.kind(), DeedKind::JobDone | DeedKind::FirstDayDone));
    if let Some(job) = done {
        let is_of_job = |told: &Told<'_>| told.subjects.contains(&job.subject.as_str());
        told.sort_by_key(|told| !is_of_job(told));
    }
    let mut parts: Vec<String> = told
        .iter()
        .take(SENTENCES_TOLD)
        .map(|told| {
            let clause = &told.clause;
            if told.subjects.is_empty() {
                clause.clone()
            } else if told.colon {
                format!("{}: {clause}", told.named())
            } else {
                format!("{} {clause}", told.named())
            }
        })
        .collect();
    let more = told.len().saturating_sub(SENTENCES_TOLD);
    if more > 0 {
        parts.push(format!("and {more} more"));
    }
    parts.join("; ")
}
