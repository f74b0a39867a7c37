//! How many of several pads wear out over work to come, when the make's wear rate is not known.
//!
//! It serves the keep level of pads. The rate hits every pad at once, so the counts are mixed over it;
//! how hard single jobs are evens out over several.

use super::binomial::poisson_binomial;
use super::mixture::{PadAhead, unit_wear};
use super::rule::{Precision, rate_nodes};
use crate::maths::life::{Belief, count_f64};

/// Chances that none, one, two, … of the pads wear out, over the belief about the rate λ.
///
/// Formula: ∫ PoissonBinomial(1 − pᵢ) dG(λ) with pᵢ = exp(−λ ((Dᵢ + Δᵢ)^β − Dᵢ^β)), by the rule of
/// [`carry_chance`](super::carry_chance).
#[must_use]
pub(crate) fn retirements(belief: &Belief, pads: &[PadAhead]) -> Vec<f64> {
    let wear: Vec<f64> = pads
        .iter()
        .map(|pad| unit_wear(belief, *pad, 1.0))
        .collect();
    let mut chances = vec![0.0; pads.len().saturating_add(1)];
    let mut weights = 0.0;
    for rate in rate_nodes(belief.a(), count_f64(pads.len()), Precision::Fine) {
        let fails: Vec<f64> = wear
            .iter()
            .map(|wear| -(-rate.at * wear).exp_m1())
            .collect();
        for (sum, chance) in chances.iter_mut().zip(poisson_binomial(&fails)) {
            *sum += rate.weight * chance;
        }
        weights += rate.weight;
    }
    for chance in &mut chances {
        *chance /= weights;
    }
    chances
}

#[cfg(test)]
mod tests {
    use super::{PadAhead, retirements};
    use crate::maths::chance::poisson_binomial;
    use crate::maths::life::{Belief, Life, Lives, Prior};

    fn belief() -> Belief {
        let lives = Lives::new(vec![
            Life::failed(0.8),
            Life::failed(1.3),
            Life::cut_off(0.5),
        ]);
        Belief::from_prior(3.0, Prior::rating(), &lives.unwrap()).unwrap()
    }

    fn pad(age: f64, more: f64) -> PadAhead {
        PadAhead { age, more }
    }

    /// Source: by hand: over a gamma rate some pads all last with (b / (b + Σ rises))^a, so that of two
    /// pads none, one or both wear out by inclusion and exclusion.
    #[test]
    fn two_pads_agree_with_the_closed_form() {
        let belief = belief();
        let rise = |age: f64, more: f64| (age + more).powi(3) - age.powi(3);
        let b = belief.ln_b().exp();
        let all_last = |rises: f64| (b / (b + rises)).powf(belief.a());
        let (one, two) = (all_last(rise(0.4, 0.5)), all_last(rise(0.0, 0.9)));
        let both = all_last(rise(0.4, 0.5) + rise(0.0, 0.9));
        let reference = [both, one + two - 2.0 * both, 1.0 - one - two + both];
        let ours = retirements(&belief, &[pad(0.4, 0.5), pad(0.0, 0.9)]);
        for (ours, reference) in ours.iter().zip(reference) {
            assert!((ours - reference).abs() < 1e-6, "{ours}, not {reference}");
        }
    }

    #[test]
    fn without_work_or_pads_none_wears_out() {
        assert_eq!(retirements(&belief(), &[]), [1.0]);
        let idle = retirements(&belief(), &[pad(0.7, 0.0); 3]);
        assert!((idle[0] - 1.0).abs() < 1e-12, "{idle:?}");
    }

    /// A rate that is not known hits all pads at once: that many wear out is likelier than of pads that
    /// do so each by itself with the same chances.
    #[test]
    fn pads_of_an_unknown_rate_wear_out_together() {
        let fails = 1.0 - belief().survival_in_data(0.2, 0.4);
        let apart = poisson_binomial(&[fails; 6]);
        let together = retirements(&belief(), &[pad(0.2, 0.4); 6]);
        assert!(together[5] + together[6] > 2.0 * (apart[5] + apart[6]));
    }
}
