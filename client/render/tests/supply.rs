//! Suppliers and orders as a person sees them.

use crate::render::scenario::supply::{drafted, eur, millrace, part_received, tern_quay};
use crate::render::scenario::{ascii, plain, plain_ascii, screen};
use crate::render::{order, supplier};
use fettlebook_contract::v1::{Order, OrderState, Supplier};
use textwrap::core::display_width;

#[test]
fn suppliers_at_80_columns() {
    let suppliers = [millrace(), tern_quay()];
    insta::assert_snapshot!(plain(&supplier::list(&screen(80), &suppliers)), @r"
    Supplier                Name                      Lead  Terms
    millrace-trade-counter  Millrace Trade Counter   1 day  orders from 25.00 EUR
    tern-quay               Tern Quay Supplies      4 days  freight 6.90 EUR, free
                                                            from 80.00 EUR
    ");
}

#[test]
fn suppliers_at_120_columns() {
    let suppliers = [millrace(), tern_quay()];
    insta::assert_snapshot!(plain(&supplier::list(&screen(120), &suppliers)), @r"
    Supplier                Name                      Lead  Terms
    millrace-trade-counter  Millrace Trade Counter   1 day  orders from 25.00 EUR
    tern-quay               Tern Quay Supplies      4 days  freight 6.90 EUR, free from 80.00 EUR
    ");
}

#[test]
fn one_supplier_with_its_price_list() {
    insta::assert_snapshot!(plain(&supplier::show(&screen(80), &tern_quay())), @r"
    Supplier      Tern Quay Supplies (tern-quay)
    Lead time     3 days, as it says
    Planned with  4 days, give or take 1.2, from 5 deliveries
    Takes orders  Monday, Wednesday
    Least order   none
    Freight       6.90 EUR, free from 80.00 EUR
    Note          ring before ten

    Make               In a pack  From packs  Price of a pack
    coarse-foam-150            2           1        18.90 EUR
                                           5        17.50 EUR
                                          20        16.00 EUR
    fine-polish-500ml          1           1        27.00 EUR
    ");
}

#[test]
fn a_supplier_that_offers_nothing_yet_says_how_to_begin() {
    insta::assert_snapshot!(plain_ascii(&supplier::show(&ascii(80), &millrace())), @r"
    Supplier      Millrace Trade Counter (millrace-trade-counter)
    Lead time     1 day, as it says
    Planned with  1 day; no delivery has come yet
    Takes orders  every day
    Least order   25.00 EUR
    Freight       none

    Nothing is on its price list yet. To put something on it:
      fettle supplier price millrace-trade-counter MAKE '2 per pack: 18.90 EUR'
    ");
}

#[test]
fn orders_at_80_columns() {
    let orders = [drafted(), part_received()];
    insta::assert_snapshot!(plain(&order::list(&screen(80), &orders)), @r"
    Order    Supplier                State     Due               Packs      Total
    order-4  millrace-trade-counter  drafted                         2  19.60 EUR
    order-3  tern-quay               part      Fri 27 Nov 2026  2 of 4  83.70 EUR
                                     received
    ");
}

#[test]
fn orders_at_120_columns() {
    let orders = [drafted(), part_received()];
    insta::assert_snapshot!(plain(&order::list(&screen(120), &orders)), @r"
    Order    Supplier                State          Due               Packs      Total
    order-4  millrace-trade-counter  drafted                              2  19.60 EUR
    order-3  tern-quay               part received  Fri 27 Nov 2026  2 of 4  83.70 EUR
    ");
}

#[test]
fn one_order_of_which_some_has_come() {
    insta::assert_snapshot!(plain(&order::show(&screen(80), &part_received())), @r"
    Order     order-3
    Supplier  tern-quay
    State     part received
    Placed    Tue 24 Nov 2026 08:00
    Due       Fri 27 Nov 2026
    Freight   0.00 EUR
    Total     83.70 EUR

    Make               Packs  Came  In a pack  Price of a pack
    coarse-foam-150        3     1   2 pieces        18.90 EUR
    fine-polish-500ml      1     1    1 piece        27.00 EUR

    When the parcel comes: fettle receive order-3
    ");
}

#[test]
fn an_order_that_is_drafted_says_how_to_place_it() {
    insta::assert_snapshot!(plain_ascii(&order::show(&ascii(80), &drafted())), @r"
    Order     order-4
    Supplier  millrace-trade-counter
    State     drafted
    Freight   none
    Total     19.60 EUR

    Make               Packs  Came  In a pack  Price of a pack
    nitrile-gloves-50      2     0    1 piece        not known

    When it is sent: fettle order place order-4
    ");
}

#[test]
fn a_closed_order_asks_for_nothing() {
    let closed = Order {
        state: OrderState::Closed.into(),
        ..part_received()
    };
    let text = plain(&order::show(&screen(80), &closed));
    assert!(!text.contains("fettle receive"), "{text}");
}

#[test]
fn sums_stand_as_they_were_sent_and_nothing_is_never_below_zero() {
    let odd = Order {
        freight: eur("-0.00"),
        total: eur("1234567.805"),
        ..part_received()
    };
    let text = plain(&order::show(&screen(80), &odd));
    assert!(text.contains("1234567.805 EUR"), "{text}");
    assert!(
        text.contains("0.00 EUR") && !text.contains("-0.00"),
        "{text}"
    );
}

#[test]
fn empty_lists_say_what_to_do() {
    let none: [Supplier; 0] = [];
    assert!(supplier::list(&screen(80), &none).contains("fettle supplier add"));
    assert!(order::list(&screen(80), &[]).contains("fettle reorder"));
}

#[test]
fn no_line_runs_over_its_page() {
    for width in [80, 120] {
        let page = screen(width);
        for text in [
            supplier::list(&page, &[millrace(), tern_quay()]),
            supplier::show(&page, &tern_quay()),
            supplier::show(&page, &millrace()),
            order::list(&page, &[drafted(), part_received()]),
            order::show(&page, &part_received()),
        ] {
            for line in plain(&text).lines() {
                assert!(display_width(line) <= width, "{width}: {line}");
                assert!(!line.contains("safe"), "{line}");
            }
        }
    }
}
