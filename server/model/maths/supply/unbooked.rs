//! Demand of jobs that are not booked yet, over lead time and review.
//!
//! It serves the keep levels. How many jobs come is not known, nor is their rate: the rate is believed
//! from the policy and the last weeks, and a level allows for both.

use super::count::{MEAN_MOST, checked_chances};
use super::error::{above_zero, at_least_zero, held};
use super::{CountDemand, SupplyError, VolumeDemand};
use crate::maths::life::count_f64;

/// The most jobs a horizon may hold on average: below it the chance of none is still a number.
pub(crate) const JOBS_MOST: i64 = 500;
/// The most pieces a single job may take.
pub(crate) const PIECES_MOST: i64 = 1_000;
/// Chances below this share of the largest are left out.
const CHANCE_LEAST: f64 = 1e-25;
/// The most terms the recursion may take, about a tenth of a second.
const TERMS_MOST: usize = 50_000_000;

/// What is believed of a routine's jobs before any are counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct JobsPolicy {
    /// Jobs per week.
    pub weekly_jobs: f64,
    /// Weeks' worth of trust in that.
    pub prior_weeks: f64,
}

/// How many jobs of a routine come: negative binomial, a Poisson count whose rate has a gamma belief.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct JobsAhead {
    shape: f64,
    scale: f64,
}

/// The belief about the jobs of the next `horizon_weeks`, from the counts of the last weeks.
///
/// Formula: rate ~ gamma(a, b) with a = weekly jobs × prior weeks + Σ counts, b = prior weeks + weeks;
/// jobs ~ negative binomial of size a and mean a·h/b. Source: A. Gelman et al., *Bayesian Data
/// Analysis*, 3rd ed. (2013), section 2.6.
///
/// # Errors
/// When the weekly jobs are below zero, the prior weeks not above it, the horizon below it, or more
/// than [`JOBS_MOST`] jobs are to be expected.
pub(crate) fn jobs_ahead(
    weekly_counts: &[u32],
    horizon_weeks: f64,
    policy: JobsPolicy,
) -> Result<JobsAhead, SupplyError> {
    let weekly = at_least_zero(policy.weekly_jobs, "The jobs per week")?;
    let prior = above_zero(policy.prior_weeks, "The weeks the jobs per week are worth")?;
    let horizon = at_least_zero(horizon_weeks, "The horizon in weeks")?;
    let counted: f64 = weekly_counts.iter().copied().map(f64::from).sum();
    let weeks = held(
        prior + count_f64(weekly_counts.len()),
        "The weeks looked at",
    )?;
    let jobs = JobsAhead {
        shape: held(weekly * prior + counted, "The jobs looked at")?,
        scale: held(horizon / weeks, "The horizon in weeks")?,
    };
    if jobs.mean() <= fettlebook_quantity::exact_f64(JOBS_MOST) {
        Ok(jobs)
    } else {
        Err(SupplyError::TooLarge {
            what: "The number of jobs ahead",
            most: JOBS_MOST,
        })
    }
}

impl JobsAhead {
    /// Mean number of jobs.
    #[must_use]
    pub(crate) fn mean(&self) -> f64 {
        self.shape * self.scale
    }

    /// Its variance.
    #[must_use]
    pub(crate) fn variance(&self) -> f64 {
        self.mean() * (1.0 + self.scale)
    }

    /// The volume the jobs take, each `mean` with `variance`, independent of each other.
    ///
    /// Formula: mean E\[N\] m, variance E\[N\] v + Var\[N\] m². Source: S. A. Klugman, H. H. Panjer and
    /// G. E. Willmot, *Loss Models*, 4th ed. (2012), section 9.3.
    ///
    /// # Errors
    /// When a figure is below zero or no number, or the result too large.
    pub(crate) fn volume(&self, mean: f64, variance: f64) -> Result<VolumeDemand, SupplyError> {
        let mean = at_least_zero(mean, "The mean use of a job")?;
        let variance = at_least_zero(variance, "The variance of the use of a job")?;
        VolumeDemand::new(
            held(self.mean() * mean, "The mean demand")?,
            held(
                self.mean() * variance + self.variance() * mean * mean,
                "The variance of the demand",
            )?,
        )
    }

