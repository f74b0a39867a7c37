//! Which pack counts of each line are looked at.
//!
//! It serves the search: all of them where they are few, else those where something changes.

use std::collections::BTreeSet;

use super::PACKS_MOST;
use super::amounts::{Amounts, ScaledLine};
use super::search::{Goal, Way};

/// The counts of an order, from required to most of each line.
pub(super) struct Counts<'a> {
    lines: Vec<Range<'a>>,
    goal: Goal,
}

/// The counts of one line.
struct Range<'a> {
    line: &'a ScaledLine<'a>,
    most: i64,
    /// Value of the other lines as required.
    others: i128,
}

impl<'a> Counts<'a> {
    pub(super) fn new(amounts: &'a Amounts<'a>, goal: &Goal) -> Self {
        let required = |line: &ScaledLine<'_>| {
            let way = line.way(line.line.required);
            way.map_or(0, |way| way.goods)
        };
        let all = amounts.lines.iter().map(required);
        let all = all.fold(0_i128, i128::saturating_add);
        let lines = amounts.lines.iter().map(|line| Range {
            line,
            most: line.line.most,
            others: all.saturating_sub(required(line)),
        });
        Self {
            lines: lines.collect(),
            goal: *goal,
        }
    }

    /// Whether the goods can come to that value.
    pub(super) fn reaches(&self, value: i128) -> bool {
        let largest = self.lines.iter().map(|range| {
            let ways = range.key_ways(&self.goal);
            ways.iter().map(|way| way.goods).max().unwrap_or(0)
        });
        largest.fold(0_i128, i128::saturating_add) >= value
    }

    /// Every count of every line; `None` where a line has more than so many.
    pub(super) fn all(&self, counts_most: usize) -> Option<Vec<Vec<Way>>> {
        let ways = self.lines.iter().map(|range| {
            let required = range.line.line.required;
            let count = usize::try_from(range.most.saturating_sub(required)).ok()?;
            (count < counts_most).then(|| {
                let counts = required..=range.most;
                counts.filter_map(|packs| range.line.way(packs)).collect()
            })
        });
        ways.collect()
    }

    /// Of every line the counts where something changes.
    pub(super) fn few(&self) -> Vec<Vec<Way>> {
        let ways = self.lines.iter().map(|range| range.key_ways(&self.goal));
        ways.collect()
    }

    /// The same lines with as many packs as may be worth having to reach the minimum, or free delivery
    /// beyond it; `None` where the minimum is out of reach even so.
    ///
    /// At one price more packs always cost more, so no more are wanted than reach the value alone; a line
    /// is widened to the largest such count of all its prices.
    pub(super) fn over_most(&self) -> Option<Self> {
        let value = self.goal.enough();
        let lines = self.lines.iter().map(|range| {
            let reaching = range.line.packs_reaching(value).into_iter();
            let wider = reaching.chain(range.line.breaks()).max().unwrap_or(0);
            Range {
                most: wider.min(PACKS_MOST).max(range.most),
                ..*range
            }
        });
        let wider = Self {
            lines: lines.collect(),
            goal: self.goal,
        };
        wider.reaches(self.goal.minimum).then_some(wider)
    }
}

impl Range<'_> {
    /// Required, most, the counts a price holds from and one below, and those that with the other lines
    /// as required reach a value.
    fn key_ways(&self, goal: &Goal) -> Vec<Way> {
        let required = self.line.line.required;
        let mut counts = BTreeSet::from([required, self.most]);
        for from in self.line.breaks() {
            counts.extend([from, from.saturating_sub(1)]);
        }
        for value in [Some(goal.minimum), goal.free_from].into_iter().flatten() {
            let lacking = value.saturating_sub(self.others);
            counts.extend(self.line.packs_reaching(lacking));
        }
        let within = counts.range(required..=self.most);
        within.filter_map(|packs| self.line.way(*packs)).collect()
    }
}
