//! Entries of the book: what was recorded, what contradicts it, and how to take it back.
//!
//! It serves every command that writes, and `book entries` and `book show`. The sentences are the
//! service's; this page only sets them out.

use fettlebook_contract::v1::{Deed, Entry};

use crate::render::screen::Screen;
use crate::render::table::{Column, table};
use crate::render::tint;

/// An entry that a command has just recorded.
pub(crate) fn recorded(screen: &Screen, entry: &Entry) -> String {
    let mut text = whole(screen, entry);
    text.push_str(&format!(
        "\n{}",
        tint::faint(&format!(
            "To take it back: fettle book reverse {}",
            entry.seq
        ))
    ));
    text
}

/// What a command would record, before it is sent.
pub(crate) fn preview(screen: &Screen, entry: &Entry) -> String {
    let mut text = format!(
        "Understood, done {}:",
        screen.moment_or(entry.done_time.as_ref(), "now")
    );
    text.push_str(&deeds_and_flags(screen, entry));
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
    text
}

fn heading(screen: &Screen, entry: &Entry) -> String {
    let when = screen.moment_or(
        entry.done_time.as_ref().or(entry.recorded_time.as_ref()),
        "",
    );
    format!("{}  {when}", tint::strong(&format!("Entry {}", entry.seq)))
}

fn deeds_and_flags(screen: &Screen, entry: &Entry) -> String {
    let widest = entry
        .deeds
        .iter()
        .map(|deed| textwrap::core::display_width(&deed.subject))
        .max()
        .unwrap_or(0)
        .min(SUBJECT_WIDTH_MAX);
    let mut text = String::new();
    for deed in &entry.deeds {
        text.push('\n');
        let first = format!("  {:<widest$}  ", deed.subject);
        let rest = " ".repeat(widest + 4);
        let told = if deed.step.is_empty() {
            sentence(deed).to_owned()
        } else {
            format!("{}: {}", deed.step, sentence(deed))
        };
        text.push_str(&screen.hung(&first, &rest, &told));
    }
    for flag in &entry.flags {
        text.push('\n');
        let first = format!("  {} {}: ", tint::warn("Count it:"), flag.tag);
        text.push_str(&screen.hung(&first, "    ", &flag.text));
    }
    text
}

/// Longer subjects, such as the ids of makes, do not push every sentence to the right.
const SUBJECT_WIDTH_MAX: usize = 12;

/// The deed's sentence without its subject, which stands before it already.
fn sentence(deed: &Deed) -> &str {
    deed.text
        .strip_prefix(deed.subject.as_str())
        .map_or(deed.text.as_str(), |rest| {
            rest.trim_start_matches([':', ' '])
        })
}

/// The deed's sentence as a part of a longer one.
fn clause(deed: &Deed) -> &str {
    sentence(deed).trim_end_matches('.')
}

/// Entries, a line each.
pub(crate) fn list(screen: &Screen, entries: &[Entry]) -> String {
    if entries.is_empty() {
        return "No entries.".to_owned();
    }
    table(
        screen,
        &[
            ("Entry", Column::Right),
            ("Done", Column::Whole),
            ("What happened", Column::Text),
        ],
        entries.iter().map(|entry| row(screen, entry, brief(entry))),
    )
}

/// Entries about one subject: its own deeds only.
pub(crate) fn about(screen: &Screen, subject: &str, entries: &[Entry], shown: usize) -> String {
    let mut text = table(
        screen,
        &[
            ("Entry", Column::Right),
            ("Done", Column::Whole),
            ("What happened", Column::Text),
        ],
        entries.iter().take(shown).map(|entry| {
            let own: Vec<_> = entry
                .deeds
                .iter()
                .filter(|deed| deed.subject == subject)
                .map(clause)
                .collect();
            let told = if own.is_empty() {
                brief(entry)
            } else {
                own.join("; ")
            };
            row(screen, entry, told)
        }),
    );
    let more = entries.len().saturating_sub(shown);
    if more > 0 {
        text.push_str(&format!(
            "\n{more} more: fettle book entries --about {subject}"
        ));
    }
    text
}

fn row(screen: &Screen, entry: &Entry, told: String) -> Vec<String> {
    let mut told = told;
    if let Some(by) = entry.reversed_by_seq {
        told.push_str(&format!(" ({})", tint::warn(&format!("reversed by {by}"))));
    }
    if !entry.flags.is_empty() {
        told.push_str(&format!(" ({})", tint::warn("a count is due")));
    }
    vec![
        entry.seq.to_string(),
        screen.moment_or(
            entry.done_time.as_ref().or(entry.recorded_time.as_ref()),
            "",
        ),
        told,
    ]
}

/// Deeds told in a list before the rest is only counted.
const DEEDS_TOLD: usize = 3;

fn brief(entry: &Entry) -> String {
    let mut told: Vec<String> = entry
        .deeds
        .iter()
        .take(DEEDS_TOLD)
        .map(|deed| {
            if deed.text.contains(&deed.subject) {
                deed.text.trim_end_matches('.').to_owned()
            } else {
                format!("{}: {}", deed.subject, clause(deed))
            }
        })
        .collect();
    let more = entry.deeds.len().saturating_sub(DEEDS_TOLD);
    if more > 0 {
        told.push(format!("and {more} more"));
    }
    told.join("; ")
}
