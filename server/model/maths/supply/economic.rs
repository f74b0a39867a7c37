//! The economic order quantity, with price breaks.
//!
//! It serves as a hint beside a reorder line, never as the quantity itself: a shop orders for booked
//! jobs, joined per supplier, and the formula knows only a steady flow.

use super::SupplyError;
use super::error::{above_zero, held};

/// An order quantity and what it costs per period: ordering and holding, and the goods where prices
/// depend on the quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct OrderHint {
    /// Quantity of an order.
    pub quantity: f64,
    /// Cost per period of the demand.
    pub cost: f64,
}

/// What an order costs beside the goods: K D / q + h q / 2.
fn running_cost(fixed_cost: f64, demand: f64, holding: f64, quantity: f64) -> f64 {
    fixed_cost * demand / quantity + 0.5 * holding * quantity
}

/// The economic order quantity √(2 K D / h) and its cost √(2 K D h).
///
/// `fixed_cost` K per order, `demand` D per period, `holding` h per unit and period. Source: F. W.
/// Harris, *How many parts to make at once*, Factory 10 (1913), 135–136.
///
/// # Errors
/// When a figure is not above zero, or the result too large.
fn economic_order(fixed_cost: f64, demand: f64, holding: f64) -> Result<OrderHint, SupplyError> {
    let fixed_cost = above_zero(fixed_cost, "The cost of an order")?;
    let demand = above_zero(demand, "The demand")?;
    let holding = above_zero(holding, "The cost of holding")?;
    // Roots apart, so that no product runs over first.
    let quantity = (2.0 * fixed_cost).sqrt() * (demand / holding).sqrt();
    order_of(quantity, fixed_cost, demand, holding)
}

/// What ordering this quantity costs.
///
/// # Errors
/// When a figure is not above zero, or the result too large.
fn order_of(
    quantity: f64,
    fixed_cost: f64,
    demand: f64,
    holding: f64,
) -> Result<OrderHint, SupplyError> {
    let quantity = held(quantity, "The order quantity")?;
    above_zero(quantity, "The order quantity")?;
    let cost = running_cost(fixed_cost, demand, holding, quantity);
    Ok(OrderHint {
        quantity,
        cost: held(cost, "The cost of ordering")?,
    })
}

/// The cheapest order where reaching a quantity lowers the price of every unit of it.
///
/// `breaks` are pairs of a least quantity and its price, the first from 0; the least quantity itself
/// earns the price. `holding_rate` is the yearly cost of holding as a share of the price. Formula: at
/// each price the economic quantity, held within the range of that price; of those the one with the
/// least c D + K D / q + i c q / 2. Source: L. V. Snyder and Z.-J. M. Shen, *Fundamentals of Supply
/// Chain Theory*, 2nd ed. (2019), section 3.4.
///
/// # Errors
/// When a figure is not above zero, the breaks do not start at 0 and rise, a price does, or the result
/// is too large.
pub(crate) fn economic_order_with_breaks(
    fixed_cost: f64,
    demand: f64,
    holding_rate: f64,
    breaks: &[(f64, f64)],
) -> Result<OrderHint, SupplyError> {
    above_zero(holding_rate, "The rate of holding")?;
    check_breaks(breaks)?;
    let mut best: Option<OrderHint> = None;
    for (index, (from, price)) in breaks.iter().enumerate() {
        let holding = held(holding_rate * price, "The cost of holding")?;
        let wanted = economic_order(fixed_cost, demand, holding)?.quantity;
        let next = breaks.get(index.saturating_add(1));
        if next.is_some_and(|(next, _)| wanted >= *next) {
            continue;
        }
        let order = order_of(wanted.max(*from), fixed_cost, demand, holding)?;
        let cost = held(order.cost + price * demand, "The cost of ordering")?;
        if best.is_none_or(|best| cost < best.cost) {
            best = Some(OrderHint { cost, ..order });
        }
    }
    best.ok_or(SupplyError::NoFirstPrice { line: 0 })
}

fn check_breaks(breaks: &[(f64, f64)]) -> Result<(), SupplyError> {
    if breaks.first().is_none_or(|(from, _)| from.abs() > 0.0) {
        return Err(SupplyError::NoFirstPrice { line: 0 });
    }
    if breaks
        .iter()
        .any(|(_, price)| above_zero(*price, "").is_err())
    {
        return Err(SupplyError::NoPrice { line: 0 });
    }
    let pairs = breaks.iter().zip(breaks.iter().skip(1));
    for (index, ((from, price), (next_from, next_price))) in pairs.enumerate() {
        let index = index.saturating_add(1);
        if !(next_from.is_finite() && next_from > from) {
            return Err(SupplyError::BreaksOutOfOrder { line: 0, index });
        }
        if next_price > price {
            return Err(SupplyError::PriceRises { index });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::{economic_order, economic_order_with_breaks};

    #[test]
    fn a_break_out_of_reach_is_left() {
        let breaks = [(0.0, 0.75), (100_000.0, 0.74)];
        let order = economic_order_with_breaks(8.0, 1300.0, 0.3, &breaks).unwrap();
        let plain = economic_order(8.0, 1300.0, 0.3 * 0.75).unwrap();
        assert!((order.quantity - plain.quantity).abs() < 1e-9);
    }

    #[test]
    fn figures_that_are_none_are_refused() {
        for (fixed, demand, holding) in [
            (0.0, 1.0, 1.0),
            (1.0, -1.0, 1.0),
            (1.0, 1.0, 0.0),
            (1.0, f64::NAN, 1.0),
            (f64::MAX, f64::MAX, f64::MIN_POSITIVE),
        ] {
            assert!(economic_order(fixed, demand, holding).is_err());
        }
        let refused = |breaks: &[(f64, f64)]| {
            economic_order_with_breaks(8.0, 1300.0, 0.3, breaks)
                .unwrap_err()
                .to_string()
        };
        for breaks in [&[][..], &[(1.0, 0.75)]] {
            assert!(refused(breaks).contains("from the first pack on"));
        }
        assert!(refused(&[(0.0, 0.0)]).contains("a price must be above zero"));
        for next in [0.0, -1.0, f64::NAN] {
            let breaks = [(0.0, 0.75), (next, 0.7)];
            assert!(refused(&breaks).contains("in order"), "{breaks:?}");
        }
        let dearer = refused(&[(0.0, 0.75), (400.0, 0.8)]);
        assert!(dearer.contains("Price 2 is dearer"), "{dearer}");
    }
}
