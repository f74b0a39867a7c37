//! Orders: what they cost, when they are due, and how they go from draft to closed.

use fettlebook_model::command::{NewOrder, OrderedLine, Said};
use fettlebook_model::order::{Order, OrderState};
use fettlebook_model::{Command, Entry, Reason, Refusal};

use super::{is_state, shop};
use crate::shop::{
    Shop, at, came, delivery_of, done, eur, id, order_of, packs, records, replayed, restored,
    saloon_job, tern_quay,
};

fn place(shop: &mut Shop, order: &str) -> Result<Entry, Refusal> {
    let said = Said::default();
    let order = id(order);
    shop.try_say(Command::PlaceOrder { said, order }).cloned()
}

fn close(shop: &mut Shop, order: &str) -> Result<Entry, Refusal> {
    let said = Said::default();
    let order = id(order);
    shop.try_say(Command::CloseOrder { said, order }).cloned()
}

fn drafted(line: OrderedLine) -> NewOrder {
    NewOrder {
        is_placed: false,
        ..order_of("tern-quay", vec![line])
    }
}

fn freight(order: &Order) -> Option<String> {
    order.freight.map(|money| money.to_string())
}

/// Source: the price list: 18.90 a pack of two, 17.00 from five packs on.
#[test]
fn a_line_is_priced_at_the_break_it_reaches_in_packs_of_the_list() {
    for (count, price) in [(1, "18.90"), (4, "18.90"), (5, "17.00"), (12, "17.00")] {
        let mut shop = shop();
        let order = shop.order_packs("tern-quay", "coarse-foam-150", count);
        let line = &shop.order_now(&order).lines[0];
        assert_eq!((line.pack_count, line.price), (count, eur(price)));
        assert_eq!((line.pieces_per_pack, line.received_pack_count), (2, 0));
    }
}

#[test]
fn a_price_and_a_pack_of_ones_own_go_before_the_list() {
    let mut shop = shop();
    let order = shop.order(order_of(
        "tern-quay",
        vec![
            OrderedLine {
                price: Some(eur("15.55")),
                pieces_per_pack: Some(3),
                ..packs("coarse-foam-150", 6)
            },
            OrderedLine {
                price: Some(eur("31.00")),
                pieces_per_pack: Some(1),
                ..packs("fine-polish-500ml", 1)
            },
        ],
    ));
    let lines = &shop.order_now(&order).lines;
    assert_eq!(
        (lines[0].price, lines[0].pieces_per_pack),
        (eur("15.55"), 3)
    );
    assert_eq!(
        (lines[1].price, lines[1].pieces_per_pack),
        (eur("31.00"), 1)
    );
}

/// Source: by hand: four packs are 75.60, five are 85.00, and two of 40.00 are the 80 itself.
#[test]
fn freight_goes_by_the_suppliers_terms_and_is_free_from_the_value_on() {
    let own = |count, price| OrderedLine {
        price: Some(eur(price)),
        ..packs("coarse-foam-150", count)
    };
    for (line, asked, told) in [
        (packs("coarse-foam-150", 4), None, Some("4.95 EUR")),
        (packs("coarse-foam-150", 5), None, None),
        (own(2, "39.99"), None, Some("4.95 EUR")),
        (own(2, "40.00"), None, None),
        (packs("coarse-foam-150", 5), Some("2.00"), Some("2.00 EUR")),
    ] {
        let mut shop = shop();
        let order = shop.order(NewOrder {
            freight: asked.map(eur),
            ..order_of("tern-quay", vec![line.clone()])
        });
        let freight = freight(shop.order_now(&order));
        assert_eq!(freight.as_deref(), told, "{line:?}");
    }
    let mut shop = shop();
    shop.edit_supplier("tern-quay", |supplier| {
        supplier.free_delivery_from = None;
        supplier.freight = None;
    })
    .unwrap();
    let order = shop.order_packs("tern-quay", "nitrile-gloves", 1);
    assert_eq!(freight(shop.order_now(&order)), None);
}

/// Source: by hand: at 23:30 by UTC it is half an hour past midnight of the 5th an hour east of there,
/// and three days after is the 8th; eight hours west it is the 4th still, at 03:00 by UTC of the 5th too.
#[test]
fn the_day_of_an_order_is_the_shops_own() {
    for (offset_s, now, due) in [
        (3_600, "2026-03-04 23:30", "2026-03-08"),
        (-28_800, "2026-03-05 03:00", "2026-03-07"),
    ] {
        let mut shop = Shop::stocked();
        shop.supply(tern_quay());
        let mut job = saloon_job("friday", "2026-03-06 08:00");
        job.utc_offset_s = offset_s;
        shop.say(Command::BookJob { job });
        shop.go_to(now);
        let order = shop.order_packs("tern-quay", "nitrile-gloves", 1);
        let held = shop.order_now(&order);
        assert_eq!(held.due_on, Some(due.parse().unwrap()), "{now}");
    }
}

