//! The stock that costs least where keeping a piece and lacking one both have a price.
//!
//! It serves the comparison of a target with its cost; the level of a line itself comes from its
//! target. Costs are per period, in any one currency, and only compared.

use fettlebook_quantity::exact_f64;

use super::error::{above_zero, held};
use super::{CountDemand, SupplyError};

/// The longest search for an order quantity; more pieces at once are no order of a shop.
const ORDER_MOST: i64 = 10_000;

/// What a piece kept and a piece lacking cost in a period.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StockCosts {
    holding: f64,
    shortage: f64,
}

/// A stock to order up to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BaseStock {
    /// Order up to this.
    pub level: i64,
    /// Its mean cost per period.
    pub cost: f64,
}

/// Order a fixed quantity when the stock and what is on order fall to a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReorderPolicy {
    /// Order when stock and orders reach this.
    pub reorder_at: i64,
    /// Order so many.
    pub quantity: i64,
    /// Mean cost per period.
    pub cost: f64,
}

impl StockCosts {
    /// Costs per piece and period.
    ///
    /// # Errors
    /// When one is not above zero.
    pub fn new(holding: f64, shortage: f64) -> Result<Self, SupplyError> {
        Ok(Self {
            holding: above_zero(holding, "The cost of holding")?,
            shortage: above_zero(shortage, "The cost of a shortage")?,
        })
    }

    /// Mean cost of a stock: h E(S − D)⁺ + p E(D − S)⁺.
    #[must_use]
    pub fn cost_at(&self, demand: &CountDemand, stock: i64) -> f64 {
        self.holding * demand.expected_left(stock) + self.shortage * demand.expected_short(stock)
    }

    /// The stock that costs least: the smallest S with P(D ≤ S) ≥ p / (p + h).
    ///
    /// Source: L. V. Snyder and Z.-J. M. Shen, *Fundamentals of Supply Chain Theory*, 2nd ed. (2019),
    /// section 4.3.
    ///
    /// # Errors
    /// When the costs are out of all proportion, or the result is too large.
    pub fn base_stock(&self, demand: &CountDemand) -> Result<BaseStock, SupplyError> {
        let level = demand.level(1.0 / (1.0 + self.holding / self.shortage))?;
        Ok(BaseStock {
            level,
            cost: held(self.cost_at(demand, level), "The cost of the stock")?,
        })
    }

    /// The reorder point and quantity that cost least, with demand over the lead time `demand`, of mean
    /// `rate` per period, pieces asked for one at a time, and `fixed_cost` for each order.
    ///
    /// Formula: cost(r, Q) = (K λ + Σ g(y), y = r+1 … r+Q) / Q with g the cost of a stock y; Q grows
    /// towards the cheaper side while that lowers the cost. Exact, since g is convex. Source: A.
    /// Federgruen and Y.-S. Zheng, *An efficient algorithm for computing an optimal (r, Q) policy*,
    /// Oper. Res. 40 (1992), 808–813.
    ///
    /// # Errors
    /// When a figure is not above zero, the costs are out of all proportion, or an order would be of
    /// more than 10,000 pieces.
    pub fn reorder_policy(
        &self,
        demand: &CountDemand,
        rate: f64,
        fixed_cost: f64,
    ) -> Result<ReorderPolicy, SupplyError> {
        let rate = above_zero(rate, "The demand per period")?;
        let fixed_cost = above_zero(fixed_cost, "The cost of an order")?;
        let base = self.base_stock(demand)?;
        let mut sum = held(fixed_cost * rate + base.cost, "The cost of ordering")?;
        let mut best = ReorderPolicy {
            reorder_at: base.level.saturating_sub(1),
            quantity: 1,
            cost: sum,
        };
        while best.quantity < ORDER_MOST {
            let next = best
                .reorder_at
                .saturating_add(best.quantity)
                .saturating_add(1);
            let (low, high) = (
                self.cost_at(demand, best.reorder_at),
                self.cost_at(demand, next),
            );
            if low.min(high) >= best.cost {
                return Ok(best);
            }
            sum += low.min(high);
            best.quantity = best.quantity.saturating_add(1);
            best.cost = sum / exact_f64(best.quantity);
            if low <= high {
                best.reorder_at = best.reorder_at.saturating_sub(1);
            }
        }
        Err(SupplyError::TooLarge {
            what: "The order quantity",
            most: ORDER_MOST,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{CountDemand, StockCosts};

    /// Source: brute force over every reorder point from −30 to 60 and quantity up to 80.
    #[test]
    fn the_policy_is_the_cheapest_of_all() {
        for (rate, lead, holding, shortage, fixed) in [
            (1.5, 2.0, 20.0, 150.0, 100.0),
            (0.4, 1.0, 1.0, 3.0, 9.0),
            (6.0, 1.5, 2.0, 2.5, 0.5),
            (2.0, 3.0, 1.0, 0.6, 40.0),
        ] {
            let demand = CountDemand::poisson(rate * lead).unwrap();
            let costs = StockCosts::new(holding, shortage).unwrap();
            let ours = costs.reorder_policy(&demand, rate, fixed).unwrap();
            let mut best = f64::INFINITY;
            for reorder_at in -30..60_i64 {
                let mut sum = fixed * rate;
                for quantity in 1..=80_i64 {
                    sum += costs.cost_at(&demand, reorder_at + quantity);
                    best = best.min(sum / quantity as f64);
                }
            }
            assert!(
                (ours.cost - best).abs() < 1e-9 * best,
                "{ours:?}, not {best}"
            );
        }
    }

    #[test]
    fn costs_that_are_none_are_refused() {
        for (holding, shortage) in [(0.0, 1.0), (1.0, -1.0), (f64::NAN, 1.0)] {
            assert!(StockCosts::new(holding, shortage).is_err());
        }
        let demand = CountDemand::poisson(1.0).unwrap();
        let mad = StockCosts::new(1e-300, 1e300).unwrap();
        assert!(mad.base_stock(&demand).is_err());
        let costs = StockCosts::new(1.0, 1.0).unwrap();
        assert!(costs.reorder_policy(&demand, 0.0, 1.0).is_err());
        assert!(costs.reorder_policy(&demand, 1.0, 1e12).is_err());
    }
}
