//! Demand for pieces over a stretch of time, as the chance of each count.
//!
//! It serves the level of pads, towels and sundries. The smallest stock that suffices is read from the
//! chances themselves: pieces are few, and a normal curve would promise half ones.

use fettlebook_quantity::{exact_f64, round_to_i64};

use super::SupplyError;
use super::error::{at_least_zero, share};
use crate::life::count_f64;

/// The largest mean that is counted piece by piece; a shop that needs more plans it as a volume.
pub const MEAN_MOST: i64 = 10_000;
/// The largest variance by mean: demand in lumps of a thousand is no demand for pieces.
pub const LUMP_MOST: i64 = 1_000;
/// Chances below this share of the largest are left out.
const CHANCE_LEAST: f64 = 1e-25;
/// The most products one sum of two demands may take, about a tenth of a second.
const PRODUCTS_MOST: usize = 100_000_000;

/// The chances of 0, 1, 2, … pieces; they add up to one.
#[derive(Clone, Debug, PartialEq)]
pub struct CountDemand {
    chances: Vec<f64>,
}

impl CountDemand {
    /// Demand of a known mean that comes at random, one piece at a time: Poisson.
    ///
    /// # Errors
    /// When the mean is below zero, no number, or beyond [`MEAN_MOST`].
    pub fn poisson(mean: f64) -> Result<Self, SupplyError> {
        let mean = checked_mean(mean)?;
        let ratio = |k: usize| mean / (count_f64(k) + 1.0);
        Ok(Self::from_ratios(mean, ratio))
    }

    /// Demand by its mean and variance: negative binomial, or Poisson where the variance is at most the
    /// mean, since pieces asked for at random are never steadier than that.
    ///
    /// Formula: size r = mean² / (variance − mean), p = mean / variance. Source: N. L. Johnson,
    /// A. W. Kemp and S. Kotz, *Univariate Discrete Distributions*, 3rd ed. (2005), ch. 5.
    ///
    /// # Errors
    /// When a figure is below zero or no number, the mean beyond [`MEAN_MOST`], or the variance beyond
    /// [`LUMP_MOST`] times the mean.
    pub fn by_moments(mean: f64, variance: f64) -> Result<Self, SupplyError> {
        let mean = checked_mean(mean)?;
        let variance = at_least_zero(variance, "The variance of the demand")?;
        if variance <= mean {
            return Self::poisson(mean);
        }
        if mean <= 0.0 || variance / mean > exact_f64(LUMP_MOST) {
            return Err(SupplyError::TooLarge {
                what: "The variance of the demand by its mean",
                most: LUMP_MOST,
            });
        }
        let size = mean * (mean / (variance - mean));
        let stays = (variance - mean) / variance;
        let ratio = |k: usize| stays * (size + count_f64(k)) / (count_f64(k) + 1.0);
        let mode = (size - 1.0).max(0.0) * (variance - mean) / mean;
        Ok(Self::from_ratios(mode, ratio))
    }

    /// Demand whose chances are given for none, one, two, … pieces.
    ///
    /// # Errors
    /// When one is below zero or no number, or they do not add up to one within 10⁻⁹.
    pub fn from_chances(chances: Vec<f64>) -> Result<Self, SupplyError> {
        let chances = checked_chances(chances)?;
        Ok(Self::normalised(chances))
    }

    /// From the ratio of each chance to the one before it, out from the mode.
    fn from_ratios(mode: f64, ratio: impl Fn(usize) -> f64) -> Self {
        let mode = usize::try_from(round_to_i64(mode.floor())).unwrap_or(0);
        let mut below = Vec::with_capacity(mode);
        let mut weight = 1.0;
        for k in (0..mode).rev() {
            weight /= ratio(k);
            below.push(if weight < CHANCE_LEAST { 0.0 } else { weight });
        }
        let mut chances: Vec<f64> = below.into_iter().rev().collect();
        chances.push(1.0);
        weight = 1.0;
        for k in mode.. {
            weight *= ratio(k);
            if weight < CHANCE_LEAST {
                break;
            }
            chances.push(weight);
        }
        Self::normalised(chances)
    }

    pub(super) fn normalised(mut chances: Vec<f64>) -> Self {
        let sum: f64 = chances.iter().sum();
        for chance in &mut chances {
            *chance /= sum;
        }
        Self { chances }
    }

    /// The chances of 0, 1, 2, … pieces.
    #[must_use]
    pub fn chances(&self) -> &[f64] {
        &self.chances
    }

