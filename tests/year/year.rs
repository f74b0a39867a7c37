//! A year with the book: every job checked, the advice followed, the use logged, the pads washed.
//!
//! It serves the calibration. The physics is here and is never shown to the book, which learns only
//! what a person would report: torn pads, sections, weights.

use std::collections::{BTreeMap, BTreeSet};

use fettlebook_model::check::{JobCheck, Line, LineKind, check_jobs};
use fettlebook_model::command::{JobLog, PadUse, Said};
use fettlebook_model::damage::damage_of;
use fettlebook_model::make::Figures;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear::{BinReason, damage};
use fettlebook_model::wear_report::{make_wear, pad_left};
use fettlebook_model::{Book, Command, Deed, Id, Tag};
use jiff::SignedDuration;

use crate::bottles::{Bottles, draw, take_empty, weigh_opened};
use crate::ledger::{CAR_COUNT, Ledger, PADS, id, start_of};
use crate::score::{FIRST_USES, SETTLED_FROM, Score};
use crate::trial::{ShopRecord, ToldJob};
use crate::truth::{DAYS, JobTruth, TruePad, Truth, World};

/// Bottles are weighed after every so many jobs.
pub(crate) const WEIGHED_EVERY: usize = 3;
/// Use at which a pad's range of life is noted, to see whether it holds.
const RANGE_AT_USE: i64 = 2;
/// Damage past which it is noted once more.
const RANGE_PAST: f64 = 0.4;
/// The job from which a supplier sends worse pads, where it does.
pub(crate) const WORSE_FROM: usize = 50;
/// The sentence about newer pads is looked for after every so many jobs.
const LOOKED_EVERY: usize = 3;
/// Pads that came later may not end within the year, nor be compared with their life.
pub(crate) const WASHES_RATED: [i64; 2] = [28, 50];

/// How far the check is followed.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Advice {
    /// Everything it says to buy is bought.
    Followed,
    /// The same in a shop that wants its jobs to carry with this chance, in thousandths.
    FollowedAt(i64),
    /// Only what a line is short of is bought, so that chances stay lower.
    OnlyWhatIsShort,
}

/// The year of a shop that keeps the book.
pub(crate) fn year_of_advice(seed: u64, advice: Advice) -> Score {
    Year::lived(seed, advice, World::AsAssumed, None, DAYS).score
}

/// So many jobs of a shop that keeps the book, job by job; old lives fade by the policy, or by what is
/// given.
pub(crate) fn shop_of_advice(
    seed: u64,
    advice: Advice,
    world: World,
    lives_halve_pads: Option<i64>,
    jobs: usize,
) -> (ShopRecord, Score) {
    let year = Year::lived(seed, advice, world, lives_halve_pads, jobs);
    (year.record, year.score)
}

struct Year {
    world: World,
    truth: Truth,
    ledger: Ledger,
    pads: BTreeMap<Tag, (usize, TruePad)>,
    /// What is truly left, µL.
    bottles: Bottles,
    /// Pads whose range was noted past that damage.
    noted: BTreeSet<Tag>,
    score: Score,
    record: ShopRecord,
}

impl Year {
    fn lived(
        seed: u64,
        advice: Advice,
        world: World,
        lives_halve_pads: Option<i64>,
        jobs: usize,
    ) -> Self {
        let mut year = Self {
            world,
            truth: Truth::of(seed, CAR_COUNT, world),
            ledger: Ledger::set_up(),
            pads: BTreeMap::new(),
            bottles: Bottles::new(),
            noted: BTreeSet::new(),
            score: Score::default(),
            record: ShopRecord::default(),
        };
        if let Some(pads) = lives_halve_pads {
            year.ledger.set_policy(PolicyKey::LivesHalvePads, pads);
        }
        if let Advice::FollowedAt(target) = advice {
            year.ledger
                .set_policy(PolicyKey::CarryTargetPermille, target);
        }
        for day in 0..jobs {
            year.live(day, advice);
            if day + 1 == SETTLED_FROM {
                year.score.pads_bought_settling = year.score.pads_bought;
            }
        }
        year
    }

    fn live(&mut self, day: usize, advice: Advice) {
        self.truth.is_worse = self.world == World::WorseSupplier && day >= WORSE_FROM;
        let job = self.truth.jobs[day];
        self.ledger.now = start_of(day) - SignedDuration::from_hours(4);
        let id = self.ledger.book_job(day, job.car);
        let check = self.prepare(&id, advice);
        self.ledger.now = start_of(day) + SignedDuration::from_hours(8);
        self.work(day, &id, job, &check);
        self.ledger.now = start_of(day) + SignedDuration::from_hours(9);
        self.wash();
        if day.is_multiple_of(LOOKED_EVERY) {
            self.look_for_worse_pads(day);
        }
    }

