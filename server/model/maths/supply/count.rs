//! Demand for pieces over a stretch of time, as the chance of each count.
//!
//! It serves the level of pads, towels and sundries. The smallest stock that suffices is read from the
//! chances themselves: pieces are few, and a normal curve would promise half ones.

use super::SupplyError;
use super::error::{at_least_zero, share};
use crate::maths::life::count_f64;

/// The largest mean that is counted piece by piece; a shop that needs more plans it as a volume.
pub(crate) const MEAN_MOST: i64 = 10_000;
/// The most products one sum of two demands may take, about a tenth of a second.
const PRODUCTS_MOST: usize = 100_000_000;

/// The chances of 0, 1, 2, … pieces; they add up to one.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct CountDemand {
    chances: Vec<f64>,
}

impl CountDemand {
    /// Demand whose chances are given for none, one, two, … pieces.
    ///
    /// # Errors
    /// When one is below zero or no number, or they do not add up to one within 10⁻⁹.
    pub(crate) fn from_chances(chances: Vec<f64>) -> Result<Self, SupplyError> {
        let chances = checked_chances(chances)?;
        Ok(Self::normalised(chances))
    }

    pub(super) fn normalised(mut chances: Vec<f64>) -> Self {
        let sum: f64 = chances.iter().sum();
        for chance in &mut chances {
            *chance /= sum;
        }
        Self { chances }
    }

    /// The chances of 0, 1, 2, … pieces.
    #[cfg(test)]
    pub(crate) fn chances(&self) -> &[f64] {
        &self.chances
    }

    /// Mean.
    #[must_use]
    pub(crate) fn mean(&self) -> f64 {
        self.counts().map(|(count, chance)| count * chance).sum()
    }

    /// Demand for this and another, independent of it: the convolution.
    ///
    /// # Errors
    /// When both have so many chances that their sum would take too long.
    pub(crate) fn plus(&self, other: &Self) -> Result<Self, SupplyError> {
        let (one, two) = (self.chances.len(), other.chances.len());
        if one.saturating_mul(two) > PRODUCTS_MOST {
            return Err(SupplyError::TooLarge {
                what: "The demand for pieces",
                most: MEAN_MOST,
            });
        }
        let mut sum = vec![0.0; one.saturating_add(two).saturating_sub(1)];
        for (shift, chance) in self.chances.iter().enumerate() {
            let here = sum.iter_mut().skip(shift);
            for (sum, other) in here.zip(&other.chances) {
                *sum += chance * other;
            }
        }
        Ok(Self::normalised(sum))
    }

    /// Probability that at most this many are asked for: no stock-out.
    #[must_use]
    pub(crate) fn at_most(&self, stock: i64) -> f64 {
        let Ok(stock) = usize::try_from(stock) else {
            return 0.0;
        };
        let within = self.chances.iter().take(stock.saturating_add(1));
        within.sum::<f64>().min(1.0)
    }

    /// The smallest stock with P(demand ≤ stock) ≥ `target`.
    ///
    /// # Errors
    /// Unless 0 < `target` < 1.
    pub(crate) fn level(&self, target: f64) -> Result<i64, SupplyError> {
        let target = share(target, "The target")?;
        let mut sum = 0.0;
        let reaches = |chance: &f64| {
            sum += chance;
            sum >= target
        };
        let last = self.chances.len().saturating_sub(1);
        let stock = self.chances.iter().position(reaches).unwrap_or(last);
        Ok(i64::try_from(stock).unwrap_or(i64::MAX))
    }

    fn counts(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let chances = self.chances.iter().enumerate();
        chances.map(|(count, chance)| (count_f64(count), *chance))
    }
}

/// The chances themselves where each is one and they add up.
pub(super) fn checked_chances(chances: Vec<f64>) -> Result<Vec<f64>, SupplyError> {
    for chance in &chances {
        at_least_zero(*chance, "The chance of a count")?;
    }
    if (chances.iter().sum::<f64>() - 1.0).abs() <= 1e-9 {
        Ok(chances)
    } else {
        Err(SupplyError::ChancesDoNotAddUp { what: "a count" })
    }
}

#[cfg(test)]
mod tests {
    use super::CountDemand;

    fn near(ours: f64, reference: f64) {
        let within = 1e-12 * f64::max(1.0, reference.abs());
        assert!(
            (ours - reference).abs() <= within,
            "{ours}, not {reference}"
        );
    }

    /// Chances of a Poisson count. Source: the definition, e^−m mᵏ / k!.
    fn poisson(mean: f64) -> CountDemand {
        let mut chance = (-mean).exp();
        let mut chances = vec![chance];
        for count in 1..200_u32 {
            chance *= mean / f64::from(count);
            chances.push(chance);
        }
        CountDemand::from_chances(chances).unwrap()
    }

    /// Source: scipy 1.17, `poisson.cdf` and `.ppf`.
    #[test]
    fn levels_agree_with_a_reference() {
        for (mean, stock, enough, target, level) in [
            (0.4, 2, 0.992073668133, 0.95, 2),
            (37.5, 50, 0.979377740632, 0.99, 52),
        ] {
            let demand = poisson(mean);
            let ours = demand.at_most(stock);
            assert!((ours / enough - 1.0).abs() < 1e-9, "{mean}: {ours}");
            assert_eq!(demand.level(target), Ok(level), "{mean}");
            assert!((demand.mean() / mean - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn without_demand_no_stock_is_enough() {
        let none = CountDemand::from_chances(vec![1.0]).unwrap();
        assert_eq!(none.level(0.999), Ok(0));
        assert_eq!((none.at_most(0), none.at_most(-1)), (1.0, 0.0));
    }

    /// Source: the sum of two Poisson demands is one with the sum of their means.
    #[test]
    fn demands_add_up() {
        let sum = poisson(1.3).plus(&poisson(2.2)).unwrap();
        let both = poisson(3.5);
        for stock in 0..20 {
            near(sum.at_most(stock), both.at_most(stock));
        }
        near(sum.mean(), 3.5);
    }

    #[test]
    fn figures_that_are_none_are_refused() {
        for target in [0.0, 1.0, f64::NAN] {
            assert!(poisson(1.0).level(target).is_err());
        }
        assert!(CountDemand::from_chances(vec![0.5, 0.4]).is_err());
        assert!(CountDemand::from_chances(vec![1.5, -0.5]).is_err());
        assert!(CountDemand::from_chances(vec![]).is_err());
    }
}
