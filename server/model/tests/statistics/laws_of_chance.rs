//! Laws of the chances: always from 0 to 1, and never likelier when more is asked.

use crate::maths::chance::binomial::at_least_with;
use crate::maths::chance::{PadAhead, Precision, carry_chance, poisson_binomial};
use crate::maths::life::{Belief, Life, Lives, Prior};
use proptest::prelude::{ProptestConfig, Strategy, prop, prop_assert, prop_assert_eq, proptest};

use super::figures::{age, anything, ordinary_lives};

fn is_chance(p: f64) -> bool {
    (0.0..=1.0).contains(&p)
}

fn pads() -> impl Strategy<Value = Vec<PadAhead>> {
    let pad = (0.0..1.5, 0.0..1.0).prop_map(|(age, more)| PadAhead { age, more });
    prop::collection::vec(pad, 1..9)
}

fn belief(shape: f64, lives: Vec<Life>) -> Belief {
    Belief::from_prior(shape, Prior::rating(), &Lives::new(lives).unwrap()).unwrap()
}

proptest! {
    #[test]
    fn counts_of_any_chances_add_up_to_one(p in prop::collection::vec(anything(), 0..30)) {
        let chances = poisson_binomial(&p);
        prop_assert_eq!(chances.len(), p.len() + 1);
        prop_assert!(chances.iter().all(|chance| is_chance(*chance)));
        prop_assert!((chances.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        let within = || p.iter().map(|p| if p.is_nan() { 0.0 } else { p.clamp(0.0, 1.0) });
        let tail = |k| at_least_with(&mut Vec::new(), k, p.len(), within());
        let tails: Vec<f64> = (0..=p.len() + 1).map(tail).collect();
        prop_assert!(tails.iter().all(|tail| is_chance(*tail)));
        prop_assert!(tails.windows(2).all(|pair| pair[0] >= pair[1] - 1e-15));
        prop_assert_eq!((tails[0], tails[p.len() + 1]), (1.0, 0.0));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_carry_chance_of_any_figures_is_a_chance(
        shape in (-3.0..9.0).prop_map(|digits| 10_f64.powf(digits)),
        a in (-300.0..300.0).prop_map(|digits| 10_f64.powf(digits)),
        b in age(),
        log_sd in anything(),
        need in 0..5_usize,
        raw in prop::collection::vec((anything(), anything()), 0..4),
    ) {
        let pads: Vec<PadAhead> =
            raw.into_iter().map(|(age, more)| PadAhead { age, more }).collect();
        let b = b.max(f64::MIN_POSITIVE);
        let belief = Belief::from_prior(shape, Prior { a, b }, &Lives::default()).unwrap();
        let chance = carry_chance(&belief, log_sd, need, &pads, Precision::Coarse);
        prop_assert!(is_chance(chance), "{}", chance);
    }

    #[test]
    fn needing_more_pads_or_more_of_them_is_never_likelier(
        lives in ordinary_lives(),
        shape in 0.5..12.0,
        log_sd in 0.0..0.6,
        pads in pads(),
        more in 0.0..0.5,
    ) {
        let belief = belief(shape, lives);
        let chance = |need, pads: &[PadAhead]| {
            carry_chance(&belief, log_sd, need, pads, Precision::Coarse)
        };
        let worked_longer: Vec<PadAhead> =
            pads.iter().map(|pad| PadAhead { more: pad.more + more, ..*pad }).collect();
        let spared = [&pads[..], &pads[..1]].concat();
        for need in 1..=pads.len() {
            let now = chance(need, &pads);
            prop_assert!(now <= chance(need - 1, &pads) + 1e-12);
            prop_assert!(chance(need, &worked_longer) <= now + 1e-9);
            // One pad more changes the nodes, so this holds to their precision.
            prop_assert!(chance(need, &spared) >= now - 3e-3);
        }
    }

    #[test]
    fn a_pad_with_a_figure_that_is_none_does_not_count(
        lives in ordinary_lives(),
        pads in pads(),
        need in 1..5_usize,
    ) {
        let belief = belief(3.0, lives);
        let unknown = PadAhead { age: f64::NAN, more: 0.1 };
        let with_unknown = [&pads[..], &[unknown]].concat();
        let chance = |pads: &[PadAhead]| carry_chance(&belief, 0.3, need, pads, Precision::Fine);
        prop_assert!((chance(&with_unknown) - chance(&pads)).abs() < 1e-6);
    }
}
