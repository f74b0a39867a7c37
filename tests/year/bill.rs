//! The bill of a way to order: what came short, what lay there, what it cost.
//!
//! It serves the comparison of ways to order and its table, and judges by counts alone.

use std::collections::BTreeMap;
use std::fmt;
use std::iter::Sum;

/// What became of jobs of one sort.
#[derive(Clone, Copy, Default, Debug)]
pub(crate) struct Jobs {
    /// Jobs to be done.
    pub(crate) all: usize,
    /// Those that could not start in the morning.
    pub(crate) stopped: usize,
    /// Those that started and found too little of something.
    pub(crate) ran_short: usize,
    /// Those of which either is so.
    pub(crate) short: usize,
}

/// What a way to order came to over some years.
#[derive(Clone, Default, Debug)]
pub(crate) struct Bill {
    /// Jobs that were booked days ahead.
    pub(crate) ahead: Jobs,
    /// Jobs that were booked the day before.
    pub(crate) late: Jobs,
    /// Days on which the stock was valued.
    pub(crate) days: usize,
    /// Sum of the values of all kit.
    pub(crate) value: f64,
    /// Sum of the values of what nobody has used or opened.
    pub(crate) unused: f64,
    /// Goods ordered and fetched.
    pub(crate) goods: f64,
    /// Of that fetched in a hurry.
    pub(crate) fetched: f64,
    /// Freight.
    pub(crate) freight: f64,
    /// Orders.
    pub(crate) orders: usize,
    /// Value of bottles that were past their date.
    pub(crate) waste: f64,
    /// How often each make was what was missing.
    pub(crate) missing: BTreeMap<String, usize>,
}

impl Bill {
    /// Jobs of both sorts.
    pub(crate) fn jobs(&self) -> Jobs {
        let mut both = self.ahead;
        both.add(self.late);
        both
    }

    /// Mean value of all kit.
    pub(crate) fn mean_value(&self) -> f64 {
        self.value / self.days as f64
    }

    /// Mean value of what nobody has used or opened.
    pub(crate) fn mean_unused(&self) -> f64 {
        self.unused / self.days as f64
    }
}

impl Jobs {
    fn add(&mut self, more: Self) {
        self.all += more.all;
        self.stopped += more.stopped;
        self.ran_short += more.ran_short;
        self.short += more.short;
    }
}

impl Sum for Bill {
    fn sum<I: Iterator<Item = Self>>(bills: I) -> Self {
        bills.fold(Self::default(), |mut all, one| {
            all.ahead.add(one.ahead);
            all.late.add(one.late);
            all.days += one.days;
            all.value += one.value;
            all.unused += one.unused;
            all.goods += one.goods;
            all.fetched += one.fetched;
            all.freight += one.freight;
            all.orders += one.orders;
            all.waste += one.waste;
            for (make, count) in one.missing {
                *all.missing.entry(make).or_default() += count;
            }
            all
        })
    }
}

/// The head of the table.
pub(crate) const HEAD: &str = "way to order             jobs  short  stopped ran short  of those booked ahead  stock  unused  orders  goods fetched freight  waste";

impl fmt::Display for Bill {
    /// One row, by job where it is money.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let jobs = self.jobs();
        let a_job = |sum: f64| sum / jobs.all as f64;
        write!(
            f,
            "{:6} {:6}  {:7} {:9}  {:6} {:7} {:6}  {:5.0}  {:6.0}  {:6} {:6.2} {:7.2} {:7.2} {:6.3}",
            jobs.all,
            jobs.short,
            jobs.stopped,
            jobs.ran_short,
            self.ahead.all,
            self.ahead.stopped,
            self.ahead.ran_short,
            self.mean_value(),
            self.mean_unused(),
            self.orders,
            a_job(self.goods),
            a_job(self.fetched),
            a_job(self.freight),
            a_job(self.waste),
        )
    }
}