    /// The pieces the jobs take, `per_job` being the chances that one takes none, one, two, …
    ///
    /// For pads those are the chances of retirements, [`poisson_binomial`](crate::maths::chance::poisson_binomial) of the chance
    /// of each pad to fail on a job. Formula: the recursion g(k) = Σ (a + b j/k) f(j) g(k − j) /
    /// (1 − a f(0)), exact for a negative binomial count. Source: H. H. Panjer, *Recursive evaluation of
    /// a family of compound distributions*, ASTIN Bulletin 12 (1981), 22–26.
    ///
    /// # Errors
    /// When the chances are none or do not add up to one, a job may take more than [`PIECES_MOST`], or
    /// more pieces than [`CountDemand`] counts are to be expected.
    pub(crate) fn pieces(&self, per_job: &[f64]) -> Result<CountDemand, SupplyError> {
        let per_job = checked_chances(per_job.to_vec())?;
        let most = i64::try_from(per_job.len()).unwrap_or(i64::MAX);
        if most.saturating_sub(1) > PIECES_MOST {
            return Err(SupplyError::TooLarge {
                what: "The number of pieces a job takes",
                most: PIECES_MOST,
            });
        }
        let of_job: f64 = (0_u32..).zip(&per_job).map(|(k, p)| f64::from(k) * p).sum();
        if of_job * self.mean() > fettlebook_quantity::exact_f64(MEAN_MOST) {
            return Err(SupplyError::TooLarge {
                what: "The mean demand for pieces",
                most: MEAN_MOST,
            });
        }
        let chances = self.recursion(&per_job).ok_or(SupplyError::TooLarge {
            what: "The number of pieces the jobs may take",
            most: MEAN_MOST,
        })?;
        Ok(CountDemand::normalised(chances))
    }

