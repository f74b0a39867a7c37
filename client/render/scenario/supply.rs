//! Canned suppliers, orders and a list to order by, of the invented shop.

use fettlebook_contract::v1::{
    ListReorderResponse, Money, Offer, Order, OrderLine, OrderState, PriceBreak, ReorderCause,
    ReorderLine, Supplier, SupplierBasket, Weekday,
};

use super::at;

pub(crate) fn eur(amount: &str) -> Option<Money> {
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

pub(crate) fn tern_quay() -> Supplier {
    Supplier {
        supplier: "tern-quay".to_owned(),
        name: "Tern Quay Supplies".to_owned(),
        lead_days: 3,
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
        ..Supplier::default()
    }
}

pub(crate) fn millrace() -> Supplier {
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

pub(crate) fn part_received() -> Order {
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

pub(crate) fn drafted() -> Order {
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

fn to_order(make: &str, name: &str, packs: [i64; 3]) -> ReorderLine {
    let [need_count, pack_count, pieces_per_pack] = packs;
    ReorderLine {
        make: make.to_owned(),
        make_name: name.to_owned(),
        cause: ReorderCause::BookedJob.into(),
        need_count,
        pack_count,
        pieces_per_pack,
        order_by_date: "2026-11-30".to_owned(),
        need_date: "2026-12-03".to_owned(),
        jobs: vec!["black-suv".to_owned()],
        ..ReorderLine::default()
    }
}

fn late_foam() -> ReorderLine {
    ReorderLine {
        price: eur("18.90"),
        cost: eur("56.70"),
        order_by_date: "2026-11-23".to_owned(),
        late: true,
        need_date: "2026-11-26".to_owned(),
        jobs: vec!["black-suv".to_owned(), "white-van".to_owned()],
        reason:
            "black-suv and white-van take 9 coarse foam 150 between them; 4 will be fit for it."
                .to_owned(),
        if_skipped: "black-suv is 5 pads short in the cut.".to_owned(),
        instead: "It cannot come before black-suv. Move black-suv to Fri 27 Nov 2026 or later, take it from \
                  another place, or buy it nearer."
            .to_owned(),
        economic_count: Some(8),
        ..to_order("coarse-foam-150", "coarse foam 150", [5, 3, 2])
    }
}

fn polish() -> ReorderLine {
    ReorderLine {
        cause: ReorderCause::CarryChance.into(),
        price: eur("27.00"),
        cost: eur("27.00"),
        reason: "With what is there black-suv is carried with 88 %, below the 95 % aimed at."
            .to_owned(),
        if_skipped: "One time in eight the polish runs out before the last panel.".to_owned(),
        ..to_order("fine-polish-500ml", "fine polish 500 mL", [1, 1, 1])
    }
}

fn gloves() -> ReorderLine {
    ReorderLine {
        cause: ReorderCause::KeepLevel.into(),
        price: eur("9.80"),
        cost: eur("19.60"),
        jobs: Vec::new(),
        reason: "One box is left and two are kept.".to_owned(),
        if_skipped: "Jobs that are not booked yet may find none.".to_owned(),
        ..to_order(
            "nitrile-gloves-50",
            "nitrile gloves, box of 50 pairs",
            [2, 2, 1],
        )
    }
}

fn tape() -> ReorderLine {
    ReorderLine {
        reason: "black-suv takes 19 m of tape; 6 m are left.".to_owned(),
        if_skipped: "black-suv is 13 m short.".to_owned(),
        ..to_order("masking-tape-50", "masking tape 50 m", [1, 1, 1])
    }
}

/// A bit of everything: late, too small for the least order, offered by none.
pub(crate) fn to_reorder() -> ListReorderResponse {
    let tern_quay = SupplierBasket {
        supplier: "tern-quay".to_owned(),
        supplier_name: "Tern Quay Supplies".to_owned(),
        lines: vec![late_foam(), polish()],
        goods: eur("83.70"),
        freight: eur("0.00"),
        total: eur("83.70"),
        order_by_date: "2026-11-23".to_owned(),
        ..SupplierBasket::default()
    };
    let millrace = SupplierBasket {
        supplier: "millrace-trade-counter".to_owned(),
        supplier_name: "Millrace Trade Counter".to_owned(),
        lines: vec![gloves()],
        goods: eur("19.60"),
        total: eur("19.60"),
        to_free_delivery: eur("60.40"),
        to_min_order: eur("5.40"),
        order_by_date: "2026-11-30".to_owned(),
        ..SupplierBasket::default()
    };
    let none = SupplierBasket {
        lines: vec![tape()],
        order_by_date: "2026-11-30".to_owned(),
        ..SupplierBasket::default()
    };
    ListReorderResponse {
        baskets: vec![tern_quay, millrace, none],
        assumptions: vec![
            "Orders that are placed come on the day they are due.".to_owned(),
            "A pad that is tired today is counted with the chance that it lasts, not as gone."
                .to_owned(),
        ],
        job_count: 2,
    }
}
