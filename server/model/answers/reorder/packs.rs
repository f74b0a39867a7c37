//! How many packs: what is needed, and more where that is cheaper in all.
//!
//! Serves the reorder list. It never orders less than is needed, nor more than is used before it
//! expires or within a year.

use std::collections::BTreeMap;

use fettlebook_quantity::{exact_f64, round_to_i64};
use rust_decimal::Decimal;

use super::fill::Want;
use super::source::Source;
use crate::Book;
use crate::ground::ids::Id;
use crate::ground::money::Money;
use crate::maths::supply::basket::{BasketLine, BasketTerms, Choice, choose_packs};
use crate::maths::supply::economic_order_with_breaks;
use crate::trade::make::Figures;
use crate::trade::policy::{PolicyKey, permille};
use crate::trade::supplier::{PriceBreak, Supplier};

const DAYS_A_YEAR: f64 = 365.0;
/// Thousandths of a year: the time that one pack more is held.
const MILLI: f64 = 1_000.0;

/// Packs of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Packs {
    /// Packs.
    pub(super) count: i64,
    /// Packs of all lines of its make, by which the price goes.
    pub(super) of_make: i64,
}

/// Packs of each line of one supplier's basket: what costs least in goods, freight and holding. Where
/// the least order is not reached within what is worth having, what is needed stays as it is. What is more
/// than needed goes to the last line of its make.
pub(super) fn choose(
    book: &Book,
    supplier: Option<&Supplier>,
    wants: &[(Want, Option<Source>)],
    yearly_use: &BTreeMap<Id, f64>,
) -> Vec<Packs> {
    let mut of_makes: Vec<OfMake<'_>> = Vec::new();
    for (at, (want, source)) in wants.iter().enumerate() {
        let required = source
            .as_ref()
            .map_or(want.count(), |source| source.pack_count);
        match of_makes.iter_mut().find(|one| *one.make == want.make) {
            Some(one) => one.lines.push((at, required)),
            None => of_makes.push(OfMake {
                make: &want.make,
                source: source.as_ref(),
                lines: vec![(at, required)],
            }),
        }
    }
    let chosen = cheapest(book, supplier, &of_makes, yearly_use);
    let mut packs: Vec<(usize, Packs)> = Vec::with_capacity(wants.len());
    for (at, one) in of_makes.iter().enumerate() {
        let required = one.required();
        let chosen = chosen.as_ref().and_then(|chosen| chosen.get(at)).copied();
        let of_make = chosen.unwrap_or(required);
        let last = one.lines.last().map(|(line, _)| *line);
        for (line, count) in &one.lines {
            let more = if Some(*line) == last {
                of_make.saturating_sub(required)
            } else {
                0
            };
            let count = count.saturating_add(more);
            packs.push((*line, Packs { count, of_make }));
        }
    }
    packs.sort_by_key(|(line, _)| *line);
    packs.into_iter().map(|(_, packs)| packs).collect()
}

/// The lines of a make, by their place among all and with the packs they need.
struct OfMake<'a> {
    make: &'a Id,
    source: Option<&'a Source>,
    lines: Vec<(usize, i64)>,
}

impl OfMake<'_> {
    fn required(&self) -> i64 {
        let packs = self.lines.iter().map(|(_, packs)| *packs);
        packs.fold(0, i64::saturating_add)
    }
}

/// The cheapest packs of each make; `None` where no supplier is asked or the least order is beyond reach.
fn cheapest(
    book: &Book,
    supplier: Option<&Supplier>,
    of_makes: &[OfMake<'_>],
    yearly_use: &BTreeMap<Id, f64>,
) -> Option<Vec<i64>> {
    let supplier = supplier?;
    let lines = of_makes.iter().map(|one| {
        let used = yearly_use.get(one.make).copied().unwrap_or(0.0);
        line(book, one.source?, one.required(), used)
    });
    let lines: Vec<BasketLine> = lines.collect::<Option<_>>()?;
    let terms = BasketTerms {
        minimum: supplier.min_order,
        freight: supplier.freight,
        free_from: supplier.free_delivery_from,
    };
    match choose_packs(&lines, &terms).ok()? {
        Choice::Order(basket) => Some(basket.packs),
        Choice::BelowMinimum { as_it_is, .. } => Some(as_it_is.packs),
    }
}

fn line(book: &Book, source: &Source, required: i64, yearly_use: f64) -> Option<BasketLine> {
    let price = source.offer.price_at(required)?;
    let pack = exact_f64(source.offer.pack_count.max(1));
    let years = match book.make(&source.offer.make).map(|make| &make.figures) {
        Some(Figures::Liquid(_)) => {
            exact_f64(book.policy().value(PolicyKey::ShelfLifeDays)) / DAYS_A_YEAR
        }
        _ => 1.0,
    };
    let worth = round_to_i64((yearly_use * years / pack).floor());
    // How long one pack more lies there: as long as it takes to use one, a year at most.
    let held_years = if yearly_use > 0.0 {
        (pack / yearly_use).min(1.0)
    } else {
        1.0
    };
    let rate = Decimal::new(book.policy().value(PolicyKey::HoldingPermille), 3);
    let time = Decimal::new(round_to_i64(held_years * MILLI), 3);
    let holding = price.amount.checked_mul(rate)?.checked_mul(time)?;
    Some(BasketLine {
        required,
        most: worth.max(required),
        breaks: source.offer.breaks.clone(),
        holding_per_pack: Money {
            amount: holding,
            ..price
        },
    })
}

/// Pieces that would be cheapest to order each time at this use a year, by the freight of an order, the
/// prices by the quantity and the cost of holding a piece; `None` where delivery costs nothing or nothing
/// is used.
pub(super) fn economic(book: &Book, source: &Source, yearly_use: f64) -> Option<i64> {
    let freight = f64::try_from(source.supplier.freight?.amount).ok()?;
    let pack = exact_f64(source.offer.pack_count.max(1));
    let by_pieces = |at: &PriceBreak| {
        // The first price holds from the first piece on.
        let from = match at.from_pack_count {
            1 => 0.0,
            packs => exact_f64(packs) * pack,
        };
        Some((from, f64::try_from(at.price.amount).ok()? / pack))
    };
    let breaks = source.offer.breaks.iter().map(by_pieces);
    let breaks: Vec<(f64, f64)> = breaks.collect::<Option<_>>()?;
    let rate = permille(book.policy(), PolicyKey::HoldingPermille);
    let hint = economic_order_with_breaks(freight, yearly_use, rate, &breaks).ok()?;
    Some(round_to_i64(hint.quantity).max(1))
}