    /// Panjer's recursion, up to where what follows is negligible; `None` where that is too far.
    fn recursion(&self, per_job: &[f64]) -> Option<Vec<f64>> {
        let none = per_job.first().copied().unwrap_or(1.0);
        let spread = self.scale / (1.0 + self.scale);
        let first = (-self.shape * (self.scale * (1.0 - none)).ln_1p()).exp();
        let mut chances = vec![first];
        if self.mean() <= 0.0 || none >= 1.0 {
            return Some(chances);
        }
        let (mut largest, mut sum) = (first, first);
        while chances.len().saturating_mul(per_job.len()) < TERMS_MOST {
            let k = count_f64(chances.len());
            // Newest first, beside the pieces of one job from one on.
            let before = chances.iter().rev();
            let terms = (1_u32..).zip(per_job.iter().skip(1)).zip(before);
            let next = terms
                .map(|((j, p), g)| spread * (1.0 + (self.shape - 1.0) * f64::from(j) / k) * p * g);
            let next = (next.sum::<f64>() / (1.0 - spread * none)).max(0.0);
            chances.push(next);
            sum += next;
            largest = largest.max(next);
            let recent = chances.iter().rev().take(per_job.len());
            if sum > 0.5 && recent.fold(0.0, |most: f64, g| most.max(*g)) < CHANCE_LEAST * largest {
                return Some(chances);
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::{CountDemand, JobsAhead, JobsPolicy, jobs_ahead};
    use crate::maths::chance::poisson_binomial;

    const POLICY: JobsPolicy = JobsPolicy {
        weekly_jobs: 2.0,
        prior_weeks: 4.0,
    };

    fn jobs() -> JobsAhead {
        jobs_ahead(&[1, 3, 0, 2, 4, 2, 1, 3], 1.5, POLICY).unwrap()
    }

    /// Source: worked by hand: a = 8 + 16, b = 4 + 8, so 24·1.5/12 = 3 jobs, variance 3·(1 + 1/8).
    #[test]
    fn the_counts_of_the_last_weeks_are_weighed_with_the_policy() {
        assert!((jobs().mean() - 3.0).abs() < 1e-12);
        assert!((jobs().variance() - 3.375).abs() < 1e-12);
        let from_policy = jobs_ahead(&[], 1.0, POLICY).unwrap();
        assert!((from_policy.mean() - 2.0).abs() < 1e-12);
    }

    /// Source: scipy 1.17, `nbinom` of size 24 and p 8/9, summed over the number of jobs.
    #[test]
    fn pieces_agree_with_the_sum_over_jobs() {
        for (per_job, stock, enough, target, level) in [
            (&[0.2, 0.5, 0.3][..], 5, 0.831661008940, 0.99, 10),
            (
                &[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0][..],
                24,
                0.805851324952,
                0.95,
                36,
            ),
            (&[0.9, 0.1][..], 0, 0.742197068605, 0.999, 3),
            (&[0.25, 0.25, 0.25, 0.25][..], 8, 0.876004783662, 0.9, 9),
        ] {
            let pieces = jobs().pieces(per_job).unwrap();
            let ours = pieces.at_most(stock);
            assert!(
                (ours - enough).abs() < 1e-11,
                "{per_job:?}: {ours}, not {enough}"
            );
            assert_eq!(pieces.level(target), Ok(level), "{per_job:?}");
        }
    }

    fn variance_of(pieces: &CountDemand) -> f64 {
        let counts = (0_u32..).zip(pieces.chances());
        counts
            .map(|(count, chance)| (f64::from(count) - pieces.mean()).powi(2) * chance)
            .sum()
    }

    /// Source: the moments of a compound count.
    #[test]
    fn retired_pads_have_the_moments_of_a_compound_count() {
        let failures = [0.02, 0.1, 0.3, 0.05];
        let (mean, variance) = failures.iter().fold((0.0, 0.0), |(mean, variance), p| {
            (mean + p, variance + p * (1.0 - p))
        });
        let pads = jobs().pieces(&poisson_binomial(&failures)).unwrap();
        let same = jobs().volume(mean, variance).unwrap();
        assert!((pads.mean() - same.mean()).abs() < 1e-12);
        assert!((variance_of(&pads) - same.variance()).abs() < 1e-12);
    }

    #[test]
    fn many_jobs_still_have_chances() {
        let busy = jobs_ahead(&[400; 50], 1.2, POLICY).unwrap();
        let towels = busy.pieces(&[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]).unwrap();
        assert!((towels.mean() / (6.0 * busy.mean()) - 1.0).abs() < 1e-9);
        assert!((variance_of(&towels) / (36.0 * busy.variance()) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn without_jobs_or_use_nothing_is_needed() {
        let idle = JobsPolicy {
            weekly_jobs: 0.0,
            ..POLICY
        };
        let idle = jobs_ahead(&[0, 0], 2.0, idle).unwrap();
        assert_eq!(idle.pieces(&[0.0, 1.0]).unwrap().level(0.999), Ok(0));
        assert_eq!(idle.volume(40.0, 9.0).unwrap().level(0.999), Ok(0.0));
        assert_eq!(jobs().pieces(&[1.0]).unwrap().level(0.999), Ok(0));
        assert_eq!(jobs().volume(0.0, 0.0).unwrap().level(0.999), Ok(0.0));
    }

    #[test]
    fn figures_that_are_none_are_refused() {
        for (weekly_jobs, prior_weeks, horizon) in [
            (-1.0, 4.0, 1.0),
            (2.0, 0.0, 1.0),
            (2.0, 4.0, -1.0),
            (f64::NAN, 4.0, 1.0),
            (2.0, 4.0, f64::INFINITY),
            (600.0, 4.0, 1.0),
        ] {
            let policy = JobsPolicy {
                weekly_jobs,
                prior_weeks,
            };
            assert!(jobs_ahead(&[], horizon, policy).is_err());
        }
        let unknown = JobsPolicy {
            weekly_jobs: 0.01,
            prior_weeks: 1.0,
        };
        let endless = jobs_ahead(&[], 1e4, unknown).unwrap();
        let hundred = [vec![0.0; 100], vec![1.0]].concat();
        assert!(endless.pieces(&hundred).is_err());
        assert!(jobs().pieces(&[]).is_err());
        assert!(jobs().pieces(&[0.5, 0.6]).is_err());
        assert!(jobs().pieces(&[0.0; 2_000]).is_err());
        assert!(jobs().volume(-1.0, 1.0).is_err());
        assert!(jobs().volume(f64::MAX, 1.0).is_err());
    }
}
