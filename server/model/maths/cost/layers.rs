//! Stock value by layers: first in, first out, and the perpetual moving average.
//!
//! It serves the stock value and the cost of what a job takes. What was issued and what is left always
//! add up to what came in, to the last digit, in whatever portions it was issued.

use std::collections::VecDeque;

use rust_decimal::Decimal;

use super::error::{above_zero, at_least_zero};
use super::{CostError, CostTerm, Fraction};

/// Decimals to which a part of a receipt is costed: a share of a bottle has no end in decimals, and
/// this is a hundred millionth of a cent per hundred receipts.
pub(crate) const PART_PLACES: u32 = 12;

const VALUE: CostError = CostError::TooLarge {
    what: "The value of the stock",
};

/// One receipt: a quantity in the stock's own unit, and what all of it cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Receipt {
    /// Quantity, above zero.
    pub quantity: Decimal,
    /// Cost of the whole quantity, not below zero: a sample may be free.
    pub total_cost: Decimal,
}

impl Receipt {
    /// This receipt and another of the same line, as one.
    ///
    /// # Errors
    /// When a sum needs more digits than can be held.
    pub(crate) fn plus(&self, other: &Self) -> Result<Self, CostError> {
        Ok(Self {
            quantity: plus(self.quantity, other.quantity).ok_or(VALUE)?,
            total_cost: plus(self.total_cost, other.total_cost).ok_or(VALUE)?,
        })
    }

    fn checked(self) -> Result<Self, CostError> {
        above_zero(self.quantity, "The quantity received")?;
        at_least_zero(self.total_cost, "The cost of a receipt")?;
        Ok(self)
    }

    /// What the first `taken` units of it cost, at [`PART_PLACES`] decimals; all of it its exact cost.
    fn cost_of_first(&self, taken: Decimal) -> Option<Decimal> {
        part_of(self.total_cost, taken, self.quantity)
    }
}

/// `whole × part / all`; the whole itself where the part is all.
fn part_of(whole: Decimal, part: Decimal, all: Decimal) -> Option<Decimal> {
    if part == all {
        return Some(whole);
    }
    Fraction::of(whole)?
        .times(Fraction::of(part)?)?
        .per(Fraction::of(all)?)?
        .round(PART_PLACES)
}

/// A sum that is exact, or none.
fn plus(one: Decimal, other: Decimal) -> Option<Decimal> {
    Fraction::of(one)?.plus(Fraction::of(other)?)?.exact()
}

/// A difference that is exact, or none.
fn minus(one: Decimal, other: Decimal) -> Option<Decimal> {
    Fraction::of(one)?.minus(Fraction::of(other)?)?.exact()
}

/// Stock by layers, the earliest issued first. Source: IAS 2, paragraph 27.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct FifoLayers {
    /// Receipts not used up, earliest first, with what was taken of each.
    layers: VecDeque<(Receipt, Decimal)>,
}

impl FifoLayers {
    /// Takes in a receipt.
    ///
    /// # Errors
    /// When its quantity is not above zero or its cost below zero. Nothing changes then.
    pub(crate) fn receive(&mut self, receipt: Receipt) -> Result<(), CostError> {
        self.layers.push_back((receipt.checked()?, Decimal::ZERO));
        Ok(())
    }

    /// Issues a quantity and gives its cost.
    ///
    /// # Errors
    /// When it is below zero, more than there is, or its cost needs more digits than can be held.
    /// Nothing changes then.
    pub(crate) fn issue(&mut self, quantity: Decimal) -> Result<Decimal, CostError> {
        at_least_zero(quantity, "The quantity issued")?;
        let there = self.quantity()?;
        if quantity > there {
            return Err(CostError::MoreThanThere {
                asked: quantity,
                there,
            });
        }
        let mut after = self.layers.clone();
        let cost = issue_from(&mut after, quantity).ok_or(VALUE)?;
        self.layers = after;
        Ok(cost)
    }

