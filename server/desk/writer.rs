//! The writer: the one thread that changes a book.
//!
//! It serves every caller of the desk, a group at a time: decide all that wait, append them with
//! one sync, hand them to the shelf, publish, answer. It must never answer before the sync, and
//! after a failed write it changes nothing any more.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::time::Instant;

use fettlebook_model::{Entry, Moment};
use tokio::sync::mpsc::error::TryRecvError;
use tokio::sync::{mpsc, oneshot};

use super::draft::{Answer, Draft, repeated};
use super::error::DeskError;
use super::folder::BookLock;
use super::history::History;
use super::pace::Pace;
use super::unshelved::{Known, Unshelved};
use super::{Order, Published, Shared};
use crate::journal::{Journal, JournalError, Mark};
use crate::limits::{GROUP_BYTES_MAX, GROUP_COUNT_MAX};
use crate::shelf::{Furthest, Keeper, Shelved};

/// Where the answer to an order goes.
pub(super) type Reply = oneshot::Sender<Result<Arc<Entry>, DeskError>>;

/// What the handles ask of the writer.
pub(super) enum Ask {
    /// Take an order.
    Take(Arc<Order>, Reply),
    /// Take what waits, then end.
    Close(oneshot::Sender<()>),
}

/// The writer of one book.
pub(super) struct Writer {
    asks: mpsc::Receiver<Ask>,
    shared: Arc<Shared>,
    history: Arc<History>,
    /// None once the book is read-only.
    journal: Option<Box<dyn Journal>>,
    keeper: Option<Keeper>,
    unshelved: Unshelved,
    recorded_at: Moment,
    pace: Pace,
    lock: BookLock,
}

impl Writer {
    pub(super) fn new(
        asks: mpsc::Receiver<Ask>,
        shared: Arc<Shared>,
        history: Arc<History>,
        journal: Option<Box<dyn Journal>>,
        keeper: Option<Keeper>,
        furthest: Furthest,
        lock: BookLock,
    ) -> Self {
        let recorded_at = furthest.recorded_at;
        let (unshelved, pace) = (Unshelved::new(furthest), Pace::default());
        Self {
            asks,
            shared,
            history,
            journal,
            keeper,
            unshelved,
            recorded_at,
            pace,
            lock,
        }
    }

    /// Works until it is closed or every handle is gone.
    pub(super) fn run(mut self) {
        let mut closer = None;
        let mut group = Vec::with_capacity(GROUP_COUNT_MAX);
        while let Some(first) = self.asks.blocking_recv() {
            closer = self.gather(first, &mut group).or(closer);
            self.take(group.drain(..));
            if closer.is_some() {
                self.asks.close();
            }
        }
        let Self {
            shared,
            history,
            journal,
            keeper,
            lock,
            ..
        } = self;
        if let Some(keeper) = keeper {
            keeper.close();
        }
        shared.history.store(None);
        drop((history, journal, lock));
        if let Some(closer) = closer {
            let _ = closer.send(());
        }
    }

    /// Gathers what waits, and a little longer when more is likely to come.
    fn gather(
        &mut self,
        first: Ask,
        group: &mut Vec<(Arc<Order>, Reply)>,
    ) -> Option<oneshot::Sender<()>> {
        let start = Instant::now();
        let mut next = Some(first);
        loop {
            match next.take() {
                Some(Ask::Take(order, reply)) => group.push((order, reply)),
                Some(Ask::Close(closer)) => return Some(closer),
                None => {}
            }
            if group.len() >= GROUP_COUNT_MAX {
                return None;
            }
            match self.asks.try_recv() {
                Ok(ask) => next = Some(ask),
                Err(TryRecvError::Empty) if self.pace.expects_more(group.len(), start) => {
                    std::thread::yield_now();
                }
                Err(_) => return None,
            }
        }
    }

    /// Takes a group of orders, in one draft unless one of them needs those before it on record.
    fn take(&mut self, group: impl Iterator<Item = (Arc<Order>, Reply)>) {
        self.heed_the_shelf();
        self.heed_the_audit();
        let mut draft = Draft::on(&self.shared.published.load());
        let mut answers = Vec::new();
        for (order, reply) in group {
            let looks_back = order.command.reverses().is_some() && !draft.entries.is_empty();
            if looks_back || draft.byte_count >= GROUP_BYTES_MAX {
                self.commit(std::mem::take(&mut answers), draft);
                draft = Draft::on(&self.shared.published.load());
            }
            let answer = catch_unwind(AssertUnwindSafe(|| self.decide(&mut draft, &order)));
            match answer {
                Ok(answer) => answers.push((reply, answer.unwrap_or_else(Answer::Not))),
                Err(_) => {
                    answers.push((reply, Answer::Not(DeskError::Closed)));
                    let reason = "a command made the program break off, which is a fault in it; \
                                  nothing of that command was recorded";
                    self.abandon(std::mem::take(&mut answers), reason, |reason| {
                        DeskError::ReadOnly { reason }
                    });
                    draft = Draft::on(&self.shared.published.load());
                }
            }
        }
        self.commit(answers, draft);
    }

