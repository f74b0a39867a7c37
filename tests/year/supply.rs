//! A year of a shop that has to order its kit: bookings, deliveries, a look in the evening, and the
//! work of `hands`.
//!
//! It serves the comparison of ways to order. One job a working day, as in the first comparison; four
//! in five are booked five to ten days ahead, the others the day before. Everybody keeps the same book
//! and works by its pick list; only what is ordered differs. The first eight weeks are lived alike, by
//! the fixed par; those and the two weeks after the change do not count.
//!
//! In the morning the check is asked. Where something is missing the job cannot start: somebody drives
//! to the counter, and it starts late. Where a started job finds less of anything than it takes,
//! somebody drives too. Both are shortages, or whoever never starts would win; the table tells them
//! apart. What is on a shelf is there for the job, whether it was picked or not.

use std::collections::BTreeMap;

use fettlebook_model::check::{JobCheck, check_jobs};
use fettlebook_model::command::Said;
use fettlebook_model::wear::BinReason;
use fettlebook_model::{Command, Id, Tag};
use jiff::SignedDuration;
use jiff::civil::Date;
use jiff::tz::Offset;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use crate::bill::{Bill, Jobs};
use crate::bottles::Bottles;
use crate::buyers::{Evening, Way, order};
use crate::ledger::{CAR_COUNT, Ledger, start_of};
use crate::market::{Market, WARES};
use crate::storeroom::{open_shop, opening_kit, piece_cost, pieces_there, stock_value};
use crate::truth::{TruePad, Truth, World};

/// Working days that are lived alike.
const ALIKE_DAYS: usize = 40;
/// Working days from which is counted: what was on its way at the change has come.
const COUNTED_FROM: usize = 50;
/// Jobs out of a hundred that are booked the day before.
const LATE_BOOKED: u32 = 20;

/// A shop and everything that is true of it.
pub(crate) struct Shop {
    pub(crate) truth: Truth,
    pub(crate) market: Market,
    pub(crate) ledger: Ledger,
    pub(crate) pads: BTreeMap<Tag, (usize, TruePad)>,
    /// What is truly left, µL.
    pub(crate) bottles: Bottles,
    pub(crate) bill: Bill,
    /// Days of the calendar that each job is booked ahead.
    ahead: Vec<usize>,
    booked: Vec<Option<Id>>,
    /// Orders on their way.
    pub(crate) coming: Vec<Coming>,
    /// What each day of the calendar took, by make.
    used: BTreeMap<&'static str, Vec<f64>>,
    /// What was there in the evening before, and came since.
    pub(crate) there: BTreeMap<&'static str, f64>,
    /// Days that deliveries of Tern Quay Supplies took.
    pub(crate) leads: Vec<f64>,
}

/// An order on its way.
pub(crate) struct Coming {
    pub(crate) order: Id,
    /// Days of the calendar on which it was sent and truly comes.
    pub(crate) sent_on: usize,
    pub(crate) comes_on: usize,
}

/// The bill of a shop's year.
pub(crate) fn year_of(seed: u64, way: Way) -> Bill {
    let truth = Truth::of(seed, CAR_COUNT, World::AsAssumed);
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(1);
    let ahead = truth.jobs.iter().map(|_| {
        if rng.random_range(0..100) < LATE_BOOKED {
            1
        } else {
            rng.random_range(5..=10)
        }
    });
    let mut shop = Shop {
        market: Market::of(seed, &truth),
        ahead: ahead.collect(),
        booked: vec![None; truth.jobs.len()],
        truth,
        ledger: open_shop(),
        pads: BTreeMap::new(),
        bottles: Bottles::new(),
        bill: Bill::default(),
        coming: Vec::new(),
        used: BTreeMap::new(),
        there: BTreeMap::new(),
        leads: Vec::new(),
    };
    for (make, pieces) in opening_kit() {
        shop.take_in(make, pieces);
    }
    shop.count_used();
    shop.book_jobs(None);
    for day in 0..shop.truth.jobs.len() {
        if day == COUNTED_FROM {
            shop.bill = Bill::default();
        }
        let way = if day < ALIKE_DAYS { Way::FixedPar } else { way };
        shop.live(day, way);
    }
    shop.bill
}

/// The day of the calendar of a working day.
fn calendar(day: usize) -> usize {
    7 * (day / 5) + day % 5
}