    /// Quantity left.
    ///
    /// # Errors
    /// When it needs more digits than can be held.
    pub(crate) fn quantity(&self) -> Result<Decimal, CostError> {
        let left = self.layers.iter().try_fold(Decimal::ZERO, |sum, layer| {
            plus(sum, minus(layer.0.quantity, layer.1)?)
        });
        left.ok_or(VALUE)
    }
}

/// Takes the quantity from the earliest layers and gives its cost; `None` where a figure does not fit.
///
/// Each part costs the difference of what its layer's first units cost after and before, so that the
/// portions it is issued in do not matter.
fn issue_from(layers: &mut VecDeque<(Receipt, Decimal)>, quantity: Decimal) -> Option<Decimal> {
    let (mut wanted, mut cost) = (quantity, Decimal::ZERO);
    while !wanted.is_zero() {
        let (receipt, taken) = layers.front_mut()?;
        let part = wanted.min(minus(receipt.quantity, *taken)?);
        let before = receipt.cost_of_first(*taken)?;
        *taken = plus(*taken, part)?;
        cost = plus(cost, minus(receipt.cost_of_first(*taken)?, before)?)?;
        wanted = minus(wanted, part)?;
        if *taken == receipt.quantity {
            layers.pop_front();
        }
    }
    Some(cost)
}

fn layers_of(receipts: &[Receipt]) -> Result<FifoLayers, CostError> {
    let mut layers = FifoLayers::default();
    receipts
        .iter()
        .try_for_each(|receipt| layers.receive(*receipt))?;
    Ok(layers)
}

/// Cost of an issue by first in, first out, when `issued_before` was already taken of the receipts.
///
/// # Errors
/// When a receipt is not one, more is issued than came in, a quantity is below zero, or a figure needs
/// more digits than can be held.
pub(crate) fn fifo_issue_cost(
    receipts: &[Receipt],
    issued_before: Decimal,
    quantity: Decimal,
) -> Result<Decimal, CostError> {
    let mut layers = layers_of(receipts)?;
    layers.issue(issued_before)?;
    layers.issue(quantity)
}

/// Stock at one average cost, reckoned anew at each receipt. Source: IAS 2, paragraph 27.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct MovingAverage {
    quantity: Decimal,
    value: Decimal,
}

impl MovingAverage {
    /// Takes in a receipt.
    ///
    /// # Errors
    /// When its quantity is not above zero, its cost below zero, or a sum needs more digits than can
    /// be held. Nothing changes then.
    pub(crate) fn receive(&mut self, receipt: Receipt) -> Result<(), CostError> {
        let receipt = receipt.checked()?;
        let quantity = plus(self.quantity, receipt.quantity).ok_or(VALUE)?;
        self.value = plus(self.value, receipt.total_cost).ok_or(VALUE)?;
        self.quantity = quantity;
        Ok(())
    }

    /// Issues a quantity and gives its cost, at [`PART_PLACES`] decimals; all that is left takes all
    /// the value that is left.
    ///
    /// # Errors
    /// When it is below zero, more than there is, or its cost needs more digits than can be held.
    /// Nothing changes then.
    pub(crate) fn issue(&mut self, quantity: Decimal) -> Result<Decimal, CostError> {
        at_least_zero(quantity, "The quantity issued")?;
        if quantity > self.quantity {
            return Err(CostError::MoreThanThere {
                asked: quantity,
                there: self.quantity,
            });
        }
        let cost = part_of(self.value, quantity, self.quantity).ok_or(VALUE)?;
        let value = minus(self.value, cost).ok_or(VALUE)?;
        self.quantity = minus(self.quantity, quantity).ok_or(VALUE)?;
        self.value = value;
        Ok(cost)
    }

    /// Quantity left.
    pub(crate) const fn quantity(&self) -> Decimal {
        self.quantity
    }

    /// Takes in what a count found more, at the average; without stock it has no value yet.
    ///
    /// # Errors
    /// When a sum needs more digits than can be held. Nothing changes then.
    pub(crate) fn found(&mut self, quantity: Decimal) -> Result<(), CostError> {
        if self.quantity > Decimal::ZERO {
            let all = plus(self.quantity, quantity).ok_or(VALUE)?;
            self.value = part_of(self.value, all, self.quantity).ok_or(VALUE)?;
            self.quantity = all;
        }
        Ok(())
    }

