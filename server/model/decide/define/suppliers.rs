//! Setting up and editing suppliers and their price lists.
//!
//! Serves the reorder list and orders, which reckon with every figure here. A price list that makes
//! no sense is refused whole; nothing already ordered is touched by an edit.

use std::collections::BTreeSet;
use std::sync::Arc;

use fettlebook_quantity::field_words;

use super::{NAME_CHARS_MAX, free, unchanged};
use crate::book::deed::Deed;
use crate::decide::Decision;
use crate::decide::bounds::{line_of_text, note};
use crate::ground::ids::Subject;
use crate::ground::money::Money;
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::supplier::{Offer, Supplier};
use crate::{Book, Moment};

/// Most offers of a supplier.
const OFFERS_MAX: usize = 500;
/// Most price breaks of an offer.
const BREAKS_MAX: usize = 12;

/// Sets a supplier up.
pub(in crate::decide) fn create(
    book: &Book,
    supplier: &Supplier,
    now: Moment,
) -> Result<Decision, Refusal> {
    free(book, "supplier", &supplier.id, Subject::Supplier)?;
    set(book, supplier, now)
}

/// Edits a supplier.
pub(in crate::decide) fn edit(
    book: &Book,
    was: &Supplier,
    supplier: &Supplier,
    now: Moment,
) -> Result<Decision, Refusal> {
    let (field, id) = ("supplier.supplier", &supplier.id);
    let held = book
        .supplier(id)
        .ok_or_else(|| Refusal::no_id(Reason::SupplierUnknown, field, "supplier", id))?;
    unchanged(held.as_ref() == was, "supplier")?;
    set(book, supplier, now)
}

fn set(book: &Book, supplier: &Supplier, now: Moment) -> Result<Decision, Refusal> {
    if supplier.name.trim().is_empty() {
        return Err(Refusal::missing(
            "supplier.name",
            "Give the name as you say it.",
        ));
    }
    line_of_text("supplier.name", &supplier.name, NAME_CHARS_MAX)?;
    note(&supplier.note)?;
    terms_make_sense(supplier)?;
    one_currency(book, supplier)?;
    if supplier.offers.len() > OFFERS_MAX {
        return Err(Refusal::invalid(
            "supplier.offers",
            format!("A price list has at most {OFFERS_MAX} makes."),
            "Leave out what you do not buy there.",
        ));
    }
    let mut makes = BTreeSet::new();
    for offer in &supplier.offers {
        if !makes.insert(&offer.make) {
            return Err(Refusal::invalid(
                "supplier.offers.make",
                format!("{} is in the price list twice.", offer.make),
                "Name it once, with its breaks.",
            ));
        }
        offer_makes_sense(book, offer)?;
    }
    let supplier = Arc::new(supplier.clone());
    Ok(Decision::now(vec![Deed::SupplierSet { supplier }], now))
}

/// A sum of money that must be above zero.
fn above_zero(field: &str, money: Option<Money>) -> Result<(), Refusal> {
    match money {
        Some(money) if money.amount.is_zero() => Err(Refusal::quantity(
            field,
            format!("The {} is {money}, which is nothing.", field_words(field)),
            "Give a sum above zero, or leave it out.",
        )),
        _ => Ok(()),
    }
}

fn terms_make_sense(supplier: &Supplier) -> Result<(), Refusal> {
    above_zero("supplier.min_order", supplier.min_order)?;
    above_zero("supplier.free_delivery_from", supplier.free_delivery_from)?;
    above_zero("supplier.freight", supplier.freight)?;
    if supplier.free_delivery_from.is_some() && supplier.freight.is_none() {
        return Err(Refusal::missing(
            "supplier.freight",
            "Say what delivery costs below the value from which it is free.",
        ));
    }
    let days: BTreeSet<_> = supplier.order_days.iter().collect();
    if days.len() < supplier.order_days.len() {
        return Err(Refusal::invalid(
            "supplier.order_days",
            "A day is named twice.",
            "Name each day once.",
        ));
    }
    Ok(())
}

fn offer_makes_sense(book: &Book, offer: &Offer) -> Result<(), Refusal> {
    let id = &offer.make;
    if book.make(id).is_none() {
        let field = "supplier.offers.make";
        return Err(Refusal::no_id(Reason::MakeUnknown, field, "make", id));
    }
    let field = "supplier.offers.breaks";
    let wrong = |what: String, todo: &str| Err(Refusal::invalid(field, what, todo));
    let Some(first) = offer.breaks.first() else {
        return Err(Refusal::missing(
            field,
            "Give at least the price of one pack.",
        ));
    };
    if first.from_pack_count != 1 {
        return wrong(
            format!(
                "The first price of {id} holds from {} packs.",
                first.from_pack_count
            ),
            "Give the price from 1 pack on first.",
        );
    }
    if offer.breaks.len() > BREAKS_MAX {
        return wrong(
            format!("{id} has more than {BREAKS_MAX} price breaks."),
            "Leave out those you will never reach.",
        );
    }
    for price in &offer.breaks {
        above_zero("supplier.offers.breaks.price", Some(price.price))?;
    }
    for pair in offer.breaks.windows(2) {
        let [lower, upper] = pair else { continue };
        if upper.from_pack_count <= lower.from_pack_count {
            return wrong(
                format!(
                    "The price breaks of {id} are out of order at {} packs.",
                    upper.from_pack_count
                ),
                "Put them in order, each from more packs than the one before.",
            );
        }
        if upper.price.amount > lower.price.amount {
            return wrong(
                format!(
                    "{id} would cost more a pack from {} packs on.",
                    upper.from_pack_count
                ),
                "Look at the price list; more packs do not raise the price of one.",
            );
        }
    }
    Ok(())
}

fn one_currency(book: &Book, supplier: &Supplier) -> Result<(), Refusal> {
    let others = book.suppliers().filter(|other| other.id != supplier.id);
    let others = others.flat_map(|other| other.moneys().next());
    let makes = book.makes().filter_map(|make| make.price);
    let stock = book.pieces().filter_map(|piece| Some(piece.cost?.landed));
    let mut known = others.chain(makes).chain(stock);
    let mut currency = known.next().map(|money| money.currency);
    for money in supplier.moneys() {
        let first = *currency.get_or_insert(money.currency);
        if money.currency != first {
            return Err(Refusal::new(
                Reason::CurrencyMismatch,
                "supplier.offers.breaks.price",
                format!(
                    "{} meets {first}; a book keeps to one currency.",
                    money.currency
                ),
                format!("Give prices in {first}."),
            ));
        }
    }
    Ok(())
}
