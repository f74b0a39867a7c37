//! Deliveries: packs become pieces of kit, and a reversal takes them away again.

use fettlebook_model::command::{Delivery, DeliveryLine};
use fettlebook_model::order::OrderState;
use fettlebook_model::{Reason, Subject, Tag};

use super::{shop, with};
use crate::shop::{at, came, delivery_of, done, id, order_of, packs, replayed, restored, tags_of};

#[test]
fn packs_of_pads_become_pads_with_the_next_tags_or_those_given() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "coarse-foam-150", 3);
    shop.deliver(with(&order, vec![came("coarse-foam-150", 1)]));
    shop.deliver(with(
        &order,
        vec![DeliveryLine {
            tags: tags_of("P-21 P-30 P-07 P-22"),
            ..came("coarse-foam-150", 2)
        }],
    ));
    let pads: Vec<String> = (shop.book.pieces_of(&id("coarse-foam-150")))
        .map(|piece| piece.tag.to_string())
        .collect();
    assert_eq!(pads, ["P-01", "P-02", "P-07", "P-21", "P-22", "P-30"]);
    assert_eq!(shop.piece("P-30").place, id("bench"));
    assert_eq!(shop.work("P-30"), 0);
    assert_eq!(shop.cost("P-30").quantity, 1);
}

#[test]
fn tags_of_two_lines_go_on_from_each_other() {
    let mut shop = shop();
    let lines = vec![packs("fine-foam-150", 1), packs("coarse-foam-150", 1)];
    let order = shop.order(order_of("tern-quay", lines));
    shop.deliver(delivery_of(&order));
    let makes: Vec<&str> = ["P-01", "P-02", "P-03", "P-04"]
        .map(|pad| shop.piece(pad).make.as_str())
        .to_vec();
    let (fine, coarse) = ("fine-foam-150", "coarse-foam-150");
    assert_eq!(makes, [fine, fine, coarse, coarse]);
}

#[test]
fn tags_that_do_not_fit_are_refused_and_nothing_has_come() {
    let mut shop = shop();
    shop.receive("coarse-foam-150", 1);
    let lines = vec![packs("fine-foam-150", 1), packs("coarse-foam-150", 1)];
    let order = shop.order(order_of("tern-quay", lines));
    let before = shop.book.clone();
    for (fine, coarse, reason) in [
        ("P-05", "P-06 P-07", Reason::FieldInvalid),
        ("P-05 P-06", "P-01 P-07", Reason::TagTaken),
        ("P-05 P-05", "P-06 P-07", Reason::TagTaken),
        ("P-05 P-06", "P-06 P-07", Reason::TagTaken),
    ] {
        let line = |make, tags| DeliveryLine {
            tags: tags_of(tags),
            ..came(make, 1)
        };
        let lines = vec![line("fine-foam-150", fine), line("coarse-foam-150", coarse)];
        let refusal = shop.try_deliver(with(&order, lines)).unwrap_err();
        assert_eq!((refusal.reason, refusal.field.as_str()), (reason, "tags"));
        assert_eq!(shop.book, before);
    }
}

#[test]
fn bottles_come_with_their_lot_and_date_where_the_person_puts_them() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "coarse-compound-1l", 2);
    shop.go_to("2026-03-08 10:00");
    shop.deliver(Delivery {
        said: done("2026-03-07 09:30"),
        place: id("van-a"),
        ..with(
            &order,
            vec![DeliveryLine {
                lot: "L-88".into(),
                expiry: Some("2027-01-31".parse().unwrap()),
                ..came("coarse-compound-1l", 2)
            }],
        )
    });
    for bottle in ["B-01", "B-02"] {
        let piece = shop.piece(bottle);
        assert_eq!(piece.place, id("van-a"));
        assert_eq!(piece.received_at, at("2026-03-07 09:30"));
        let held = piece.bottle().unwrap();
        assert_eq!(held.lot, "L-88");
        assert_eq!(held.expiry, Some("2027-01-31".parse().unwrap()));
        assert_eq!(held.left_ul.ul(), 1_000_000);
        assert_eq!(shop.cost(bottle).quantity, 1_000_000);
    }
    let delivered = shop.order_now(&order).delivered_at;
    assert_eq!(delivered, Some(at("2026-03-07 09:30")));
}

#[test]
fn what_only_bottles_have_is_refused_of_pads() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "coarse-foam-150", 1);
    let line = DeliveryLine {
        lot: "L-88".into(),
        ..came("coarse-foam-150", 1)
    };
    let refusal = shop.try_deliver(with(&order, vec![line])).unwrap_err();
    assert_eq!(refusal.field, "lot");
}

#[test]
fn a_pack_of_gloves_is_one_piece_of_fifty_pairs() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "nitrile-gloves", 2);
    shop.deliver(delivery_of(&order));
    assert_eq!(shop.piece("S-02").sundry_left(), Some(50));
    assert_eq!(shop.cost("S-02").quantity, 50);
}

#[test]
fn a_delivery_that_is_reversed_takes_its_pieces_away_and_opens_the_order_again() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "coarse-foam-150", 2);
    let before = shop.order_now(&order).clone();
    shop.deliver(delivery_of(&order));
    let delivered = shop.book.head();
    assert_eq!(shop.order_now(&order).state(), OrderState::Closed);
    shop.reverse(delivered).unwrap();
    let after = shop.order_now(&order);
    assert_eq!(after.state(), OrderState::Placed);
    assert_eq!((after.delivered_at, &after.lines), (None, &before.lines));
    assert_eq!(shop.book.pieces_of(&id("coarse-foam-150")).count(), 0);
    for pad in tags_of("P-01 P-02 P-03 P-04") {
        assert!(shop.book.is_taken(&Subject::Piece(pad)), "{pad}");
    }
    // It comes after all, under new tags, with the freight.
    shop.deliver(delivery_of(&order));
    assert_eq!(
        shop.landed("P-05 P-06 P-07 P-08"),
        ["10.69", "10.69", "10.69", "10.68"]
    );
    assert_eq!(replayed(&shop.entries), shop.book);
    assert_eq!(restored(&shop.book), shop.book);
}

#[test]
fn one_of_two_deliveries_that_is_reversed_leaves_the_other() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "nitrile-gloves", 2);
    let part = || with(&order, vec![came("nitrile-gloves", 1)]);
    shop.go_to("2026-03-07 09:00");
    shop.deliver(part());
    let first = shop.book.head();
    shop.go_to("2026-03-09 09:00");
    shop.deliver(part());
    shop.reverse(first).unwrap();
    let held = shop.order_now(&order);
    assert_eq!(held.state(), OrderState::PartReceived);
    assert_eq!(held.delivered_at, Some(at("2026-03-09 09:00")));
    let tags: Vec<Tag> = (shop.book.pieces_of(&id("nitrile-gloves")))
        .map(|piece| piece.tag)
        .collect();
    assert_eq!(tags, tags_of("S-02"));
}

#[test]
fn a_delivery_whose_pieces_were_touched_since_is_not_reversed() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "coarse-foam-150", 1);
    shop.deliver(delivery_of(&order));
    let delivered = shop.book.head();
    let moved = shop.move_to("P-02", "van-a").seq;
    let before = shop.book.clone();
    let refusal = shop.reverse(delivered).unwrap_err();
    assert_eq!(refusal.reason, Reason::NotReversible);
    assert!(refusal.what.contains("P-02"), "{refusal}");
    assert_eq!(shop.book, before);
    shop.reverse(moved).unwrap();
    shop.reverse(delivered).unwrap();
}
