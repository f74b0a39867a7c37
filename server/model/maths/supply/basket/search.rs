//! The search: the ways through the lines that no other beats in both value and cost.
//!
//! It serves the basket. It ends after a set number of steps and then says so, never with a worse answer
//! in place of the best.

use std::cmp::Reverse;

/// The most steps of a search, about a quarter of a second.
const STEPS_MOST: usize = 2_000_000;

/// A count of a line: the value of its goods, and their cost with holding. In the small unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Way {
    pub(super) packs: i64,
    pub(super) goods: i128,
    pub(super) cost: i128,
}

/// A whole order, freight left out of its cost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Found {
    pub(super) packs: Vec<i64>,
    pub(super) goods: i128,
    pub(super) cost: i128,
}

/// What the order must reach and what freight it bears.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Goal {
    pub(super) minimum: i128,
    pub(super) freight: i128,
    pub(super) free_from: Option<i128>,
}

/// The search was given up: it would take too many steps.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct TooLong;

impl Goal {
    pub(super) const fn without_minimum(self) -> Self {
        Self { minimum: 0, ..self }
    }

    pub(super) fn freight_of(&self, goods: i128) -> i128 {
        match self.free_from {
            Some(from) if goods >= from => 0,
            _ => self.freight,
        }
    }

    /// Cost of an order with freight; `None` below the minimum.
    fn total(&self, goods: i128, cost: i128) -> Option<i128> {
        (goods >= self.minimum).then(|| cost.saturating_add(self.freight_of(goods)))
    }

    /// The value beyond which more changes nothing.
    pub(super) fn enough(&self) -> i128 {
        self.minimum.max(self.free_from.unwrap_or(0))
    }
}

/// A way through the lines so far.
#[derive(Clone, Copy)]
struct State {
    goods: i128,
    cost: i128,
    packs: i64,
    from: usize,
}

/// The cheapest order of one way from each line; `None` where none reaches the minimum.
pub(super) fn cheapest(lines: &[Vec<Way>], goal: &Goal) -> Result<Option<Found>, TooLong> {
    let ends = Ends::new(lines);
    let bound = one_line_raised(lines, goal)
        .and_then(|found| goal.total(found.goods, found.cost))
        .unwrap_or(i128::MAX);
    let start = State {
        goods: 0,
        cost: 0,
        packs: 0,
        from: 0,
    };
    let mut layers = vec![vec![start]];
    let mut steps = 0_usize;
    for (ways, (least_cost, most_goods)) in lines.iter().zip(ends.after) {
        let before = layers.last().map_or(&[][..], Vec::as_slice);
        steps = steps.saturating_add(before.len().saturating_mul(ways.len()));
        if steps > STEPS_MOST {
            return Err(TooLong);
        }
        let mut next = Vec::new();
        for (from, state) in before.iter().enumerate() {
            for way in ways {
                let goods = state.goods.saturating_add(way.goods);
                let cost = state.cost.saturating_add(way.cost);
                let may_reach = goods.saturating_add(most_goods) >= goal.minimum;
                if may_reach && cost.saturating_add(least_cost) <= bound {
                    next.push(State {
                        goods,
                        cost,
                        packs: way.packs,
                        from,
                    });
                }
            }
        }
        layers.push(unbeaten(next, goal.enough()));
    }
    let last = layers.last().map_or(&[][..], Vec::as_slice);
    let totals = last.iter().enumerate().filter_map(|(at, state)| {
        let total = goal.total(state.goods, state.cost)?;
        Some((total, state.goods, at))
    });
    Ok(totals.min().and_then(|(_, _, at)| walk_back(&layers, at)))
}

/// The states that no other beats: for each, every other has less value or costs more.
fn unbeaten(mut states: Vec<State>, enough: i128) -> Vec<State> {
    // The most value first; of equal value the cheapest, then the least goods, then the first found.
    states.sort_by_key(|state| (Reverse(state.goods.min(enough)), state.cost, state.goods));
    let mut cheapest = i128::MAX;
    states.retain(|state| {
        let stays = state.cost < cheapest;
        cheapest = cheapest.min(state.cost);
        stays
    });
    states
}

fn walk_back(layers: &[Vec<State>], mut at: usize) -> Option<Found> {
    let last = layers.last()?.get(at)?;
    let mut packs = Vec::with_capacity(layers.len());
    for layer in layers.iter().skip(1).rev() {
        let state = layer.get(at)?;
        packs.push(state.packs);
        at = state.from;
    }
    packs.reverse();
    Some(Found {
        packs,
        goods: last.goods,
        cost: last.cost,
    })
}

/// For each line, what all lines after it cost at least and bring at most.
struct Ends {
    after: Vec<(i128, i128)>,
}

impl Ends {
    fn new(lines: &[Vec<Way>]) -> Self {
        let mut sums = (0_i128, 0_i128);
        let mut after = Vec::with_capacity(lines.len());
        for ways in lines.iter().rev() {
            after.push(sums);
            let least = ways.iter().map(|way| way.cost).min().unwrap_or(0);
            let most = ways.iter().map(|way| way.goods).max().unwrap_or(0);
            sums = (sums.0.saturating_add(least), sums.1.saturating_add(most));
        }
        after.reverse();
        Self { after }
    }
}

/// The cheapest order of every line at its cheapest, or with one line another way.
pub(super) fn one_line_raised(lines: &[Vec<Way>], goal: &Goal) -> Option<Found> {
    let base: Option<Vec<Way>> = lines
        .iter()
        .map(|ways| ways.iter().min_by_key(|way| way.cost).copied())
        .collect();
    let base = base?;
    let goods = base
        .iter()
        .fold(0_i128, |sum, way| sum.saturating_add(way.goods));
    let cost = base
        .iter()
        .fold(0_i128, |sum, way| sum.saturating_add(way.cost));
    let mut best: Option<(i128, usize, Way)> = None;
    for (line, (ways, at)) in lines.iter().zip(&base).enumerate() {
        for way in ways {
            let goods = goods.saturating_sub(at.goods).saturating_add(way.goods);
            let cost = cost.saturating_sub(at.cost).saturating_add(way.cost);
            if let Some(total) = goal.total(goods, cost)
                && best.is_none_or(|(least, _, _)| total < least)
            {
                best = Some((total, line, *way));
            }
        }
    }
    let (_, raised, way) = best?;
    let at = base.get(raised)?;
    let packs = base.iter().enumerate().map(
        |(line, at)| {
            if line == raised { way.packs } else { at.packs }
        },
    );
    Some(Found {
        packs: packs.collect(),
        goods: goods.saturating_sub(at.goods).saturating_add(way.goods),
        cost: cost.saturating_sub(at.cost).saturating_add(way.cost),
    })
}
