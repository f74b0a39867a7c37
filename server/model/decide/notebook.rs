//! Taking over the pads of a notebook, so that a shop's own history counts from the first day.
//!
//! Every bad cell is found, not the first alone, and nothing is taken over while there is one.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::{Date, Time};
use jiff::tz::Offset;

use super::Decision;
use super::bounds;
use super::landed::{Arrivals, in_book_currency};
use crate::book::command::{Behind, NotebookRow, Said};
use crate::book::deed::Deed;
use crate::ground::exact::ceil_div;
use crate::ground::ids::{Id, Subject};
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::kit::{PadState, PieceCost, Readiness, State};
use crate::trade::make::{Figures, PadFigures};
use crate::trade::wear::Work;
use crate::{Book, Moment};

/// Most rows in one notebook.
const ROWS_MAX: usize = 500;
const MICRO_PER_SECTION: i64 = 1_000_000;
/// A date without a time is taken as the middle of that day.
const NOON: Time = Time::constant(12, 0, 0, 0);

/// Nothing in a book happened before.
const YEAR_2000: Date = Date::constant(2000, 1, 1);

/// What is wrong with one cell: the line it is on, and a refusal whose field is the column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowProblem {
    /// Line of the file.
    pub line: i64,
    /// What is wrong, where and what to do.
    pub refusal: Refusal,
}

pub(super) fn import(
    book: &Book,
    note: &str,
    rows: &[NotebookRow],
    now: Moment,
) -> Result<Decision, Refusal> {
    bounds::note(note)?;
    if rows.is_empty() {
        return Err(Refusal::missing("rows", "Give at least one row."));
    }
    if rows.len() > ROWS_MAX {
        return Err(Refusal::invalid(
            "rows",
            format!("More than {ROWS_MAX} rows."),
            "Split the notebook.",
        ));
    }
    let wrong = problems(book, rows, now);
    if !wrong.is_empty() {
        return Err(refused(&wrong));
    }
    let mut arrivals: BTreeMap<&Id, Arrivals<'_>> = BTreeMap::new();
    let deeds = rows.iter().filter_map(|row| {
        let arrivals = arrivals.entry(&row.make);
        let arrivals = arrivals.or_insert_with(|| Arrivals::of(book, &row.make));
        let cost = row.landed.map(|landed| match row.readiness {
            Readiness::Binned(_) => arrivals.beside(1, landed),
            _ => arrivals.next(1, landed),
        });
        deed(book, row, now, cost.transpose().ok()?)
    });
    let deeds = deeds.collect();
    let said = Said {
        kept: None,
        done_at: None,
        note: note.to_owned(),
    };
    Ok(Decision::of(&said, now)?.with(deeds, Vec::new()))
}

/// The refusal of a notebook with these problems: the first of them, and how many more there are.
pub fn refused(wrong: &[RowProblem]) -> Refusal {
    let Some(RowProblem { line, refusal }) = wrong.first() else {
        return Refusal::missing("rows", "Give at least one row.");
    };
    let more = match wrong.len() {
        1 => String::new(),
        2 => " There is 1 more problem.".to_owned(),
        count => format!(" There are {} more problems.", count.saturating_sub(1)),
    };
    Refusal::new(
        refusal.reason,
        format!("rows[{line}].{}", refusal.field),
        format!("Line {line}: {}{more}", refusal.what),
        refusal.todo.clone(),
    )
}

/// Everything that is wrong with the rows of a notebook, by line.
pub fn problems(book: &Book, rows: &[NotebookRow], now: Moment) -> Vec<RowProblem> {
    let mut tags = BTreeSet::new();
    let mut wrong = Vec::new();
    for row in rows {
        let twice = !tags.insert(row.tag);
        let checks = [
            free_tag(book, row, twice),
            pad_figures(book, row).map(|_| ()),
            date(row, now),
            cost(book, row),
        ];
        wrong.extend(
            checks
                .into_iter()
                .filter_map(Result::err)
                .map(|refusal| RowProblem {
                    line: row.line,
                    refusal,
                }),
        );
    }
    wrong
}

