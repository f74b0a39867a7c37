//! What a shop really uses of a liquid, from what was planned and what the weigh-ins show.
//!
//! It serves the plan, the check and the quote. Units are the caller's, the same for plan and use; the
//! book counts in microlitres. Few weigh-ins must not overrule the plan: the ratio found is trusted
//! only as far as it has earned.

mod predicted;
mod ratio;

pub(crate) use predicted::Predicted;
pub(crate) use ratio::RatioFit;

/// Planned and actual use between two weighings of a bottle, over one job or several.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// What the plans of its jobs add up to: Σx.
    pub planned: f64,
    /// What the weighings say was used: Σy.
    pub actual: f64,
}

impl Span {
    /// Whether it can teach anything: something was planned, and both figures are finite.
    #[must_use]
    pub(crate) fn is_telling(&self) -> bool {
        self.planned.is_finite()
            && self.planned > 0.0
            && self.actual.is_finite()
            && self.actual >= 0.0
    }
}

/// How far the weigh-ins are trusted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct CredibilitySettings {
    /// Standard deviation τ of the ratio of use to plan from one liquid to another.
    pub ratio_sd: f64,
    /// Jobs' worth of plan at which weigh-ins and plan weigh the same, until there are enough.
    pub prior_jobs: f64,
    /// Spans from which on the scatter of the weigh-ins themselves decides.
    pub data_jobs_from: usize,
}

/// The least scatter that is believed, as the share of a typical job that is one standard deviation:
/// weigh-ins that agree by chance must not pass for certainty. Derived: a scale that reads whole grams
/// against a job of 50 mL.
pub(crate) const SCATTER_LEAST: f64 = 0.02;

/// What is believed of the ratio of use to plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct UseBelief {
    /// Ratio of totals R = Σy / Σx; `None` without a telling span.
    pub ratio: Option<f64>,
    /// Credibility Z of that ratio, from 0 to 1.
    pub credibility: f64,
    /// The factor on a plan: Z·R + (1 − Z) × what was believed before.
    pub factor: f64,
    /// Variance of a job's use per unit planned, σ².
    pub process_variance: f64,
    /// Variance of the ratio from one liquid to another, τ².
    pub ratio_variance: f64,
    /// Telling spans it rests on.
    pub spans: usize,
}

/// The belief about a liquid's use, the plan (a factor of 1) being what is believed before.
///
/// Formula: Z = Σx / (Σx + K) with K = σ² / τ². From `data_jobs_from` spans on σ² = Σ x (y/x − R)² /
/// (n − 1), at least [`SCATTER_LEAST`]² × a typical job; before that K = `prior_jobs` × a typical
/// job. `typical_planned` is the mean plan of a job; where it is not above zero, the mean of the spans
/// stands for it. Spans that tell nothing ([`Span::is_telling`]) are left out, and settings that are
/// not above zero count as zero: then the plan stands. Source: H. Bühlmann and E. Straub,
/// *Glaubwürdigkeit für Schadensätze*, Bull. Swiss Assoc. Actuaries 70 (1970), 111–133.
#[must_use]
pub(crate) fn use_belief(
    spans: &[Span],
    typical_planned: f64,
    settings: CredibilitySettings,
) -> UseBelief {
    let fit = RatioFit::new(spans);
    let ratio_variance = not_below_zero(settings.ratio_sd) * not_below_zero(settings.ratio_sd);
    let typical = typical_job(typical_planned, fit.as_ref());
    let process_variance = fit
        .as_ref()
        .filter(|fit| fit.spans() >= settings.data_jobs_from)
        .and_then(RatioFit::process_variance)
        .map_or_else(
            || ratio_variance * not_below_zero(settings.prior_jobs) * typical,
            |from_data| from_data.max(SCATTER_LEAST * SCATTER_LEAST * typical),
        );
    UseBelief::new(fit.as_ref(), 1.0, process_variance, ratio_variance)
}

fn typical_job(stated: f64, fit: Option<&RatioFit>) -> f64 {
    if stated.is_finite() && stated > 0.0 {
        stated
    } else {
        fit.map_or(0.0, RatioFit::mean_planned)
    }
}

/// A figure held between zero and the largest number; what is no number counts as zero.
fn not_below_zero(figure: f64) -> f64 {
    if figure.is_nan() {
        0.0
    } else {
        figure.clamp(0.0, f64::MAX)
    }
}

