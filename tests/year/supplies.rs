//! Shops that count what they use: towels by the log, batteries by what was left in them, tape and panel wipe by
//! what is left of a roll and a bottle.
//!
//! It serves the ranges that are told of them. A shop's true way with each of them, and what a single job takes
//! about that, are drawn from a seed and never shown to the book, as those of liquids are: a shop about its plan by
//! 0.15 in the logarithm, a job about its shop by a quarter. All of it is invented.

use std::fmt;
use std::iter::Sum;

use fettlebook_model::battery::BatteryFigures;
use fettlebook_model::check::{JobCheck, LineKind, check_jobs, likely_sundries};
use fettlebook_model::command::{Counted, JobLog, Receipt, Said};
use fettlebook_model::job::{Routine, SundryNeed};
use fettlebook_model::kit::Piece;
use fettlebook_model::make::{Figures, Make, SundryFigures, TowelFigures, Unit};
use fettlebook_model::towel_use::TowelUse;
use fettlebook_model::wear::BinReason;
use fettlebook_model::{Command, Id, Tag};
use fettlebook_quantity::Seconds;
use fettlebook_shed::make;
use jiff::SignedDuration;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Gamma, LogNormal};

use crate::bottles::{Bottles, draw, take_empty};
use crate::ledger::{CAR_COUNT, LIQUIDS, Ledger, PADS, id, start_of};
use crate::score::{Coverage, FIRST_USES, assert_holds};
use crate::year::lines;

const TOWEL: &str = "edgeless-towel-400g";
const BATTERY: &str = "battery-18";
const TAPE: &str = "masking-tape-50m";
const WIPE: &str = "panel-wipe-1l";
/// Jobs of a shop.
const JOBS: usize = 60;
/// Tape and wipe are counted after every so many jobs.
const COUNTED_EVERY: usize = 2;
/// A roll of tape, mm, and a bottle of wipe, µL.
const HOLDS: [i64; 2] = [50_000, 1_000_000];
/// Spread of shops about the plan, in the logarithm.
const SHOPS_LOG_SD: f64 = 0.15;
/// Shape of what jobs take about their shop: its reciprocal root is a quarter.
const JOBS_SHAPE: f64 = 16.0;
/// Towels of the bundle, and batteries: more than any job takes.
const TOWELS: i64 = 40;
const BATTERIES: i64 = 8;
/// What a charge of a new battery is rated for, s. Basis: from memory.
const RUN_S: i64 = 90 * 60;

/// What ranges were told of.
const KINDS: [&str; 4] = ["towels", "charges", "tape", "wipe"];

/// How often the ranges held, of each kind, in a shop's first uses and later.
#[derive(Clone, Copy, Default, Debug)]
pub(crate) struct Supplies {
    first: [Coverage; KINDS.len()],
    later: [Coverage; KINDS.len()],
}

impl Supplies {
    /// What came of a shop.
    pub(crate) fn of(seed: u64) -> Self {
        let mut shop = Shop::set_up(seed);
        for day in 0..JOBS {
            shop.live(day);
        }
        shop.held
    }

    /// The ranges of each kind held between 72 and 88 %, those of the first ten uses too.
    pub(crate) fn assert_ranges_hold(&self) {
        for (at, what) in KINDS.iter().enumerate() {
            assert_holds(
                &format!("the first ten uses of {what}"),
                self.first[at],
                self,
            );
            assert_holds(what, self.later[at], self);
        }
    }
}

impl Sum for Supplies {
    fn sum<I: Iterator<Item = Self>>(shops: I) -> Self {
        shops.fold(Self::default(), |mut all, one| {
            for at in 0..KINDS.len() {
                all.first[at] += one.first[at];
                all.later[at] += one.later[at];
            }
            all
        })
    }
}

impl fmt::Display for Supplies {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, what) in KINDS.iter().enumerate() {
            let (first, later) = (self.first[at], self.later[at]);
            writeln!(
                f,
                "  80 % ranges of {what}: first ten uses {first}, later {later}"
            )?;
        }
        Ok(())
    }
}

/// A shop, and what is true of it.
struct Shop {
    ledger: Ledger,
    rng: ChaCha8Rng,
    /// Real use against plan, of each kind.
    ratios: [f64; KINDS.len()],
    /// What is truly left of rolls and bottles, by their make.
    stock: [Bottles; 2],
    held: Supplies,
}