fn free_tag(book: &Book, row: &NotebookRow, twice: bool) -> Result<(), Refusal> {
    let tag = row.tag;
    let what = if twice {
        format!("The tag {tag} is in the notebook twice.")
    } else if book.is_taken(&Subject::Piece(tag)) {
        format!("The tag {tag} is taken, or was once; tags are never used again.")
    } else {
        return Ok(());
    };
    Err(Refusal::new(
        Reason::TagTaken,
        "tag",
        what,
        "Give the pad another tag.",
    ))
}

fn pad_figures<'a>(book: &'a Book, row: &NotebookRow) -> Result<&'a PadFigures, Refusal> {
    let id = &row.make;
    let make = book
        .make(id)
        .ok_or_else(|| Refusal::no_id(Reason::MakeUnknown, "make", "make", id))?;
    match &make.figures {
        Figures::Pad(figures) => Ok(figures),
        other => Err(Refusal::new(
            Reason::WrongSort,
            "make",
            format!("The make {id} is a {}, not a pad.", other.sort()),
            "Name a pad make.",
        )),
    }
}

fn date(row: &NotebookRow, now: Moment) -> Result<(), Refusal> {
    let Some(date) = row.date else { return Ok(()) };
    // A day ahead is still today somewhere.
    let tomorrow = Offset::UTC.to_datetime(now).date().tomorrow();
    let (reason, what) = if tomorrow.is_ok_and(|tomorrow| date > tomorrow) {
        (Reason::TimeFuture, format!("{date} lies in the future."))
    } else if date < YEAR_2000 {
        let what = format!("{date} lies before the year 2000.");
        (Reason::FieldInvalid, what)
    } else {
        return Ok(());
    };
    Err(Refusal::new(
        reason,
        "date",
        what,
        "Give the day it happened, or leave it out for today.",
    ))
}

/// What it cost, where that is told, is in the book's currency.
fn cost(book: &Book, row: &NotebookRow) -> Result<(), Refusal> {
    row.landed.map_or(Ok(()), |landed| {
        in_book_currency(book, "landed_cost", landed)
    })
}

/// The deed of a row that has no problem.
fn deed(book: &Book, row: &NotebookRow, now: Moment, cost: Option<PieceCost>) -> Option<Deed> {
    let figures = pad_figures(book, row).ok()?;
    let a_job = a_job_of_work(figures);
    let (work, use_count) = match row.behind {
        Behind::Work(work) => (work, uses_behind(work, figures)),
        Behind::Jobs(jobs) => (Work::from_micro_sections(jobs.saturating_mul(a_job)), jobs),
    };
    let at = row.date.and_then(|date| {
        let noon = Offset::UTC.to_timestamp(date.to_datetime(NOON)).ok()?;
        Some(noon.min(now))
    });
    let mut pad = PadState {
        work,
        wash_count: row.wash_count,
        use_count,
        // A pad that has worked has carried what it is for, as far as a notebook tells.
        coarsest_liquid: (use_count > 0).then_some(figures.grade),
        ..PadState::default()
    };
    if row.readiness == Readiness::Soiled && use_count > 0 {
        pad.carried.put_on(figures.grade, at.unwrap_or(now));
    }
    Some(Deed::Received {
        tag: row.tag,
        make: row.make.clone(),
        place: row.place.clone(),
        state: State::Pad(pad),
        readiness: (row.readiness != Readiness::Ready).then_some(row.readiness),
        at,
        cost,
    })
}

/// Uses behind a pad of which only the work is told: so many loads.
pub(super) fn uses_behind(work: Work, figures: &PadFigures) -> i64 {
    let a_job = a_job_of_work(figures);
    ceil_div(i128::from(work.micro_sections()), i128::from(a_job))
}

/// The work of a job that works a pad for its load at the reference, in millionths of a section.
pub(super) fn a_job_of_work(figures: &PadFigures) -> i64 {
    let sections = figures.load_sections.unwrap_or(1).max(1);
    sections.saturating_mul(MICRO_PER_SECTION)
}
