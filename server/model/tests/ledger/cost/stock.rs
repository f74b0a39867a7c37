//! What liquids cost by the stock they come from: first in, first out, or the moving average.
//!
//! One litre came at 10.00, of which 30 mL are left, and another at 20.00; a job takes 61.5 mL.

use fettlebook_model::Command;
use fettlebook_model::command::{OrderedLine, Said};
use fettlebook_model::policy::PolicyKey;
use fettlebook_quantity::Volume;

use super::{line, sheet, typical};
use crate::shop::{Shop, delivery_of, eur, order_of, packs, supplier, tag};

const COMPOUND: &str = "coarse-compound-1l";

/// Has one litre come at a price.
fn came_at(shop: &mut Shop, price: &str) {
    let line = OrderedLine {
        price: Some(eur(price)),
        pieces_per_pack: Some(1),
        ..packs(COMPOUND, 1)
    };
    let order = shop.order(order_of("by-hand", vec![line]));
    shop.deliver(delivery_of(&order));
}

/// The shop with everything but compound, then two litres of it.
fn layered() -> Shop {
    let mut shop = Shop::new();
    shop.supply(supplier("by-hand", 1, Vec::new()));
    shop.receive("coarse-foam-150", 7);
    shop.receive("fine-foam-150", 5);
    shop.receive("fine-polish-500ml", 1);
    shop.receive_towels(24, 0);
    shop.receive("nitrile-gloves", 1);
    shop.price("nitrile-gloves", "9.00", 1);
    came_at(&mut shop, "10.00");
    shop.count("B-02", 30_000);
    came_at(&mut shop, "20.00");
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop
}

fn actual(shop: &Shop) -> Option<String> {
    let actual = line(&sheet(shop, "thursday"), COMPOUND).actual;
    actual.map(|money| money.to_string())
}

fn work(shop: &mut Shop) {
    shop.go_to("2026-03-05 15:00");
    shop.log("thursday");
}

/// Source: by hand: 30 mL at 0.01 and 31.5 mL at 0.02 (IAS 2, paragraph 27).
#[test]
fn the_first_that_came_is_the_first_that_is_costed() {
    assert_eq!(typical(&layered(), COMPOUND), "0.93 EUR");
}

/// Source: by hand: 0.30 and 20.00 over 1030 mL, 61.5 of them (IAS 2, paragraph 27).
#[test]
fn by_average_every_litre_costs_the_same() {
    let mut shop = layered();
    shop.set_policy(PolicyKey::StockByAverage, 1);
    assert_eq!(typical(&shop, COMPOUND), "1.21 EUR");
}

/// Source: by hand: as forecast, since it went as planned; what lies in the shop now is another layer.
#[test]
fn a_job_that_is_done_cost_the_layers_it_took() {
    let mut shop = layered();
    work(&mut shop);
    assert_eq!(actual(&shop).as_deref(), Some("0.93 EUR"));
    assert_eq!(typical(&shop, COMPOUND), "0.93 EUR");
}

#[test]
fn what_comes_after_a_job_does_not_change_what_it_cost() {
    for (by_average, told) in [(0, "0.93 EUR"), (1, "1.21 EUR")] {
        let mut shop = layered();
        shop.set_policy(PolicyKey::StockByAverage, by_average);
        work(&mut shop);
        shop.go_to("2026-03-06 09:00");
        came_at(&mut shop, "50.00");
        assert_eq!(actual(&shop).as_deref(), Some(told));
        assert_eq!(typical(&shop, COMPOUND), told);
    }
}

/// Source: by hand: the 40 mL that are left are of what came last, 0.80, and 21.5 mL are bought again at
/// 24.50 a litre, 0.52675; rounded once.
#[test]
fn what_goes_beyond_the_stock_costs_what_is_asked_for_more() {
    let mut shop = layered();
    shop.price(COMPOUND, "24.50", 1);
    shop.count("B-03", 10_000);
    assert_eq!(typical(&shop, COMPOUND), "1.33 EUR");
    shop.lose("B-02 B-03");
    // 61.5 mL bought again.
    assert_eq!(typical(&shop, COMPOUND), "1.51 EUR");
}

