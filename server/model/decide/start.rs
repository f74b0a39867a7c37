//! Setting up what a shop begins with, in one entry: makes, routines, pieces, a car and its job.
//!
//! Serves the first hour, and sheets. Each part is decided as the command of its own would be, on a copy of
//! the book that has what stands before it; so the book comes to the same as command by command. Everything
//! that is wrong is found, by its row, and nothing is set up while anything is. On a book in use only what is
//! missing is added.

use fettlebook_quantity::{Mass, Volume};

use super::bounds::note;
use super::define::{cars, makes, routines};
use super::notebook::{RowProblem, a_job_of_work};
use super::weigh::weigh;
use super::{Decision, diary, receive};
use crate::book::change::Stamp;
use crate::book::command::{OfRow, Said, Start, StartPiece, StartPrice, Weighing};
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Id, Subject, Tag};
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::dose::volume_left;
use crate::trade::kit::State;
use crate::trade::make::{Figures, LiquidFigures, Make, PadFigures};
use crate::trade::starter::usual_tare;
use crate::trade::wear::Work;
use crate::{Book, Moment};

/// Most makes, and most rows of pieces, in one start.
const ROWS_MAX: usize = 500;
/// A whole bottle, thousandths.
const FULL_PERMILLE: i64 = 1_000;

pub(super) fn start(book: &Book, start: &Start, now: Moment) -> Result<Decision, Refusal> {
    let (trial, problems) = Trial::run(book, start, now);
    if !problems.is_empty() {
        return Err(refused_start(&problems));
    }
    let said = Said {
        note: start.note.clone(),
        ..Said::default()
    };
    Ok(Decision::of(&said, now)?.with(trial.deeds, trial.flags))
}

/// Everything that is wrong with a start, in the order of its parts.
pub fn start_problems(book: &Book, start: &Start, now: Moment) -> Vec<RowProblem> {
    Trial::run(book, start, now).1
}

/// The refusal of a start with these problems: the first of them, and how many more there are.
pub fn refused_start(problems: &[RowProblem]) -> Refusal {
    let Some(RowProblem { line, refusal }) = problems.first() else {
        return nothing_to_add();
    };
    let row = match line {
        0 => String::new(),
        row => format!("Row {row}: "),
    };
    let more = match problems.len() {
        1 => String::new(),
        2 => " There is 1 more problem.".to_owned(),
        count => format!(" There are {} more problems.", count.saturating_sub(1)),
    };
    Refusal {
        what: format!("{row}{}{more}", refusal.what),
        ..refusal.clone()
    }
}

fn nothing_to_add() -> Refusal {
    Refusal::invalid(
        "pieces",
        "There is nothing to add: the book has all of it.",
        "Say what is new: pieces, makes, a car or a job.",
    )
}

/// A copy of the book with what was decided so far.
struct Trial {
    book: Book,
    now: Moment,
    deeds: Vec<Deed>,
    flags: Vec<Flag>,
}

impl Trial {
    /// All that is to be set up, and everything that is wrong with it.
    fn run(book: &Book, start: &Start, now: Moment) -> (Self, Vec<RowProblem>) {
        let mut trial = Self {
            book: book.clone(),
            now,
            deeds: Vec::new(),
            flags: Vec::new(),
        };
        let mut problems = Vec::new();
        let mut keep = |row: i64, done: Result<(), Refusal>| {
            if let Err(refusal) = done {
                problems.push(RowProblem { line: row, refusal });
            }
        };
        keep(0, note(&start.note));
        keep(0, few_enough(start));
        for OfRow { row, what } in trial.new_makes(start) {
            let done = trial.set_up(&what, &start.prices);
            keep(row, done);
        }
        for OfRow { row, what } in &start.prices {
            let done = trial.price(what);
            keep(*row, done);
        }
        for routine in start.kit.map(|kit| kit.routines()).unwrap_or_default() {
            if trial.book.routine(&routine.id).is_none() {
                let done = routines::create(&trial.book, &routine, now);
                let done = done.map(|decision| trial.add(decision));
                keep(0, done);
            }
        }
        for OfRow { row, what } in &start.pieces {
            let done = trial.receive(what);
            keep(*row, done);
        }
        if let Some(car) = &start.car
            && trial.book.car(&car.id).is_none()
        {
            let done = cars::create(&trial.book, car, now);
            let done = done.map(|decision| trial.add(decision));
            keep(0, done);
        }
        if let Some(job) = &start.job {
            let done = diary::book_job(&trial.book, job, now);
            let done = done.map(|decision| trial.add(decision));
            keep(0, done);
        }
        if problems.is_empty() && trial.deeds.is_empty() {
            problems.push(RowProblem {
                line: 0,
                refusal: nothing_to_add(),
            });
        }
        (trial, problems)
    }

