//! The basket against worked orders and against every order there is.

use super::{BasketLine, BasketTerms, Choice, Search, choose_packs};
use crate::ground::money::Money;
use crate::trade::supplier::PriceBreak;

fn eur(amount: &str) -> Money {
    Money::parse(amount, "EUR").unwrap()
}

fn line(required: i64, most: i64, breaks: &[(i64, &str)], holding: &str) -> BasketLine {
    BasketLine {
        required,
        most,
        breaks: breaks
            .iter()
            .map(|(from, price)| PriceBreak {
                from_pack_count: *from,
                price: eur(price),
            })
            .collect(),
        holding_per_pack: eur(holding),
    }
}

fn terms(minimum: &str, freight: &str, free_from: &str) -> BasketTerms {
    BasketTerms {
        minimum: Some(eur(minimum)),
        freight: Some(eur(freight)),
        free_from: Some(eur(free_from)),
    }
}

fn chosen(lines: &[BasketLine], terms: &BasketTerms) -> (Vec<i64>, String) {
    match choose_packs(lines, terms).unwrap() {
        Choice::Order(basket) => (basket.packs, basket.total.to_string()),
        below @ Choice::BelowMinimum { .. } => panic!("{below:?}"),
    }
}

/// Source: worked by hand: 2 × 18.90 + 3 × 12.50 = 75.30 and freight 6.90 is 82.20; a third bottle makes
/// 94.20, a fourth pack 87.80 with its holding and no freight.
#[test]
fn free_delivery_is_reached_only_where_that_is_cheaper() {
    let lines = [
        line(2, 4, &[(1, "18.90")], "0.60"),
        line(3, 6, &[(1, "12.50")], "0.40"),
    ];
    let (packs, total) = chosen(&lines, &terms("0", "6.90", "80"));
    assert_eq!((packs, total.as_str()), (vec![2, 3], "82.20 EUR"));
    let (packs, total) = chosen(&lines, &terms("0", "13.00", "80"));
    assert_eq!((packs, total.as_str()), (vec![2, 4], "88.20 EUR"));
}

/// Source: worked by hand: 4 at 20 are just the 80 asked; 3 would be 60 and 12 for freight.
#[test]
fn the_very_value_for_free_delivery_is_free() {
    let lines = [line(4, 6, &[(1, "20")], "0.50")];
    let (packs, total) = chosen(&lines, &terms("80", "12", "80"));
    assert_eq!((packs, total.as_str()), (vec![4], "80.00 EUR"));
    let lines = [line(3, 6, &[(1, "20")], "0.50")];
    let (packs, total) = chosen(&lines, &terms("0", "21", "80"));
    assert_eq!((packs, total.as_str()), (vec![4], "80.50 EUR"));
}

/// Source: worked by hand: 2 packs reach the 20 asked and bear 25 for freight, 45.10; 4 are 40.30.
#[test]
fn the_way_over_the_most_may_lead_to_free_delivery() {
    let lines = [line(1, 1, &[(1, "10")], "0.10")];
    let choice = choose_packs(&lines, &terms("20", "25", "40")).unwrap();
    let Choice::BelowMinimum {
        over_most: Some(over),
        ..
    } = choice
    else {
        panic!("{choice:?}");
    };
    assert_eq!((over.packs, over.total), (vec![4], eur("40.30")));
}

/// Source: worked by hand: 9 at 1.00 are 9.00, 10 at 0.85 are 8.50 and 0.10 for holding one.
#[test]
fn a_price_break_is_taken_where_more_costs_less() {
    let breaks = [(1, "1.00"), (10, "0.85")];
    let (packs, total) = chosen(&[line(9, 12, &breaks, "0.10")], &BasketTerms::default());
    assert_eq!((packs, total.as_str()), (vec![10], "8.60 EUR"));
    let (packs, _) = chosen(&[line(9, 9, &breaks, "0.10")], &BasketTerms::default());
    assert_eq!(packs, [9]);
    let (packs, _) = chosen(&[line(9, 12, &breaks, "0.60")], &BasketTerms::default());
    assert_eq!(packs, [9]);
}

/// Source: worked by hand: 25 is missed by 5; two packs of 3.00 cost less than one of 7.00.
#[test]
fn the_minimum_order_is_filled_with_what_costs_least() {
    let lines = [
        line(2, 2, &[(1, "10")], "0"),
        line(0, 5, &[(1, "3")], "0.30"),
        line(0, 5, &[(1, "7")], "0.10"),
    ];
    let (packs, total) = chosen(&lines, &terms("25", "0", "0"));
    assert_eq!((packs, total.as_str()), (vec![2, 2, 0], "26.60 EUR"));
}

