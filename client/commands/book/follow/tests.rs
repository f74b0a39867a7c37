//! A watch that breaks off, against a book in memory.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::io::{self, Write};
use std::rc::Rc;

use fettlebook_contract::v1::{Entry, WatchEntriesRequest, WatchEntriesResponse};
use tonic::{Code, Status};

use super::{Entries, follow};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::scenario::screen;
use crate::render::{Form, Printer};

/// Output that is kept, and that nobody reads any more after so many lines.
#[derive(Clone)]
struct Paper(Rc<RefCell<String>>, usize);

impl Write for Paper {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let mut text = self.0.borrow_mut();
        if text.lines().count() >= self.1 {
            return Err(io::ErrorKind::BrokenPipe.into());
        }
        text.push_str(std::str::from_utf8(bytes).unwrap());
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Entries that come, and the status they break off with.
struct Coming(VecDeque<i64>, Option<Status>);

impl Entries for Coming {
    async fn next(&mut self) -> Result<Option<WatchEntriesResponse>, Status> {
        let entry = self.0.pop_front().map(|seq| Entry {
            seq,
            ..Entry::default()
        });
        match entry {
            Some(_) => Ok(Some(WatchEntriesResponse { entry })),
            None => self.1.take().map_or(Ok(None), Err),
        }
    }
}

/// Follows a book of a hundred entries whose watches give so many each and then end as told; gives
/// how it ended, what was printed and where each watch began.
fn followed(
    form: Form,
    lines: usize,
    each: i64,
    end: impl Fn() -> Option<Status>,
) -> (Result<Exit, Fault>, String, Vec<i64>) {
    let (paper, begun) = (Paper(Rc::default(), lines), RefCell::new(Vec::new()));
    let mut printer = Printer::onto(paper.clone(), form, screen(80));
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .start_paused(true)
        .build()
        .unwrap();
    let ended = runtime.block_on(follow(
        async |asked: WatchEntriesRequest| {
            let after = asked.after_seq;
            begun.borrow_mut().push(after);
            let seqs = (after + 1..=(after + each).min(100)).collect();
            Ok(Coming(seqs, end()))
        },
        WatchEntriesRequest::default(),
        &mut printer,
    ));
    let text = paper.0.borrow().clone();
    (ended, text, begun.into_inner())
}

#[test]
fn it_goes_on_after_the_last_entry_told_with_none_left_out_and_none_twice() {
    let gone = || Some(Status::unavailable("gone"));
    let (ended, text, begun) = followed(Form::People, 7, 3, gone);
    assert_eq!(ended, Ok(Exit::Done), "nobody reads any more");
    let first = |line: &str| line.split_whitespace().next().unwrap().to_owned();
    let told: Vec<String> = text.lines().map(first).collect();
    assert_eq!(told, ["1", "2", "3", "4", "5", "6", "7"]);
    assert_eq!(begun, [0, 3, 6]);
}

#[test]
fn a_watch_that_just_ends_is_opened_again() {
    let (ended, _, begun) = followed(Form::People, 5, 4, || None);
    assert_eq!((ended, begun), (Ok(Exit::Done), vec![0, 4]));
}

#[test]
fn a_service_that_stays_away_is_asked_on_and_told_of_once() {
    let (paper, talk) = (Paper(Rc::default(), 1), Paper(Rc::default(), 100));
    let printer = Printer::onto(paper, Form::People, screen(80));
    let mut printer = printer.talking_to(talk.clone());
    let tries = RefCell::new(0);
    let runtime = crate::runtime::runtime().unwrap();
    let ended = runtime.block_on(async {
        tokio::time::pause();
        let watch = async |asked: WatchEntriesRequest| {
            *tries.borrow_mut() += 1;
            if *tries.borrow() < 6 {
                return Err(Status::unavailable("gone"));
            }
            let after = asked.after_seq;
            Ok(Coming((after + 1..=after + 2).collect(), None))
        };
        follow(watch, WatchEntriesRequest::default(), &mut printer).await
    });
    assert_eq!(ended, Ok(Exit::Done));
    assert_eq!(*tries.borrow(), 6);
    assert_eq!(talk.0.borrow().lines().count(), 1, "{}", talk.0.borrow());
}

#[test]
fn with_json_every_line_is_a_document() {
    let (_, text, _) = followed(Form::Json, 3, 2, || Some(Status::unavailable("gone")));
    assert_eq!(text.lines().count(), 3);
    for (at, line) in text.lines().enumerate() {
        let entry: serde_json::Value = serde_json::from_str(line).unwrap();
        assert_eq!(entry["seq"], (at + 1).to_string());
    }
}

#[test]
fn what_cannot_pass_ends_it() {
    let denied = || Some(Status::new(Code::PermissionDenied, "no"));
    let (ended, _, begun) = followed(Form::People, 9, 3, denied);
    assert_eq!(ended.unwrap_err().exit, Exit::NotAllowed);
    assert_eq!(begun, [0]);
}

/// Follows what is asked for in a book of which each watch gives these; gives how it ended, how many lines were
/// printed and what was asked for.
fn asked_for(
    asked: WatchEntriesRequest,
    seqs: &[i64],
) -> (Result<Exit, Fault>, usize, Vec<WatchEntriesRequest>) {
    let (paper, begun) = (Paper(Rc::default(), 5), RefCell::new(Vec::new()));
    let mut printer = Printer::onto(paper.clone(), Form::People, screen(80));
    let watch = async |asked: WatchEntriesRequest| {
        let left = seqs.iter().copied().filter(|seq| *seq > asked.after_seq);
        let left: VecDeque<i64> = left.take(2).collect();
        if left.is_empty() {
            return Err(Status::new(Code::PermissionDenied, "no more"));
        }
        begun.borrow_mut().push(asked);
        Ok(Coming(left, None))
    };
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .start_paused(true)
        .build()
        .unwrap();
    let ended = runtime.block_on(follow(watch, asked, &mut printer));
    let lines = paper.0.borrow().lines().count();
    (ended, lines, begun.into_inner())
}

#[test]
fn what_was_not_asked_for_may_lie_between_and_each_watch_asks_for_the_same() {
    let of_pad = WatchEntriesRequest {
        subject: "P-03".to_owned(),
        ..WatchEntriesRequest::default()
    };
    let (ended, lines, asked) = asked_for(of_pad.clone(), &[3, 7, 20, 21, 50]);
    assert_eq!((ended, lines), (Ok(Exit::Done), 5));
    let from = |after_seq| WatchEntriesRequest {
        after_seq,
        ..of_pad.clone()
    };
    assert_eq!(asked, [from(0), from(7), from(21)]);
    // Of all entries none may be missing, and of none may one come twice.
    let (ended, lines, _) = asked_for(WatchEntriesRequest::default(), &[1, 3]);
    assert_eq!((ended.unwrap_err().reason, lines), ("ANSWER", 1));
    let again = WatchEntriesRequest {
        flagged: true,
        ..WatchEntriesRequest::default()
    };
    let (ended, lines, _) = asked_for(again, &[3, 3]);
    assert_eq!((ended.unwrap_err().reason, lines), ("ANSWER", 1));
}
