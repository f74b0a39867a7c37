//! Laws of the joined order: no other order within its bounds costs less, and it never breaks them.
//!
//! Method: small orders drawn at random are compared with every order there is, reckoned here from the
//! terms alone.

use crate::ground::money::Money;
use crate::maths::supply::SupplyError;
use crate::maths::supply::basket::{Basket, BasketLine, BasketTerms, Choice, Search, choose_packs};
use crate::trade::supplier::PriceBreak;
use proptest::prelude::{
    ProptestConfig, Strategy, any, prop, prop_assert, prop_assert_eq, proptest,
};
use rust_decimal::Decimal;

fn cents(amount: i64) -> Money {
    Money {
        amount: Decimal::new(amount, 2),
        currency: "EUR".parse().unwrap(),
    }
}

/// A line of 0 to 3 packs required and up to 4 more, with up to two price breaks.
fn line() -> impl Strategy<Value = BasketLine> {
    let price = (100..3_000_i64, 2..5_i64, 50..100_i64, 5..8_i64, 50..100_i64);
    let numbers = (0..4_i64, 0..5_i64, 0..3_usize, 0..120_i64);
    (price, numbers).prop_map(|((price, two, cut, three, cut_more), numbers)| {
        let (required, more, break_count, holding) = numbers;
        let reduced = price * cut / 100;
        let breaks = [
            (1, price),
            (two, reduced),
            (three, reduced * cut_more / 100),
        ];
        let breaks = breaks.iter().take(break_count + 1);
        BasketLine {
            required,
            most: required + more,
            breaks: breaks
                .map(|(from, price)| PriceBreak {
                    from_pack_count: *from,
                    price: cents(*price),
                })
                .collect(),
            holding_per_pack: cents(holding),
        }
    })
}

fn terms() -> impl Strategy<Value = BasketTerms> {
    let money = |most: i64| prop::option::of((0..most).prop_map(cents));
    (money(9_000), money(1_500), money(9_000)).prop_map(|(minimum, freight, free_from)| {
        BasketTerms {
            minimum,
            freight,
            free_from,
        }
    })
}

fn amount(money: Option<Money>) -> Decimal {
    money.map_or(Decimal::ZERO, |money| money.amount)
}

fn goods(lines: &[BasketLine], packs: &[i64]) -> Decimal {
    let pairs = lines.iter().zip(packs);
    let values = pairs.map(|(line, packs)| {
        let mut newest_first = line.breaks.iter().rev();
        let held = newest_first.find(|price| price.from_pack_count <= *packs);
        Decimal::from(*packs) * held.map_or(Decimal::ZERO, |price| price.price.amount)
    });
    values.sum()
}

/// What an order costs, without regard to the minimum.
fn cost(lines: &[BasketLine], terms: &BasketTerms, packs: &[i64]) -> Decimal {
    let goods = goods(lines, packs);
    let pairs = lines.iter().zip(packs);
    let holding: Decimal = pairs
        .map(|(line, packs)| line.holding_per_pack.amount * Decimal::from(packs - line.required))
        .sum();
    let is_free = goods.is_zero() || terms.free_from.is_some_and(|from| goods >= from.amount);
    goods
        + holding
        + if is_free {
            Decimal::ZERO
        } else {
            amount(terms.freight)
        }
}

/// Every order from required to `over` more than the most of each line.
fn every_order(lines: &[BasketLine], over: i64) -> Vec<Vec<i64>> {
    lines.iter().fold(vec![vec![]], |orders, line| {
        let longer = orders.iter().flat_map(|order: &Vec<i64>| {
            (line.required..=line.most + over).map(|packs| [&order[..], &[packs]].concat())
        });
        longer.collect()
    })
}

fn cheapest(
    lines: &[BasketLine],
    terms: &BasketTerms,
    minimum: Decimal,
    over: i64,
) -> Option<Decimal> {
    let orders = every_order(lines, over).into_iter();
    let reaching = orders.filter(|packs| goods(lines, packs) >= minimum);
    reaching.map(|packs| cost(lines, terms, &packs)).min()
}