#[test]
fn where_nothing_is_required_nothing_is_ordered() {
    let lines = [line(0, 5, &[(1, "3")], "0.30")];
    let (packs, total) = chosen(&lines, &terms("25", "4.90", "80"));
    assert_eq!((packs, total.as_str()), (vec![0], "0.00 EUR"));
}

/// Source: worked by hand: one more of the first makes 24, of the second 26; three of the second are
/// needed, and one more is over its most.
#[test]
fn an_order_below_the_minimum_says_so_and_the_way_over() {
    let lines = [
        line(1, 1, &[(1, "10")], "0.05"),
        line(1, 2, &[(1, "4")], "0.20"),
    ];
    let choice = choose_packs(&lines, &terms("25", "5", "80")).unwrap();
    let Choice::BelowMinimum {
        as_it_is,
        short_by,
        over_most: Some(over),
    } = choice
    else {
        panic!("{choice:?}");
    };
    assert_eq!((as_it_is.packs, as_it_is.total), (vec![1, 1], eur("19.00")));
    assert_eq!(short_by, eur("11.00"));
    assert_eq!((over.packs, over.total), (vec![1, 4], eur("31.60")));
}

/// Source: worked by hand: of the 9.41 asked, 5 at 2.35 are 11.75, but 6 at 1.88 only 11.28.
#[test]
fn the_way_over_the_most_may_lead_to_a_further_price_break() {
    let breaks = [(1, "3.57"), (2, "2.35"), (6, "1.88")];
    let choice = choose_packs(&[line(1, 3, &breaks, "0")], &terms("9.41", "0", "0")).unwrap();
    let Choice::BelowMinimum {
        over_most: Some(over),
        ..
    } = choice
    else {
        panic!("{choice:?}");
    };
    assert_eq!((over.packs, over.total), (vec![6], eur("11.28")));
}

#[test]
fn a_search_that_would_take_too_long_says_over_what_it_was() {
    let lines: Vec<BasketLine> = (0..150)
        .map(|index| {
            let price = format!("{}.{:04}", 3 + index % 7, (index * 7919) % 10_000);
            let holding = format!("0.{:04}", (index * 31) % 900);
            line(1, 1_500, &[(1, &price)], &holding)
        })
        .collect();
    let order = choose_packs(&lines, &terms("90000", "500", "95000")).unwrap();
    let Choice::Order(basket) = order else {
        panic!("{order:?}");
    };
    assert_ne!(basket.search, Search::Full);
    assert!(basket.goods.amount >= eur("90000").amount);
    let small = choose_packs(&lines[..3], &terms("20", "5", "25")).unwrap();
    assert!(matches!(small, Choice::Order(basket) if basket.search == Search::Full));
}

#[test]
fn orders_that_make_no_sense_are_refused_with_a_sentence() {
    let plain = line(1, 2, &[(1, "3")], "0.30");
    let refused = |line: BasketLine, terms: &BasketTerms| {
        let lines = [plain.clone(), line];
        choose_packs(&lines, terms).unwrap_err().to_string()
    };
    let none = BasketTerms::default();
    assert_eq!(
        refused(line(3, 2, &[(1, "3")], "0"), &none),
        "Line 2: 3 packs are required, but at most 2 are worth having. \
         Raise the most or lower the need."
    );
    assert_eq!(
        refused(line(1, 2, &[(5, "3")], "0"), &none),
        "Line 2: the first price must hold from the first pack on. Give it."
    );
    assert_eq!(
        refused(line(1, 2, &[(1, "3"), (10, "2"), (5, "1")], "0"), &none),
        "Line 2: price 3 must be for more than the price before it. Put the price breaks in order."
    );
    assert_eq!(
        refused(line(1, 2, &[(1, "0")], "0"), &none),
        "Line 2: a price must be above zero. Give what the supplier asks."
    );
    let foreign = BasketTerms {
        freight: Money::parse("5", "SEK").ok(),
        ..none
    };
    assert_eq!(
        refused(plain.clone(), &foreign),
        "The freight is in SEK, the order in EUR. Give every figure in one currency."
    );
    assert_eq!(
        refused(line(-1, 2, &[(1, "3")], "0"), &none),
        "The packs required must be a number that is not below zero. Give one."
    );
    assert!(refused(line(1, i64::MAX, &[(1, "3")], "0"), &none).contains("beyond 1000000"));
    assert!(refused(line(1, 2, &[], "0"), &none).contains("first price"));
    let mut below_zero = plain.clone();
    below_zero.breaks[0].price.amount = "-1".parse().unwrap();
    assert!(refused(below_zero, &none).contains("not below zero"));
    let mut huge = plain.clone();
    huge.breaks[0].price.amount = rust_decimal::Decimal::MAX;
    huge.holding_per_pack.amount = "0.000000000001".parse().unwrap();
    assert!(refused(huge, &none).contains("beyond the numbers"));
    assert!(choose_packs(&[], &none).is_err());
}
