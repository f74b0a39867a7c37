//! What truly happens in a job of the shop that orders its kit, and the wash after it.
//!
//! It serves the comparison of ways to order. Pads of the pick list work first, then any other that is
//! ready; the book learns what a person would report.

use fettlebook_model::check::{JobCheck, Line, LineKind};
use fettlebook_model::command::{JobLog, PadUse, Said};
use fettlebook_model::pick::is_demotable;
use fettlebook_model::towel::TowelGrade;
use fettlebook_model::wear::{BinReason, damage};
use fettlebook_model::{Command, Tag};

use crate::bottles::{draw, take_empty, weigh_opened};
use crate::ledger::{PADS, id};
use crate::market::TOWEL;
use crate::supply::Shop;
use crate::truth::JobTruth;
use crate::year::{WASHES_RATED, WEIGHED_EVERY, even, lines, picked, rated_sections};

/// One job in so many drops a towel.
const DROPS_ONE_IN: usize = 7;

impl Shop {
    /// Does the job of a day; whether it came up short.
    pub(crate) fn work(&mut self, day: usize, check: &JobCheck) -> bool {
        let job = self.truth.jobs[day];
        let mut log = JobLog {
            job: Some(check.job.id.clone()),
            said: Said::default(),
            dropped_towel_count: i64::from(day.is_multiple_of(DROPS_ONE_IN)),
            ..JobLog::default()
        };
        let mut is_short = false;
        for (at, line) in lines(check, LineKind::Pad).enumerate() {
            let (said, short) = self.work_step(at, line, job, check);
            log.pads.extend(said);
            is_short |= short;
        }
        is_short |= self.pour(job, check);
        if day.is_multiple_of(WEIGHED_EVERY) {
            log.weighings = weigh_opened(&self.bottles, &self.ledger.book, check);
        }
        self.ledger.say(&Command::LogJob(Box::new(log)));
        self.end_bottles();
        is_short
    }

    /// One step: working pads share its sections, another takes over from one that fails: the spares
    /// first, then what else is ready. Gives what is reported and whether it came up short.
    fn work_step(
        &mut self,
        at: usize,
        line: &Line,
        job: JobTruth,
        check: &JobCheck,
    ) -> (Vec<PadUse>, bool) {
        let plan = &check.plan.steps[at];
        let rated = rated_sections(&self.ledger.book, at);
        let worn = |sections: i64| damage(plan.share(sections).work(), rated, 0, 0);
        let working = picked(line, false);
        let mut others = picked(line, true);
        others.extend(self.else_ready(at, line, check));
        let mut others = others.into_iter();
        let shares = even(plan.section_count, working.len());
        let (mut said, mut short) = (Vec::new(), false);
        for (tag, share) in working.iter().zip(shares) {
            let mut open = share;
            let mut worker = Some((*tag, true));
            while open > 0 {
                let (tag, is_planned) = worker.take().unwrap_or_else(|| {
                    short = true;
                    (self.fetch(PADS[at], 1)[0], false)
                });
                let pad = &mut self.pads.get_mut(&tag).unwrap().1;
                let done = pad.work(job.severity * worn(open));
                let has_failed = pad.has_failed();
                let sections = if has_failed {
                    (open as f64 * done).floor() as i64
                } else {
                    open
                };
                if has_failed || !is_planned {
                    said.push(PadUse {
                        tag,
                        section_count: Some(sections),
                        found: has_failed.then_some(BinReason::Torn),
                        aside: None,
                    });
                }
                open = if has_failed { open - sections } else { 0 };
                if open > 0 {
                    worker = others.next().map(|other| (other, false));
                }
            }
        }
        (said, short)
    }

    /// Pads of a step's make that were ready at the start and not picked.
    fn else_ready(&self, at: usize, line: &Line, check: &JobCheck) -> Vec<Tag> {
        let make = id(PADS[at]);
        let ready = self.ledger.book.pieces_of(&make).filter(|piece| {
            piece.readiness.at(check.job.starts_at).word() == "ready"
                && !line.picks.iter().any(|pick| pick.tag == piece.tag)
        });
        ready.map(|piece| piece.tag).collect()
    }

    /// Pours what the job truly takes; whether there was too little of a make.
    fn pour(&mut self, job: JobTruth, check: &JobCheck) -> bool {
        let mut is_short = false;
        for (at, (make, likely, _)) in check.liquids.iter().enumerate() {
            let mut open = likely.planned as f64 * self.truth.use_ratio[at] * job.pour[at];
            let line = lines(check, LineKind::Liquid)
                .find(|line| line.make.as_ref() == Some(make))
                .unwrap();
            let mut from: Vec<Tag> = line.picks.iter().map(|pick| pick.tag).collect();
            let on_the_shelf = self.ledger.book.pieces_of(make).map(|piece| piece.tag);
            from.extend(on_the_shelf);
            open = draw(&mut self.bottles, from, open);
            if open > 1.0 {
                is_short = true;
                let tag = self.fetch(make.as_str(), 1)[0];
                *self.bottles.get_mut(&tag).unwrap() -= open;
            }
        }
        is_short
    }

    /// Bins bottles that are truly empty.
    fn end_bottles(&mut self) {
        for tag in take_empty(&mut self.bottles) {
            self.bin(tag, BinReason::Empty);
        }
    }

    /// Washes what is soiled, bins what a wash finishes off, and takes towels down a grade in time.
    pub(crate) fn wash(&mut self) {
        let soiled = self.ledger.soiled();
        let towels = id(TOWEL);
        let bundles = self
            .ledger
            .book
            .pieces_of(&towels)
            .filter(|piece| piece.bundle().is_some_and(|bundle| bundle.soiled_count > 0));
        let mut tags: Vec<Tag> = bundles.map(|piece| piece.tag).collect();
        tags.extend(soiled.values().flatten());
        if !tags.is_empty() {
            self.ledger.say(&Command::Wash {
                said: Said::default(),
                tags,
                inspections: Vec::new(),
            });
        }
        for (at, tags) in soiled {
            for tag in tags {
                let pad = &mut self.pads.get_mut(&tag).unwrap().1;
                pad.spent += 1.0 / WASHES_RATED[at] as f64;
                if pad.has_failed() {
                    self.bin(tag, BinReason::Peeling);
                }
            }
        }
        self.demote();
    }

    fn demote(&mut self) {
        let book = &self.ledger.book;
        let towels = id(TOWEL);
        let due = book.pieces_of(&towels).filter(|piece| {
            let is_for_paint = piece
                .bundle()
                .is_some_and(|bundle| bundle.grade == TowelGrade::Residue);
            is_for_paint && is_demotable(book, piece)
        });
        let due: Vec<Tag> = due.map(|piece| piece.tag).collect();
        for tag in due {
            self.ledger.say(&Command::Demote {
                said: Said::default(),
                tag,
                grade: TowelGrade::ShutsAndGlass,
            });
        }
    }
}
