//! The mean of a few figures, with limits by Student's t.

use statrs::distribution::{ContinuousCDF as _, StudentsT};

use crate::maths::life::count_f64;

/// A mean and the limits that hold the true one with some confidence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct MeanLimits {
    /// Mean of the figures.
    pub(crate) mean: f64,
    /// Lower limit.
    pub(crate) low: f64,
    /// Upper limit.
    pub(crate) high: f64,
}

/// The mean of figures; nothing of none.
#[must_use]
pub(crate) fn mean(figures: &[f64]) -> Option<f64> {
    (!figures.is_empty()).then(|| figures.iter().sum::<f64>() / count_f64(figures.len()))
}

/// The mean with limits on both sides that hold the true mean with this confidence, 0 to 1.
///
/// Formula: d̄ ± t((1 + confidence)/2; n − 1) · s/√n with s² = Σ(dᵢ − d̄)²/(n − 1). Source: NIST/SEMATECH
/// e-Handbook of Statistical Methods, 1.3.5.2 (confidence limits for the mean) and 7.3.1.1 (paired
/// observations). Nothing of fewer than two figures, or where one is not finite.
#[must_use]
pub(crate) fn mean_limits(figures: &[f64], confidence: f64) -> Option<MeanLimits> {
    if figures.len() < 2 || !figures.iter().all(|one| one.is_finite()) {
        return None;
    }
    let count = count_f64(figures.len());
    let mean = mean(figures)?;
    let squares: f64 = figures.iter().map(|one| (one - mean) * (one - mean)).sum();
    let error = (squares / (count - 1.0) / count).sqrt();
    let half = t_quantile(f64::midpoint(1.0, confidence), count - 1.0)? * error;
    Some(MeanLimits {
        mean,
        low: mean - half,
        high: mean + half,
    })
}

/// The value that Student's t of so many degrees of freedom stays below with this probability.
fn t_quantile(probability: f64, freedom: f64) -> Option<f64> {
    let student = StudentsT::new(0.0, 1.0, freedom).ok()?;
    let is_inside = probability > 0.0 && probability < 1.0;
    is_inside.then(|| student.inverse_cdf(probability))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, told: f64, within: f64) {
        assert!((found - told).abs() <= within, "{found} for {told}");
    }

    /// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, upper critical values of Student's t
    /// distribution, to three decimals.
    #[test]
    fn the_quantiles_are_those_of_the_table() {
        for (freedom, at_90, at_95, at_975) in [
            (1.0, 3.078, 6.314, 12.706),
            (2.0, 1.886, 2.920, 4.303),
            (4.0, 1.533, 2.132, 2.776),
            (5.0, 1.476, 2.015, 2.571),
            (9.0, 1.383, 1.833, 2.262),
            (10.0, 1.372, 1.812, 2.228),
            (18.0, 1.330, 1.734, 2.101),
            (30.0, 1.310, 1.697, 2.042),
            (100.0, 1.290, 1.660, 1.984),
        ] {
            close(t_quantile(0.90, freedom).unwrap(), at_90, 5e-4);
            close(t_quantile(0.95, freedom).unwrap(), at_95, 5e-4);
            close(t_quantile(0.975, freedom).unwrap(), at_975, 5e-4);
        }
    }

    /// Source: scipy 1.17.1, `scipy.stats.t.ppf`.
    #[test]
    fn the_quantiles_are_those_of_another_library() {
        for (probability, freedom, told) in [
            (0.90, 1.0, 3.077_683_537_175),
            (0.90, 4.0, 1.533_206_274_059),
            (0.95, 4.0, 2.131_846_786_327),
            (0.95, 7.0, 1.894_578_605_090),
            (0.95, 18.0, 1.734_063_606_618),
            (0.95, 60.0, 1.670_648_864_905),
            (0.975, 7.0, 2.364_624_251_593),
            (0.975, 18.0, 2.100_922_040_241),
        ] {
            close(t_quantile(probability, freedom).unwrap(), told, 1e-8);
        }
    }

    /// Source: the hours of sleep gained by ten people with two remedies, published in 1908 with the first account
    /// of the t distribution (Biometrika 6, 1–25), and their paired differences as the statistics system R tells
    /// them for its data set `sleep`: mean 1.58, 95 % from 0.7001142 to 2.4598858. At 90 %: scipy 1.17.1,
    /// `scipy.stats.ttest_rel(...).confidence_interval(0.9)`.
    #[test]
    fn paired_differences_have_the_limits_that_were_published() {
        let one = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
        let other = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
        let gained: Vec<f64> = one
            .iter()
            .zip(other)
            .map(|(one, other)| other - one)
            .collect();
        let at_95 = mean_limits(&gained, 0.95).unwrap();
        close(at_95.mean, 1.58, 1e-12);
        close(at_95.low, 0.700_114_2, 5e-8);
        close(at_95.high, 2.459_885_8, 5e-8);
        let at_90 = mean_limits(&gained, 0.90).unwrap();
        close(at_90.low, 0.866_994_732_971, 1e-8);
        close(at_90.high, 2.293_005_267_029, 1e-8);
    }

    #[test]
    fn a_lone_figure_has_no_limits_and_equal_ones_have_none_between_them() {
        assert_eq!(mean_limits(&[3.0], 0.9), None);
        assert_eq!(mean_limits(&[3.0, f64::NAN], 0.9), None);
        assert_eq!(mean(&[]), None);
        let same = mean_limits(&[3.0, 3.0, 3.0], 0.9).unwrap();
        assert_eq!((same.mean, same.low, same.high), (3.0, 3.0, 3.0));
        assert_eq!(t_quantile(1.0, 4.0), None);
    }
}
