//! Laws of what liquids really use: the factor lies between plan and ratio, chances are chances.

use crate::maths::credibility::{CredibilitySettings, Span, UseBelief, use_belief};
use proptest::prelude::{Strategy, prop, prop_assert, proptest};

use super::figures::anything;

const SETTINGS: CredibilitySettings = CredibilitySettings {
    ratio_sd: 0.15,
    prior_jobs: 3.0,
    data_jobs_from: 5,
};

fn spans(
    planned: impl Strategy<Value = f64>,
    actual: impl Strategy<Value = f64>,
) -> impl Strategy<Value = Vec<Span>> {
    let span = (planned, actual).prop_map(|(planned, actual)| Span { planned, actual });
    prop::collection::vec(span, 0..15)
}

fn is_chance(p: f64) -> bool {
    (0.0..=1.0).contains(&p)
}

proptest! {
    #[test]
    fn any_weigh_ins_and_settings_give_a_factor_and_chances(
        spans in spans(anything(), anything()),
        typical in anything(),
        ratio_sd in anything(),
        prior_jobs in anything(),
        planned in anything(),
        amount in anything(),
        p in anything(),
    ) {
        let settings = CredibilitySettings { ratio_sd, prior_jobs, data_jobs_from: 5 };
        let belief = use_belief(&spans, typical, settings);
        prop_assert!(is_chance(belief.credibility), "{:?}", belief);
        prop_assert!(belief.factor >= 0.0 && belief.factor.is_finite(), "{:?}", belief);
        prop_assert!(belief.process_variance >= 0.0 && belief.ratio_variance >= 0.0);
        let job = belief.predict(planned);
        prop_assert!(job.mean >= 0.0 && job.variance >= 0.0, "{:?}", job);
        prop_assert!(is_chance(job.at_most(amount)), "{:?}", job);
        prop_assert!(job.quantile(p) >= 0.0, "{:?}", job);
    }

    #[test]
    fn the_factor_lies_between_the_plan_and_the_ratio(
        spans in spans(5.0..120.0, 0.0..200.0),
    ) {
        let belief = use_belief(&spans, 50.0, SETTINGS);
        let ratio = belief.ratio.unwrap_or(1.0);
        prop_assert!(belief.factor >= f64::min(1.0, ratio) - 1e-12);
        prop_assert!(belief.factor <= f64::max(1.0, ratio) + 1e-12);
    }

    #[test]
    fn quantiles_rise_and_are_undone_by_the_chance(
        spans in spans(5.0..120.0, 1.0..200.0),
        planned in 1.0..200.0,
        p in 0.001..0.999,
        q in 0.001..0.999,
    ) {
        let job = use_belief(&spans, 50.0, SETTINGS).predict(planned);
        let (low, high) = (f64::min(p, q), f64::max(p, q));
        prop_assert!(job.quantile(low) <= job.quantile(high));
        // A use so uncertain that the quantile is too small to hold has none to undo.
        if job.quantile(p).is_normal() {
            prop_assert!((job.at_most(job.quantile(p)) - p).abs() < 1e-9, "{:?}", job);
        }
    }

    /// Source: the definition: a weigh-in like the plan pulls towards it, the unit does not matter.
    #[test]
    fn the_unit_of_the_liquid_does_not_matter(
        spans in spans(5.0..120.0, 1.0..200.0),
        planned in 1.0..200.0,
    ) {
        let in_ul: Vec<Span> = spans
            .iter()
            .map(|span| Span { planned: 1e3 * span.planned, actual: 1e3 * span.actual })
            .collect();
        let (ours, other) = (use_belief(&spans, 50.0, SETTINGS), use_belief(&in_ul, 5e4, SETTINGS));
        prop_assert!((ours.factor - other.factor).abs() < 1e-12);
        let spread = |belief: UseBelief, planned| belief.predict(planned).variance.sqrt();
        prop_assert!((1e3 * spread(ours, planned) / spread(other, 1e3 * planned) - 1.0).abs() < 1e-9);
    }
}