    /// Makes that the book does not have: those that are given, then those of the starter kit.
    fn new_makes(&self, start: &Start) -> Vec<OfRow<Make>> {
        let mut makes: Vec<OfRow<Make>> = Vec::new();
        let kits = start.kit.map(|kit| kit.makes()).unwrap_or_default();
        let of_kit = kits.into_iter().map(|one| OfRow {
            row: 0,
            what: one.make,
        });
        for make in start.makes.iter().cloned().chain(of_kit) {
            let id = &make.what.id;
            let is_named = makes.iter().any(|named| named.what.id == *id);
            if !is_named && self.book.make(id).is_none() {
                makes.push(make);
            }
        }
        makes
    }

    /// Sets a make up, with its price where that is said apart.
    fn set_up(&mut self, make: &Make, prices: &[OfRow<StartPrice>]) -> Result<(), Refusal> {
        let mut make = make.clone();
        let mut said = prices.iter().map(|price| &price.what);
        if let Some(said) = said.find(|said| said.make == make.id) {
            put_price(&mut make, said);
        }
        let decision = makes::create(&self.book, &make, self.now)?;
        self.add(decision);
        Ok(())
    }

    /// Gives a make of the book its price where it has none; one that it has stays.
    fn price(&mut self, said: &StartPrice) -> Result<(), Refusal> {
        let held = self.make("prices.make", &said.make)?;
        if held.price.is_some() {
            return Ok(());
        }
        let mut make = held.clone();
        // What is from the policy stays so.
        make.filled = None;
        put_price(&mut make, said);
        let decision = makes::edit(&self.book, &held, &make, self.now)?;
        self.add(decision);
        Ok(())
    }

    fn make(&self, field: &str, id: &Id) -> Result<Make, Refusal> {
        let held = self.book.make(id);
        let unknown = || Refusal::no_id(Reason::MakeUnknown, field, "make", id);
        held.map(|make| Make::clone(make)).ok_or_else(unknown)
    }

    /// Takes pieces in as they stand.
    fn receive(&mut self, piece: &StartPiece) -> Result<(), Refusal> {
        let figures = self.make("make", &piece.receipt.make)?.figures;
        fits_sort(piece, &figures)?;
        let mut receipt = piece.receipt.clone();
        match &figures {
            Figures::Pad(pad) => {
                let a_job = a_job_of_work(pad);
                let work = piece.job_count.map(|jobs| jobs.saturating_mul(a_job));
                let work = work.map(Work::from_micro_sections);
                receipt.work = one_of("job_count", receipt.work, work)?;
                // A pad is washed after each job.
                receipt.wash_count = receipt.wash_count.or(piece.job_count);
            }
            Figures::Liquid(liquid) => {
                let share = piece.full_permille.map(|part| share_of(liquid, part));
                receipt.volume_ul = one_of("full_permille", receipt.volume_ul, share)?;
                let weighed = piece
                    .gross_mg
                    .map(|gross| self.weighed(liquid, gross, piece));
                receipt.volume_ul = one_of("gross_mg", receipt.volume_ul, weighed)?;
            }
            _ => {}
        }
        let mut decision = receive::receive(&self.book, &receipt, self.now)?;
        if let Figures::Pad(pad) = &figures {
            carried(&mut decision.deeds, pad);
        }
        let tags: Vec<Tag> = decision.deeds.iter().filter_map(tag_of).collect();
        self.add(decision);
        if let Some(gross_mg) = piece.gross_mg {
            self.weigh(&tags, gross_mg, &figures)?;
        }
        Ok(())
    }

    /// What a bottle of this weight holds; by the usual weight of an empty one where nobody said its own.
    fn weighed(&self, liquid: &LiquidFigures, gross: Mass, piece: &StartPiece) -> Volume {
        let tare = piece.receipt.tare_mg.or(liquid.tare_mg);
        let tare = tare.unwrap_or_else(|| usual_tare(liquid.bottle_ul));
        let density = liquid.density_mg_per_ml;
        let density = density.unwrap_or_else(|| self.book.policy().value(liquid.density_key()));
        let left = volume_left(gross, tare, density).unwrap_or(Volume::ZERO);
        left.min(liquid.bottle_ul)
    }

