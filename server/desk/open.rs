//! Opening a book: take the lock, restore from the shelf, read what the journal has beyond it.
//!
//! It serves a fast start: what the shelf holds is not read from the journal again. It must never
//! let a book be written to whose journal is not whole, or has less than the shelf has seen.

mod copy;
mod end;
mod look;
mod restore;

use std::sync::mpsc::sync_channel;
use std::sync::{Arc, Mutex, OnceLock};
use std::time::Duration;

use arc_swap::{ArcSwap, ArcSwapOption};
use fettlebook_model::{Book, Seq};
use tokio::sync::{mpsc, watch};
use uuid::Uuid;

use super::audit;
use super::clock::Clock;
use super::company::Company;
use super::error::{OpenError, StoppedBy};
use super::finding::Findings;
use super::first_difference::FirstDifference;
use super::history::History;
use super::proof_state::ProofState;
use super::replay::Replay;
use super::retry_hint::RetryHint;
use super::upkeep::UpkeepPlace;
use super::writer::Writer;
use super::{Desk, Published, Shared};
use crate::journal::{Journal, JournalError, Mark, Reader, Survey, TornTail};
use crate::limits::{AUDIT_AT_OPEN_BYTES_MAX, LOCK_WAIT_MAX, QUEUE_LENGTH_MAX};
use crate::meters::Meters;
use crate::shelf::{Furthest, Keeper, Shelf, ShelfSize, Source};
use crate::store::{Asked, Store, WritersRight};

pub(super) use copy::open_copy;
use restore::{Restored, restore};

/// What a desk is opened with.
#[derive(Clone)]
pub struct DeskOptions {
    /// Tells the time.
    pub clock: Arc<dyn Clock>,
    /// Id of the book, should the store hold none yet.
    pub new_book_id: Uuid,
    /// How long to wait for another process to let go of the book.
    pub lock_wait: Duration,
    /// How many commands may wait.
    pub queue_length: usize,
    /// Most of a journal, not proven, that is read through before the book opens.
    pub audit_bytes_max: u64,
    /// Whether a person says that the clock is right, whatever the last entry says.
    pub accept_clock: bool,
    /// Whether the book is only looked at: nothing may be recorded, and a short journal whose end is
    /// proven is read without the shelf.
    pub only_looks: bool,
    /// What measures the work.
    pub meters: Meters,
}

impl DeskOptions {
    /// The usual limits.
    pub fn new(clock: Arc<dyn Clock>, new_book_id: Uuid) -> Self {
        Self {
            clock,
            new_book_id,
            lock_wait: LOCK_WAIT_MAX,
            queue_length: QUEUE_LENGTH_MAX,
            accept_clock: false,
            only_looks: false,
            audit_bytes_max: AUDIT_AT_OPEN_BYTES_MAX,
            meters: Meters::default(),
        }
    }
}

/// What was found on opening.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenReport {
    /// A torn last line, which was set right.
    pub torn: Option<TornTail>,
    /// The shelf.
    pub shelf: ShelfFound,
    /// Why the book is read-only.
    pub read_only: Option<Arc<str>>,
}

/// In which state the shelf was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ShelfFound {
    /// It held everything.
    Current,
    /// It was not needed, and was not opened.
    Unopened,
    /// It lacked the last entries, which were put on it.
    Behind {
        /// How many.
        entry_count: u64,
    },
    /// It was missing or could not be used, and was built again from the journal.
    Rebuilt {
        /// Why.
        why: String,
    },
    /// It could not be used, and could not be built again either: the journal alone was read, and nothing
    /// can be recorded for the time being.
    OutOfUse {
        /// Why.
        why: String,
    },
    /// It has seen what the journal does not have. It was left alone and is not used.
    Ahead,
}

