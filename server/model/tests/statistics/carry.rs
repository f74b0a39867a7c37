//! Goal: the carry chance is the integral it claims to be.
//!
//! Method: over a grid of beliefs, severities, pads and needs it is compared with the exact integral
//! of [`super::exact`], and for many pads with figures of a reference library.

use crate::ground::ids::Tag;
use crate::maths::chance::{
    PadAgain, PadAhead, Precision, StepAhead, carry_chance, carry_chance_of_steps, poisson_binomial,
};
use crate::maths::life::{Belief, Lives, Prior};

use super::exact::{self, Setting};

const WEIGHTS: [f64; 6] = [1.0, 2.0, 5.0, 30.0, 100.0, 500.0];
const SHAPES: [f64; 4] = [0.5, 2.0, 5.0, 12.0];
const LOG_SDS: [f64; 4] = [0.0, 0.1, 0.3, 0.6];

/// A belief with scale 1 at the mean rate.
fn settings() -> impl Iterator<Item = Setting> {
    WEIGHTS.into_iter().flat_map(|a| {
        SHAPES.into_iter().flat_map(move |shape| {
            LOG_SDS.into_iter().map(move |log_sd| Setting {
                a,
                b: a,
                shape,
                log_sd,
            })
        })
    })
}

fn belief(setting: Setting) -> Belief {
    let prior = Prior {
        a: setting.a,
        b: setting.b,
    };
    Belief::from_prior(setting.shape, prior, &Lives::default()).unwrap()
}

/// New pads all alike, the sharpest case, and pads of many ages.
fn pad_sets() -> Vec<(usize, Vec<PadAhead>)> {
    let alike = |count, more| vec![PadAhead { age: 0.0, more }; count];
    let mixed = |count: u32, more: f64| -> Vec<PadAhead> {
        let pad = |i| PadAhead {
            age: 0.15 * f64::from(i),
            more: more * (1.0 + 0.1 * f64::from(i)),
        };
        (0..count).map(pad).collect()
    };
    vec![
        (1, alike(1, 0.6)),
        (6, alike(6, 0.3)),
        (4, alike(8, 0.9)),
        (1, mixed(3, 1.2)),
        (4, mixed(5, 0.3)),
        (5, mixed(6, 0.05)),
    ]
}

fn worst(precision: Precision) -> (f64, String) {
    let mut worst = (0.0, String::new());
    for setting in settings() {
        for (need, pads) in pad_sets() {
            let ours = carry_chance(&belief(setting), setting.log_sd, need, &pads, precision);
            let exact = exact::carry_chance(setting, need, &pads);
            let off = (ours - exact).abs();
            if off > worst.0 || off.is_nan() {
                let count = pads.len();
                let told = format!("{ours}, exactly {exact}: {need} of {count}, {setting:?}");
                worst = (off, told);
            }
        }
    }
    worst
}

/// Source: the exact integral by inclusion and exclusion, see [`super::exact`].
#[test]
fn the_fine_carry_chance_is_within_a_millionth_of_the_integral() {
    let (off, told) = worst(Precision::Fine);
    assert!(off < 1e-6, "{off:e}: {told}");
}

/// Source: as above.
#[test]
fn the_coarse_carry_chance_is_within_three_thousandths_of_the_integral() {
    let (off, told) = worst(Precision::Coarse);
    assert!(off < 3e-3, "{off:e}: {told}");
    assert!(off > 1e-6, "coarse steps are as fine as the fine ones");
}