/// Source: by hand: three days after 4 March 2026 is the 7th.
#[test]
fn an_order_is_due_after_the_lead_time_from_the_day_it_was_sent() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "nitrile-gloves", 1);
    let held = shop.order_now(&order);
    assert_eq!(held.placed_at, Some(at("2026-03-04 16:00")));
    assert_eq!(held.due_on, Some("2026-03-07".parse().unwrap()));
    let order = shop.order(NewOrder {
        said: done("2026-03-01 23:59"),
        ..order_of("tern-quay", vec![packs("nitrile-gloves", 1)])
    });
    let held = shop.order_now(&order);
    assert_eq!(held.placed_at, Some(at("2026-03-01 23:59")));
    assert_eq!(held.due_on, Some("2026-03-04".parse().unwrap()));
    let draft = shop.order(drafted(packs("nitrile-gloves", 1)));
    let held = shop.order_now(&draft);
    assert_eq!((held.placed_at, held.due_on), (None, None));
    shop.go_to("2026-03-09 09:00");
    place(&mut shop, &draft).unwrap();
    let held = shop.order_now(&draft);
    assert_eq!(held.placed_at, Some(at("2026-03-09 09:00")));
    assert_eq!(held.due_on, Some("2026-03-12".parse().unwrap()));
}

#[test]
fn an_order_goes_from_draft_to_closed_and_what_does_not_fit_its_state_is_refused() {
    let mut shop = shop();
    let order = shop.order(drafted(packs("nitrile-gloves", 3)));
    assert_eq!(order, "order-1");
    assert_eq!(shop.order_now(&order).state(), OrderState::Drafted);
    assert!(!shop.order_now(&order).is_on_its_way());
    is_state(shop.try_deliver(delivery_of(&order)), "order-1 is drafted.");
    place(&mut shop, &order).unwrap();
    assert_eq!(shop.order_now(&order).state(), OrderState::Placed);
    assert!(shop.order_now(&order).is_on_its_way());
    is_state(place(&mut shop, &order), "order-1 is placed.");
    let mut part = delivery_of(&order);
    part.lines = vec![came("nitrile-gloves", 1)];
    shop.deliver(part);
    assert_eq!(shop.order_now(&order).state(), OrderState::PartReceived);
    assert!(shop.order_now(&order).is_on_its_way());
    is_state(place(&mut shop, &order), "order-1 is received in part.");
    shop.deliver(delivery_of(&order));
    let held = shop.order_now(&order);
    assert_eq!(held.state(), OrderState::Closed);
    assert_eq!(held.lines[0].received_pack_count, 3);
    assert!(!held.is_closed, "it is all there, nobody had to say so");
    is_state(place(&mut shop, &order), "order-1 is closed.");
    is_state(close(&mut shop, &order), "order-1 is closed.");
    is_state(shop.try_deliver(delivery_of(&order)), "order-1 is closed.");
}

#[test]
fn an_order_of_which_no_more_comes_is_closed_at_any_time_before() {
    for (is_placed, part) in [(false, false), (true, false), (true, true)] {
        let mut shop = shop();
        let order = shop.order(NewOrder {
            is_placed,
            ..drafted(packs("nitrile-gloves", 2))
        });
        if part {
            let mut part = delivery_of(&order);
            part.lines = vec![came("nitrile-gloves", 1)];
            shop.deliver(part);
        }
        close(&mut shop, &order).unwrap();
        assert_eq!(shop.order_now(&order).state(), OrderState::Closed);
        assert!(!shop.order_now(&order).is_on_its_way());
        is_state(shop.try_deliver(delivery_of(&order)), "order-1 is closed.");
        let closed = shop.book.head();
        shop.reverse(closed).unwrap();
        assert_eq!(shop.order_now(&order).is_on_its_way(), is_placed);
    }
}

#[test]
fn an_order_that_is_not_there_is_said_to_be_unknown() {
    let mut shop = shop();
    let unknown = [
        place(&mut shop, "order-1").unwrap_err(),
        close(&mut shop, "order-1").unwrap_err(),
        shop.try_deliver(delivery_of("order-1")).unwrap_err(),
    ];
    for refusal in unknown {
        assert_eq!(refusal.reason, Reason::OrderUnknown);
        assert_eq!(refusal.what, "The book has no order order-1.");
    }
}

#[test]
fn the_id_of_an_order_is_never_given_twice() {
    let mut shop = shop();
    let mut ids = Vec::new();
    for _ in 0..3 {
        ids.push(shop.order_packs("tern-quay", "nitrile-gloves", 1));
    }
    assert_eq!(ids, ["order-1", "order-2", "order-3"]);
    let last = shop.book.head();
    shop.reverse(last).unwrap();
    assert!(shop.book.order(&id("order-3")).is_none());
    // Nor by a book that was put together again from its records.
    shop.book = restored(&shop.book);
    let next = shop.order_packs("tern-quay", "nitrile-gloves", 1);
    assert_eq!(next, "order-4");
    assert_eq!(replayed(&shop.entries), shop.book);
}

#[test]
fn ids_go_on_by_number_past_the_tenth() {
    let mut shop = shop();
    for number in 1..=11 {
        let order = shop.order_packs("tern-quay", "nitrile-gloves", 1);
        assert_eq!(order, format!("order-{number}"));
    }
}

#[test]
fn an_order_is_taken_back_whole_but_not_below_what_came_of_it() {
    let mut shop = shop();
    let before = records(&shop.book);
    let order = shop.order(drafted(packs("nitrile-gloves", 2)));
    let written = shop.book.head();
    place(&mut shop, &order).unwrap();
    let placed = shop.book.head();
    shop.deliver(delivery_of(&order));
    let delivered = shop.book.head();
    let refusal = shop.reverse(written).unwrap_err();
    assert_eq!(refusal.reason, Reason::NotReversible);
    for seq in [delivered, placed, written] {
        shop.reverse(seq).unwrap();
    }
    let mut after = records(&shop.book);
    after.retain(|(_, record)| *record != fettlebook_model::Record::TakenBack);
    assert_eq!(after, before);
}
