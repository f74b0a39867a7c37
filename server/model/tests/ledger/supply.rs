//! Whom one orders from, what is ordered, what comes and what it cost when it did.

mod deliveries;
mod landed;
mod lead;
mod orders;
mod refused;
mod suppliers;
mod taken_over;

use fettlebook_model::command::{Delivery, DeliveryLine};
use fettlebook_model::{Reason, Refusal};

use crate::shop::{Shop, delivery_of, tern_quay};

/// The shop with Tern Quay Supplies, and nothing yet that has a tag of pads, bottles or towels.
fn shop() -> Shop {
    let mut shop = Shop::new();
    shop.supply(tern_quay());
    shop
}

/// These packs of an order, on the bench.
fn with(order: &str, lines: Vec<DeliveryLine>) -> Delivery {
    Delivery {
        lines,
        ..delivery_of(order)
    }
}

/// A refusal for the state of an order, in these words.
#[track_caller]
fn is_state(refusal: Result<impl Sized, Refusal>, what: &str) {
    let refusal = refusal.err().unwrap();
    assert_eq!(refusal.reason, Reason::OrderState, "{refusal}");
    assert_eq!(refusal.what, what);
}