/// Source: scipy 1.17. Rows: a, β, σ, pads, need, chance. The pads have age 0.2 and 0.9 to come, b = a,
/// and the chance is Σ w(z) w(x) φ(z) g(x) `binom.sf(need − 1, pads, exp(−eˣ c(z)))` over composite
/// Gauss–Legendre nodes (20 points in each of 120 pieces of z within ±8 and of 150 pieces of x = ln λ
/// between `gamma.ppf(1e-13, a)` and `gamma.isf(1e-15, a)`), g(x) = exp(a x − eˣ − `gammaln(a)`) and
/// c(z) = ((0.2 + 0.9 e^(σz))^β − 0.2^β) / a.
#[test]
fn many_pads_agree_with_a_reference_library() {
    for (a, shape, log_sd, count, need, reference) in [
        (1.0, 3.0, 0.3, 30, 15, 0.445_659_903_504_834_53),
        (1.0, 3.0, 0.6, 40, 36, 0.162_786_870_110_199_6),
        (1.0, 12.0, 0.3, 40, 36, 0.194_865_918_709_267_56),
        (11.0, 3.0, 0.3, 30, 15, 0.247_361_060_507_166_66),
        (11.0, 12.0, 0.3, 40, 36, 0.133_108_137_805_111_66),
        (100.0, 3.0, 0.6, 30, 15, 0.340_504_753_592_645_53),
        (100.0, 12.0, 0.3, 40, 36, 0.128_760_552_924_954_17),
    ] {
        let setting = Setting {
            a,
            b: a,
            shape,
            log_sd,
        };
        let pads = vec![
            PadAhead {
                age: 0.2,
                more: 0.9
            };
            count
        ];
        let chance = |precision| carry_chance(&belief(setting), log_sd, need, &pads, precision);
        let (fine, coarse) = (chance(Precision::Fine), chance(Precision::Coarse));
        assert!((fine - reference).abs() < 1e-6, "{setting:?}: {fine}");
        assert!((coarse - reference).abs() < 3e-3, "{setting:?}: {coarse}");
    }
}

/// Pads of a step that is worked on the first day, of one on the second, and of both: age and what the days add, with
/// the wash between.
struct Days {
    need: [usize; 2],
    first: Vec<(f64, f64)>,
    both: Vec<(f64, f64, f64, f64)>,
    second: Vec<(f64, f64)>,
}

impl Days {
    fn chance(&self, setting: Setting) -> f64 {
        let belief = belief(setting);
        let pad = |(age, more): &(f64, f64)| PadAhead {
            age: *age,
            more: *more,
        };
        let tags = (1..).map(|number| Tag::new("P", number).unwrap());
        let tags: Vec<Tag> = tags.take(self.first.len() + self.both.len()).collect();
        let first: Vec<PadAhead> = self
            .both
            .iter()
            .map(|both| (both.0, both.1))
            .collect::<Vec<_>>()
            .iter()
            .chain(&self.first)
            .map(pad)
            .collect();
        let again: Vec<PadAgain> = self
            .both
            .iter()
            .zip(&tags)
            .map(|((age, first, washed, more), tag)| PadAgain {
                tag: *tag,
                first: pad(&(*age, *first)),
                washed: *washed,
                more: *more,
            })
            .collect();
        let second: Vec<PadAhead> = self.second.iter().map(pad).collect();
        let [on_first, on_second] = self.need;
        let step = |need, pads, tags, again| StepAhead {
            belief: &belief,
            need,
            pads,
            tags,
            again,
            others: &[],
        };
        let steps = [
            step(on_first, first.as_slice(), tags.as_slice(), [].as_slice()),
            step(on_second, &second, &[], &again),
        ];
        carry_chance_of_steps(&steps, setting.log_sd, Precision::Fine)
    }
}

