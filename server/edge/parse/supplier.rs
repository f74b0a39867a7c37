//! Suppliers and their price lists from the wire.
//!
//! It serves setting up and editing suppliers. Whether the terms make sense is for the model to say.

use fettlebook_contract::v1;
use fettlebook_model::supplier::{Offer, OrderDay, PriceBreak, Supplier};
use fettlebook_model::{Book, Command, Reason, Refusal};

use super::{id, message, money, open_money};
use crate::edge::status::EdgeError;
use crate::edge::{mask, show, words};

pub(in crate::edge) fn create(
    sent: v1::CreateSupplierRequest,
    _: &Book,
) -> Result<Command, Refusal> {
    Ok(Command::CreateSupplier {
        supplier: supplier(message("supplier", sent.supplier)?)?,
    })
}

pub(in crate::edge) fn edit(
    sent: v1::UpdateSupplierRequest,
    book: &Book,
) -> Result<Command, EdgeError> {
    const FIELD: &str = "supplier.supplier";
    let fields = message("supplier", sent.supplier)?;
    let id = id(FIELD, &fields.supplier)?;
    let was = book
        .supplier(&id)
        .ok_or_else(|| Refusal::no_id(Reason::SupplierUnknown, FIELD, "supplier", &id))?;
    let held = show::supplier::supplier(book, was);
    let sent = (&fields, sent.update_mask);
    let supplier = mask::edited(book, "supplier", &held, sent, |edited, _| supplier(edited))?;
    Ok(Command::EditSupplier {
        was: Supplier::clone(was),
        supplier,
    })
}

/// A supplier. What its deliveries have taught is the book's to say.
fn supplier(sent: v1::Supplier) -> Result<Supplier, Refusal> {
    let order_days = sent.order_days.iter().map(|day| order_day(*day));
    let terms = |field: &str, sum: &Option<v1::Money>| {
        open_money(&format!("supplier.{field}"), sum.as_ref())
    };
    Ok(Supplier {
        id: id("supplier.supplier", &sent.supplier)?,
        lead_days: sent.lead_days,
        min_order: terms("min_order", &sent.min_order)?,
        free_delivery_from: terms("free_delivery_from", &sent.free_delivery_from)?,
        freight: terms("freight", &sent.freight)?,
        order_days: order_days.collect::<Result<_, _>>()?,
        offers: sent.offers.iter().map(offer).collect::<Result<_, _>>()?,
        name: sent.name,
        note: sent.note,
    })
}

fn order_day(number: i32) -> Result<OrderDay, Refusal> {
    const FIELD: &str = "supplier.order_days";
    words::required(FIELD, words::weekday(FIELD, number)?)
}

fn offer(sent: &v1::Offer) -> Result<Offer, Refusal> {
    let breaks = sent.breaks.iter().map(|from| {
        Ok(PriceBreak {
            from_pack_count: from.from_pack_count,
            price: money("supplier.offers.breaks.price", from.price.as_ref())?,
        })
    });
    Ok(Offer {
        make: id("supplier.offers.make", &sent.make)?,
        pack_count: sent.pack_count,
        breaks: breaks.collect::<Result<_, Refusal>>()?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::money::Money;

    fn eur(amount: &str) -> Money {
        Money::parse(amount, "EUR").unwrap()
    }

    fn tern_quay() -> Supplier {
        let price = |from_pack_count, amount: &str| PriceBreak {
            from_pack_count,
            price: eur(amount),
        };
        Supplier {
            id: "tern-quay".parse().unwrap(),
            name: "Tern Quay Supplies".to_owned(),
            lead_days: 3,
            min_order: Some(eur("25")),
            free_delivery_from: Some(eur("80")),
            freight: Some(eur("6.90")),
            order_days: vec![OrderDay::Monday, OrderDay::Sunday],
            offers: vec![Offer {
                make: "coarse-foam-150".parse().unwrap(),
                pack_count: 2,
                breaks: vec![price(1, "23.80"), price(6, "21.5")],
            }],
            note: "orders before noon".to_owned(),
        }
    }

    #[test]
    fn a_supplier_comes_back_from_the_wire_as_it_was() {
        let sent = show::supplier::supplier(&Book::new(), &tern_quay());
        assert_eq!(supplier(sent), Ok(tern_quay()));
    }

    #[test]
    fn a_day_that_is_none_is_refused() {
        let sent = show::supplier::supplier(&Book::new(), &tern_quay());
        for (number, reason) in [(0, Reason::FieldMissing), (8, Reason::FieldInvalid)] {
            let order_days = vec![number];
            let refused = supplier(v1::Supplier {
                order_days,
                ..sent.clone()
            });
            let refused = refused.unwrap_err();
            assert_eq!(
                (refused.reason, refused.field.as_str()),
                (reason, "supplier.order_days")
            );
        }
    }
}
