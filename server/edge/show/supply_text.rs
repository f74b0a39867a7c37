//! Sentences about suppliers, orders and deliveries.
//!
//! It serves the sentence of a deed. It says what was written down and judges nothing.

use fettlebook_model::Id;
use fettlebook_model::order::Order;
use fettlebook_model::supplier::Supplier;
use jiff::civil::Date;

use super::deed_text::list;
use super::{money, order};

pub(super) fn supplier(subject: &str, supplier: &Supplier) -> String {
    let makes = counted(super::count(supplier.offers.len()), "make");
    let days = counted(supplier.lead_days, "day");
    format!(
        "{subject}: set up as {}, delivery in {days}, {makes} on its price list.",
        supplier.name
    )
}

pub(super) fn order(subject: &str, held: &Order) -> String {
    let makes = counted(super::count(held.lines.len()), "make");
    let cost = order::total(held)
        .map(|total| format!(" for {}", money::text(total)))
        .unwrap_or_default();
    let stands = match held.due_on {
        Some(due_on) => format!("placed with {}, due {}", held.supplier, day(due_on)),
        None => format!("drafted for {}", held.supplier),
    };
    format!("{subject}: {stands}, {makes}{cost}.")
}

pub(super) fn placed(subject: &str, due_on: Date) -> String {
    format!("{subject}: placed, due {}.", day(due_on))
}

pub(super) fn delivered(subject: &str, packs: &[(Id, i64)]) -> String {
    let packs = packs
        .iter()
        .map(|(make, count)| format!("{} of {make}", counted(*count, "pack")));
    format!("{subject}: {} came.", list(packs))
}

/// A day as it is said: `Mon 8 Jun 2026`.
fn day(date: Date) -> String {
    jiff::fmt::strtime::format("%a %-d %b %Y", date).unwrap_or_default()
}

fn counted(count: i64, thing: &str) -> String {
    if count == 1 {
        format!("1 {thing}")
    } else {
        format!("{count} {thing}s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::Seq;
    use fettlebook_model::money::Money;
    use fettlebook_model::order::OrderLine;

    fn two_boxes(due_on: Option<Date>) -> Order {
        let eur = |amount: &str| Money::parse(amount, "EUR").unwrap();
        Order {
            id: "order-1".parse().unwrap(),
            supplier: "tern-quay".parse().unwrap(),
            lines: vec![OrderLine {
                make: "nitrile-gloves".parse().unwrap(),
                pack_count: 2,
                pieces_per_pack: 1,
                price: eur("7.1"),
                received_pack_count: 0,
            }],
            freight: Some(eur("4.70")),
            placed_at: None,
            due_on,
            delivered_at: None,
            is_closed: false,
            note: String::new(),
            last_seq: Seq(0),
        }
    }

    #[test]
    fn an_order_is_told_with_its_day_and_what_it_costs_with_freight() {
        assert_eq!(
            order("order-1", &two_boxes(None)),
            "order-1: drafted for tern-quay, 1 make for 18.90 EUR."
        );
        assert_eq!(
            order("order-1", &two_boxes(Some(jiff::civil::date(2026, 6, 8)))),
            "order-1: placed with tern-quay, due Mon 8 Jun 2026, 1 make for 18.90 EUR."
        );
    }

    #[test]
    fn a_delivery_is_told_pack_by_pack() {
        let packs = [("coarse-foam-150", 1), ("nitrile-gloves", 2)]
            .map(|(make, count)| (make.parse().unwrap(), count));
        assert_eq!(
            delivered("order-1", &packs),
            "order-1: 1 pack of coarse-foam-150 and 2 packs of nitrile-gloves came."
        );
    }
}
