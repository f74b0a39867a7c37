//! A list that is told a page at a time is, byte for byte, the list of one whole answer.

use std::cell::{Cell, RefCell};
use std::io::{self, Write};
use std::rc::Rc;

use fettlebook_contract::v1::{Deed, Entry, Flag, ListEntriesRequest, ListEntriesResponse};
use prost_types::Timestamp;

use super::list;
use crate::columns::{self, Decimals};
use crate::fault::Fault;
use crate::render::entry::list::{Days, LIST, listed};
use crate::render::{Form, Printer, csv, register, scenario::screen, table};
use crate::testing::wait;

/// What a printer wrote.
#[derive(Clone, Default)]
struct Paper(Rc<RefCell<Vec<u8>>>);

impl Write for Paper {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().write(bytes)
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Paper {
    fn text(&self) -> String {
        String::from_utf8(self.0.take()).unwrap()
    }
}

/// Entries on days of one digit and of two, some with a long sentence, a flag or a line end in a note, reported
/// by one after the other of these.
fn entries(count: i64, by: &[&str]) -> Vec<Entry> {
    (1..=count)
        .zip(by.iter().cycle())
        .map(|(seq, by)| Entry {
            seq,
            by: (*by).to_owned(),
            done_time: Some(Timestamp {
                seconds: 1_780_000_000 + seq * 7_200,
                nanos: 0,
            }),
            note: format!("\"{seq}\", a\nb\n"),
            deeds: vec![Deed {
                subject: "P-01".to_owned(),
                text: format!(
                    "P-01: washed, {}dry on Thursday.",
                    "again and ".repeat(usize::try_from(seq % 9).unwrap())
                ),
                ..Deed::default()
            }],
            flags: vec![Flag::default(); usize::from(seq % 7 == 0)],
            ..Entry::default()
        })
        .collect()
}

fn printer(paper: &Paper, form: Form, width: usize) -> Printer {
    Printer::onto(paper.clone(), form, screen(width))
}

/// The pages that a service would answer with, `rows` on each.
fn answered(all: &[Entry], rows: usize, asked: &ListEntriesRequest) -> ListEntriesResponse {
    let from = asked.page_token.parse().unwrap_or(0_usize);
    let until = all.len().min(from + rows);
    let next = if until < all.len() {
        until.to_string()
    } else {
        String::new()
    };
    ListEntriesResponse {
        entries: all[from..until].to_vec(),
        next_page_token: next,
    }
}

fn told_in_pages(all: &[Entry], form: Form, width: usize) -> String {
    let paper = Paper::default();
    let mut printer = printer(&paper, form, width);
    let call = async |asked: ListEntriesRequest| Ok(answered(all, 250, &asked));
    wait(list(ListEntriesRequest::default(), call, &mut printer)).unwrap();
    paper.text()
}

fn told_at_once(all: &[Entry], form: Form, width: usize) -> String {
    let paper = Paper::default();
    let whole = ListEntriesResponse {
        entries: all.to_vec(),
        next_page_token: String::new(),
    };
    let mut printer = printer(&paper, form, width);
    let page = |screen: &_, entries: &[Entry]| {
        if entries.is_empty() {
            return "No entries.".to_owned();
        }
        let mut days = Days::default();
        let rows = entries.iter().map(|one| listed(screen, &mut days, one));
        if entries.iter().any(|one| one.by != entries[0].by) {
            return table::table(screen, &LIST, rows);
        }
        // One and the same reporter is not said.
        let (entry, done, _, told) = LIST.into();
        let rows = rows.map(|mut row| {
            row.remove(2);
            row
        });
        table::table(screen, &[entry, done, told], rows)
    };
    if form == Form::Csv {
        let zone = screen(width).zone;
        let header = register::COLUMNS.map(columns::Cell::from).to_vec();
        let rows = all.iter().flat_map(|one| register::rows(one, &zone));
        let lines: Vec<_> = std::iter::once(header).chain(rows).collect();
        printer.verbatim(&csv::begun(&lines, Decimals::Point).unwrap());
    } else {
        printer.list(&whole, &whole.entries, page).unwrap();
    }
    paper.text()
}

#[test]
fn pages_make_the_list_of_one_answer_byte_for_byte() {
    for (count, by) in [0, 1, 249, 250, 251, 2_300]
        .into_iter()
        .zip([["bench", "bench"], ["bench", "van-a"]].iter().cycle())
    {
        let all = entries(count, by);
        for form in [Form::People, Form::Json, Form::Csv] {
            for width in [40, 80, 140] {
                let (pages, whole) = (
                    told_in_pages(&all, form, width),
                    told_at_once(&all, form, width),
                );
                assert!(pages == whole, "{count} entries, {form:?}, {width}");
            }
        }
    }
}

#[test]
fn what_has_come_is_printed_before_the_next_page_is_asked_for() {
    let all = entries(500, &["bench"]);
    for form in [Form::Json, Form::Csv] {
        let (paper, asked) = (Paper::default(), Cell::new(0));
        let mut printer = printer(&paper, form, 80);
        let call = async |sent: ListEntriesRequest| {
            asked.set(asked.get() + 1);
            if asked.get() == 1 {
                return Ok(answered(&all, 250, &sent));
            }
            assert!(!paper.0.borrow().is_empty());
            Err(Fault::answer("a page"))
        };
        wait(list(ListEntriesRequest::default(), call, &mut printer)).unwrap_err();
        assert_eq!(asked.get(), 2);
    }
}