    /// Mean.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.counts().map(|(count, chance)| count * chance).sum()
    }

    /// Variance.
    #[must_use]
    pub fn variance(&self) -> f64 {
        let mean = self.mean();
        let squares = self
            .counts()
            .map(|(count, chance)| (count - mean) * (count - mean) * chance);
        squares.sum()
    }

    /// Demand for this and another, independent of it: the convolution.
    ///
    /// # Errors
    /// When both have so many chances that their sum would take too long.
    pub fn plus(&self, other: &Self) -> Result<Self, SupplyError> {
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
    pub fn at_most(&self, stock: i64) -> f64 {
        let Ok(stock) = usize::try_from(stock) else {
            return 0.0;
        };
        let within = self.chances.iter().take(stock.saturating_add(1));
        within.sum::<f64>().min(1.0)
    }

    /// The share of single pieces that are there when asked for: P(demand ≤ stock − 1).
    ///
    /// Exact with one-for-one reordering and pieces asked for at random, one at a time (Poisson): a
    /// piece is there unless the demand over the lead time has taken all. One below
    /// [`CountDemand::at_most`].
    #[must_use]
    pub fn fill_rate(&self, stock: i64) -> f64 {
        self.at_most(stock.saturating_sub(1))
    }

    /// The smallest stock with P(demand ≤ stock) ≥ `target`.
    ///
    /// # Errors
    /// Unless 0 < `target` < 1.
    pub fn level(&self, target: f64) -> Result<i64, SupplyError> {
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

    /// The smallest stock with a [`CountDemand::fill_rate`] of at least `target`.
    ///
    /// # Errors
    /// Unless 0 < `target` < 1.
    pub fn level_for_fill(&self, target: f64) -> Result<i64, SupplyError> {
        Ok(self.level(target)?.saturating_add(1))
    }

    /// Mean number of pieces that are asked for and not there: E(D − S)⁺. The stock may be below zero.
    #[must_use]
    pub fn expected_short(&self, stock: i64) -> f64 {
        let stock = exact_f64(stock);
        let short = self
            .counts()
            .map(|(count, chance)| (count - stock).max(0.0) * chance);
        short.sum()
    }

    /// Mean number of pieces left: E(S − D)⁺.
    #[must_use]
    pub fn expected_left(&self, stock: i64) -> f64 {
        let stock = exact_f64(stock);
        let left = self
            .counts()
            .map(|(count, chance)| (stock - count).max(0.0) * chance);
        left.sum()
    }

    fn counts(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let chances = self.chances.iter().enumerate();
        chances.map(|(count, chance)| (count_f64(count), *chance))
    }
}

fn checked_mean(mean: f64) -> Result<f64, SupplyError> {
    let what = "The mean demand for pieces";
    if at_least_zero(mean, what)? > exact_f64(MEAN_MOST) {
        return Err(SupplyError::TooLarge {
            what,
            most: MEAN_MOST,
        });
    }
    Ok(mean)
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

    /// Source: scipy 1.17, `poisson.cdf`, `nbinom.cdf`, `.ppf` and sums of `.sf`.
    #[test]
    fn levels_agree_with_a_reference() {
        for (mean, variance, stock, enough, target, level, short) in [
            (0.4, 0.4, 2, 0.992073668133, 0.95, 2, 0.00876811048553),
            (37.5, 37.5, 50, 0.979377740632, 0.99, 52, 0.0632008248489),
            (
                900.0,
                900.0,
                960,
                0.977259506716,
                0.999,
                994,
                0.272664028759,
            ),
            (
                9000.0,
                9000.0,
                9100,
                0.855235204562,
                0.98,
                9195,
                7.16275370946,
            ),
            (1.5, 3.0, 5, 0.965409642844, 0.95, 5, 0.0733406405714),
            (0.05, 2.0, 3, 0.997528196136, 0.99, 0, 0.0389409811668),
            (12.0, 40.0, 25, 0.966186686398, 0.9995, 42, 0.158724980537),
            (
                800.0,
                40000.0,
                1000,
                0.843964020521,
                0.9,
                1065,
                20.3128769007,
            ),
            (
                9000.0,
                900000.0,
                9900,
                0.82998629654,
                0.97,
                10866,
                94.7701283833,
            ),
        ] {
            let demand = CountDemand::by_moments(mean, variance).unwrap();
            let close = |ours: f64, reference: f64| {
                assert!(
                    (ours / reference - 1.0).abs() < 1e-9,
                    "{mean}: {ours}, not {reference}"
                );
            };
            close(demand.at_most(stock), enough);
            assert_eq!(demand.level(target), Ok(level), "{mean}");
            close(demand.expected_short(stock), short);
            close(demand.expected_left(stock), stock as f64 - mean + short);
            close(demand.mean(), mean);
            close(demand.variance(), variance);
        }
    }

    #[test]
    fn without_demand_no_stock_is_enough() {
        let none = CountDemand::by_moments(0.0, 0.0).unwrap();
        assert_eq!(none.level(0.999), Ok(0));
        assert_eq!((none.at_most(0), none.at_most(-1)), (1.0, 0.0));
        assert_eq!((none.expected_short(0), none.expected_left(3)), (0.0, 3.0));
    }

    /// Source: the sum of two Poisson demands is one with the sum of their means.
    #[test]
    fn demands_add_up() {
        let sum = CountDemand::poisson(1.3)
            .unwrap()
            .plus(&CountDemand::poisson(2.2).unwrap())
            .unwrap();
        let both = CountDemand::poisson(3.5).unwrap();
        for stock in 0..20 {
            near(sum.at_most(stock), both.at_most(stock));
        }
        near(sum.mean(), 3.5);
        near(sum.variance(), 3.5);
    }

    #[test]
    fn figures_that_are_none_are_refused() {
        for (mean, variance) in [
            (-1.0, 1.0),
            (f64::NAN, 1.0),
            (1.0, f64::NAN),
            (1.0, -1.0),
            (20_000.0, 1.0),
            (1.0, 2_000.0),
            (0.0, 1.0),
            (1.0, f64::INFINITY),
        ] {
            assert!(
                CountDemand::by_moments(mean, variance).is_err(),
                "{mean} {variance}"
            );
        }
        let demand = CountDemand::poisson(1.0).unwrap();
        for target in [0.0, 1.0, f64::NAN] {
            assert!(demand.level(target).is_err());
        }
        assert!(CountDemand::from_chances(vec![0.5, 0.4]).is_err());
        assert!(CountDemand::from_chances(vec![1.5, -0.5]).is_err());
        assert!(CountDemand::from_chances(vec![]).is_err());
        assert_eq!(
            CountDemand::poisson(20_000.0).unwrap_err().to_string(),
            "The mean demand for pieces is beyond 10000. Look for a mistyped figure."
        );
    }
}
