//! How many packs: what is needed, and more where that is cheaper in all.
//!
//! Serves the reorder list. It never orders less than is needed, nor more than is used before it
//! expires.

use std::collections::BTreeMap;

use fettlebook_quantity::{exact_f64, round_to_i64};

use super::Want;
use super::source::Source;
use crate::Book;
use crate::ids::Id;
use crate::lives::permille;
use crate::policy::PolicyKey;
use crate::supplier::Supplier;
use crate::supply::economic_order;

/// Packs of each line of one supplier's basket.
pub(super) fn choose(
    _book: &Book,
    _supplier: Option<&Supplier>,
    wants: &[(Want, Option<Source>)],
    _yearly_use: &BTreeMap<Id, f64>,
) -> Vec<i64> {
    wants
        .iter()
        .map(|(want, source)| {
            source
                .as_ref()
                .map_or(want.count, |source| source.pack_count)
        })
        .collect()
}

/// Pieces that would be cheapest to order each time at this use a year, by the freight of an order and
/// the cost of holding a piece; `None` where delivery costs nothing or nothing is used.
pub(super) fn economic(book: &Book, source: &Source, yearly_use: f64) -> Option<i64> {
    let freight = f64::try_from(source.supplier.freight?.amount).ok()?;
    let price = source.offer.price_at(source.pack_count)?.amount;
    let piece = f64::try_from(price).ok()? / exact_f64(source.offer.pack_count.max(1));
    let holding = piece * permille(book.policy(), PolicyKey::HoldingPermille);
    let hint = economic_order(freight, yearly_use, holding).ok()?;
    Some(round_to_i64(hint.quantity).max(1))
}