/// Source: scipy 1.17 and numpy 2: every outcome of every pad written down (it fails on the first day with 1 − p, on
/// the second with p − q, or never with q, p = exp(−λ((D + sΔ₁)^β − D^β)), q = exp(−λ((D + s(Δ₁ + Δ₂) + w)^β − D^β))),
/// summed where both steps have enough, over the Gauss–Legendre nodes named above. Beside it what 4 000 000 simulated
/// jobs come to, each pad giving out at a damage drawn for it once.
#[test]
fn pads_that_work_on_both_days_agree_with_a_reference_library_and_with_simulated_lives() {
    let setting = |a, shape, log_sd| Setting {
        a,
        b: a,
        shape,
        log_sd,
    };
    for (setting, days, reference, simulated) in [
        (
            setting(1.0, 3.0, 0.0),
            Days {
                need: [1, 1],
                first: vec![],
                both: vec![(0.2, 0.3, 0.03, 0.4)],
                second: vec![],
            },
            0.556_682_218_512_144_5,
            0.556_285,
        ),
        (
            setting(1.0, 3.0, 0.3),
            Days {
                need: [3, 2],
                first: vec![(0.1, 0.3); 2],
                both: vec![(0.2, 0.3, 0.03, 0.4); 2],
                second: vec![(0.0, 0.4)],
            },
            0.675_655_423_620_375_3,
            0.675_834_5,
        ),
        (
            setting(5.0, 2.0, 0.3),
            Days {
                need: [4, 4],
                first: vec![],
                both: vec![(0.3, 0.25, 0.03, 0.25); 4],
                second: vec![(0.1, 0.25)],
            },
            0.306_350_621_638_758_8,
            0.306_591_75,
        ),
        (
            setting(11.0, 3.0, 0.3),
            Days {
                need: [3, 5],
                first: vec![(0.5, 0.2)],
                both: vec![
                    (0.6, 0.2, 0.05, 0.15),
                    (0.4, 0.2, 0.05, 0.15),
                    (0.2, 0.1, 0.05, 0.15),
                ],
                second: vec![(0.1, 0.15); 3],
            },
            0.658_508_053_869_855_7,
            0.658_537_5,
        ),
        (
            setting(100.0, 3.0, 0.6),
            Days {
                need: [8, 5],
                first: vec![(0.2, 0.3); 3],
                both: vec![(0.2, 0.3, 0.03, 0.3); 6],
                second: vec![],
            },
            0.310_480_206_662_254_4,
            0.310_622_25,
        ),
    ] {
        let chance = days.chance(setting);
        assert!((chance - reference).abs() < 1e-6, "{setting:?}: {chance}");
        // Four standard errors of the simulation.
        assert!((chance - simulated).abs() < 1e-3, "{setting:?}: {chance}");
    }
}

/// Source: by definition: where no pad works twice, days change nothing; where each does and all must last, what they
/// last is one life, and less than two lives side by side would make of it.
#[test]
fn a_life_that_is_counted_twice_would_be_too_sure() {
    let setting = Setting {
        a: 5.0,
        b: 5.0,
        shape: 3.0,
        log_sd: 0.3,
    };
    let both = Days {
        need: [4, 4],
        first: vec![],
        both: vec![(0.3, 0.2, 0.0, 0.2); 4],
        second: vec![],
    };
    let whole = vec![
        PadAhead {
            age: 0.3,
            more: 0.4
        };
        4
    ];
    let one_life = carry_chance(&belief(setting), setting.log_sd, 4, &whole, Precision::Fine);
    assert!((both.chance(setting) - one_life).abs() < 1e-6);
    let apart = Days {
        both: vec![],
        first: vec![(0.3, 0.2); 4],
        second: vec![(0.3, 0.2); 4],
        ..both
    };
    assert!(apart.chance(setting) > one_life + 0.01);
}

/// Source: the definition: with every job ordinary, one pad lasts with the belief's own chance.
#[test]
fn one_pad_on_an_ordinary_job_lasts_with_the_chance_of_the_belief() {
    for setting in settings() {
        let belief = belief(setting);
        let pad = PadAhead {
            age: 0.4,
            more: 0.5,
        };
        let ours = carry_chance(&belief, 0.0, 1, &[pad], Precision::Fine);
        let own = belief.survival_in_data(pad.age, pad.more);
        assert!((ours - own).abs() < 1e-6, "{setting:?}: {ours} {own}");
    }
}

/// The chance reckoned at the likeliest rate alone, which is what the mixture is there to mend.
#[test]
fn at_few_retirements_the_chance_is_less_sure_than_at_the_likeliest_rate() {
    let unsure = Setting {
        a: 3.0,
        b: 3.0,
        shape: 3.0,
        log_sd: 0.3,
    };
    let pads = [PadAhead {
        age: 0.2,
        more: 0.1,
    }; 12];
    let mixed = carry_chance(&belief(unsure), unsure.log_sd, 11, &pads, Precision::Fine);
    let lasts = (-(0.3_f64.powi(3) - 0.2_f64.powi(3))).exp();
    let plugged_in: f64 = poisson_binomial(&[lasts; 12])[11..].iter().sum();
    assert!(plugged_in > 0.97, "{plugged_in}");
    assert!(
        1.0 - mixed > 1.5 * (1.0 - plugged_in),
        "{mixed} {plugged_in}"
    );
}
