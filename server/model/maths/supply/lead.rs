//! What past deliveries teach about a supplier's lead time.
//!
//! It serves the latest order date. Few deliveries must not overrule what the supplier states, nor may
//! a promise outlive many late ones.

use fettlebook_quantity::{exact_f64, round_to_i64};

use super::SupplyError;
use super::error::{above_zero, count_within, held, share};
use super::order_date::DAYS_MOST;
use super::volume::VolumeDemand;
use crate::maths::life::count_f64;

/// How far a stated lead time is trusted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LeadPolicy {
    /// Deliveries' worth of trust in what is stated.
    pub prior_deliveries: f64,
    /// Standard deviation about the stated lead time, in days, before any delivery.
    pub prior_sd_days: f64,
}

/// What is believed of a lead time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LeadBelief {
    /// Mean, days.
    pub mean_days: f64,
    /// Standard deviation of the next delivery's lead time, days.
    pub sd_days: f64,
    /// Deliveries it rests on.
    pub deliveries: usize,
}

/// The belief from the stated lead time and what deliveries really took, in whole days.
///
/// Formula, with k the prior's deliveries, s its standard deviation and n, x̄, SS the number, mean and
/// squares about the mean of the real ones: mean = (k·stated + n·x̄)/(k + n), σ² = (k s² + SS +
/// k n/(k + n)·(x̄ − stated)²)/(k + n), and the next one varies by σ²·(1 + 1/(k + n)), as without
/// deliveries by s²·(1 + 1/k). Source: the conjugate normal belief, A. Gelman et al., *Bayesian Data
/// Analysis*, 3rd ed. (2013), section 3.3, with k for both its weights.
///
/// # Errors
/// When the stated lead time is not from 1 to [`DAYS_MOST`] days, a delivery's not from 0, or a figure
/// of the policy is not above zero.
pub(crate) fn lead_belief(
    stated_days: i64,
    deliveries_days: &[i64],
    policy: LeadPolicy,
) -> Result<LeadBelief, SupplyError> {
    let stated = count_within(stated_days, DAYS_MOST, "The stated lead time in days")?;
    let stated = above_zero(exact_f64(stated), "The stated lead time in days")?;
    let prior = above_zero(
        policy.prior_deliveries,
        "The deliveries a stated lead time is worth",
    )?;
    let prior_sd = above_zero(policy.prior_sd_days, "The spread about a stated lead time")?;
    let mut taken = Vec::with_capacity(deliveries_days.len());
    for days in deliveries_days {
        let days = count_within(*days, DAYS_MOST, "The lead time of a delivery in days")?;
        taken.push(exact_f64(days));
    }
    let count = count_f64(taken.len());
    let sum: f64 = taken.iter().sum();
    let seen = if taken.is_empty() {
        stated
    } else {
        sum / count
    };
    let squares: f64 = taken.iter().map(|days| (days - seen) * (days - seen)).sum();
    let weight = prior + count;
    let off = seen - stated;
    let pull = prior * (count / weight) * off * off;
    let variance = (prior * prior_sd * prior_sd + squares + pull) / weight;
    Ok(LeadBelief {
        mean_days: held((prior * stated + sum) / weight, "The mean lead time")?,
        sd_days: held(
            (variance * (1.0 + 1.0 / weight)).sqrt(),
            "The spread of the lead time",
        )?,
        deliveries: taken.len(),
    })
}

impl LeadBelief {
    /// Whole days within which the next delivery comes with probability `target`: the quantile of a
    /// gamma with these moments, rounded up.
    ///
    /// # Errors
    /// Unless 0 < `target` < 1, or when the result is beyond [`DAYS_MOST`].
    pub(crate) fn planning_days(&self, target: f64) -> Result<i64, SupplyError> {
        let target = share(target, "The target")?;
        let days = VolumeDemand::new(self.mean_days, self.sd_days * self.sd_days)?.level(target)?;
        // A quantile that is a whole day but for rounding is that day.
        count_within(
            round_to_i64((days - 1e-9).ceil()),
            DAYS_MOST,
            "The lead time in days",
        )
    }
}

#[cfg(test)]
mod tests {
    use super::{LeadPolicy, lead_belief};

    const POLICY: LeadPolicy = LeadPolicy {
        prior_deliveries: 3.0,
        prior_sd_days: 1.0,
    };

    /// Source: worked by hand: mean (3·3 + 2·5.5)/5 = 4, σ² = (3 + 0.5 + 6/5·6.25)/5 = 2.2, times 6/5.
    #[test]
    fn late_deliveries_pull_the_stated_time_by_their_number() {
        let belief = lead_belief(3, &[5, 6], POLICY).unwrap();
        assert!((belief.mean_days - 4.0).abs() < 1e-12);
        assert!((belief.sd_days - 2.64_f64.sqrt()).abs() < 1e-12);
        assert_eq!(belief.deliveries, 2);
    }

    /// Source: scipy 1.17, `gamma.ppf` at the belief's moments: 4.540… before any delivery.
    #[test]
    fn the_planning_time_is_in_whole_days_and_settles_with_deliveries() {
        let before = lead_belief(3, &[], POLICY).unwrap();
        assert_eq!(before.mean_days, 3.0);
        assert_eq!(before.planning_days(0.9), Ok(5));
        let after = lead_belief(3, &[3; 200], POLICY).unwrap();
        assert_eq!(after.planning_days(0.9), Ok(4));
        let late = lead_belief(3, &[8; 200], POLICY).unwrap();
        assert!(late.planning_days(0.9).unwrap() >= 8);
    }

    #[test]
    fn times_and_policies_that_are_none_are_refused() {
        for (stated, taken) in [(0, 1), (-1, 1), (i64::MAX, 1), (3, -1), (3, i64::MAX)] {
            assert!(
                lead_belief(stated, &[taken], POLICY).is_err(),
                "{stated} {taken}"
            );
        }
        for (prior_deliveries, prior_sd_days) in [(0.0, 1.0), (f64::NAN, 1.0), (3.0, -1.0)] {
            let policy = LeadPolicy {
                prior_deliveries,
                prior_sd_days,
            };
            assert!(lead_belief(3, &[], policy).is_err());
        }
        let belief = lead_belief(3, &[], POLICY).unwrap();
        assert!(belief.planning_days(1.0).is_err());
    }
}
