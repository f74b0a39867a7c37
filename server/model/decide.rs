//! Deciding: a command becomes deeds, or a refusal that changes nothing.
//!
//! What is wished (a definition, a booking, a price) may be refused with reason and field. What
//! happened (a use, a wash, a weigh-in, a loss) is taken in and flagged where it contradicts the
//! book; it is refused only when it cannot be understood.

mod bounds;
mod charge;
mod coarser;
mod define;
mod diary;
mod doubts;
mod fill;
mod film;
mod flags;
mod kept;
mod landed;
mod log;
mod log_loose;
mod named_kit;
mod notebook;
mod orders;
mod readings;
mod receive;
mod reverse;
mod shares;
mod start;
mod stocktake;
mod take;
mod upkeep;
mod weigh;

pub(crate) use log::log_as_planned;
pub use notebook::{RowProblem, problems, refused};
pub use start::{refused_start, start_problems};
pub(crate) use take::{See, Seen, Stop};

use crate::book::command::{Command, Said};
use crate::book::deed::{Deed, Flag};
use crate::ground::refusal::Refusal;
use crate::trade::kept::KeptMark;
use crate::trade::take::Picked;
use crate::{Book, Moment};

/// What a command does, before it is recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Decision {
    /// What happens.
    pub deeds: Vec<Deed>,
    /// What contradicts the book.
    pub flags: Vec<Flag>,
    /// When it happened.
    pub done_at: Moment,
    /// Anything worth remembering.
    pub note: String,
    /// How its device kept it.
    pub kept: Option<KeptMark>,
    /// The pick that the log of a job starts from, before what was said otherwise, or that is taken: for
    /// showing it before it is recorded.
    pub picked: Vec<Picked>,
    /// Whether it changes a level from before something that the book has already.
    pub comes_late: bool,
}

impl Decision {
    /// Nothing yet, done when it is said to have been.
    fn of(said: &Said, now: Moment) -> Result<Self, Refusal> {
        let done_at = bounds::done_at(said, now)?;
        bounds::note(&said.note)?;
        Ok(Self {
            note: said.note.clone(),
            kept: said.kept.as_ref().map(|kept| kept.mark),
            ..Self::now(Vec::new(), done_at)
        })
    }

    /// These deeds, done now, with nothing to flag.
    fn now(deeds: Vec<Deed>, now: Moment) -> Self {
        Self {
            deeds,
            flags: Vec::new(),
            done_at: now,
            note: String::new(),
            kept: None,
            picked: Vec::new(),
            comes_late: false,
        }
    }

    /// With these deeds and flags.
    fn with(self, deeds: Vec<Deed>, flags: Vec<Flag>) -> Self {
        Self {
            deeds,
            flags,
            ..self
        }
    }
}

/// Decides a command against a book at a moment; `see` is the check of a job with a pick.
///
/// # Errors
/// A [`Refusal`] that names the field, what was wrong and what to do. Nothing has changed then.
pub(crate) fn decide(
    book: &Book,
    command: &Command,
    now: Moment,
    see: See,
) -> Result<Decision, Refusal> {
    let mut decision = decide_as_said(book, command, now, see)?;
    let said = command.keepable();
    let kept = said.and_then(|said| said.kept.as_ref());
    let readings = readings::flag_readings(book, kept, &decision);
    decision.flags.extend(readings);
    decision.comes_late = readings::comes_late(book, kept, &decision);
    match (said, kept) {
        (Some(said), Some(kept)) => Ok(kept::meet(book, kept, said.done_at, decision, now)),
        _ => Ok(decision),
    }
}

/// Decides a command as if its device had seen all of the book.
fn decide_as_said(
    book: &Book,
    command: &Command,
    now: Moment,
    see: See,
) -> Result<Decision, Refusal> {
    match command {
        Command::CreateMake { make } => define::makes::create(book, make, now),
        Command::EditMake { was, make } => define::makes::edit(book, was, make, now),
        Command::CreateCar { car } => define::cars::create(book, car, now),
        Command::EditCar { was, car } => define::cars::edit(book, was, car, now),
        Command::RecordFilm(read) => film::record(book, read, now),
        Command::CreateRoutine { routine } => define::routines::create(book, routine, now),
        Command::EditRoutine { was, routine } => define::routines::edit(book, was, routine, now),
        Command::SetPolicies { changes, note } => define::policies::set(book, changes, note, now),
        Command::Receive(receipt) => receive::receive(book, receipt, now),
        Command::Start(start) => start::start(book, start, now),
        Command::ImportPads { note, rows } => notebook::import(book, note, rows, now),
        Command::Move { said, tags, place } => upkeep::move_kit(book, said, tags, place, now),
        Command::Wash {
            said,
            tags,
            inspections,
        } => upkeep::wash(book, said, tags, inspections, now),
        Command::MarkDry { said, tags } => upkeep::mark_dry(book, said, tags, now),
        Command::MarkLabelled { said, tags } => upkeep::mark_labelled(book, said, tags, now),
        Command::Charge { said, tags } => charge::charge(book, said, tags, now),
        Command::Weigh { said, weighings } => weigh::weigh(book, said, weighings, now),
        Command::Fill {
            said,
            bottle,
            from,
            volume_ul,
        } => fill::fill(book, said, (*bottle, *from), *volume_ul, now),
        Command::Count { said, tag, count } => stocktake::count(book, said, *tag, *count, now),
        Command::SetAside { said, tags, reason } => {
            upkeep::set_aside(book, said, tags, *reason, now)
        }
        Command::Return {
            said,
            tags,
            check_due,
            is_clean,
        } => upkeep::give_back(book, said, tags, (*check_due, *is_clean), now),
        Command::Bin {
            said,
            tags,
            reason,
            count,
        } => upkeep::bin(book, said, tags, *reason, *count, now),
        Command::Demote { said, tag, grade } => upkeep::demote(book, said, *tag, *grade, now),
        Command::CreateSupplier { supplier } => define::suppliers::create(book, supplier, now),
        Command::EditSupplier { was, supplier } => {
            define::suppliers::edit(book, was, supplier, now)
        }
        Command::CreateOrder(new) => orders::create(book, new, now),
        Command::PlaceOrder { said, order } => orders::place(book, said, order, now),
        Command::CloseOrder { said, order } => orders::close(book, said, order, now),
        Command::ReceiveOrder(delivery) => orders::receive(book, delivery, now),
        Command::BookJob { job } => diary::book_job(book, job, now),
        Command::EditJob { was, job } => diary::edit_job(book, was, job, now),
        Command::CallOff { said, job } => diary::call_off(book, said, job, now),
        Command::TakeJob(take) => take::take_job(book, take, now, see),
        Command::LogJob(log) => log::log_job(book, log, now),
        Command::LogLoose(loose) => log_loose::log_loose(book, loose, now),
        Command::Reverse { said, seq, past } => {
            reverse::reverse(book, said, *seq, past.as_deref(), now)
        }
    }
}
