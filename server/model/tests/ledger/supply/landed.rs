//! What pieces cost when they came: goods and freight, to the last cent, and the moving average.

use fettlebook_model::command::{DeliveryLine, NewOrder, OrderedLine, Said};
use fettlebook_model::order::OrderState;
use fettlebook_model::{Command, Reason};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::{ProptestConfig, any, prop_assert, prop_assert_eq, proptest};
use proptest::sample::subsequence;
use rust_decimal::Decimal;

use super::{shop, with};
use crate::shop::{
    Shop, came, dec, delivery_of, eur, id, money, order_of, packs, supplier, tag, tags_of,
};

/// Packs of so many pieces at a price of one's own.
fn own(make: &str, pack_count: i64, pieces: i64, price: &str) -> OrderedLine {
    OrderedLine {
        price: Some(eur(price)),
        pieces_per_pack: Some(pieces),
        ..packs(make, pack_count)
    }
}

/// An order without freight: what is free delivers free.
fn free_order(shop: &mut Shop, lines: Vec<OrderedLine>) -> String {
    if shop.book.supplier(&id("by-hand")).is_none() {
        shop.supply(supplier("by-hand", 1, Vec::new()));
    }
    shop.order(order_of("by-hand", lines))
}

/// Cost of one unit by moving average after a piece came, to six decimals at most.
fn average(shop: &Shop, piece: &str) -> String {
    let average = shop.cost(piece).average.round_dp(6);
    average.normalize().to_string()
}

/// Source: by hand: goods of 37.80 and 9.00 carry 4.95 as 3.998 and 0.952, so 4.00 and 0.95; 41.80 over
/// four pads is 10.45 each.
#[test]
fn freight_is_shared_by_value_to_the_last_cent() {
    let mut shop = shop();
    let lines = vec![packs("coarse-foam-150", 2), packs("nitrile-gloves", 1)];
    let order = shop.order(order_of("tern-quay", lines));
    shop.deliver(delivery_of(&order));
    assert_eq!(shop.landed("P-01 P-02 P-03 P-04"), ["10.45"; 4]);
    assert_eq!(shop.landed("S-01"), ["9.95"]);
}

/// Source: by hand: ten euros over three pads.
#[test]
fn what_does_not_divide_leaves_its_cents_with_the_first_pieces() {
    let mut shop = shop();
    let order = free_order(&mut shop, vec![own("coarse-foam-150", 1, 3, "10.00")]);
    shop.deliver(delivery_of(&order));
    assert_eq!(shop.landed("P-01 P-02 P-03"), ["3.34", "3.33", "3.33"]);
}

/// Source: by hand: 4.95 of freight is all on the first pack, 9.00 is the second.
#[test]
fn freight_comes_with_the_first_delivery_and_not_again() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "nitrile-gloves", 2);
    shop.deliver(with(&order, vec![came("nitrile-gloves", 1)]));
    shop.deliver(delivery_of(&order));
    assert_eq!(shop.landed("S-01 S-02"), ["13.95", "9.00"]);
}

#[test]
fn the_freight_a_delivery_names_goes_before_that_of_its_order() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "nitrile-gloves", 3);
    let mut one = with(&order, vec![came("nitrile-gloves", 1)]);
    one.freight = Some(eur("0"));
    shop.deliver(one.clone());
    one.freight = Some(eur("6.50"));
    shop.deliver(one);
    shop.deliver(delivery_of(&order));
    assert_eq!(shop.landed("S-01 S-02 S-03"), ["9.00", "15.50", "9.00"]);
}

#[test]
fn freight_in_another_currency_is_refused() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "nitrile-gloves", 1);
    let before = shop.book.clone();
    let mut delivery = delivery_of(&order);
    delivery.freight = Some(money("4", "USD"));
    let refusal = shop.try_deliver(delivery).unwrap_err();
    assert_eq!(refusal.reason, Reason::CurrencyMismatch);
    assert_eq!(refusal.what, "Freight in USD meets goods in EUR.");
    assert_eq!(shop.book, before);
}

/// Source: by hand: three packs at 0.335 with 0.005 of freight are 1.010, a third of it 0.337 and a bit.
#[test]
fn a_price_list_with_parts_of_a_cent_is_taken_in_and_nothing_is_lost() {
    let mut shop = shop();
    let order = shop.order(NewOrder {
        freight: Some(eur("0.005")),
        ..order_of("tern-quay", vec![own("coarse-foam-150", 3, 1, "0.335")])
    });
    shop.deliver(delivery_of(&order));
    assert_eq!(shop.landed("P-01 P-02 P-03"), ["0.34", "0.34", "0.33"]);
    let order = shop.order(NewOrder {
        freight: Some(eur("0.006")),
        ..order_of("tern-quay", vec![own("fine-foam-150", 1, 2, "0.335")])
    });
    shop.deliver(delivery_of(&order));
    assert_eq!(shop.landed("P-04 P-05"), ["0.171", "0.170"]);
}