    /// Whether the wear report says of a make that newer pads last shorter.
    fn look_for_worse_pads(&mut self, day: usize) {
        let told = PADS.iter().any(|make| {
            let wear = make_wear(&self.ledger.book, &id(make), self.ledger.now).unwrap();
            wear.newer_last_shorter
        });
        if told {
            self.record.warned.push(day);
        }
    }

    /// Checks, buys what the check says, and checks again.
    fn prepare(&mut self, id: &Id, advice: Advice) -> JobCheck {
        loop {
            let mut checks =
                check_jobs(&self.ledger.book, std::slice::from_ref(id), self.ledger.now).unwrap();
            let check = checks.remove(0);
            let wanted: Vec<(LineKind, Id, i64)> = check
                .lines
                .iter()
                .filter(|line| advice != Advice::OnlyWhatIsShort || line.short > 0)
                .filter(|line| line.buy > 0)
                .map(|line| (line.kind, line.make.clone().unwrap(), line.buy))
                .collect();
            if wanted.is_empty() {
                return check;
            }
            for (kind, make, count) in wanted {
                self.buy(kind, &make, count);
            }
        }
    }

    fn buy(&mut self, kind: LineKind, make: &Id, count: i64) -> Vec<Tag> {
        let tags = self.ledger.receive(make.as_str(), count);
        for &tag in &tags {
            match kind {
                LineKind::Pad => {
                    let at = PADS.iter().position(|name| *name == make.as_str()).unwrap();
                    let life = self.truth.new_life(at);
                    self.pads.insert(tag, (at, TruePad { life, spent: 0.0 }));
                    self.score.pads_bought += 1;
                }
                _ => {
                    let full = self
                        .ledger
                        .book
                        .piece(tag)
                        .unwrap()
                        .bottle()
                        .unwrap()
                        .full_ul;
                    self.bottles.insert(tag, full.ul() as f64);
                }
            }
        }
        tags
    }

    /// What truly happens in a job, and what is reported of it.
    fn work(&mut self, day: usize, id: &Id, job: JobTruth, check: &JobCheck) {
        let (mut log, mut short_of_pads) = (JobLog::default(), false);
        log.job = Some(id.clone());
        log.said = Said::default();
        for (at, line) in lines(check, LineKind::Pad).enumerate() {
            let (said, short) = self.work_step(at, line, job, check);
            log.pads.extend(said);
            short_of_pads |= short;
        }
        let short_of_liquid = self.pour(day, job, check);
        if day.is_multiple_of(WEIGHED_EVERY) {
            log.weighings = weigh_opened(&self.bottles, &self.ledger.book, check);
        }
        let named: Vec<Tag> = log.pads.iter().map(|pad| pad.tag).collect();
        let entry = self.ledger.say(&Command::LogJob(Box::new(log)));
        agrees(&entry.deeds, check, &named);
        self.end_bottles();
        self.score.jobs += 1;
        self.score.short_of_pads += usize::from(short_of_pads);
        self.score.short_of_liquid += usize::from(short_of_liquid);
        let carried = !short_of_pads && !short_of_liquid;
        self.score.short_settled += usize::from(short_of_pads && day >= SETTLED_FROM);
        let told = check.carry_chance.unwrap();
        self.score.promise(told, carried);
        self.record.jobs.push(ToldJob {
            at: day,
            told,
            carried,
        });
    }

