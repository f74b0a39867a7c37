//! The writer: the one thread that changes a book.
//!
//! It serves every caller of the desk, a group at a time: decide all that wait, append them with
//! one sync, hand them to the shelf, publish, answer. It must never answer before the sync, and
//! after a failed write it changes nothing any more.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_model::{Entry, Moment};
use tokio::sync::mpsc::error::TryRecvError;
use tokio::sync::{mpsc, oneshot};

use super::audit::{self, AUDIT, Fault};
use super::draft::{Answer, Draft, repeated};
use super::error::{DeskError, StoppedBy};
use super::history::{History, without_shelf};
use super::imagine::Imagined;
use super::not_shelved_yet::{Known, NotShelvedYet};
use super::proof_state::{Halt, ProofState};
use super::sync_wait::SyncWait;
use super::time::RecordedTimes;
use super::{Order, Published, Shared};
use crate::journal::{Journal, JournalError, Mark};
use crate::limits::{AUDIT_WAIT_MAX, GROUP_BYTES_MAX, GROUP_COUNT_MAX, RETRY_AFTER_MAX};
use crate::shelf::{Furthest, Keeper, Shelved};
use crate::store::{Holder, WritersRight};

/// Where the answer to an order goes.
pub(super) type Reply = oneshot::Sender<Result<Arc<Entry>, DeskError>>;

/// What the handles ask of the writer.
pub(super) enum Ask {
    /// Take an order.
    Take(Arc<Order>, Reply),
    /// Take what waits, then end.
    Close(oneshot::Sender<()>),
}

/// Orders that share a sync.
struct Group {
    draft: Draft,
    answers: Vec<(Reply, Answer)>,
}

impl Group {
    /// An empty group on top of what is published, with room for so many.
    fn on(shared: &Shared, room: usize) -> Self {
        let published = shared.published.load();
        Self {
            draft: Draft::on(&published, shared.identity.book_id, room),
            answers: Vec::with_capacity(room),
        }
    }
}

/// The writer of one book.
pub(super) struct Writer {
    asks: mpsc::Receiver<Ask>,
    shared: Arc<Shared>,
    history: Arc<History>,
    /// None once the book is read-only.
    journal: Option<Box<dyn Journal>>,
    keeper: Option<Keeper>,
    not_shelved_yet: NotShelvedYet,
    /// What was imagined, on a copy.
    imagined: Option<Imagined>,
    /// What proves that the journal is whole.
    proof_state: ProofState,
    times: RecordedTimes,
    sync_wait: SyncWait,
    right: Box<dyn WritersRight>,
}

impl Writer {
    pub(super) fn new(
        asks: mpsc::Receiver<Ask>,
        shared: Arc<Shared>,
        history: Arc<History>,
        journal: Option<Box<dyn Journal>>,
        keeper: Option<Keeper>,
        (furthest, accepted): (Furthest, Option<Moment>),
        right: Box<dyn WritersRight>,
    ) -> Self {
        let times = RecordedTimes::new(furthest.recorded_at, accepted);
        let (not_shelved_yet, sync_wait) = (NotShelvedYet::new(furthest), SyncWait::default());
        Self {
            asks,
            shared,
            history,
            journal,
            keeper,
            not_shelved_yet,
            imagined: None,
            proof_state: ProofState::Nowhere,
            times,
            sync_wait,
            right,
        }
    }

    /// The writer of a copy, on which deeds that can be kept are imagined.
    pub(super) fn imagining(self) -> Self {
        let imagined = Some(Imagined::default());
        Self { imagined, ..self }
    }

    /// The writer of a journal that is proven to be whole, or about to be.
    pub(super) fn guarded_by(self, proof_state: ProofState) -> Self {
        Self {
            proof_state,
            ..self
        }
    }

    /// Works until it is closed or every handle is gone.
    pub(super) fn run(mut self) {
        let mut closer = None;
        while let Some(first) = self.asks.blocking_recv() {
            closer = self.serve(first).or(closer);
            if closer.is_some() {
                self.asks.close();
            }
        }
        let Self {
            shared,
            history,
            journal,
            keeper,
            mut proof_state,
            right,
            ..
        } = self;
        // First, so that the disk's clock has moved on when the proof of it is kept.
        if let Some(mut journal) = journal
            && let Err(error) = proof_state.close_journal(&mut *journal)
        {
            tracing::warn!(%error, "space set aside in the journal was not given back");
        }
        if let Some(keeper) = keeper {
            keeper.close();
        }
        shared.history.store(None);
        if let Err(error) = proof_state.end(AUDIT_WAIT_MAX) {
            shared.stop_for(&error.into(), AUDIT);
        }
        // Wakes those who wait for entries that will not come.
        shared.news.send_modify(|_| {});
        drop((history, right));
        if let Some(closer) = closer {
            let _ = closer.send(());
        }
    }

