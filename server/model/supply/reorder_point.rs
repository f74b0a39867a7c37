//! The reorder point where demand, and the lead time too, vary about a mean.
//!
//! It serves steady sundries with many small uses, where the normal distribution holds. Rare and lumpy
//! demand is for [`CountDemand`](super::CountDemand) and [`VolumeDemand`](super::VolumeDemand).

use statrs::function::erf::erfc_inv;

use super::SupplyError;
use super::error::{above_zero, at_least_zero, held, share};

/// Demand over a lead time, by its moments, in the caller's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeadDemand {
    mean: f64,
    sd: f64,
}

/// Where to reorder, and how much of it is there only for safety.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReorderPoint {
    /// Standard deviations of safety.
    pub deviate: f64,
    /// Stock above the mean demand.
    pub safety_stock: f64,
    /// The stock at which to reorder.
    pub level: f64,
}

impl LeadDemand {
    /// Demand whose moments over the lead time are known.
    ///
    /// # Errors
    /// When a figure is below zero or no number.
    pub fn new(mean: f64, sd: f64) -> Result<Self, SupplyError> {
        Ok(Self {
            mean: at_least_zero(mean, "The demand over the lead time")?,
            sd: at_least_zero(sd, "The spread of the demand over the lead time")?,
        })
    }

    /// Demand over a lead time, both varying and independent of each other.
    ///
    /// Formula: mean = L d, sd = √(L σ_d² + d² σ_L²). Source: W. J. Stevenson, *Operations
    /// Management*, 14th ed., ch. 12. Days, or any other period, the same throughout.
    ///
    /// # Errors
    /// When the lead time is not above zero, another figure is below it, or the result is too large.
    pub fn over_lead(
        per_day: f64,
        sd_per_day: f64,
        lead_days: f64,
        lead_sd_days: f64,
    ) -> Result<Self, SupplyError> {
        let demand = at_least_zero(per_day, "The demand per day")?;
        let demand_sd = at_least_zero(sd_per_day, "The spread of the demand per day")?;
        let lead = above_zero(lead_days, "The lead time")?;
        let lead_sd = at_least_zero(lead_sd_days, "The spread of the lead time")?;
        let sd = (lead.sqrt() * demand_sd).hypot(demand * lead_sd);
        Self::new(
            held(lead * demand, "The demand over the lead time")?,
            held(sd, "The spread of the demand over the lead time")?,
        )
    }

    /// Mean.
    #[must_use]
    pub const fn mean(&self) -> f64 {
        self.mean
    }

    /// Standard deviation.
    #[must_use]
    pub const fn sd(&self) -> f64 {
        self.sd
    }

    /// Where to reorder so that the stock lasts the lead time with probability `target`.
    ///
    /// # Errors
    /// Unless 0 < `target` < 1, or when the result is too large.
    pub fn reorder_point(&self, target: f64) -> Result<ReorderPoint, SupplyError> {
        self.at_deviate(normal_deviate(target)?)
    }

    /// Where to reorder with so many standard deviations of safety: mean + z·sd.
    ///
    /// # Errors
    /// When the result is no number.
    pub fn at_deviate(&self, deviate: f64) -> Result<ReorderPoint, SupplyError> {
        let safety_stock = held(deviate * self.sd, "The safety stock")?;
        Ok(ReorderPoint {
            deviate,
            safety_stock,
            level: held(self.mean + safety_stock, "The reorder point")?,
        })
    }
}

/// The z below which a standard normal figure lies with probability `p`.
///
/// # Errors
/// Unless 0 < `p` < 1.
pub fn normal_deviate(p: f64) -> Result<f64, SupplyError> {
    let p = share(p, "The target")?;
    Ok(-std::f64::consts::SQRT_2 * erfc_inv(2.0 * p))
}

#[cfg(test)]
mod tests {
    use super::{LeadDemand, normal_deviate};

    /// Source: NIST/SEMATECH e-Handbook, 1.3.6.7.1, as printed.
    #[test]
    fn deviates_are_those_of_the_table() {
        for (p, printed) in [(0.5, 0.0), (0.975, 1.96), (0.95, 1.645), (0.1, -1.282)] {
            assert!((normal_deviate(p).unwrap() - printed).abs() < 5e-4, "{p}");
        }
    }

    #[test]
    fn figures_that_are_none_are_refused() {
        for (demand, demand_sd, lead, lead_sd) in [
            (-1.0, 0.0, 3.0, 0.0),
            (1.0, -1.0, 3.0, 0.0),
            (1.0, 1.0, 0.0, 0.0),
            (1.0, 1.0, -2.0, 0.0),
            (1.0, 1.0, 3.0, f64::NAN),
            (1e300, 1.0, 1e300, 0.0),
        ] {
            let refused = LeadDemand::over_lead(demand, demand_sd, lead, lead_sd);
            assert!(refused.is_err(), "{demand} {demand_sd} {lead} {lead_sd}");
        }
        let demand = LeadDemand::new(1.0, 1.0).unwrap();
        for target in [0.0, 1.0, f64::NAN, -1.0] {
            assert!(demand.reorder_point(target).is_err(), "{target}");
        }
        assert_eq!(
            LeadDemand::over_lead(1.0, 1.0, 0.0, 0.0)
                .unwrap_err()
                .to_string(),
            "The lead time must be a number above zero. Give one."
        );
    }
}
