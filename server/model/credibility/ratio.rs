//! The ratio of totals, with how far it can be wrong.
//!
//! It serves the credibility, which shrinks it, and stands alone where nothing is believed before. It
//! is not the mean of ratios and no least-squares line: large jobs count by their size.

use statrs::function::beta::checked_beta_reg;
use statrs::function::erf::erfc_inv;

use super::Span;
use crate::life::{Limits, count_f64};
use crate::root::root;

/// A ratio of totals R = Σy / Σx and the spans it is from.
#[derive(Clone, Debug, PartialEq)]
pub struct RatioFit {
    spans: Vec<Span>,
    planned: f64,
    ratio: f64,
}

impl RatioFit {
    /// From the spans that tell something ([`Span::is_telling`]); `None` where there is none, or where
    /// their sums are beyond the largest number.
    #[must_use]
    pub fn new(spans: &[Span]) -> Option<Self> {
        let spans: Vec<Span> = spans.iter().copied().filter(Span::is_telling).collect();
        let planned: f64 = spans.iter().map(|span| span.planned).sum();
        let actual: f64 = spans.iter().map(|span| span.actual).sum();
        let ratio = actual / planned;
        (planned.is_finite() && ratio.is_finite()).then_some(Self {
            spans,
            planned,
            ratio,
        })
    }

    /// The ratio R.
    #[must_use]
    pub const fn ratio(&self) -> f64 {
        self.ratio
    }

    /// Everything planned, Σx.
    #[must_use]
    pub const fn planned(&self) -> f64 {
        self.planned
    }

    /// Mean plan of a span.
    #[must_use]
    pub fn mean_planned(&self) -> f64 {
        self.planned / count_f64(self.spans.len())
    }

    /// How many spans it is from.
    #[must_use]
    pub const fn spans(&self) -> usize {
        self.spans.len()
    }

    /// Variance of use per unit planned: σ² = Σ x (y/x − R)² / (n − 1). `None` with fewer than two
    /// spans, or beyond the largest number.
    #[must_use]
    pub fn process_variance(&self) -> Option<f64> {
        let free = self.degrees_of_freedom()?;
        let squares = self.spans.iter().map(|span| {
            let off = span.actual / span.planned - self.ratio;
            span.planned * off * off
        });
        let variance = squares.sum::<f64>() / free;
        variance.is_finite().then_some(variance)
    }

    fn degrees_of_freedom(&self) -> Option<f64> {
        let free = count_f64(self.spans.len()) - 1.0;
        (free > 0.0).then_some(free)
    }

    /// Standard error of the ratio if the variance grows with the plan: √(σ² / Σx).
    #[must_use]
    pub fn standard_error(&self) -> Option<f64> {
        let variance = self.process_variance()?;
        Some((variance / self.planned).sqrt())
    }

    /// Pull of each span on the ratio: (y − R x) / mean x. Source: W. G. Cochran, *Sampling
    /// Techniques*, 3rd ed. (1977), ch. 6.
    #[must_use]
    pub fn influence(&self) -> Vec<f64> {
        let mean = self.mean_planned();
        let pull = |span: &Span| (span.actual - self.ratio * span.planned) / mean;
        self.spans.iter().map(pull).collect()
    }

    /// Standard error of the ratio whatever the variance depends on: √(Σ influence²) / n.
    #[must_use]
    pub fn linearised_standard_error(&self) -> f64 {
        let squares: f64 = self.influence().iter().map(|pull| pull * pull).sum();
        squares.sqrt() / count_f64(self.spans.len())
    }

    /// Central interval of the ratio with the linearised error, normal; `None` unless
    /// 0 < `confidence` < 1, or beyond the largest number.
    #[must_use]
    pub fn ratio_interval(&self, confidence: f64) -> Option<Limits> {
        let outside = outside(confidence)?;
        let deviate = std::f64::consts::SQRT_2 * erfc_inv(outside);
        let reach = deviate * self.linearised_standard_error();
        around(self.ratio, reach)
    }

    /// Central interval for the use of one more job of this plan: R x ± t √(σ² x + x² σ² / Σx), t
    /// Student's with n − 1 degrees of freedom. `None` with fewer than two spans, for a plan that is
    /// not above zero, unless 0 < `confidence` < 1, or beyond the largest
    /// number.
    #[must_use]
    pub fn job_interval(&self, planned: f64, confidence: f64) -> Option<Limits> {
        if !(planned.is_finite() && planned > 0.0) {
            return None;
        }
        let variance = self.process_variance()?;
        let deviate = student_deviate(self.degrees_of_freedom()?, outside(confidence)?)?;
        let spread = (variance * planned * (1.0 + planned / self.planned)).sqrt();
        around(self.ratio * planned, deviate * spread)
    }
}

/// What a central interval leaves outside, strictly between 0 and 1.
fn outside(confidence: f64) -> Option<f64> {
    let outside = 1.0 - confidence;
    (outside > 0.0 && outside < 1.0).then_some(outside)
}

/// `None` beyond the largest number.
fn around(middle: f64, reach: f64) -> Option<Limits> {
    (middle.is_finite() && reach.is_finite()).then_some(Limits {
        lower: middle - reach,
        upper: middle + reach,
    })
}

/// The t that Student's distribution exceeds in size with probability `outside`: the root of
/// I(ν / (ν + t²); ν/2, 1/2) = `outside`, sought in ln t.
fn student_deviate(free: f64, outside: f64) -> Option<f64> {
    let too_near = |ln_t: f64| {
        let t2 = (2.0 * ln_t).exp();
        let beyond = checked_beta_reg(0.5 * free, 0.5, free / (free + t2));
        beyond.map_or(f64::NAN, f64::ln) - outside.ln()
    };
    root(too_near, -40.0, 40.0).map(f64::exp)
}

#[cfg(test)]
mod tests {
    use super::{RatioFit, student_deviate};
    use crate::credibility::Span;

    /// Source: Student's table as printed in the NIST/SEMATECH e-Handbook, 1.3.6.7.2.
    #[test]
    fn deviates_are_those_of_the_table() {
        for (free, outside, printed) in [
            (1.0, 0.05, 12.706),
            (5.0, 0.05, 2.571),
            (10.0, 0.01, 3.169),
            (100.0, 0.1, 1.660),
        ] {
            let ours = student_deviate(free, outside).unwrap();
            assert!((ours - printed).abs() <= 5.1e-4, "{free}: {ours}");
        }
    }

    #[test]
    fn one_span_has_a_ratio_but_no_scatter() {
        let span = Span {
            planned: 40.0,
            actual: 50.0,
        };
        let fit = RatioFit::new(&[span]).unwrap();
        assert_eq!(fit.ratio(), 1.25);
        assert_eq!(fit.process_variance(), None);
        assert_eq!(fit.job_interval(40.0, 0.95), None);
        assert_eq!(RatioFit::new(&[]), None);
    }
}