pub(super) fn open(
    store: Arc<dyn Store>,
    options: &DeskOptions,
) -> Result<(Desk, OpenReport), OpenError> {
    let right = store.take(&Asked {
        new_book_id: options.new_book_id,
        now: options.clock.now(),
        wait: options.lock_wait,
        mid_move: false,
    })?;
    // A shelf is of one incarnation: numbers of another mean other entries.
    let incarnation_id = right.identity().incarnation_id;
    let end = right.settle();
    let findings = Findings {
        store: Arc::clone(&store),
        incarnation_id,
    };
    let reader = right.reader();
    if options.only_looks
        && findings.read().is_none()
        && let Some(found) = look::read(&*reader, &end)?
    {
        let report = OpenReport {
            torn: None,
            shelf: found.shelf.clone(),
            read_only: None,
        };
        let desk = start(store, right, options, found, None)?;
        return Ok((desk, report));
    }
    let shelf_folder = store.shelf_folder();
    let size = if store.is_one_of_many() {
        ShelfSize::OneOfMany
    } else {
        ShelfSize::Alone
    };
    let restored = restore(&shelf_folder, size, incarnation_id)?;
    let source = Source {
        folder: shelf_folder,
        size,
        owner: incarnation_id,
        reader,
    };
    let was_shelved = restored.mark.is_some();
    let mut found = catch_up(source, restored, end.until())?;
    end::judge(&end, &mut found, was_shelved);
    let head = found.survey.head.seq;
    let mut proof = right.proof();
    let beside = proof.unread_bytes() > options.audit_bytes_max && found.read_only.is_none();
    // What is wrong further back comes first, even where the end is known to be wrong.
    if found.shelf != ShelfFound::Ahead
        && !beside
        && let Some(fault) = audit::first_fault(&mut *proof, head)
    {
        found.first_bad = fault.first_bad;
        found.read_only = Some(fault.reason.into());
    }
    match (findings.read(), found.first_bad, &found.read_only) {
        (Some(before), ..) => {
            found.first_bad = before.first_bad;
            found.read_only = Some(before.what);
        }
        (None, Some(first_bad), Some(what)) => {
            findings.remember(first_bad, what, "opening", options.clock.now());
        }
        _ => {}
    }
    let journal = open_journal(&*right, &mut found)?;
    let report = OpenReport {
        torn: found
            .survey
            .torn
            .take()
            .filter(|_| found.read_only.is_none()),
        shelf: found.shelf.clone(),
        read_only: found.read_only.clone(),
    };
    if let Some(torn) = &report.torn {
        tracing::warn!(%torn, "the end of the journal was set right");
    }
    found.findings = Some(findings);
    // Its end may have been set right.
    proof.refresh();
    if !beside {
        found.proof_state = ProofState::Here(proof);
        let desk = start(store, right, options, found, journal)?;
        return Ok((desk, report));
    }
    let (done, audit) = sync_channel(1);
    found.proof_state = ProofState::Coming(audit);
    let desk = start(store, right, options, found, journal)?;
    audit::beside_the_work(proof, head, Arc::clone(&desk.shared), done)?;
    Ok((desk, report))
}

/// Opens the journal for writing, unless the book is read-only, or becomes so because the disk does
/// not let the journal's end be set right.
fn open_journal(
    right: &dyn WritersRight,
    found: &mut CaughtUp,
) -> Result<Option<Box<dyn Journal>>, OpenError> {
    if found.read_only.is_none() {
        match right.journal(&found.survey) {
            Ok(journal) => return Ok(Some(journal)),
            Err(JournalError::Damaged(damage)) => return Err(JournalError::from(damage).into()),
            Err(error) => {
                found.stopped_by = (!error.nobody_writes()).then_some(StoppedBy::Disk);
                found.read_only = Some(error.to_string().into());
            }
        }
    }
    let reason = found.read_only.as_deref().unwrap_or_default();
    tracing::error!(%reason, "the book opens read-only");
    Ok(None)
}

/// Starts the writer on a book that has been caught up.
fn start(
    store: Arc<dyn Store>,
    right: Box<dyn WritersRight>,
    options: &DeskOptions,
    found: CaughtUp,
    journal: Option<Box<dyn Journal>>,
) -> Result<Desk, OpenError> {
    let (identity, reader) = (right.identity(), right.reader());
    #[cfg(feature = "postgres")]
    let office = right.office();
    let keeper = found.keeper.as_ref().map(|keeper| keeper.line().clone());
    let newer = found.survey.newer;
    let history = Arc::new(History {
        reader,
        keeper,
        newer: newer.clone(),
    });
    let (news, _) = watch::channel(found.survey.head.seq);
    let published = Published {
        book: found.book,
        head: found.survey.head,
        read_only: found.read_only,
    };
    let shared = Arc::new(Shared {
        identity,
        clock: Arc::clone(&options.clock),
        published: ArcSwap::from_pointee(published),
        history: ArcSwapOption::new(Some(Arc::clone(&history))),
        first_bad: found.first_bad.map(OnceLock::from).unwrap_or_default(),
        findings: found.findings,
        unconfirmed: Mutex::default(),
        stopped_by: found.stopped_by.map(OnceLock::from).unwrap_or_default(),
        held_elsewhere: OnceLock::new(),
        newer,
        news,
        company: Company::default(),
        retry_hint: RetryHint::default(),
        #[cfg(feature = "postgres")]
        office,
        upkeep: UpkeepPlace::new(Arc::clone(&store), identity.incarnation_id),
        store,
        meters: options.meters.clone(),
    });
    let (asks, queue) = mpsc::channel(options.queue_length);
    let accepted = options.accept_clock.then(|| options.clock.now());
    let furthest = (found.furthest, accepted);
    let (is_copy, proof_state) = (found.is_copy, found.proof_state);
    let writer = Writer::new(
        queue,
        Arc::clone(&shared),
        history,
        journal,
        found.keeper,
        furthest,
        right,
    );
    let writer = writer.guarded_by(proof_state);
    let writer = if is_copy { writer.imagining() } else { writer };
    let thread = std::thread::Builder::new().name("desk".to_owned());
    thread
        .spawn(move || writer.run())
        .map_err(OpenError::Thread)?;
    Ok(Desk { asks, shared })
}

