//! The rows of a notebook from the wire.
//!
//! It serves the import of pads. Every cell that cannot be read is found, not the first alone, so
//! that a person mends the file once.

use fettlebook_contract::numbers::{At, Numbers as _};
use fettlebook_contract::v1;
use fettlebook_model::command::{Behind, NotebookRow};
use fettlebook_model::decide::{RowProblem, problems, refused};
use fettlebook_model::kit::Readiness;
use fettlebook_model::wear::Work;
use fettlebook_model::{Book, Command, Moment, Refusal};

use super::{id, open_date, open_money, open_place, tag};
use crate::edge::words;

/// Columns of a notebook, in their order.
const COLUMNS: [&str; 10] = [
    "tag",
    "make",
    "place",
    "work",
    "jobs",
    "washes",
    "status",
    "reason",
    "date",
    "landed_cost",
];
/// Numbers of a row by the column that they stand in.
const NUMBERS: [(&str, &str); 3] = [
    ("work_micro_sections", "work"),
    ("job_count", "jobs"),
    ("wash_count", "washes"),
];

/// Rows that can be read, and everything that is wrong with these and the others, by line.
pub(in crate::edge) fn look(
    sent: &[v1::PadRow],
    book: &Book,
    now: Moment,
) -> (Vec<NotebookRow>, Vec<RowProblem>) {
    let (rows, mut found) = rows(sent);
    found.extend(problems(book, &rows, now));
    let column = |problem: &RowProblem| {
        COLUMNS
            .iter()
            .position(|name| *name == problem.refusal.field)
    };
    found.sort_by_key(|problem| (problem.line, column(problem)));
    (rows, found)
}

/// The import of rows that can all be read; else the first of everything that is wrong.
pub(in crate::edge) fn import(
    sent: v1::ImportPadsRequest,
    book: &Book,
    now: Moment,
) -> Result<Command, Refusal> {
    let (rows, wrong) = rows(&sent.rows);
    if wrong.is_empty() {
        let note = sent.note;
        return Ok(Command::ImportPads { note, rows });
    }
    let (_, found) = look(&sent.rows, book, now);
    Err(refused(&found))
}

/// Rows that can be read, and what is wrong with these and the others. A row with a number that cannot be
/// true is read all the same, so that whatever else is wrong with it is found as well.
fn rows(sent: &[v1::PadRow]) -> (Vec<NotebookRow>, Vec<RowProblem>) {
    let (mut rows, mut problems) = (Vec::new(), Vec::new());
    for pad in sent {
        let mut wrong = Vec::new();
        rows.extend(row(pad, &mut wrong));
        wrong.extend(beyond(pad));
        problems.extend(wrong.into_iter().map(|refusal| RowProblem {
            line: pad.line,
            refusal,
        }));
    }
    (rows, problems)
}

/// Numbers of a row outside the contract's bounds, each by its column.
fn beyond(sent: &v1::PadRow) -> Vec<Refusal> {
    let mut found = Vec::new();
    sent.beyond(At::TOP, &mut found);
    let by_column = found.into_iter().map(|mut number| {
        if let Some((_, column)) = NUMBERS.iter().find(|(field, _)| *field == number.field) {
            (*column).clone_into(&mut number.field);
        }
        let what = number.to_string();
        Refusal::quantity(&number.field, what, "Look at the figure and its unit.")
    });
    by_column.collect()
}

fn row(sent: &v1::PadRow, wrong: &mut Vec<Refusal>) -> Option<NotebookRow> {
    let tag = keep(tag("tag", &sent.tag), wrong);
    let make = keep(id("make", &sent.make), wrong);
    let place = keep(open_place("place", &sent.place), wrong);
    let behind = keep(behind(sent), wrong);
    let readiness = keep(readiness(sent), wrong);
    let date = keep(open_date("date", &sent.date), wrong);
    let landed = keep(open_money("landed_cost", sent.landed_cost.as_ref()), wrong);
    match (tag, make, place, behind, readiness, date, landed) {
        (
            Some(tag),
            Some(make),
            Some(place),
            Some(behind),
            Some(readiness),
            Some(date),
            Some(landed),
        ) => Some(NotebookRow {
            line: sent.line,
            tag,
            make,
            place,
            behind,
            wash_count: sent.wash_count,
            readiness,
            date,
            landed,
        }),
        _ => None,
    }
}

/// The value, or nothing and what is wrong put with the rest.
fn keep<T>(read: Result<T, Refusal>, wrong: &mut Vec<Refusal>) -> Option<T> {
    read.map_err(|refusal| wrong.push(refusal)).ok()
}

