//! Laws of costs: what goes in comes out, to the last digit, whatever the portions.

use crate::maths::cost::layers::FifoLayers;
use crate::maths::cost::{
    CostTerm, MovingAverage, Pricing, Receipt, TaxedNet, allocate, fifo_issue_cost, head_cost,
    quantise, total_up,
};
use proptest::prelude::{Strategy, any, prop, prop_assert, prop_assert_eq, proptest};
use rust_decimal::Decimal;

fn decimal(range: std::ops::Range<i64>, places: u32) -> impl Strategy<Value = Decimal> {
    range.prop_map(move |units| Decimal::new(units, places))
}

fn receipts() -> impl Strategy<Value = Vec<Receipt>> {
    let receipt = (decimal(1..90_000, 1), decimal(0..500_000, 4));
    let receipt = receipt.prop_map(|(quantity, total_cost)| Receipt {
        quantity,
        total_cost,
    });
    prop::collection::vec(receipt, 1..8)
}

/// Any decimal, absurd ones among them.
fn any_decimal() -> impl Strategy<Value = Decimal> {
    (any::<i128>(), 0..=28_u32).prop_map(|(units, places)| {
        Decimal::try_from_i128_with_scale(units >> 32, places).unwrap_or(Decimal::MAX)
    })
}

/// What all of the stock is worth at its average.
fn worth(stock: &MovingAverage) -> Decimal {
    stock
        .at_average(stock.quantity())
        .map_or(Decimal::ZERO, |term| term.price)
}

fn total(receipts: &[Receipt]) -> (Decimal, Decimal) {
    let quantity = receipts.iter().map(|receipt| receipt.quantity).sum();
    (
        quantity,
        receipts.iter().map(|receipt| receipt.total_cost).sum(),
    )
}