    /// Decides each ask as it comes, until no more wait or are likely to come, and commits them
    /// together.
    fn serve(&mut self, first: Ask) -> Option<oneshot::Sender<()>> {
        self.heed_the_audit();
        let room = self.sync_wait.expected_count();
        let mut group = Group::on(&self.shared, room);
        let (mut ask, mut waited) = (first, Duration::ZERO);
        loop {
            match ask {
                Ask::Take(order, reply) => self.take(&mut group, &order, reply),
                Ask::Close(closer) => {
                    self.commit(group);
                    return Some(closer);
                }
            }
            match self.company(group.answers.len(), &mut waited) {
                Some(next) => ask = next,
                None => break,
            }
        }
        self.commit(group);
        None
    }

    /// Who else joins a group of so many that has `waited` so long: whoever waits, or comes soon.
    fn company(&mut self, group_count: usize, waited: &mut Duration) -> Option<Ask> {
        if group_count >= GROUP_COUNT_MAX {
            return None;
        }
        loop {
            match (
                self.asks.try_recv(),
                self.sync_wait.left(group_count, *waited),
            ) {
                (Ok(ask), _) => return Some(ask),
                (Err(TryRecvError::Empty), Some((count, longest))) => {
                    let start = Instant::now();
                    let company = &self.shared.company;
                    company.wait(count, longest, || self.asks.len());
                    *waited += start.elapsed();
                }
                (Err(_), _) => return None,
            }
        }
    }

    /// Takes an order into a group. What came before it is committed first when the order needs it
    /// on record, or when the group has become long. An order whose caller has gone, or whose time
    /// is up, is not begun.
    fn take(&mut self, group: &mut Group, order: &Order, reply: Reply) {
        if reply.is_closed() {
            return;
        }
        let looks_back = order.command.reverses().is_some() && !group.draft.entries.is_empty();
        if looks_back || group.draft.byte_count >= GROUP_BYTES_MAX {
            self.renew(group, Self::commit);
        }
        let decided = catch_unwind(AssertUnwindSafe(|| self.decide(&mut group.draft, order)));
        match decided {
            Ok(answer) => {
                let answer = answer.unwrap_or_else(Answer::Not);
                if let Answer::Not(error) = &answer {
                    let reader = self.history.reader.as_ref();
                    self.shared.look_into(error, reader, "looking back");
                }
                group.answers.push((reply, answer));
            }
            Err(_) => {
                tracing::error!(request_id = %order.request, "a command broke off");
                group.answers.push((reply, Answer::Not(DeskError::Closed)));
                self.renew(group, |writer, group| {
                    let reason = "a command made the program break off, which is a fault in it; \
                                  nothing of that command was recorded";
                    writer.end_writing(StoppedBy::Program, reason);
                    let refusal = writer.shared.refusal();
                    refuse(group.answers, &refusal, &refusal);
                });
            }
        }
    }

    /// Ends a group and begins the next on top of what is published then.
    fn renew(&mut self, group: &mut Group, end: impl FnOnce(&mut Self, Group)) {
        let next = Group::on(&self.shared, 0);
        end(self, std::mem::replace(group, next));
        *group = Group::on(&self.shared, 0);
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
        if let Some(imagined) = self
            .imagined
            .as_mut()
            .filter(|_| order.command.keepable().is_some())
        {
            let known = imagined.find(order)?;
            let entry = known.map_or_else(|| imagine(&self.shared, imagined, order), Ok)?;
            return Ok(Answer::Known(entry));
        }
        if self.journal.is_none() {
            return Err(self.shared.refusal());
        }
        if let Some(keeper) = self
            .keeper
            .as_ref()
            .filter(|k| k.line().failure().is_some())
        {
            return Err(without_shelf(keeper.line()));
        }
        let now = self.shared.clock.now();
        let recorded_at = self.times.next(now)?;
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
        self.times.recorded(recorded_at);
        Ok(answer)
    }

    /// The entry that a request was answered with before.
    fn answered(&mut self, order: &Order) -> Result<Option<Arc<Entry>>, DeskError> {
        let Some(keeper) = &self.keeper else {
            return Ok(None);
        };
        self.not_shelved_yet.forget(keeper.line().shelved());
        Ok(match self.not_shelved_yet.find(order.request) {
            Known::Answered(entry) => Some(entry),
            Known::New => None,
            Known::Perhaps => self.history.answer(order.request)?.map(Arc::new),
        })
    }

    /// Makes the draft of a group durable, publishes it and answers.
    fn commit(&mut self, Group { draft, answers }: Group) {
        if draft.entries.is_empty() {
            return send(answers, &draft.entries);
        }
        self.heed_the_audit();
        let Some(journal) = &mut self.journal else {
            let refusal = self.shared.refusal();
            return refuse(answers, &refusal, &refusal);
        };
        if let Err(halt) = self.proof_state.before_group(AUDIT_WAIT_MAX) {
            return self.halt(answers, halt);
        }
        let start = Instant::now();
        match journal.append(&draft.before, &draft.lines) {
            Ok(marks) => {
                self.proof_state.after_group(&marks, &**journal);
                self.sync_wait.learn(answers.len() + self.asks.len(), start);
                let took = start.elapsed();
                self.shared.retry_hint.learn(took);
                self.shared.meters.synced(draft.entries.len(), took);
                self.publish(&draft.entries, marks, draft.book);
                send(answers, &draft.entries);
                // After the answers: only the writer looks here, and not before the next order.
                for entry in &draft.entries {
                    tracing::debug!(request_id = %entry.request, seq = entry.seq.0, "recorded");
                    self.not_shelved_yet.add(entry);
                }
            }
            Err(error) => self.give_up(answers, &error),
        }
    }