impl Shop {
    fn set_up(seed: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(2);
        let shops = LogNormal::new(0.0, SHOPS_LOG_SD).unwrap();
        let mut ledger = Ledger::set_up();
        for make in makes() {
            ledger.say(&Command::CreateMake { make });
        }
        let was = ledger
            .book
            .routine(&id("two-step"))
            .unwrap()
            .as_ref()
            .clone();
        let need = |key, per_job_quantity, per_m2_quantity| SundryNeed {
            make: id(key),
            per_job_quantity,
            per_m2_quantity,
        };
        let routine = Routine {
            towel_make: Some(id(TOWEL)),
            sundries: vec![need(TAPE, 4_000, 300), need(WIPE, 0, 12_000)],
            ..was.clone()
        };
        ledger.say(&Command::EditRoutine { was, routine });
        ledger.receive(PADS[0], 12);
        ledger.receive(PADS[1], 12);
        let towels = Receipt {
            towel_count: TOWELS,
            ..fettlebook_shed::receipt(TOWEL, 1)
        };
        ledger.say(&Command::Receive(Box::new(towels)));
        let batteries = ledger.receive(BATTERY, BATTERIES);
        ledger.say(&Command::Charge {
            said: Said::default(),
            tags: batteries,
        });
        Self {
            ratios: std::array::from_fn(|_| shops.sample(&mut rng)),
            ledger,
            rng,
            stock: [Bottles::new(), Bottles::new()],
            held: Supplies::default(),
        }
    }

    fn live(&mut self, day: usize) {
        self.ledger.now = start_of(day) - SignedDuration::from_hours(4);
        for (at, key) in [TAPE, WIPE].into_iter().enumerate() {
            self.fill_up(at, key);
        }
        // Liquids are no matter here.
        for liquid in LIQUIDS {
            self.ledger.receive(liquid, 1);
        }
        let car = self.rng.random_range(0..CAR_COUNT);
        let job = self.ledger.book_job(day, car);
        let checks = check_jobs(
            &self.ledger.book,
            std::slice::from_ref(&job),
            self.ledger.now,
        );
        let check = checks.unwrap().remove(0);
        self.ledger.now = start_of(day) + SignedDuration::from_hours(8);
        self.work(day, &job, &check);
        self.put_right();
    }

    /// What the plan says, times the way of the shop and of this job.
    fn truly(&mut self, at: usize, planned: f64) -> f64 {
        let jobs = Gamma::new(JOBS_SHAPE, 1.0 / JOBS_SHAPE).unwrap();
        planned * self.ratios[at] * jobs.sample(&mut self.rng)
    }

    fn hold(&mut self, day: usize, at: usize, range: (f64, f64), came: f64) {
        let held = if day < FIRST_USES {
            &mut self.held.first
        } else {
            &mut self.held.later
        };
        held[at].add(range.0, came, range.1);
    }

    fn work(&mut self, day: usize, job: &Id, check: &JobCheck) {
        let bundles = self.towels(day, check);
        let batteries = self.batteries(day, check);
        self.sundries(day, check);
        let log = JobLog {
            job: Some(job.clone()),
            bundles,
            batteries,
            ..JobLog::default()
        };
        self.ledger.say(&Command::LogJob(Box::new(log)));
        for tag in self.stock.each_mut().into_iter().flat_map(take_empty) {
            self.ledger.say(&Command::Bin {
                said: Said::default(),
                tags: vec![tag],
                reason: BinReason::Empty,
                count: None,
            });
        }
        if (day + 1).is_multiple_of(COUNTED_EVERY) {
            self.count();
        }
    }

    /// Whole towels, as people take and count them.
    fn towels(&mut self, day: usize, check: &JobCheck) -> Vec<(Tag, i64)> {
        let book = &self.ledger.book;
        let routine = book.routine(&id("two-step")).unwrap();
        let likely = TowelUse::of(book, routine, &check.plan);
        let (is_told, (low, high)) = (!likely.rests_on().is_empty(), likely.range());
        // 8 sides of 0.51 m² a towel.
        let exact = check.plan.wiped.mm2() as f64 / 4.08e6;
        let used = (self.truly(0, exact) - 0.1)
            .ceil()
            .clamp(1.0, TOWELS as f64);
        if is_told {
            self.hold(day, 0, (low as f64, high as f64), used);
        }
        let tag = lines(check, LineKind::Towel).next().unwrap().picks[0].tag;
        vec![(tag, used as i64)]
    }

    /// The batteries that ran, the last with what was left in it, to the tenth as lamps show it.
    fn batteries(&mut self, day: usize, check: &JobCheck) -> Vec<(Tag, i64)> {
        let line = lines(check, LineKind::Battery).next().unwrap();
        let (planned, low, high) = told_charges(&line.reason, check);
        let took = self.truly(1, planned).clamp(0.1, BATTERIES as f64 - 0.1);
        if !line.rests_on.starts_with("Rests on the rating") {
            self.hold(day, 1, (low, high), took);
        }
        let book = &self.ledger.book;
        let battery = id(BATTERY);
        let tags: Vec<Tag> = book.pieces_of(&battery).map(|piece| piece.tag).collect();
        let count = took.ceil() as usize;
        let left = ((count as f64 - took) * 10.0).round() as i64 * 100;
        let ran = tags.iter().take(count).enumerate();
        ran.map(|(at, tag)| (*tag, if at + 1 == count { left } else { 0 }))
            .collect()
    }