fn behind(sent: &v1::PadRow) -> Result<Behind, Refusal> {
    match (sent.work_micro_sections, sent.job_count) {
        (Some(_), Some(_)) => Err(Refusal::invalid(
            "jobs",
            "Work and jobs are both given.",
            "Give the one you know.",
        )),
        (None, Some(jobs)) => Ok(Behind::Jobs(jobs)),
        (work, None) => Ok(Behind::Work(Work::from_micro_sections(work.unwrap_or(0)))),
    }
}

/// How the pad stands, with the reason that goes with it.
fn readiness(sent: &v1::PadRow) -> Result<Readiness, Refusal> {
    let aside = words::aside_reason("reason", sent.aside_reason)?;
    let binned = words::bin_reason("reason", sent.bin_reason)?;
    let stands = v1::Readiness::try_from(sent.readiness)
        .map_err(|_| words::unknown("status", sent.readiness, "Readiness"))?;
    match (stands, aside, binned) {
        (v1::Readiness::Unspecified | v1::Readiness::Ready, None, None) => Ok(Readiness::Ready),
        (v1::Readiness::Soiled, None, None) => Ok(Readiness::Soiled),
        (v1::Readiness::Aside, Some(reason), None) => Ok(Readiness::Aside(reason)),
        (v1::Readiness::Binned, None, Some(reason)) => Ok(Readiness::Binned(reason)),
        (v1::Readiness::Drying, _, _) => Err(Refusal::invalid(
            "status",
            "A notebook does not tell when a pad is dry.",
            "Write soiled, or ready once it is dry.",
        )),
        (v1::Readiness::Aside, None, _) => Err(Refusal::missing(
            "reason",
            "Say why it is aside: dropped, cross-loaded, inspect or other.",
        )),
        (v1::Readiness::Binned, _, None) => Err(Refusal::missing(
            "reason",
            "Say why it was binned: torn, peeling, cupped, glazed, matted, worn, precaution, lost, cross-loaded, sold or accident.",
        )),
        _ => Err(Refusal::invalid(
            "reason",
            "The reason does not go with the status.",
            "Give a reason only for what is aside or binned.",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::wear::BinReason;

    fn sent(line: i64) -> v1::PadRow {
        v1::PadRow {
            line,
            tag: "P-21".to_owned(),
            make: "coarse-foam-150".to_owned(),
            job_count: Some(6),
            ..v1::PadRow::default()
        }
    }

    #[test]
    fn every_cell_that_cannot_be_read_is_named_by_line_and_column() {
        let bad = v1::PadRow {
            tag: "pad seven".to_owned(),
            date: "yesterday".to_owned(),
            work_micro_sections: Some(1),
            ..sent(4)
        };
        let reasonless = v1::PadRow {
            readiness: v1::Readiness::Binned.into(),
            ..sent(9)
        };
        let (rows, problems) = rows(&[sent(2), bad, reasonless]);
        assert_eq!(rows.len(), 1, "the others cannot be read");
        let named: Vec<_> = problems
            .iter()
            .map(|problem| (problem.line, problem.refusal.field.as_str()))
            .collect();
        assert_eq!(named, [(4, "tag"), (4, "jobs"), (4, "date"), (9, "reason")]);
    }

    /// The bounds are the contract's; what else is wrong with the row is found by the model.
    #[test]
    fn a_number_that_cannot_be_true_is_named_by_its_column_and_the_row_is_read() {
        let washed = v1::PadRow {
            wash_count: 10_001,
            job_count: Some(-1),
            ..sent(3)
        };
        let (rows, problems) = rows(&[sent(2), washed]);
        assert_eq!(rows.len(), 2);
        let said: Vec<_> = problems
            .iter()
            .map(|problem| (problem.line, problem.refusal.what.as_str()))
            .collect();
        assert_eq!(
            said,
            [
                (3, "`jobs` is -1; it lies between 0 and 10000 jobs."),
                (3, "`washes` is 10001; it lies between 0 and 10000 washes."),
            ]
        );
    }

    #[test]
    fn a_row_says_how_a_pad_stands_and_why() {
        let torn = v1::PadRow {
            readiness: v1::Readiness::Binned.into(),
            bin_reason: v1::BinReason::Torn.into(),
            ..sent(2)
        };
        let (rows, problems) = rows(&[torn]);
        assert_eq!(problems, []);
        assert_eq!(rows[0].readiness, Readiness::Binned(BinReason::Torn));
        assert_eq!(rows[0].place.as_str(), "bench");
        let stray = v1::PadRow {
            bin_reason: v1::BinReason::Torn.into(),
            ..sent(2)
        };
        assert_eq!(super::rows(&[stray]).1[0].refusal.field, "reason");
    }
}
