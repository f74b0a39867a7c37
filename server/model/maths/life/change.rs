//! Whether pads that were put to work lately fail sooner than those before them.
//!
//! It serves the wear report's sentence: a supplier's quality changes, and a person who buys has to
//! hear of it. It looks at the lives alone and assumes no shape; it must not speak of chance.

use super::{Life, count_f64};

/// Lives put to work last that are held against the rest.
const NEWEST_COUNT: usize = 15;
/// Latest lives that are gone through; what was said before them is not asked for.
const GONE_THROUGH_MAX: usize = 60;
/// Normal deviate from which on it is said. Somebody looks again with each pad, and pads share hard jobs: at
/// 2.33, which chance exceeds once in a hundred looks, half of the simulated shops were warned of nothing.
const DEVIATE_SAID: f64 = 3.5;
/// Normal deviate below which the two agree again: one standard error.
const DEVIATE_AGREED: f64 = 1.0;

/// Whether the fifteen lives put to work last are shorter than the rest, of lives in the order in which
/// they were put to work.
///
/// Said from 3.5 standard deviations on and until the two agree again: the newest of each day are held
/// against those before them, in order, so that the sentence does not come and go with single pads.
#[must_use]
pub(crate) fn newer_last_shorter(in_order: &[Life]) -> bool {
    let mut said = false;
    let all = in_order.len();
    let begin = NEWEST_COUNT.max(all.saturating_sub(GONE_THROUGH_MAX));
    for end in begin.saturating_add(1)..=all {
        let until = in_order.get(..end).unwrap_or_default();
        let (rest, newest) = until.split_at(end.saturating_sub(NEWEST_COUNT));
        let deviate = log_rank(newest, rest);
        said = deviate > if said { DEVIATE_AGREED } else { DEVIATE_SAID };
    }
    said
}

/// How many more of some lives failed than if they lasted as the others, in standard deviations.
///
/// Formula: Σ (dₐ − d nₐ/n) / √(Σ d nₐ n_b (n − d) / (n² (n − 1))) over the ages at which something
/// failed, with n at risk and d failing, nₐ and dₐ of them among the first lives; 0 where nothing can be
/// said. Source: N. Mantel, Cancer Chemotherapy Reports 50 (1966), 163–170; R. Peto and J. Peto, J. Roy.
/// Statist. Soc. A 135 (1972), 185–207.
fn log_rank(first: &[Life], others: &[Life]) -> f64 {
    let mut all: Vec<(Life, bool)> = first.iter().map(|life| (*life, true)).collect();
    all.extend(others.iter().map(|life| (*life, false)));
    all.sort_by(|a, b| a.0.age.total_cmp(&b.0.age));
    let (mut at_risk, mut first_at_risk) = (all.len(), first.len());
    let (mut excess, mut variance) = (0.0, 0.0);
    for tied in all.chunk_by(|a, b| a.0.age >= b.0.age) {
        let failed = |is_first: bool| {
            let of = tied
                .iter()
                .filter(|(life, first)| life.failed && (!is_first || *first));
            count_f64(of.count())
        };
        let (n, n_first) = (count_f64(at_risk), count_f64(first_at_risk));
        let (d, d_first) = (failed(false), failed(true));
        if d > 0.0 {
            excess += d_first - d * n_first / n;
        }
        if d > 0.0 && n > 1.0 {
            variance += d * n_first * (n - n_first) * (n - d) / (n * n * (n - 1.0));
        }
        let gone = tied.iter().filter(|(_, is_first)| *is_first).count();
        first_at_risk = first_at_risk.saturating_sub(gone);
        at_risk = at_risk.saturating_sub(tied.len());
    }
    if variance > 0.0 {
        excess / variance.sqrt()
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::{log_rank, newer_last_shorter};
    use crate::maths::life::Life;

    fn failed(ages: &[u8]) -> Vec<Life> {
        ages.iter().map(|age| Life::failed((*age).into())).collect()
    }

    /// Weeks of remission of 42 patients, half of them treated: 9 of the treated failed where 19.25
    /// would have, and all 21 of the others where 10.75 would have; the square of the deviate is 16.79.
    ///
    /// Source: E. J. Freireich and others, Blood 21 (1963), 699–716, as worked by D. R. Cox and
    /// D. Oakes, *Analysis of Survival Data* (1984), ch. 1 and 7; from memory.
    #[test]
    fn the_deviate_is_that_of_a_published_trial() {
        let mut treated = failed(&[6, 6, 6, 7, 10, 13, 16, 22, 23]);
        let cut_off = [
            6.0, 9.0, 10.0, 11.0, 17.0, 19.0, 20.0, 25.0, 32.0, 32.0, 34.0, 35.0,
        ];
        treated.extend(cut_off.map(Life::cut_off));
        let others = failed(&[
            1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23,
        ]);
        let deviate = log_rank(&others, &treated);
        assert!((deviate * deviate - 16.79).abs() < 5e-3, "{deviate}");
        assert!((log_rank(&treated, &others) + deviate).abs() < 1e-12);
    }

    fn lives(count: usize, age: impl Fn(f64) -> f64) -> Vec<Life> {
        let at = (0_u8..).map(|at| f64::from(at % 11) / 10.0);
        at.take(count).map(|at| Life::failed(age(at))).collect()
    }

    #[test]
    fn shorter_lives_are_said_until_the_two_agree_again() {
        let ordinary = |at: f64| 0.7 + 0.6 * at;
        let mut all = lives(33, ordinary);
        assert!(!newer_last_shorter(&all));
        all.extend(lives(15, |at| 0.55 * ordinary(at)));
        assert!(newer_last_shorter(&all));
        // What comes later is held against all before it; the short ones among them are not alone.
        all.extend(lives(33, ordinary));
        assert!(!newer_last_shorter(&all));
    }

    #[test]
    fn longer_lives_and_too_few_to_tell_say_nothing() {
        let mut all = lives(33, |at| 0.4 + 0.2 * at);
        all.extend(lives(22, |at| 0.9 + 0.2 * at));
        assert!(!newer_last_shorter(&all));
        assert!(!newer_last_shorter(&lives(15, |at| 1.0 - 0.9 * at)));
        assert!(!newer_last_shorter(&[]));
    }
}