proptest! {
    #[test]
    fn what_was_issued_and_what_is_left_cost_what_came_in(
        receipts in receipts(),
        portions in prop::collection::vec(decimal(0..60_000, 2), 0..12),
    ) {
        let mut layers = FifoLayers::default();
        let mut average = MovingAverage::default();
        let (quantity, value) = total(&receipts);
        for receipt in &receipts {
            layers.receive(*receipt).unwrap();
            average.receive(*receipt).unwrap();
        }
        let (mut issued, mut fifo, mut averaged) = (Decimal::ZERO, Decimal::ZERO, Decimal::ZERO);
        for portion in portions {
            let is_there = issued + portion <= quantity;
            let before = layers.clone();
            prop_assert_eq!(layers.issue(portion).is_ok(), is_there);
            prop_assert_eq!(average.issue(portion).is_ok(), is_there);
            if !is_there {
                prop_assert_eq!(&layers, &before);
                continue;
            }
            let cost = fifo_issue_cost(&receipts, issued, portion).unwrap();
            fifo += cost;
            issued += portion;
            averaged = value - worth(&average);
        }
        let rest = layers.clone().issue(quantity - issued).unwrap();
        prop_assert_eq!(rest + fifo, value);
        prop_assert_eq!(layers.quantity().unwrap(), quantity - issued);
        prop_assert_eq!(worth(&average) + averaged, value);
        prop_assert!(worth(&average) >= Decimal::ZERO);
        prop_assert_eq!(average.quantity(), quantity - issued);
    }

    #[test]
    fn an_average_lies_between_the_dearest_and_the_cheapest(receipts in receipts()) {
        let mut average = MovingAverage::default();
        for receipt in &receipts {
            average.receive(*receipt).unwrap();
        }
        let price = |receipt: &Receipt| receipt.total_cost / receipt.quantity;
        let of_all = worth(&average) / average.quantity();
        let near = Decimal::new(1, 11);
        prop_assert!(receipts.iter().any(|receipt| price(receipt) <= of_all + near));
        prop_assert!(receipts.iter().any(|receipt| price(receipt) + near >= of_all));
    }

    #[test]
    fn shares_add_up_and_lie_within_a_coin_of_exact(
        total in decimal(-900_000..900_000, 2),
        weights in prop::collection::vec(decimal(0..400_000, 4), 1..12),
    ) {
        let sum: Decimal = weights.iter().sum();
        let shares = allocate(total, &weights, 2);
        prop_assert_eq!(shares.is_err(), sum.is_zero());
        let shares = shares.unwrap_or_default();
        if !sum.is_zero() {
            prop_assert_eq!(shares.iter().sum::<Decimal>(), total);
        }
        for (share, weight) in shares.iter().zip(&weights) {
            prop_assert!((share * sum - total * weight).abs() < Decimal::new(1, 2) * sum);
            prop_assert!(!(share.is_zero() && share.is_sign_negative()));
            prop_assert_eq!(share.scale(), 2);
        }
    }

    #[test]
    fn a_quote_adds_up_to_the_cent(
        lines in prop::collection::vec((decimal(-900_000..900_000, 2), 0..4_usize), 0..20),
    ) {
        let rates = ["0", "6", "21", "7.7"];
        let nets: Vec<TaxedNet> = lines
            .into_iter()
            .map(|(net, rate)| TaxedNet { net, tax_percent: rates[rate].parse().unwrap() })
            .collect();
        let sums = total_up(&nets, 2).unwrap();
        prop_assert_eq!(nets.iter().map(|line| line.net).sum::<Decimal>(), sums.net);
        prop_assert_eq!(sums.by_rate.iter().map(|sum| sum.taxable).sum::<Decimal>(), sums.net);
        prop_assert_eq!(sums.by_rate.iter().map(|sum| sum.tax).sum::<Decimal>(), sums.tax);
        prop_assert_eq!(sums.net + sums.tax, sums.gross);
        for sum in &sums.by_rate {
            let off = sum.tax * Decimal::ONE_HUNDRED - sum.taxable * sum.tax_percent;
            prop_assert!(off.abs() <= Decimal::new(5, 1));
        }
        for amount in [sums.net, sums.tax, sums.gross] {
            prop_assert_eq!(amount.scale(), 2);
            prop_assert!(!(amount.is_zero() && amount.is_sign_negative()));
        }
    }

    /// Source: `rust_decimal`'s own rounding.
    #[test]
    fn rounding_agrees_with_the_library_and_nothing_has_no_sign(
        value in any_decimal(),
        places in 0..12_u32,
    ) {
        if let Ok(rounded) = quantise(value, places) {
            let rule = rust_decimal::RoundingStrategy::MidpointAwayFromZero;
            prop_assert_eq!(rounded, value.round_dp_with_strategy(places, rule));
            prop_assert_eq!(rounded.scale(), places);
            prop_assert!(!(rounded.is_zero() && rounded.is_sign_negative()));
        }
    }

    #[test]
    fn any_figures_give_a_cost_or_a_sentence(
        one in any_decimal(),
        two in any_decimal(),
        three in any_decimal(),
        places in any::<u32>(),
    ) {
        let term = CostTerm { quantity: one, price: two, base: three };
        let receipts = [Receipt { quantity: one, total_cost: two }, Receipt { quantity: two, total_cost: three }];
        let refusals = [
            head_cost(&[term, term], places).err(),
            CostTerm::wear(one, two, three, one).err(),
            CostTerm::wash(one, two, three).err(),
            fifo_issue_cost(&receipts, three, one).err(),
            allocate(one, &[two, three], places).err(),
            Pricing::Margin(one).price(two, places).err(),
            Pricing::Markup(one).price(two, places).err(),
        ];
        for refused in refusals.into_iter().flatten() {
            prop_assert!(refused.to_string().ends_with('.'), "{}", refused);
        }
    }

    #[test]
    fn a_price_by_margin_leaves_the_margin(
        cost in decimal(1..9_000_000, 2),
        percent in 0..95_i64,
    ) {
        let margin = Decimal::new(percent, 2);
        let price = Pricing::Margin(margin).price(cost, 2).unwrap();
        // Half a coin at most lies between the price and the exact one.
        let off = price * (Decimal::ONE - margin) - cost;
        prop_assert!(off.abs() <= Decimal::new(5, 3));
        let marked = Pricing::Markup(margin).price(cost, 2).unwrap();
        prop_assert!(marked <= price);
    }
}