    /// One step: working pads share its sections, a spare takes over from one that fails. Gives what
    /// is reported and whether it came up short.
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
        let working: Vec<Tag> = picked(line, false);
        let mut spares = picked(line, true).into_iter();
        let shares = even(plan.section_count, working.len());
        let (mut said, mut short) = (Vec::new(), false);
        for (tag, share) in working.iter().zip(shares) {
            self.note_range(*tag);
            let mut open = share;
            let mut worker = Some((*tag, true));
            while open > 0 {
                // Short: somebody drives for a new pad, which ends the step.
                let (tag, is_planned) = worker.take().unwrap_or_else(|| {
                    short = true;
                    let make = id(PADS[at]);
                    (self.buy(LineKind::Pad, &make, 1)[0], false)
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
                self.score.pads_failed += usize::from(has_failed);
                open = if has_failed { open - sections } else { 0 };
                if open > 0 {
                    worker = spares.next().map(|spare| (spare, false));
                }
            }
        }
        (said, short)
    }

    /// Holds the range of life left, as told now, against the truth. Recorded damage runs behind the
    /// true one by the mean of the severity, so the true life is told in recorded damage.
    fn note_range(&mut self, tag: Tag) {
        let book = &self.ledger.book;
        let piece = book.piece(tag).unwrap();
        let is_early = piece.pad().unwrap().use_count == RANGE_AT_USE;
        let is_past = damage_of(book, piece).unwrap() >= RANGE_PAST && self.noted.insert(tag);
        if !is_early && !is_past {
            return;
        }
        let told = pad_left(book, tag, self.ledger.now).unwrap().damage_left;
        let pad = self.pads[&tag].1;
        let mean_severity = (self.world.severity_log_sd().powi(2) / 2.0).exp();
        let left = (pad.life - pad.spent) / mean_severity;
        if is_early {
            self.score.life.add(told.low, left, told.high);
        }
        if is_past {
            self.score.life_past.add(told.low, left, told.high);
        }
    }

    /// Pours what the job truly takes; whether a make ran dry.
    fn pour(&mut self, day: usize, job: JobTruth, check: &JobCheck) -> bool {
        let mut ran_dry = false;
        for (at, (make, likely, _)) in check.liquids.iter().enumerate() {
            let used = likely.planned as f64 * self.truth.use_ratio[at] * job.pour[at];
            let (low, high) = (likely.low as f64, likely.high as f64);
            self.score.pour.add(low, used, high);
            if day < FIRST_USES {
                self.score.pour_first.add(low, used, high);
            }
            let line = lines(check, LineKind::Liquid)
                .find(|line| line.make.as_ref() == Some(make))
                .unwrap();
            let mut open = used;
            let picked: Vec<Tag> = line.picks.iter().map(|pick| pick.tag).collect();
            let others: Vec<Tag> = self
                .ledger
                .book
                .pieces_of(make)
                .map(|piece| piece.tag)
                .collect();
            open = draw(&mut self.bottles, picked.into_iter().chain(others), open);
            ran_dry |= open > 1.0;
        }
        ran_dry
    }

    /// Bins bottles that are truly empty.
    fn end_bottles(&mut self) {
        for tag in take_empty(&mut self.bottles) {
            self.bin(tag, BinReason::Empty);
        }
    }

    /// Washes what is soiled; a wash wears too, and what it finishes off is binned.
    fn wash(&mut self) {
        for (at, tags) in self.ledger.soiled() {
            self.ledger.say(&Command::Wash {
                said: Said::default(),
                tags: tags.clone(),
                inspections: Vec::new(),
            });
            for tag in tags {
                let pad = &mut self.pads.get_mut(&tag).unwrap().1;
                pad.spent += 1.0 / WASHES_RATED[at] as f64;
                if pad.has_failed() {
                    self.score.pads_failed += 1;
                    self.bin(tag, BinReason::Peeling);
                }
            }
        }
    }

    fn bin(&mut self, tag: Tag, reason: BinReason) {
        self.ledger.say(&Command::Bin {
            said: Said::default(),
            tags: vec![tag],
            reason,
            count: None,
        });
    }
}

/// Rated work of a pad make of the two steps.
pub(crate) fn rated_sections(book: &Book, at: usize) -> i64 {
    match &book.make(&id(PADS[at])).unwrap().figures {
        Figures::Pad(pad) => pad.rated_work_sections.unwrap(),
        _ => unreachable!("a pad make"),
    }
}

pub(crate) fn lines(check: &JobCheck, kind: LineKind) -> impl Iterator<Item = &Line> {
    check.lines.iter().filter(move |line| line.kind == kind)
}

pub(crate) fn picked(line: &Line, spare: bool) -> Vec<Tag> {
    line.picks
        .iter()
        .filter(|pick| pick.spare == spare)
        .map(|pick| pick.tag)
        .collect()
}

/// A whole in even shares, the first ones taking what does not divide.
pub(crate) fn even(whole: i64, count: usize) -> Vec<i64> {
    let count = i64::try_from(count).unwrap();
    (0..count)
        .map(|at| whole / count + i64::from(at < whole % count))
        .collect()
}

/// The log took the pads that the check had picked, and those that were named.
fn agrees(deeds: &[Deed], check: &JobCheck, named: &[Tag]) {
    for deed in deeds {
        let (Deed::PadUsed { tag, .. } | Deed::TakenAlong { tag, .. }) = deed else {
            continue;
        };
        let mut picks = lines(check, LineKind::Pad).flat_map(|line| &line.picks);
        let picked = picks.any(|pick| pick.tag == *tag);
        assert!(
            picked || named.contains(tag),
            "{tag} was logged and not picked"
        );
    }
}
