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

/// Packs of each line of one supplier's basket: what costs least in goods, freight and holding. Where
/// the least order is not reached within what is worth having, what is needed stays as it is.
pub(super) fn choose(
    book: &Book,
    supplier: Option<&Supplier>,
    wants: &[(Want, Option<Source>)],
    yearly_use: &BTreeMap<Id, f64>,
) -> Vec<i64> {
    let needed = || {
        wants
            .iter()
            .map(|(want, source)| {
                source
                    .as_ref()
                    .map_or(want.count(), |source| source.pack_count)
            })
            .collect()
    };
    let lines: Option<Vec<BasketLine>> = wants
        .iter()
        .map(|(want, source)| {
            let used = yearly_use.get(&want.make).copied().unwrap_or(0.0);
            line(book, source.as_ref()?, used)
        })
        .collect();
    let (Some(lines), Some(supplier)) = (lines, supplier) else {
        return needed();
    };
    let terms = BasketTerms {
        minimum: supplier.min_order,
        freight: supplier.freight,
        free_from: supplier.free_delivery_from,
    };
    match choose_packs(&lines, &terms) {
        Ok(Choice::Order(basket)) => basket.packs,
        Ok(Choice::BelowMinimum { as_it_is, .. }) => as_it_is.packs,
        Err(_) => needed(),
    }
}

fn line(book: &Book, source: &Source, yearly_use: f64) -> Option<BasketLine> {
    let price = source.offer.price_at(source.pack_count)?;
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
        required: source.pack_count,
        most: worth.max(source.pack_count),
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