impl Shop {
    fn live(&mut self, day: usize, way: Way) {
        self.at(day, -1);
        if let Some(yesterday) = calendar(day).checked_sub(1) {
            // What came at the weekend is taken in before Monday's job.
            self.deliveries(yesterday);
        }
        self.bin_expired();
        let (check, was_stopped) = self.prepare(day);
        self.at(day, 8);
        let ran_short = self.work(day, &check);
        self.count_job(day, was_stopped, ran_short);
        self.at(day, 9);
        self.deliveries(calendar(day));
        self.wash();
        self.at(day, 10);
        self.book_jobs(Some(day));
        self.count_used();
        self.look(day, way);
        let (all, unused) = stock_value(&self.ledger.book);
        self.bill.days += 1;
        self.bill.value += all;
        self.bill.unused += unused;
    }

    /// Puts the clock to so many hours after the start of a day's job.
    fn at(&mut self, day: usize, hours: i64) {
        self.ledger.now = start_of(day) + SignedDuration::from_hours(hours);
    }

    fn count_job(&mut self, day: usize, was_stopped: bool, ran_short: bool) {
        let jobs: &mut Jobs = if self.ahead[day] > 1 {
            &mut self.bill.ahead
        } else {
            &mut self.bill.late
        };
        jobs.all += 1;
        jobs.stopped += usize::from(was_stopped);
        jobs.ran_short += usize::from(ran_short);
        jobs.short += usize::from(was_stopped || ran_short);
    }

    /// Books every job whose time has come by the evening of a day, or before the first.
    fn book_jobs(&mut self, day: Option<usize>) {
        let next = day.map_or(0, |day| day + 1);
        for at in next..self.booked.len() {
            // What a customer asks for at the weekend is booked on Friday.
            if self.booked[at].is_none() && calendar(at) < calendar(next) + self.ahead[at] {
                let id = self.ledger.book_job(at, self.truth.jobs[at].car);
                self.booked[at] = Some(id);
            }
        }
    }

    /// The morning's check; what is missing is fetched, and then it is asked again.
    fn prepare(&mut self, day: usize) -> (JobCheck, bool) {
        let id = self.booked[day].clone().unwrap();
        let mut was_stopped = false;
        loop {
            let ids = std::slice::from_ref(&id);
            let mut checks = check_jobs(&self.ledger.book, ids, self.ledger.now).unwrap();
            let check = checks.remove(0);
            let missing: Vec<(String, i64)> = check
                .lines
                .iter()
                .filter(|line| line.short > 0 && line.buy > 0)
                .map(|line| (line.make.as_ref().unwrap().to_string(), line.buy))
                .collect();
            if missing.is_empty() {
                return (check, was_stopped);
            }
            was_stopped = true;
            for (make, count) in missing {
                self.fetch(&make, count);
            }
        }
    }

    /// Notes what was used since the last evening, by day of the calendar.
    fn count_used(&mut self) {
        let is_first = self.there.is_empty();
        let today = Offset::UTC.to_datetime(self.ledger.now).date();
        for ware in &WARES {
            let there = pieces_there(&self.ledger.book, ware.make);
            let before = self.there.insert(ware.make, there);
            if is_first {
                continue;
            }
            let days = self.used.entry(ware.make).or_default();
            days.push(before.unwrap() - there);
            if today.weekday() == jiff::civil::Weekday::Friday {
                // Nothing is used at the weekend.
                days.extend([0.0, 0.0]);
            }
        }
    }

    fn look(&mut self, day: usize, way: Way) {
        let evening = Evening {
            ledger: &self.ledger,
            is_friday: day % 5 == 4,
            next_look: date_of(day + 1),
            used: &self.used,
            leads: &self.leads,
        };
        for order in order(way, &evening) {
            self.place(calendar(day), order);
        }
    }

    /// Bins bottles past their date.
    fn bin_expired(&mut self) {
        let book = &self.ledger.book;
        let today = Offset::UTC.to_datetime(self.ledger.now).date();
        let mut gone = Vec::new();
        for tag in self.bottles.keys() {
            let piece = book.piece(*tag).unwrap();
            let bottle = piece.bottle().unwrap();
            if bottle.expiry.is_some_and(|last| last < today) {
                let part = self.bottles[tag] / bottle.full_ul.ul() as f64;
                gone.push((*tag, part * piece_cost(book, piece, piece.make.as_str())));
            }
        }
        for (tag, value) in gone {
            self.bill.waste += value;
            self.bottles.remove(&tag);
            self.bin(tag, BinReason::Expired);
        }
    }

    pub(crate) fn bin(&mut self, tag: Tag, reason: BinReason) {
        self.ledger.say(&Command::Bin {
            said: Said::default(),
            tags: vec![tag],
            reason,
            count: None,
        });
    }
}

fn date_of(day: usize) -> Date {
    Offset::UTC.to_datetime(start_of(day)).date()
}
