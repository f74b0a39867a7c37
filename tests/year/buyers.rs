//! Four ways to order: when empty, to a fixed par, by the textbook's reorder point, by the book's list.
//!
//! They serve the comparison. Each looks at the same shelves in the evening of every working day, the
//! par on Fridays only since that is how a par is kept; none sees what is true and hidden.

use std::collections::BTreeMap;

use fettlebook_model::reorder::reorder_list;
use jiff::civil::Date;

use crate::ledger::Ledger;
use crate::market::{MILLRACE, MILLRACE_MIN, TERN, TERN_FREIGHT, WARES, Ware, piece_price};
use crate::storeroom::{going_round, pieces_coming, pieces_there};

/// What is above the pads and towels that go round when the par is full, by ware: a person's guess.
const PAR: [i64; WARES.len()] = [6, 6, 2, 2, 12, 1, 3];
/// Yearly cost of holding stock against its price. Source: common practice, no source.
const HOLDING: f64 = 0.25;

/// A way to order.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Way {
    /// When there is none left, from whom it comes quickest.
    WhenEmpty,
    /// Up to a fixed level, once a week.
    FixedPar,
    /// The textbook's reorder point with this safety factor, a lot at a time.
    ReorderPoint(f64, Lot),
    /// What the book's list says, when it says so.
    ReorderList,
}

/// How much a reorder point orders.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Lot {
    /// The economic quantity.
    Economic,
    /// As few packs as bring it above the point.
    Packs,
}

/// Packs to order.
pub(crate) type Order = (&'static str, Vec<(&'static str, i64)>);

/// An evening on which somebody looks at what to order.
pub(crate) struct Evening<'a> {
    pub(crate) ledger: &'a Ledger,
    pub(crate) is_friday: bool,
    /// The day of the next look.
    pub(crate) next_look: Date,
    /// What each day of the calendar took, by make.
    pub(crate) used: &'a BTreeMap<&'static str, Vec<f64>>,
    /// Days that deliveries of Tern Quay Supplies took.
    pub(crate) leads: &'a [f64],
}

/// What is ordered this evening.
pub(crate) fn order(way: Way, evening: &Evening<'_>) -> Vec<Order> {
    let mut orders = match way {
        Way::WhenEmpty => vec![(MILLRACE, when_empty(evening))],
        Way::FixedPar if evening.is_friday => vec![(TERN, to_par(evening))],
        Way::FixedPar => Vec::new(),
        Way::ReorderPoint(factor, lot) => vec![(TERN, by_point(evening, factor, lot))],
        Way::ReorderList => by_list(evening),
    };
    orders.retain(|(_, lines)| !lines.is_empty());
    for order in &mut orders {
        reach_minimum(order);
    }
    orders
}

/// What is there beyond what goes round, and on its way.
fn position(evening: &Evening<'_>, ware: &Ware) -> f64 {
    let book = &evening.ledger.book;
    pieces_there(book, ware.make) + pieces_coming(book, ware.make)
        - going_round(evening.ledger, ware.make) as f64
}

fn packs(pieces: f64, pack: i64) -> i64 {
    ((pieces / pack as f64).ceil() as i64).max(1)
}

fn when_empty(evening: &Evening<'_>) -> Vec<(&'static str, i64)> {
    let empty = WARES.iter().filter_map(|ware| {
        let there = position(evening, ware);
        (there < 1e-3).then(|| (ware.make, packs(1.0 - there, ware.millrace.0)))
    });
    empty.collect()
}

fn to_par(evening: &Evening<'_>) -> Vec<(&'static str, i64)> {
    let below = WARES.iter().zip(PAR).filter_map(|(ware, par)| {
        let missing = par as f64 - position(evening, ware);
        (missing >= 1.0).then(|| (ware.make, packs(missing.floor(), ware.tern.0)))
    });
    below.collect()
}

/// Reorder point d·L + z·√(L·σ_d² + d²·σ_L²) and lot √(2·D·S/H). Source: E. A. Silver, D. F. Pyke and
/// D. J. Thomas, *Inventory and Production Management in Supply Chains*, 4th ed. (2017), from memory.
fn by_point(evening: &Evening<'_>, factor: f64, lot: Lot) -> Vec<(&'static str, i64)> {
    let (lead, lead_sd) = moments(evening.leads);
    let below = WARES.iter().filter_map(|ware| {
        let (daily, daily_sd) = moments(&evening.used[ware.make]);
        let spread = lead * daily_sd.powi(2) + daily.powi(2) * lead_sd.powi(2);
        let point = daily * lead + factor * spread.sqrt();
        let there = position(evening, ware);
        if there > point {
            return None;
        }
        let holding = HOLDING * piece_price(TERN, ware.make);
        let economic = match lot {
            Lot::Economic => (2.0 * 365.0 * daily * TERN_FREIGHT / holding).sqrt(),
            Lot::Packs => 0.0,
        };
        Some((
            ware.make,
            packs(economic.max(point - there + 1e-6), ware.tern.0),
        ))
    });
    below.collect()
}

fn moments(seen: &[f64]) -> (f64, f64) {
    let count = seen.len() as f64;
    let mean = seen.iter().sum::<f64>() / count;
    let squares: f64 = seen.iter().map(|one| (one - mean).powi(2)).sum();
    (mean, (squares / (count - 1.0)).sqrt())
}

/// Every basket whose last day comes before the next look, as the list has it.
fn by_list(evening: &Evening<'_>) -> Vec<Order> {
    let Ledger { book, now } = evening.ledger;
    let list = reorder_list(book, None, None, *now).unwrap();
    let due = list
        .baskets
        .iter()
        .filter(|basket| basket.supplier.is_some() && basket.order_by.unwrap() < evening.next_look);
    due.map(|basket| {
        let supplier = basket.supplier.as_ref().unwrap().as_str();
        let supplier = if supplier == TERN { TERN } else { MILLRACE };
        // What is kept beside a job's need is a line of its own, ordered all the same.
        let mut lines: Vec<(&'static str, i64)> = Vec::new();
        for line in &basket.lines {
            let ware = WARES.iter().find(|ware| ware.make == line.make.as_str());
            let make = ware.unwrap().make;
            match lines.iter_mut().find(|(other, _)| *other == make) {
                Some((_, packs)) => *packs += line.pack_count,
                None => lines.push((make, line.pack_count)),
            }
        }
        (supplier, lines)
    })
    .collect()
}

/// What Millrace Trade Counter would not deliver is made up with more of the first line.
fn reach_minimum((supplier, lines): &mut Order) {
    if *supplier != MILLRACE {
        return;
    }
    let price = |make: &str| {
        let ware = WARES.iter().find(|ware| ware.make == make).unwrap();
        piece_price(MILLRACE, make) * ware.millrace.0 as f64
    };
    let goods: f64 = lines
        .iter()
        .map(|(make, packs)| price(make) * *packs as f64)
        .sum();
    if goods < MILLRACE_MIN {
        let (make, packs) = &mut lines[0];
        *packs += ((MILLRACE_MIN - goods) / price(make)).ceil() as i64;
    }
}
