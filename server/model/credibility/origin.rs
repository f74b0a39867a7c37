//! The line through the origin by least squares, the other way to find a rate.
//!
//! It serves the comparison with the ratio of totals. It holds where every job is off by the same amount
//! whatever its size; with liquids large jobs are off by more, so the ratio is what the book uses.

use super::Span;
use crate::life::count_f64;

/// A line y = b x fitted to spans.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OriginFit {
    /// Slope b = Σxy / Σx².
    pub slope: f64,
    /// Standard error of the slope: residual sd / √Σx².
    pub standard_error: f64,
    /// Standard deviation of the residuals: √(Σ(y − b x)² / (n − 1)).
    pub residual_sd: f64,
    /// Share of Σy² that the line explains; not about the mean.
    pub r2_uncentred: f64,
}

impl OriginFit {
    /// From the spans that tell something ([`Span::is_telling`]); `None` with fewer than two, without any
    /// use, or where a figure is beyond the largest number.
    #[must_use]
    pub fn new(spans: &[Span]) -> Option<Self> {
        let spans: Vec<&Span> = spans.iter().filter(|span| span.is_telling()).collect();
        let sum =
            |figure: &dyn Fn(&Span) -> f64| -> f64 { spans.iter().map(|span| figure(span)).sum() };
        let planned2 = sum(&|span| span.planned * span.planned);
        let actual2 = sum(&|span| span.actual * span.actual);
        let slope = sum(&|span| span.planned * span.actual) / planned2;
        let left = sum(&|span| {
            let off = span.actual - slope * span.planned;
            off * off
        });
        let free = count_f64(spans.len()) - 1.0;
        let residual_sd = (left / free).sqrt();
        let fit = Self {
            slope,
            standard_error: residual_sd / planned2.sqrt(),
            residual_sd,
            r2_uncentred: 1.0 - left / actual2,
        };
        let figures = [
            planned2,
            slope,
            fit.standard_error,
            residual_sd,
            fit.r2_uncentred,
        ];
        (free > 0.0 && figures.iter().all(|figure| figure.is_finite())).then_some(fit)
    }
}

#[cfg(test)]
mod tests {
    use super::OriginFit;
    use crate::credibility::Span;

    fn span(planned: f64, actual: f64) -> Span {
        Span { planned, actual }
    }

    #[test]
    fn spans_on_a_line_have_no_residual() {
        let fit = OriginFit::new(&[span(1.0, 3.0), span(2.0, 6.0)]).unwrap();
        assert_eq!(
            (fit.slope, fit.residual_sd, fit.r2_uncentred),
            (3.0, 0.0, 1.0)
        );
    }

    #[test]
    fn spans_that_teach_nothing_have_no_line() {
        assert_eq!(OriginFit::new(&[]), None);
        assert_eq!(OriginFit::new(&[span(1.0, 3.0)]), None);
        assert_eq!(OriginFit::new(&[span(1.0, 3.0), span(0.0, 3.0)]), None);
        assert_eq!(OriginFit::new(&[span(1.0, 0.0), span(2.0, 0.0)]), None);
        assert_eq!(OriginFit::new(&[span(1e300, 1.0), span(1e300, 1.0)]), None);
    }
}
