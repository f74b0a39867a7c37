//! Canned suppliers and orders of the invented shop.

use fettlebook_contract::v1::{
    Money, Offer, Order, OrderLine, OrderState, PriceBreak, Supplier, Weekday,
};

use super::at;

pub(in crate::render) fn eur(amount: &str) -> Option<Money> {
    Some(Money {
        amount: amount.to_owned(),
        currency_code: "EUR".to_owned(),
    })
}

fn offer(make: &str, pack_count: i64, breaks: &[(i64, &str)]) -> Offer {
    let one = |(from_pack_count, price): &(i64, &str)| PriceBreak {
        from_pack_count: *from_pack_count,
        price: eur(price),
    };
    Offer {
        make: make.to_owned(),
        pack_count,
        breaks: breaks.iter().map(one).collect(),
    }
}

pub(in crate::render) fn tern_quay() -> Supplier {
    Supplier {
        supplier: "tern-quay".to_owned(),
        name: "Tern Quay Supplies".to_owned(),
        lead_days: 3,
        min_order: None,
        free_delivery_from: eur("80.00"),
        freight: eur("6.90"),
        order_days: vec![Weekday::Monday.into(), Weekday::Wednesday.into()],
        offers: vec![
            offer(
                "coarse-foam-150",
                2,
                &[(1, "18.90"), (5, "17.50"), (20, "16.00")],
            ),
            offer("fine-polish-500ml", 1, &[(1, "27.00")]),
        ],
        note: "ring before ten".to_owned(),
        delivery_count: 5,
        planned_lead_days: 4,
        lead_sd_days: 1.24,
    }
}

pub(in crate::render) fn millrace() -> Supplier {
    Supplier {
        supplier: "millrace-trade-counter".to_owned(),
        name: "Millrace Trade Counter".to_owned(),
        lead_days: 1,
        min_order: eur("25.00"),
        planned_lead_days: 1,
        ..Supplier::default()
    }
}

fn line(make: &str, packs: i64, came: i64, pieces: i64, price: &str) -> OrderLine {
    OrderLine {
        make: make.to_owned(),
        pack_count: packs,
        pieces_per_pack: pieces,
        price: eur(price),
        received_pack_count: came,
    }
}

pub(in crate::render) fn part_received() -> Order {
    Order {
        order: "order-3".to_owned(),
        supplier: "tern-quay".to_owned(),
        state: OrderState::PartReceived.into(),
        lines: vec![
            line("coarse-foam-150", 3, 1, 2, "18.90"),
            line("fine-polish-500ml", 1, 1, 1, "27.00"),
        ],
        freight: eur("0.00"),
        total: eur("83.70"),
        placed_time: at(-48),
        due_date: "2026-11-27".to_owned(),
        note: String::new(),
        last_seq: 57,
    }
}

pub(in crate::render) fn drafted() -> Order {
    Order {
        order: "order-4".to_owned(),
        supplier: "millrace-trade-counter".to_owned(),
        state: OrderState::Drafted.into(),
        lines: vec![OrderLine {
            price: None,
            ..line("nitrile-gloves-50", 2, 0, 1, "")
        }],
        total: eur("19.60"),
        ..Order::default()
    }
}
