//! Suppliers on the wire, with what their deliveries have taught.
//!
//! It serves reading suppliers, and editing, which starts from what is there.

use fettlebook_contract::v1;
use fettlebook_model::Book;
use fettlebook_model::lead::planned_lead;
use fettlebook_model::supplier::{Offer, Supplier};

use super::money::money;
use crate::edge::{etag, words};

pub(in crate::edge) fn supplier(book: &Book, supplier: &Supplier) -> v1::Supplier {
    let lead = planned_lead(book, supplier);
    let order_days = supplier.order_days.iter().copied();
    let mut shown = v1::Supplier {
        etag: String::new(),
        supplier: supplier.id.to_string(),
        name: supplier.name.clone(),
        lead_days: supplier.lead_days,
        min_order: supplier.min_order.map(money),
        free_delivery_from: supplier.free_delivery_from.map(money),
        freight: supplier.freight.map(money),
        order_days: order_days.map(words::weekday_word).collect(),
        offers: supplier.offers.iter().map(offer).collect(),
        note: supplier.note.clone(),
        delivery_count: lead.delivery_count,
        planned_lead_days: lead.days,
        lead_sd_days: lead.sd_days,
    };
    shown.etag = etag::of(&shown);
    shown
}

fn offer(offer: &Offer) -> v1::Offer {
    let breaks = offer.breaks.iter().map(|from| v1::PriceBreak {
        from_pack_count: from.from_pack_count,
        price: Some(money(from.price)),
    });
    v1::Offer {
        make: offer.make.to_string(),
        pack_count: offer.pack_count,
        breaks: breaks.collect(),
    }
}