    /// Records the weight of bottles that just came in, and says where what is left rests on the usual
    /// weight of an empty one.
    fn weigh(&mut self, tags: &[Tag], gross_mg: Mass, figures: &Figures) -> Result<(), Refusal> {
        let weighings: Vec<Weighing> = tags
            .iter()
            .map(|tag| Weighing {
                tag: *tag,
                gross_mg,
            })
            .collect();
        let decision = weigh(&self.book, &Said::default(), &weighings, self.now)?;
        self.add(decision);
        let Figures::Liquid(liquid) = figures else {
            return Ok(());
        };
        for tag in tags {
            let bottle = self.book.piece(*tag).and_then(|piece| piece.bottle());
            let waits =
                bottle.filter(|bottle| bottle.known_tare().is_none() && liquid.tare_mg.is_none());
            self.flags.extend(waits.map(|bottle| Flag {
                subject: Subject::Piece(*tag),
                text: format!(
                    "{tag} at {gross_mg} holds about {}, with {} for an empty bottle, from memory. Weigh a \
                     full or an empty one to know it.",
                    bottle.left_ul,
                    usual_tare(liquid.bottle_ul)
                ),
                count: false,
            }));
        }
        Ok(())
    }

    /// Takes over what was decided, so that what follows can rest on it.
    fn add(&mut self, decision: Decision) {
        for deed in &decision.deeds {
            let stamp = Stamp::unreported(self.book.head().next(), self.now);
            self.book.take(deed, stamp);
        }
        self.deeds.extend(decision.deeds);
        self.flags.extend(decision.flags);
    }
}

fn few_enough(start: &Start) -> Result<(), Refusal> {
    let most = start
        .makes
        .len()
        .max(start.pieces.len())
        .max(start.prices.len());
    if most <= ROWS_MAX {
        return Ok(());
    }
    Err(Refusal::invalid(
        "pieces",
        format!("More than {ROWS_MAX} rows."),
        "Split them into several requests.",
    ))
}

fn put_price(make: &mut Make, said: &StartPrice) {
    make.price = Some(said.price);
    make.pack_count = said.pack_count.unwrap_or(make.pack_count);
}

/// A share of a full bottle.
const fn share_of(liquid: &LiquidFigures, permille: i64) -> Volume {
    let full = liquid.bottle_ul.ul();
    Volume::from_ul(full.saturating_mul(permille).div_euclid(FULL_PERMILLE))
}

/// The one of two figures that say the same thing.
fn one_of<T>(field: &str, said: Option<T>, other: Option<T>) -> Result<Option<T>, Refusal> {
    if said.is_some() && other.is_some() {
        return Err(Refusal::invalid(
            field,
            "What is left, or was done, is said twice.",
            "Give the figure you know best, and only that.",
        ));
    }
    Ok(said.or(other))
}

/// Refuses what says nothing of this sort of thing.
fn fits_sort(piece: &StartPiece, figures: &Figures) -> Result<(), Refusal> {
    let pad = matches!(figures, Figures::Pad(_));
    let bottle = matches!(figures, Figures::Liquid(_));
    let stray = [
        ("job_count", piece.job_count.is_some() && !pad),
        ("full_permille", piece.full_permille.is_some() && !bottle),
        ("gross_mg", piece.gross_mg.is_some() && !bottle),
    ];
    match stray.iter().find(|(_, stray)| *stray) {
        None => Ok(()),
        Some((field, _)) => Err(Refusal::invalid(
            field,
            format!(
                "`{field}` does not go with {}, a {}.",
                piece.receipt.make,
                figures.sort()
            ),
            "Leave it out.",
        )),
    }
}

/// A pad that has worked has carried what it is for, as far as anybody tells.
fn carried(deeds: &mut [Deed], figures: &PadFigures) {
    for deed in deeds {
        if let Deed::Received {
            state: State::Pad(pad),
            ..
        } = deed
            && pad.use_count > 0
        {
            pad.coarsest_liquid = Some(figures.grade);
        }
    }
}

const fn tag_of(deed: &Deed) -> Option<Tag> {
    match deed {
        Deed::Received { tag, .. } => Some(*tag),
        _ => None,
    }
}
