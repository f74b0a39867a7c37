//! Entries in a list, a line each.
//!
//! Who reported them has a column of its own where that is not always the same: in a book of one's own it would
//! say one name all the way down.

use fettlebook_contract::v1::{Deed, Entry};

use super::{brief, clause, with_step};
use crate::render::screen::Screen;
use crate::render::table::{self, CARDS_BELOW, Column, Rows, table};
use crate::render::tint;

/// The columns of a list.
pub(crate) const LIST: [(&str, Column); 4] = [
    ("Entry", Column::Right),
    ("Done", Column::Right),
    (BY, Column::Whole),
    ("What happened", Column::Text),
];
/// The column of who reported an entry, and where it stands.
const BY: &str = "By";
const BY_AT: usize = 2;

/// Entries in a list.
#[derive(Debug, Default)]
pub(crate) struct List {
    rows: Rows,
    days: Days,
    reporters: Reporters,
}

/// The day of the entry before in a list, which is not said again.
#[derive(Debug, Default)]
pub(crate) struct Days(String);

impl List {
    /// Adds an entry.
    pub(crate) fn push(&mut self, screen: &Screen, entry: &Entry) {
        self.reporters.note(entry);
        self.rows.push(&listed(screen, &mut self.days, entry));
    }

    /// Whether it has none.
    pub(crate) const fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Lays it out, a part at a time, each to be printed below the one before.
    pub(crate) fn each_part(self, screen: &Screen, mut print: impl FnMut(&str)) {
        let mut headings = LIST.to_vec();
        let rows = if self.reporters.are_several {
            self.rows
        } else {
            headings.remove(BY_AT);
            self.rows.without(BY_AT, LIST.len())
        };
        table::parts(screen, &headings, &rows).for_each(|part| print(&part));
    }
}

impl Days {
    /// The day and time of an entry, of one on the same day as the one before the time alone.
    fn short<'a>(&mut self, moment: &'a str) -> &'a str {
        let Some((day, time)) = moment.rsplit_once(' ') else {
            return moment;
        };
        if self.0 == day {
            return time;
        }
        day.clone_into(&mut self.0);
        moment
    }
}

/// One entry as a row of a list, after others.
pub(crate) fn listed(screen: &Screen, days: &mut Days, entry: &Entry) -> Vec<String> {
    let mut cells = row(screen, entry, brief(entry));
    // On a card each says its day.
    if let Some(done) = cells.get_mut(1)
        && screen.width >= CARDS_BELOW
    {
        *done = days.short(done).to_owned();
    }
    cells
}

/// Who reported the entries of a list.
#[derive(Debug, Default)]
struct Reporters {
    first: Option<String>,
    are_several: bool,
}

impl Reporters {
    fn note(&mut self, entry: &Entry) {
        match &self.first {
            None => self.first = Some(entry.by.clone()),
            Some(first) => self.are_several |= *first != entry.by,
        }
    }
}

/// One entry in one line, for those that are told as they come.
pub(crate) fn line(screen: &Screen, entry: &Entry) -> String {
    let cells = row(screen, entry, brief(entry));
    let mut cells = cells.into_iter();
    let seq = cells.next().unwrap_or_default();
    format!("{seq:>6}  {}", cells.collect::<Vec<_>>().join("  "))
}

/// Entries about one subject: its own deeds only, each with how the subject stood after it.
pub(crate) fn about(
    screen: &Screen,
    subject: &str,
    entries: &[(&Entry, String)],
    shown: usize,
) -> String {
    let mut reporters = Reporters::default();
    let listed = || entries.iter().take(shown);
    listed().for_each(|(entry, _)| reporters.note(entry));
    let told_by = reporters.are_several;
    // What neither wears nor runs down has nothing to tell there.
    let told_after = entries.iter().any(|(_, after)| !after.is_empty());
    let columns = [
        ("Entry", Column::Right, true),
        ("Done", Column::Whole, true),
        (BY, Column::Whole, told_by),
        ("After it", Column::Right, told_after),
        ("What happened", Column::Text, true),
    ];
    let told = columns.iter().filter(|(.., is_told)| *is_told);
    let headings: Vec<_> = told.map(|(name, kind, _)| (*name, *kind)).collect();
    let rows = listed().map(|(entry, after)| {
        let own: Vec<_> = entry
            .deeds
            .iter()
            .filter(|deed| deed.subject == subject)
            .collect();
        // What it did in several steps is told with each.
        let in_steps = own.iter().filter(|deed| !deed.step.is_empty()).count();
        let said = |deed: &&Deed| {
            if in_steps > 1 {
                with_step(deed)
            } else {
                clause(deed).to_owned()
            }
        };
        let told = if own.is_empty() {
            brief(entry)
        } else {
            own.iter().map(said).collect::<Vec<_>>().join("; ")
        };
        let mut cells = row(screen, entry, told);
        if told_after {
            cells.insert(cells.len().saturating_sub(1), after.clone());
        }
        if !told_by {
            cells.remove(BY_AT);
        }
        cells
    });
    let mut text = table(screen, &headings, rows);
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
        told.push_str(&format!(" ({})", tint::warn("flagged")));
    }
    vec![
        entry.seq.to_string(),
        screen.moment_or(
            entry.done_time.as_ref().or(entry.recorded_time.as_ref()),
            "",
        ),
        entry.by.clone(),
        told,
    ]
}