/// Source: by hand: 20.00 and 4.00 of freight for a litre, 61.5 mL of it.
#[test]
fn freight_is_part_of_what_stock_cost() {
    let mut shop = layered();
    shop.lose("B-02 B-03");
    let line = OrderedLine {
        price: Some(eur("20.00")),
        pieces_per_pack: Some(1),
        ..packs(COMPOUND, 1)
    };
    let mut new = order_of("by-hand", vec![line]);
    new.freight = Some(eur("4.00"));
    let order = shop.order(new);
    shop.deliver(delivery_of(&order));
    assert_eq!(typical(&shop, COMPOUND), "1.48 EUR");
}

/// Source: by hand: as before the pouring, in both ways; and the litre that was poured over whole, 20.30 over 1030
/// mL, with 40.00 for another: 59.71 over 2000 mL, 61.5 of them.
#[test]
fn what_is_poured_over_takes_its_cost_along() {
    let pour = |shop: &mut Shop, bottle: &str, from: &str| {
        shop.say(Command::Fill {
            said: Said::default(),
            bottle: tag(bottle),
            from: tag(from),
            volume_ul: None,
        });
    };
    for (by_average, told) in [(0, "0.93 EUR"), (1, "1.21 EUR")] {
        let mut shop = layered();
        shop.set_policy(PolicyKey::StockByAverage, by_average);
        pour(&mut shop, "B-02", "B-03");
        assert_eq!(typical(&shop, COMPOUND), told);
    }
    let mut shop = layered();
    shop.set_policy(PolicyKey::StockByAverage, 1);
    shop.count("B-02", 0);
    pour(&mut shop, "B-02", "B-03");
    came_at(&mut shop, "40.00");
    assert_eq!(typical(&shop, COMPOUND), "1.84 EUR");
    // All there is, 30 mL, into an empty bottle: 0.59126 and 40.00 over 1030 mL.
    let mut shop = layered();
    shop.set_policy(PolicyKey::StockByAverage, 1);
    shop.count("B-03", 0);
    pour(&mut shop, "B-03", "B-02");
    came_at(&mut shop, "40.00");
    assert_eq!(typical(&shop, COMPOUND), "2.42 EUR");
}

/// Source: by hand: the average of 20.30 over 1030 mL, for want of any price.
#[test]
fn what_has_cost_something_is_never_costed_as_nothing() {
    let mut shop = layered();
    shop.lose("B-02 B-03");
    let told = sheet(&shop, "thursday");
    assert_eq!(line(&told, COMPOUND).typical, eur("1.21"));
    assert!(!line(&told, COMPOUND).is_price_missing);
}

/// Source: by hand: 61.5 mL at 0.02.
#[test]
fn stock_without_a_cost_is_costed_as_the_last_that_came_with_one() {
    let mut shop = layered();
    shop.lose("B-02 B-03");
    shop.receive(COMPOUND, 1);
    assert_eq!(typical(&shop, COMPOUND), "1.23 EUR");
}

/// Source: by hand: 30 mL of 10.00 and a litre of 20.00 (20.30), and 300 mL of a litre that cost 14.50 in another
/// book (4.35), are 24.65 for 1330 mL, of which 61.5 are taken.
#[test]
fn what_was_taken_over_from_another_book_counts_at_what_of_its_cost_is_left() {
    let mut shop = layered();
    shop.set_policy(PolicyKey::StockByAverage, 1);
    shop.receive_as(COMPOUND, 1, |receipt| {
        receipt.volume_ul = Some(Volume::from_ul(300_000));
        receipt.landed = Some(eur("14.50"));
        receipt.landed_quantity = Some(1_000_000);
    });
    assert_eq!(typical(&shop, COMPOUND), "1.14 EUR");
}