/// The parts of a basket add up, and are those of its packs.
fn adds_up(lines: &[BasketLine], terms: &BasketTerms, basket: &Basket) -> bool {
    let parts = basket.goods.amount + basket.freight.amount + basket.holding.amount;
    parts == basket.total.amount
        && basket.goods.amount == goods(lines, &basket.packs)
        && basket.total.amount == cost(lines, terms, &basket.packs)
}

fn is_within(lines: &[BasketLine], basket: &Basket) -> bool {
    let mut pairs = lines.iter().zip(&basket.packs);
    pairs.all(|(line, packs)| (line.required..=line.most).contains(packs))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_order_there_is_costs_less(lines in prop::collection::vec(line(), 1..5), terms in terms()) {
        let required = lines.iter().any(|line| line.required > 0);
        let minimum = amount(terms.minimum);
        match choose_packs(&lines, &terms).unwrap() {
            Choice::Order(basket) if !required => {
                prop_assert!(basket.packs.iter().all(|packs| *packs == 0));
                prop_assert!(basket.total.amount.is_zero());
            }
            Choice::Order(basket) => {
                prop_assert!(adds_up(&lines, &terms, &basket) && is_within(&lines, &basket));
                prop_assert!(basket.goods.amount >= minimum);
                let least = cheapest(&lines, &terms, minimum, 0);
                prop_assert_eq!(Some(basket.total.amount), least, "{:?}", basket);
                prop_assert_eq!(basket.search, Search::Full);
            }
            Choice::BelowMinimum { as_it_is, short_by, over_most } => {
                prop_assert!(required);
                prop_assert_eq!(cheapest(&lines, &terms, minimum, 0), None);
                prop_assert!(adds_up(&lines, &terms, &as_it_is) && is_within(&lines, &as_it_is));
                let least = cheapest(&lines, &terms, Decimal::ZERO, 0);
                prop_assert_eq!(Some(as_it_is.total.amount), least);
                prop_assert_eq!(short_by.amount, minimum - as_it_is.goods.amount);
                let over = over_most.unwrap();
                prop_assert!(adds_up(&lines, &terms, &over) && over.goods.amount >= minimum);
                let over_least = cheapest(&lines, &terms, minimum, 3);
                prop_assert!(over_least.is_none_or(|least| over.total.amount <= least));
            }
        }
    }

    #[test]
    fn no_single_change_of_a_large_order_costs_less(
        lines in prop::collection::vec(line(), 5..25),
        terms in terms(),
    ) {
        let Choice::Order(basket) = choose_packs(&lines, &terms).unwrap() else {
            return Ok(());
        };
        prop_assert!(adds_up(&lines, &terms, &basket) && is_within(&lines, &basket));
        if basket.goods.amount.is_zero() {
            return Ok(());
        }
        for (at, line) in lines.iter().enumerate() {
            for packs in line.required..=line.most {
                let mut other = basket.packs.clone();
                other[at] = packs;
                if goods(&lines, &other) >= amount(terms.minimum) {
                    prop_assert!(cost(&lines, &terms, &other) >= basket.total.amount);
                }
            }
        }
    }

    #[test]
    fn orders_of_any_figures_are_chosen_or_refused(
        numbers in prop::collection::vec((any::<i64>(), any::<i64>(), any::<i64>()), 0..4),
        small in prop::collection::vec((0..9_i64, 0..9_i64, 1..4_i64), 0..4),
        price in (any::<i64>(), 0..28_u32),
        holding in (any::<i64>(), 0..28_u32),
        minimum in (any::<i64>(), 0..28_u32),
    ) {
        let money = |(amount, places)| Money { amount: Decimal::new(amount, places), ..cents(0) };
        let lines: Vec<BasketLine> = numbers
            .into_iter()
            .chain(small)
            .map(|(required, most, from)| BasketLine {
                required,
                most,
                breaks: vec![
                    PriceBreak { from_pack_count: 1, price: money(price) },
                    PriceBreak { from_pack_count: from, price: money(price) },
                ],
                holding_per_pack: money(holding),
            })
            .collect();
        let terms = BasketTerms { minimum: Some(money(minimum)), ..BasketTerms::default() };
        let choice: Result<Choice, SupplyError> = choose_packs(&lines, &terms);
        if let Err(refused) = choice {
            prop_assert!(refused.to_string().ends_with('.'));
        }
    }
}