/// Source: moving-average-1 of the published cases: 100 at 10, 200 at 11, 300 at 12, 550 out, 400 at 13;
/// the averages 10, 10.666667, 11.333333 and 12.814815 (Weygandt, Kimmel and Kieso, Illustration 6A-4).
#[test]
fn the_moving_average_follows_every_receipt() {
    let mut shop = shop();
    let towels = |count, price| own("edgeless-towel-400g", 1, count, price);
    for (count, price) in [(100, "1000"), (200, "2200"), (300, "3600")] {
        let order = free_order(&mut shop, vec![towels(count, price)]);
        shop.deliver(delivery_of(&order));
    }
    shop.lose("T-01 T-02");
    shop.say(Command::Bin {
        said: Said::default(),
        tags: tags_of("T-03"),
        reason: "lost".parse().unwrap(),
        count: Some(250),
    });
    let order = free_order(&mut shop, vec![towels(400, "5200")]);
    shop.deliver(delivery_of(&order));
    let averages = ["T-01", "T-02", "T-03", "T-04"].map(|bundle| average(&shop, bundle));
    assert_eq!(averages, ["10", "10.666667", "11.333333", "12.814815"]);
}

/// Source: by hand: 20 pairs are left of 50 at 0.18; a pack at 12.00 makes (3.60 + 12) / 70, a second
/// one (3.60 + 24) / 120 = 0.23.
#[test]
fn pieces_of_one_delivery_follow_each_other_in_the_average() {
    let mut shop = shop();
    let order = free_order(&mut shop, vec![own("nitrile-gloves", 1, 1, "9.00")]);
    shop.deliver(delivery_of(&order));
    assert_eq!(shop.cost("S-01").average, dec("0.18"));
    shop.count("S-01", 20);
    let order = free_order(&mut shop, vec![own("nitrile-gloves", 2, 1, "12.00")]);
    shop.deliver(delivery_of(&order));
    assert_eq!(average(&shop, "S-02"), "0.222857");
    assert_eq!(shop.cost("S-03").average, dec("0.23"));
}

/// Source: by hand: what was there without a cost says nothing, so the first price stands for itself.
#[test]
fn stock_without_a_cost_takes_no_part_in_the_average() {
    let mut shop = shop();
    shop.receive("nitrile-gloves", 3);
    let order = free_order(&mut shop, vec![own("nitrile-gloves", 1, 1, "9.00")]);
    shop.deliver(delivery_of(&order));
    assert_eq!(shop.cost("S-04").average, dec("0.18"));
    assert_eq!(shop.piece("S-01").cost, None);
}

/// Source: by hand: a pack of twelve at 30.00 and its half of 4.95; the odd cent stays with the first.
#[test]
fn a_pack_of_towels_is_one_bundle_and_costs_by_the_towel() {
    let mut shop = shop();
    let order = shop.order_packs("tern-quay", "edgeless-towel-400g", 2);
    shop.deliver(delivery_of(&order));
    assert_eq!(
        (shop.towels("T-01"), shop.towels("T-02")),
        ((12, 0), (12, 0))
    );
    assert!(shop.book.piece(tag("T-03")).is_none());
    assert_eq!(shop.landed("T-01 T-02"), ["32.48", "32.47"]);
    assert_eq!(shop.cost("T-01").quantity, 12);
    // 32.48 / 12, then 64.95 / 24.
    assert_eq!(average(&shop, "T-01"), "2.706667");
    assert_eq!(average(&shop, "T-02"), "2.70625");
}

const MAKES: [&str; 5] = [
    "coarse-foam-150",
    "fine-foam-150",
    "coarse-compound-1l",
    "edgeless-towel-400g",
    "nitrile-gloves",
];

/// Value of all pieces that have a cost.
fn value(shop: &Shop) -> Decimal {
    let costs = shop.book.pieces().filter_map(|piece| piece.cost);
    costs.map(|cost| cost.landed.amount).sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// What the pieces cost is what the goods and the freight cost, whatever the prices, in one
    /// delivery or in two.
    #[test]
    fn no_cent_is_lost_or_made(
        makes in subsequence(MAKES.to_vec(), 1..=5),
        lines in vec((1_i64..5, 1_i64..7, 1_u32..1_000_000, 0_u32..3), 5),
        freight in option::of(0_u32..100_000),
        firsts in vec(0_i64..5, 5),
        in_two in any::<bool>(),
    ) {
        let mut shop = shop();
        let lines: Vec<OrderedLine> = makes
            .iter()
            .zip(&lines)
            .map(|(make, (count, pieces, price, places))| {
                let price = Decimal::new(i64::from(*price), *places);
                own(make, *count, *pieces, &price.to_string())
            })
            .collect();
        let goods: Decimal = lines
            .iter()
            .map(|line| line.price.unwrap().amount * Decimal::from(line.pack_count))
            .sum();
        let freight = freight.map(|cents| Decimal::new(i64::from(cents), 2));
        let order = shop.order(NewOrder {
            freight: Some(eur(&freight.unwrap_or_default().to_string())),
            ..order_of("tern-quay", lines.clone())
        });
        let part: Vec<DeliveryLine> = lines
            .iter()
            .zip(firsts)
            .map(|(line, first)| came(line.make.as_str(), first.min(line.pack_count)))
            .filter(|line| line.pack_count > 0)
            .collect();
        if in_two && !part.is_empty() {
            shop.deliver(with(&order, part));
        }
        if shop.order_now(&order).state() != OrderState::Closed {
            shop.deliver(delivery_of(&order));
        }
        prop_assert_eq!(shop.order_now(&order).state(), OrderState::Closed);
        prop_assert_eq!(value(&shop), goods + freight.unwrap_or_default());
        for cost in shop.book.pieces().filter_map(|piece| piece.cost) {
            prop_assert!(!cost.landed.amount.is_sign_negative() && cost.quantity > 0);
            prop_assert!(cost.average > Decimal::ZERO);
        }
    }
}
