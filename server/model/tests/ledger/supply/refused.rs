//! Orders and deliveries that are refused: the book is as it was.

use fettlebook_model::command::{DeliveryLine, NewOrder, OrderedLine};
use fettlebook_model::{Command, Reason, Refusal};

use super::{is_state, shop};
use crate::shop::{
    Shop, came, delivery_of, done, eur, money, order_of, packs, supplier, tern_quay,
};

/// The refusal of an order; the book is as it was.
#[track_caller]
fn refused(new: NewOrder, reason: Reason, field: &str) -> Refusal {
    let mut shop = shop();
    let before = shop.book.clone();
    let refusal = shop.try_say(Command::CreateOrder(Box::new(new)));
    let refusal = refusal.unwrap_err();
    assert_eq!(shop.book, before);
    assert_eq!(
        (refusal.reason, refusal.field.as_str()),
        (reason, field),
        "{refusal}"
    );
    assert!(refusal.what.ends_with('.') && !refusal.what.ends_with(".."));
    refusal
}

#[test]
fn a_line_twice_none_or_too_many_are_refused() {
    let gloves = || packs("nitrile-gloves", 1);
    let of = |lines| order_of("tern-quay", lines);
    let twice = refused(
        of(vec![gloves(), packs("coarse-foam-150", 1), gloves()]),
        Reason::FieldInvalid,
        "lines.make",
    );
    assert_eq!(twice.what, "nitrile-gloves is in the order twice.");
    refused(of(Vec::new()), Reason::FieldMissing, "lines");
    refused(of(vec![gloves(); 201]), Reason::FieldInvalid, "lines");
}

#[test]
fn what_cannot_be_ordered_is_refused() {
    let of = |line| order_of("tern-quay", vec![line]);
    let unknown = packs("pencil-foam-30", 1);
    refused(of(unknown), Reason::MakeUnknown, "lines.make");
    let nobody = order_of("millrace", vec![packs("nitrile-gloves", 1)]);
    refused(nobody, Reason::SupplierUnknown, "supplier");
    for (price, pieces_per_pack) in [(None, None), (Some("31"), None), (None, Some(1))] {
        let unlisted = OrderedLine {
            price: price.map(eur),
            pieces_per_pack,
            ..packs("fine-polish-500ml", 1)
        };
        let refusal = refused(of(unlisted), Reason::FieldMissing, "lines.price");
        assert!(
            refusal
                .todo
                .contains("Tern Quay Supplies does not list fine-polish-500ml")
        );
    }
    for pieces in [0, -1, 10_001] {
        let line = OrderedLine {
            pieces_per_pack: Some(pieces),
            ..packs("nitrile-gloves", 1)
        };
        refused(of(line), Reason::QuantityInvalid, "lines.pieces_per_pack");
    }
    let free = OrderedLine {
        price: Some(eur("0.00")),
        ..packs("nitrile-gloves", 1)
    };
    refused(of(free), Reason::QuantityInvalid, "lines.price");
    let future = NewOrder {
        said: done("2026-03-05 16:00"),
        ..of(packs("nitrile-gloves", 1))
    };
    refused(future, Reason::TimeFuture, "done_time");
}

#[test]
fn an_order_keeps_to_the_currency_of_the_book() {
    let line = OrderedLine {
        price: Some(money("9", "USD")),
        ..packs("nitrile-gloves", 1)
    };
    let field = "lines.price";
    let refusal = refused(
        order_of("tern-quay", vec![line.clone()]),
        Reason::CurrencyMismatch,
        field,
    );
    assert_eq!(refusal.what, "USD meets EUR; a book keeps to one currency.");
    let freight = NewOrder {
        freight: Some(money("4.95", "USD")),
        ..order_of("tern-quay", vec![packs("nitrile-gloves", 1)])
    };
    refused(freight, Reason::CurrencyMismatch, field);
    // The currency is the book's, also where the supplier itself lists nothing.
    let mut shop = shop();
    shop.supply(supplier("millrace", 1, Vec::new()));
    let own = OrderedLine {
        pieces_per_pack: Some(1),
        ..line
    };
    let new = order_of("millrace", vec![own]);
    let refusal = shop.try_say(Command::CreateOrder(Box::new(new)));
    assert_eq!(refusal.unwrap_err().reason, Reason::CurrencyMismatch);
}

#[test]
fn a_delivery_in_another_currency_than_the_book_got_meanwhile_is_refused() {
    let mut shop = Shop::new();
    shop.supply(supplier("millrace", 1, Vec::new()));
    let line = OrderedLine {
        price: Some(money("9", "USD")),
        pieces_per_pack: Some(1),
        ..packs("nitrile-gloves", 1)
    };
    shop.order(order_of("millrace", vec![line]));
    shop.supply(tern_quay());
    let refusal = shop.try_deliver(delivery_of("order-1")).unwrap_err();
    assert_eq!(refusal.reason, Reason::CurrencyMismatch);
    assert_eq!(refusal.what, "order-1 is in USD; the book keeps to EUR.");
}

#[test]
fn more_than_was_ordered_is_refused_and_nothing_has_changed() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "nitrile-gloves", 2);
    let with = |count| {
        let mut delivery = delivery_of("order-1");
        delivery.lines = vec![came("nitrile-gloves", count)];
        delivery
    };
    let before = shop.book.clone();
    is_state(
        shop.try_deliver(with(3)),
        "2 packs of nitrile-gloves are to come of order-1, fewer than 3.",
    );
    assert_eq!(shop.book, before);
    shop.deliver(with(1));
    let before = shop.book.clone();
    is_state(
        shop.try_deliver(with(2)),
        "1 pack of nitrile-gloves is to come of order-1, fewer than 2.",
    );
    assert_eq!(shop.book, before);
    assert_eq!(shop.order_now(&order).lines[0].received_pack_count, 1);
}

#[test]
fn what_came_twice_in_one_delivery_or_was_not_ordered_is_refused() {
    let mut shop = shop();
    shop.order_packs("tern-quay", "nitrile-gloves", 4);
    let before = shop.book.clone();
    let mut try_lines = |lines: Vec<DeliveryLine>| {
        let mut delivery = delivery_of("order-1");
        delivery.lines = lines;
        shop.try_deliver(delivery).cloned().unwrap_err()
    };
    let twice = try_lines(vec![came("nitrile-gloves", 1), came("nitrile-gloves", 1)]);
    assert_eq!(twice.what, "nitrile-gloves is in the delivery twice.");
    let stray = try_lines(vec![came("coarse-foam-150", 1)]);
    assert_eq!(stray.what, "coarse-foam-150 is not in order-1.");
    assert_eq!(shop.book, before);
}

#[test]
fn more_pieces_than_come_in_at_once_are_taken_in_by_parts() {
    let mut shop = shop();
    let line = OrderedLine {
        pieces_per_pack: Some(2),
        price: Some(eur("19.00")),
        ..packs("coarse-foam-150", 300)
    };
    let order = shop.order(order_of("tern-quay", vec![line]));
    let before = shop.book.clone();
    let refusal = shop.try_deliver(delivery_of(&order)).unwrap_err();
    assert_eq!(refusal.field, "lines.pack_count");
    assert_eq!(
        refusal.what,
        "300 packs of coarse-foam-150 are 600 pieces; at most 500 come in at once."
    );
    assert_eq!(shop.book, before);
    for count in [250, 50] {
        let mut delivery = delivery_of(&order);
        delivery.lines = vec![came("coarse-foam-150", count)];
        shop.deliver(delivery);
    }
    assert_eq!(shop.order_now(&order).lines[0].received_pack_count, 300);
}