    fn sundries(&mut self, day: usize, check: &JobCheck) {
        let likely = likely_sundries(&self.ledger.book, &check.plan);
        for (at, (make, likely, rests_on)) in likely.into_iter().enumerate() {
            let used = self.truly(2 + at, likely.planned as f64);
            if !rests_on.is_empty() {
                let range = (likely.low as f64, likely.high as f64);
                self.hold(day, 2 + at, range, used);
            }
            let mut of_make = lines(check, LineKind::Sundry);
            let line = of_make
                .find(|line| line.make.as_ref() == Some(&make))
                .unwrap();
            let picked = line.picks.iter().map(|pick| pick.tag);
            let others: Vec<Tag> = self.stock[at].keys().copied().collect();
            let open = draw(&mut self.stock[at], picked.chain(others), used);
            assert!(open < 1.0, "{make} ran out");
        }
    }

    /// Counts every roll and bottle that is begun.
    fn count(&mut self) {
        for (stock, holds) in self.stock.iter().zip(HOLDS) {
            let full = holds as f64;
            let begun = stock.iter().filter(|(_, left)| **left < full);
            let begun: Vec<(Tag, f64)> = begun.map(|(tag, left)| (*tag, *left)).collect();
            for (tag, left) in begun {
                self.ledger.say(&Command::Count {
                    said: Said::default(),
                    tag,
                    count: Counted {
                        quantity: Some(left.round() as i64),
                        ..Counted::default()
                    },
                });
            }
        }
    }

    /// Has enough of a make for any job.
    fn fill_up(&mut self, at: usize, key: &str) {
        let held: f64 = self.stock[at].values().sum();
        if held < HOLDS[at] as f64 {
            for tag in self.ledger.receive(key, 1) {
                self.stock[at].insert(tag, HOLDS[at] as f64);
            }
        }
    }

    /// Washes and charges what the job soiled and emptied.
    fn put_right(&mut self) {
        let book = &self.ledger.book;
        let soiled = book.pieces().filter(|piece| is_soiled(piece));
        let tags: Vec<Tag> = soiled.map(|piece| piece.tag).collect();
        let empty = book.pieces().filter(|piece| {
            let battery = piece.battery();
            battery.is_some_and(|battery| battery.full_at.is_none())
        });
        let empty: Vec<Tag> = empty.map(|piece| piece.tag).collect();
        let said = Said::default;
        self.ledger.say(&Command::Wash {
            said: said(),
            tags: tags.clone(),
            inspections: Vec::new(),
        });
        self.ledger.say(&Command::MarkDry { said: said(), tags });
        self.ledger.say(&Command::Charge {
            said: said(),
            tags: empty,
        });
    }
}

fn is_soiled(piece: &Piece) -> bool {
    piece.readiness.word() == "soiled"
        || piece.bundle().is_some_and(|bundle| bundle.soiled_count > 0)
}

/// The charges that a check plans by the rating, and the range that it tells.
fn told_charges(reason: &str, check: &JobCheck) -> (f64, f64, f64) {
    let after = |word: &str| -> f64 {
        let (_, rest) = reason.split_once(word).unwrap();
        let number = rest.trim_start().split([' ', ',']).next().unwrap();
        number.parse().unwrap()
    };
    let run_ms: i64 = check.plan.steps.iter().map(|step| step.time_ms).sum();
    let planned = run_ms as f64 / 1_000.0 / RUN_S as f64;
    (planned, after("charges,"), after(" to"))
}

fn makes() -> Vec<Make> {
    let sundry = |unit, pack_quantity| {
        Figures::Sundry(SundryFigures {
            unit,
            pack_quantity,
        })
    };
    let towel = TowelFigures {
        weight_g_per_m2: 400,
        inspect_wash_count: None,
        demote_wash_count: Some(10_000),
        dry_time_s: None,
    };
    // Rated for so many charges that a year fades none of them.
    let battery = BatteryFigures {
        machines: vec![id("orbital-150")],
        run_time_s: Seconds::from_s(RUN_S),
        charge_time_s: None,
        rated_charge_count: Some(10_000),
    };
    [
        (TOWEL, Figures::Towel(towel)),
        (BATTERY, Figures::Battery(battery)),
        (TAPE, sundry(Unit::Millimetre, HOLDS[0])),
        (WIPE, sundry(Unit::Microlitre, HOLDS[1])),
    ]
    .map(|(key, figures)| make(key, figures))
    .to_vec()
}
