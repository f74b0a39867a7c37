//! The Kaplan–Meier curve: the share that outlives each age, without any assumed shape.
//!
//! It serves the wear screen, which shows it beside the fit. It never smooths or reaches past the
//! largest age, and it counts every life alike, faded or not: it is what happened.

use super::{Life, Lives, count_f64};

/// One step of the curve, at an age where something failed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePoint {
    /// The age of the failures.
    pub age: f64,
    /// Lives that reached this age.
    pub at_risk: usize,
    /// Failures at this age.
    pub failures: usize,
    /// Share that outlives this age.
    pub survival: f64,
    /// Greenwood's standard error of that share; `None` where the share is 0 and has none.
    pub standard_error: Option<f64>,
}

/// The curve, one row for each age at which something failed.
///
/// Formula: S = ∏ (1 − dᵢ/nᵢ) over the failure ages so far, s.e. = S √(Σ dᵢ / (nᵢ (nᵢ − dᵢ))); at
/// equal ages failures come before those cut off. Source: E. L. Kaplan and P. Meier, J. Amer.
/// Statist. Assoc. 53 (1958), 457–481; M. Greenwood, Reports on Public Health 33 (1926).
#[must_use]
pub(crate) fn kaplan_meier(lives: &Lives) -> Vec<CurvePoint> {
    let mut sorted: Vec<Life> = lives.iter().copied().collect();
    sorted.sort_by(|a, b| a.age.total_cmp(&b.age));
    let mut curve = Vec::new();
    let mut at_risk = sorted.len();
    let mut survival = 1.0;
    let mut variance_sum = 0.0;
    for tied in sorted.chunk_by(|a, b| a.age >= b.age) {
        let failures = tied.iter().filter(|life| life.failed).count();
        if let (Some(first), true) = (tied.first(), failures > 0) {
            let (n, d) = (count_f64(at_risk), count_f64(failures));
            survival *= (n - d) / n;
            variance_sum += d / (n * (n - d));
            curve.push(CurvePoint {
                age: first.age,
                at_risk,
                failures,
                survival,
                standard_error: (failures < at_risk).then(|| survival * variance_sum.sqrt()),
            });
        }
        at_risk = at_risk.saturating_sub(tied.len());
    }
    curve
}

#[cfg(test)]
mod tests {
    use super::kaplan_meier;
    use crate::maths::life::{Life, Lives};

    fn lives(lives: &[Life]) -> Lives {
        Lives::new(lives.to_vec()).unwrap()
    }

    #[test]
    fn a_failure_counts_those_cut_off_at_the_same_age_as_at_risk() {
        let curve = kaplan_meier(&lives(&[
            Life::cut_off(2.0),
            Life::failed(2.0),
            Life::cut_off(3.0),
        ]));
        assert_eq!(curve.len(), 1);
        assert_eq!((curve[0].at_risk, curve[0].failures), (3, 1));
        assert!((curve[0].survival - 2.0 / 3.0).abs() < 1e-15);
    }

    #[test]
    fn the_last_failure_of_all_leaves_nothing_without_an_error() {
        let curve = kaplan_meier(&lives(&[Life::failed(1.0), Life::failed(1.0)]));
        assert_eq!(curve.len(), 1);
        assert_eq!((curve[0].survival, curve[0].standard_error), (0.0, None));
    }

    #[test]
    fn without_failures_there_is_no_curve() {
        assert!(kaplan_meier(&lives(&[Life::cut_off(1.0)])).is_empty());
    }

    /// Zero is one age whatever its sign.
    #[test]
    fn minus_zero_is_the_age_zero() {
        let curve = kaplan_meier(&lives(&[Life::failed(0.0), Life::failed(-0.0)]));
        assert_eq!(curve.len(), 1);
    }
}