impl UseBelief {
    /// The belief where both variances are known, `before` being the factor believed without data.
    ///
    /// Formula: Z = Σx / (Σx + σ²/τ²), exact for normal use and a normal ratio. Without any variance
    /// of the ratio Z is 0. A variance that is no number counts as zero.
    #[must_use]
    pub(crate) fn new(
        fit: Option<&RatioFit>,
        before: f64,
        process_variance: f64,
        ratio_variance: f64,
    ) -> Self {
        let process_variance = not_below_zero(process_variance);
        let ratio_variance = not_below_zero(ratio_variance);
        let credibility = fit.map_or(0.0, |fit| {
            let told = fit.planned() * ratio_variance;
            // Written so that an endless `told` is full trust; without any it is none, also where
            // the process has no variance either.
            if told > 0.0 {
                1.0 / (1.0 + process_variance / told)
            } else {
                0.0
            }
        });
        let ratio = fit.map(RatioFit::ratio);
        Self {
            ratio,
            credibility,
            factor: credibility * ratio.unwrap_or(before) + (1.0 - credibility) * before,
            process_variance,
            ratio_variance,
            spans: fit.map_or(0, RatioFit::spans),
        }
    }

    /// What a job will use whose plan is `planned`: mean factor × x, variance σ² x + τ² (1 − Z) x².
    ///
    /// A plan that is not above zero uses nothing.
    #[must_use]
    pub(crate) fn predict(&self, planned: f64) -> Predicted {
        let x = not_below_zero(planned);
        Predicted {
            mean: self.factor * x,
            variance: self.process_variance * x
                + self.ratio_variance * (1.0 - self.credibility) * x * x,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{CredibilitySettings, Span, UseBelief, use_belief};

    const SETTINGS: CredibilitySettings = CredibilitySettings {
        ratio_sd: 0.15,
        prior_jobs: 3.0,
        data_jobs_from: 5,
    };

    fn believed(uses: &[f64]) -> UseBelief {
        let spans: Vec<Span> = uses
            .iter()
            .map(|actual| Span {
                planned: 50.0,
                actual: *actual,
            })
            .collect();
        use_belief(&spans, 50.0, SETTINGS)
    }

    #[test]
    fn without_weigh_ins_the_plan_stands() {
        let belief = believed(&[]);
        assert_eq!((belief.ratio, belief.factor), (None, 1.0));
        assert_eq!(belief.credibility, 0.0);
    }

    /// Source: by hand: K is three typical jobs, so three jobs weigh as much as the plan.
    #[test]
    fn three_jobs_weigh_as_much_as_the_plan() {
        let belief = believed(&[60.0, 60.0, 60.0]);
        assert!((belief.credibility - 0.5).abs() < 1e-15);
        assert!((belief.factor - 1.1).abs() < 1e-15);
    }

    #[test]
    fn from_five_jobs_on_their_own_scatter_decides() {
        let steady = believed(&[60.0, 61.0, 59.0, 60.5, 59.5]);
        let wild = believed(&[20.0, 100.0, 60.0, 90.0, 30.0]);
        assert_eq!(steady.ratio, wild.ratio);
        assert!(steady.credibility > 0.9, "{}", steady.credibility);
        assert!(wild.credibility < 0.5, "{}", wild.credibility);
    }

    #[test]
    fn weigh_ins_that_agree_by_chance_do_not_pass_for_certainty() {
        let belief = believed(&[60.0; 8]);
        assert!(belief.credibility < 1.0);
        let job = belief.predict(50.0);
        assert!(job.variance.sqrt() >= 0.02 * 50.0, "{}", job.variance);
        assert!(job.at_most(60.0) < 0.99);
    }

    #[test]
    fn spans_that_tell_nothing_are_left_out() {
        let told = Span {
            planned: 50.0,
            actual: 60.0,
        };
        let nothing = |planned, actual| Span { planned, actual };
        let spans = [
            told,
            nothing(0.0, 5.0),
            nothing(f64::NAN, 5.0),
            nothing(50.0, -1.0),
            nothing(50.0, f64::INFINITY),
        ];
        let belief = use_belief(&spans, 50.0, SETTINGS);
        assert_eq!(belief, use_belief(&[told], 50.0, SETTINGS));
        assert_eq!(belief.spans, 1);
    }

    #[test]
    fn without_a_typical_job_the_spans_stand_for_one() {
        let span = Span {
            planned: 50.0,
            actual: 60.0,
        };
        let by_spans = use_belief(&[span], f64::NAN, SETTINGS);
        assert_eq!(by_spans, use_belief(&[span], 50.0, SETTINGS));
    }
}