    /// Stops when the shelf is not written any more: retries of what it lacks could not be told.
    fn heed_the_shelf(&mut self) {
        if let Some(failure) = self
            .keeper
            .as_ref()
            .and_then(|keeper| keeper.line().failure())
        {
            self.journal = None;
            self.shared.stop(&failure.to_string());
        }
    }

    /// Stops when somebody else found that the book must not change any more.
    fn heed_the_audit(&mut self) {
        if self.shared.published.load().read_only.is_some() {
            self.journal = None;
        }
    }

    /// Finds the answer to an order, or takes it into the draft.
    fn decide(&mut self, draft: &mut Draft, order: &Order) -> Result<Answer, DeskError> {
        if let Some(answer) = draft.find(order) {
            return Ok(answer);
        }
        if let Some(entry) = self.answered(order)? {
            repeated(order, &entry)?;
            return Ok(Answer::Known(entry));
        }
        if self.journal.is_none() {
            return Err(self.shared.refusal());
        }
        let now = self.shared.clock.now();
        let recorded_at = self.recorded_at.max(now);
        let answer = match order.command.reverses() {
            None => draft.take(order, &order.command, now, recorded_at)?,
            Some(seq) => {
                let past = self.history.past(seq, draft.book.head())?;
                draft.take(
                    order,
                    &order.command.clone().with_past(past),
                    now,
                    recorded_at,
                )?
            }
        };
        self.recorded_at = recorded_at;
        Ok(answer)
    }

    /// The entry that a request was answered with before.
    fn answered(&mut self, order: &Order) -> Result<Option<Arc<Entry>>, DeskError> {
        let Some(keeper) = &self.keeper else {
            return Ok(None);
        };
        self.unshelved.forget(keeper.line().shelved());
        Ok(match self.unshelved.find(order.request) {
            Known::Answered(entry) => Some(entry),
            Known::New => None,
            Known::Perhaps => self.history.answer(order.request)?.map(Arc::new),
        })
    }

    /// Makes a draft durable, publishes it and answers.
    fn commit(&mut self, answers: Vec<(Reply, Answer)>, draft: Draft) {
        if draft.entries.is_empty() {
            return send(answers, &draft.entries);
        }
        let Some(journal) = &mut self.journal else {
            return send(answers, &[]);
        };
        let start = Instant::now();
        match journal.append(&draft.before, &draft.lines) {
            Ok(marks) => {
                self.pace.learn(draft.entries.len(), start);
                self.publish(&draft.entries, marks, draft.book);
                send(answers, &draft.entries);
            }
            Err(error) => {
                let unwritten =
                    matches!(error, JournalError::Malformed(_) | JournalError::Stopped(_));
                self.abandon(answers, &error.to_string(), |reason| {
                    if unwritten {
                        DeskError::ReadOnly { reason }
                    } else {
                        DeskError::DiskFailed { reason }
                    }
                });
            }
        }
    }

    /// Shows durable entries to the shelf and to the readers.
    fn publish(&mut self, entries: &[Arc<Entry>], marks: Vec<Mark>, book: fettlebook_model::Book) {
        let book = Arc::new(book);
        let Some(last) = marks.last() else { return };
        let head = last.head();
        let shelved = entries.iter().zip(marks).map(|(entry, mark)| Shelved {
            entry: Arc::clone(entry),
            mark,
        });
        if let Some(keeper) = &self.keeper {
            keeper.line().hand(shelved.collect());
        }
        for entry in entries {
            self.unshelved.add(entry);
        }
        self.shared.published.rcu(|now| Published {
            book: Arc::clone(&book),
            head: head.clone(),
            read_only: now.read_only.clone(),
        });
    }

    /// Gives a draft up and makes the book read-only.
    fn abandon(
        &mut self,
        answers: Vec<(Reply, Answer)>,
        reason: &str,
        error: impl Fn(Arc<str>) -> DeskError,
    ) {
        self.journal = None;
        self.shared.stop(reason);
        for (reply, answer) in answers {
            let _ = reply.send(match answer {
                Answer::Known(entry) => Ok(entry),
                Answer::Drafted(_) => Err(error(reason.into())),
                Answer::Not(_) => Err(DeskError::ReadOnly {
                    reason: reason.into(),
                }),
            });
        }
    }
}

/// Sends answers whose draft is durable. A caller that has gone is no matter.
fn send(answers: Vec<(Reply, Answer)>, entries: &[Arc<Entry>]) {
    for (reply, answer) in answers {
        let _ = reply.send(match answer {
            Answer::Drafted(place) => entries.get(place).cloned().ok_or(DeskError::Closed),
            Answer::Known(entry) => Ok(entry),
            Answer::Not(error) => Err(error),
        });
    }
}