/// A book as its journal has it.
struct CaughtUp {
    book: Arc<Book>,
    survey: Survey,
    furthest: Furthest,
    read_only: Option<Arc<str>>,
    /// That it is so because the disk failed, which more helps against than against anything else.
    stopped_by: Option<StoppedBy>,
    first_bad: Option<Seq>,
    shelf: ShelfFound,
    keeper: Option<Keeper>,
    /// Whether it is a copy, on which deeds are imagined.
    is_copy: bool,
    /// What proves that the journal is whole; nothing for what is not written to.
    proof_state: ProofState,
    /// Where damage is remembered; not for what can be had again.
    findings: Option<Findings>,
}

/// Reads what the journal has beyond the shelf, and brings the shelf up.
/// Nothing behind entry `until` is looked at.
fn catch_up(source: Source, from: Restored, until: Option<Seq>) -> Result<CaughtUp, OpenError> {
    let mark = from.mark.as_ref().map(|mark| &mark.last);
    let marked = from.mark.as_ref();
    let furthest = marked.map_or(Furthest::NONE, |mark| mark.furthest);
    let reader = Arc::clone(&source.reader);
    let keeper = Keeper::start(source, from.shelf, Arc::new(from.book.clone()), furthest);
    let keeper = keeper.map_err(OpenError::Thread)?;
    let mut replay = Replay::new(from.book, furthest, Some(keeper.line().clone()));
    let found = reader.survey(mark, until, &mut |line| replay.take(line).map(drop))?;
    if let (false, Some(mark)) = (found.start_found, mark) {
        let shelf = keeper.line().shelf();
        keeper.close();
        return without_shelf(&*reader, mark, shelf);
    }
    replay.hand_over();
    // Before the first order is taken, or a retry of one of these would not be known as one. While
    // the shelf is lost no order is taken at all.
    let lost = keeper.line().settle().err();
    if let Some(error) = &lost {
        tracing::error!(%error, "nothing can be recorded until the shelf can be written");
    }
    let shelf = match (from.thrown_away, replay.entry_count, from.mark) {
        (Some(thrown_away), _, _) => match lost {
            Some(why) => ShelfFound::OutOfUse {
                why: why.to_string(),
            },
            None => ShelfFound::Rebuilt { why: thrown_away },
        },
        (None, 0, _) => ShelfFound::Current,
        (None, _, None) => ShelfFound::Rebuilt {
            why: "the shelf was missing".to_owned(),
        },
        (None, entry_count, Some(_)) => ShelfFound::Behind { entry_count },
    };
    let damage = found.damage.as_ref().map(ToString::to_string);
    let newer = || found.newer.as_ref().map(ToString::to_string);
    Ok(CaughtUp {
        book: Arc::new(replay.book),
        furthest: replay.furthest,
        read_only: damage.or_else(newer).map(Into::into),
        stopped_by: None,
        first_bad: found.damage.as_ref().map(|damage| damage.seq),
        survey: found,
        shelf,
        keeper: Some(keeper),
        is_copy: false,
        proof_state: ProofState::Nowhere,
        findings: None,
    })
}

/// Reads the whole journal, which lacks an entry that the shelf has seen. The shelf stays as it
/// is: it shows what is gone.
fn without_shelf(
    reader: &dyn Reader,
    mark: &Mark,
    shelf: Option<Arc<Shelf>>,
) -> Result<CaughtUp, OpenError> {
    let mut replay = Replay::new(Book::new(), Furthest::NONE, None);
    let mut first_difference = shelf.map(FirstDifference::new);
    let found = reader.survey(None, None, &mut |line| {
        let entry = replay.take(line)?;
        if let Some(first_difference) = &mut first_difference {
            // Where the shelf cannot be read it says nothing of the journal.
            let known = first_difference.knows(&entry).unwrap_or(true);
            let _ = first_difference.look(line, known);
            if line.mark.at.seq == mark.at.seq {
                first_difference.take_chain(mark.at.seq, mark.chain, line.mark.chain);
            }
        }
        Ok(())
    })?;
    replay.hand_over();
    let (seen, head) = (mark.at.seq, found.head.seq);
    let parted = first_difference.and_then(|first_difference| first_difference.found());
    let (first_bad, reason) = match (&found.damage, parted, &found.newer) {
        (Some(damage), Some((first, reason)), _) if first < damage.seq => (Some(first), reason),
        (Some(damage), ..) => (Some(damage.seq), damage.to_string()),
        (None, Some((first, reason)), _) => (Some(first), reason),
        (None, None, Some(newer)) => (None, newer.to_string()),
        (None, None, None) if head < seen => (Some(head.next()), lost(head, seen)),
        (None, None, None) => (
            Some(seen),
            format!("entry {seen} of the journal is not the one that the shelf has seen"),
        ),
    };
    Ok(CaughtUp {
        book: Arc::new(replay.book),
        furthest: replay.furthest,
        read_only: Some(reason.into()),
        stopped_by: None,
        first_bad,
        survey: found,
        shelf: ShelfFound::Ahead,
        keeper: None,
        is_copy: false,
        proof_state: ProofState::Nowhere,
        findings: None,
    })
}

fn lost(head: Seq, seen: Seq) -> String {
    let first = head.next();
    format!(
        "entry {first} of the journal is missing: it ends at entry {head}, but the shelf has seen \
         entry {seen}"
    )
}
