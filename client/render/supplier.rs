//! Suppliers: their terms, what deliveries have taught of their lead time, and their price lists.
//!
//! It serves `supplier list` and `supplier show`. Prices stand as they were sent.

use fettlebook_contract::v1::{Offer, Supplier, Weekday};

use crate::render::amount::{money, money_or};
use crate::render::screen::{Screen, several};
use crate::render::table::{Column, sheet, table};
use crate::render::tint;
use crate::word::word;

/// Suppliers, a line each.
pub(crate) fn list(screen: &Screen, suppliers: &[Supplier]) -> String {
    if suppliers.is_empty() {
        return "No suppliers yet. 'fettle supplier add' sets one up.".to_owned();
    }
    table(
        screen,
        &[
            ("Supplier", Column::Name),
            ("Name", Column::Name),
            ("Lead", Column::Right),
            ("Terms", Column::Text),
        ],
        suppliers.iter().map(|supplier| {
            vec![
                supplier.supplier.clone(),
                supplier.name.clone(),
                days(supplier.planned_lead_days),
                terms(supplier),
            ]
        }),
    )
}

/// Freight and least order in a few words.
fn terms(supplier: &Supplier) -> String {
    let least = supplier.min_order.as_ref();
    let least = least.map(|sum| format!("orders from {}", money(sum)));
    let freight = supplier.freight.as_ref().map(|_| freight(supplier));
    let terms = [freight.map(|told| format!("freight {told}")), least];
    terms.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

fn days(count: i64) -> String {
    several(count, "day", "days")
}

/// One supplier with its terms and price list.
pub(crate) fn show(screen: &Screen, supplier: &Supplier) -> String {
    let title = format!(
        "{} ({})",
        tint::strong(&supplier.name),
        supplier.supplier.as_str()
    );
    let sheet = sheet(
        screen,
        [
            ("Supplier", title),
            ("Lead time", days(supplier.lead_days) + ", as it says"),
            ("Planned with", planned(supplier)),
            ("Takes orders", order_days(supplier)),
            ("Least order", money_or(supplier.min_order.as_ref(), "none")),
            ("Freight", freight(supplier)),
            ("Note", supplier.note.clone()),
        ],
    );
    format!("{sheet}\n\n{}", price_list(screen, supplier))
}

/// The lead time that is planned with, and what it rests on.
fn planned(supplier: &Supplier) -> String {
    let planned = days(supplier.planned_lead_days);
    if supplier.delivery_count == 0 {
        return format!("{planned}; no delivery has come yet");
    }
    format!(
        "{planned}, give or take {:.1}, from {}",
        supplier.lead_sd_days,
        several(supplier.delivery_count, "delivery", "deliveries")
    )
}

fn order_days(supplier: &Supplier) -> String {
    let named: Vec<_> = supplier.order_days().map(weekday).collect();
    if named.is_empty() {
        "every day".to_owned()
    } else {
        named.join(", ")
    }
}

/// A day of the week as it is written in a sentence.
fn weekday(day: Weekday) -> String {
    let name = word(day);
    let mut letters = name.chars();
    let first = letters.next().map(|letter| letter.to_ascii_uppercase());
    first.into_iter().chain(letters).collect()
}

fn freight(supplier: &Supplier) -> String {
    let freight = money_or(supplier.freight.as_ref(), "none");
    supplier
        .free_delivery_from
        .as_ref()
        .map_or(freight.clone(), |free| {
            format!("{freight}, free from {}", money(free))
        })
}

/// What it offers, a line for each price.
fn price_list(screen: &Screen, supplier: &Supplier) -> String {
    if supplier.offers.is_empty() {
        return format!(
            "Nothing is on its price list yet. To put something on it:\n  fettle supplier price {} \
             MAKE '2 per pack: 18.90 EUR'",
            supplier.supplier
        );
    }
    table(
        screen,
        &[
            ("Make", Column::Name),
            ("In a pack", Column::Right),
            ("From packs", Column::Right),
            ("Price of a pack", Column::Right),
        ],
        supplier.offers.iter().flat_map(prices),
    )
}

/// The prices of an offer; its make and pack are said once.
fn prices(offer: &Offer) -> Vec<Vec<String>> {
    let rows = offer.breaks.iter().enumerate().map(|(index, one)| {
        let (make, pack) = if index == 0 {
            (offer.make.clone(), offer.pack_count.to_string())
        } else {
            (String::new(), String::new())
        };
        let price = money_or(one.price.as_ref(), "");
        vec![make, pack, one.from_pack_count.to_string(), price]
    });
    rows.collect()
}