    /// Tells those of a group why nothing may be written behind what the journal holds.
    fn halt(&mut self, answers: Vec<(Reply, Answer)>, halt: Halt) {
        let refusal = match halt {
            Halt::Unread => DeskError::Unread {
                retry_after: RETRY_AFTER_MAX,
            },
            Halt::NoProof => {
                // What the audit found was told before it ended.
                self.shared.stop("the journal could not be read through");
                self.shared.refusal()
            }
            Halt::Failed(error @ JournalError::Engine { .. }) => error.into(),
            Halt::Failed(error) => {
                let fault = Fault::from(error);
                if fault.first_bad.is_some() {
                    self.shared.stop_for(&fault, AUDIT);
                    self.shared.refusal()
                } else {
                    let reason = fault.reason.into();
                    DeskError::DiskRefuses { reason }
                }
            }
        };
        self.heed_the_audit();
        refuse(answers, &refusal, &refusal);
    }

    /// Tells those of a group that was not recorded why; ends writing where the disk may have kept
    /// some of it.
    fn give_up(&mut self, answers: Vec<(Reply, Answer)>, error: &JournalError) {
        let reason: Arc<str> = error.to_string().into();
        match error {
            JournalError::Unready { .. } => {
                tracing::warn!(%reason, "nothing can be recorded just now");
                let refusal = DeskError::DiskRefuses { reason };
                refuse(answers, &refusal, &refusal);
            }
            JournalError::Engine { .. } => {
                tracing::warn!(%reason, "nothing can be recorded just now");
                let refusal = DeskError::EngineUnready { reason };
                refuse(answers, &refusal, &refusal);
            }
            JournalError::Damaged(_) => {
                // What is wrong on the disk is remembered; a file that another took the place of may
                // be whole.
                let head = self.shared.published.load().head.clone();
                if let Some(fault) = audit::fault_before(self.history.reader.as_ref(), &head) {
                    self.shared.stop_for(&fault, AUDIT);
                }
                self.shared.stop(&reason);
                self.halt(answers, Halt::NoProof);
            }
            JournalError::Malformed(_) | JournalError::Stopped(_) => {
                let by = match error {
                    JournalError::Malformed(_) => StoppedBy::Program,
                    _ => StoppedBy::Disk,
                };
                self.end_writing(by, &reason);
                let refusal = self.shared.refusal();
                refuse(answers, &refusal, &refusal);
            }
            JournalError::RightLost { by } => {
                let by: Option<Holder> = serde_json::from_str(by).ok();
                let at = by.and_then(|holder| holder.address);
                self.journal = None;
                self.shared
                    .held_elsewhere
                    .get_or_init(|| at.map(Into::into));
                self.shared.stop(&reason);
                let refusal = self.shared.refusal();
                refuse(answers, &refusal, &refusal);
            }
            JournalError::HeadMoved { .. } | JournalError::Disk { .. } => {
                self.end_writing(StoppedBy::Disk, &reason);
                let drafted = DeskError::DiskFailed { reason };
                refuse(answers, &drafted, &self.shared.refusal());
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
            keeper.line().hand(shelved.collect(), Arc::clone(&book));
        }
        self.shared.published.rcu(|now| Published {
            book: Arc::clone(&book),
            head: head.clone(),
            read_only: now.read_only.clone(),
        });
        self.shared.news.send_replace(head.seq);
    }

    /// Makes the book read-only, as long as this process has it.
    fn end_writing(&mut self, by: StoppedBy, reason: &str) {
        self.journal = None;
        self.shared.stop_writing(by, reason);
    }
}

/// Imagines an order on what is published, so that later reads see it.
fn imagine(
    shared: &Shared,
    imagined: &mut Imagined,
    order: &Order,
) -> Result<Arc<Entry>, DeskError> {
    let book = Arc::clone(&shared.published.load().book);
    let (book, entry) = imagined.take(&book, order, shared.clock.now())?;
    let book = Arc::new(book);
    shared.published.rcu(|now| Published {
        book: Arc::clone(&book),
        head: now.head.clone(),
        read_only: now.read_only.clone(),
    });
    Ok(entry)
}

/// Sends the answers of a draft that was given up. A refusal among them may have rested on the draft
/// and is not passed on.
fn refuse(answers: Vec<(Reply, Answer)>, drafted: &DeskError, undecided: &DeskError) {
    for (reply, answer) in answers {
        let _ = reply.send(match answer {
            Answer::Known(entry) => Ok(entry),
            Answer::Drafted(_) => Err(drafted.clone()),
            Answer::Not(_) => Err(undecided.clone()),
        });
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
