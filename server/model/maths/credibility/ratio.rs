//! The ratio of totals, with how far it can be wrong.
//!
//! The credibility shrinks it. It
//! is not the mean of ratios and no least-squares line: large jobs count by their size.

use super::Span;
use crate::maths::life::count_f64;

/// A ratio of totals R = Σy / Σx and the spans it is from.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct RatioFit {
    spans: Vec<Span>,
    planned: f64,
    ratio: f64,
}

impl RatioFit {
    /// From the spans that tell something ([`Span::is_telling`]); `None` where there is none, or where
    /// their sums are beyond the largest number.
    #[must_use]
    pub(crate) fn new(spans: &[Span]) -> Option<Self> {
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
    pub(crate) const fn ratio(&self) -> f64 {
        self.ratio
    }

    /// Everything planned, Σx.
    #[must_use]
    pub(crate) const fn planned(&self) -> f64 {
        self.planned
    }

    /// Mean plan of a span.
    #[must_use]
    pub(crate) fn mean_planned(&self) -> f64 {
        self.planned / count_f64(self.spans.len())
    }

    /// How many spans it is from.
    #[must_use]
    pub(crate) const fn spans(&self) -> usize {
        self.spans.len()
    }

    /// Variance of use per unit planned: σ² = Σ x (y/x − R)² / (n − 1). `None` with fewer than two
    /// spans, or beyond the largest number.
    #[must_use]
    pub(crate) fn process_variance(&self) -> Option<f64> {
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
}

#[cfg(test)]
mod tests {
    use super::RatioFit;
    use crate::maths::credibility::Span;

    #[test]
    fn one_span_has_a_ratio_but_no_scatter() {
        let span = Span {
            planned: 40.0,
            actual: 50.0,
        };
        let fit = RatioFit::new(&[span]).unwrap();
        assert_eq!(fit.ratio(), 1.25);
        assert_eq!(fit.process_variance(), None);
        assert_eq!(RatioFit::new(&[]), None);
    }
}