    /// A quantity at the average cost, in fractions as they are; `None` without stock.
    pub(crate) fn at_average(&self, quantity: Decimal) -> Option<CostTerm> {
        (self.quantity > Decimal::ZERO).then_some(CostTerm {
            quantity,
            price: self.value,
            base: self.quantity,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{FifoLayers, MovingAverage, Receipt, fifo_issue_cost};
    use rust_decimal::Decimal;

    fn of(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    fn receipt(quantity: &str, total_cost: &str) -> Receipt {
        Receipt {
            quantity: of(quantity),
            total_cost: of(total_cost),
        }
    }

    #[test]
    fn three_thirds_of_a_bottle_cost_the_bottle() {
        let mut layers = FifoLayers::default();
        layers.receive(receipt("3", "10")).unwrap();
        let parts: Vec<String> = (0..3)
            .map(|_| layers.issue(of("1")).unwrap().to_string())
            .collect();
        assert_eq!(
            parts,
            ["3.333333333333", "3.333333333334", "3.333333333333"]
        );
        assert_eq!(layers.quantity().unwrap(), Decimal::ZERO);
    }

    #[test]
    fn a_later_issue_costs_what_its_layers_did() {
        let receipts = [receipt("10", "60"), receipt("20", "240")];
        assert_eq!(fifo_issue_cost(&receipts, of("5"), of("10")), Ok(of("90")));
    }

    #[test]
    fn the_last_issue_takes_the_whole_value() {
        let mut stock = MovingAverage::default();
        stock.receive(receipt("3", "10")).unwrap();
        assert_eq!(stock.issue(of("1")), Ok(of("3.333333333333")));
        let term = stock.at_average(of("1")).unwrap();
        assert_eq!((term.price, term.base), (of("6.666666666667"), of("2")));
        assert_eq!(stock.issue(of("2")), Ok(of("6.666666666667")));
        assert_eq!(
            (stock.value, stock.at_average(of("1"))),
            (Decimal::ZERO, None)
        );
    }

    /// Source: by hand: three more beside the two that are left at 5 each are worth 5 each too.
    #[test]
    fn what_a_count_finds_more_is_worth_the_average() {
        let mut stock = MovingAverage::default();
        stock.found(of("7")).unwrap();
        assert_eq!(stock, MovingAverage::default());
        stock.receive(receipt("2", "10")).unwrap();
        stock.found(of("3")).unwrap();
        assert_eq!((stock.quantity(), stock.value), (of("5"), of("25")));
    }

    #[test]
    fn more_than_there_is_is_refused_and_changes_nothing() {
        let sentence =
            "4 is more than the 3 there is. Count the stock, or take in what is missing.";
        let mut layers = FifoLayers::default();
        layers.receive(receipt("3", "10")).unwrap();
        let before = layers.clone();
        assert_eq!(layers.issue(of("4")).unwrap_err().to_string(), sentence);
        assert_eq!(layers, before);
        let mut stock = MovingAverage::default();
        stock.receive(receipt("3", "10")).unwrap();
        let before = stock;
        assert_eq!(stock.issue(of("4")).unwrap_err().to_string(), sentence);
        assert_eq!(stock, before);
    }

    #[test]
    fn receipts_that_are_none_are_refused() {
        let mut layers = FifoLayers::default();
        for (quantity, cost) in [("0", "1"), ("-1", "1"), ("1", "-0.01")] {
            assert!(layers.receive(receipt(quantity, cost)).is_err());
            let mut stock = MovingAverage::default();
            assert!(stock.receive(receipt(quantity, cost)).is_err());
        }
        assert!(layers.issue(of("-1")).is_err());
        layers.receive(receipt("1", "0")).unwrap();
        assert_eq!(layers.issue(of("1")), Ok(Decimal::ZERO));
    }
}
