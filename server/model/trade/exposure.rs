//! A day's vibration and noise from planned machine time.
//!
//! It serves the check's watch lines. The figures compare a plan with the values in the European
//! directives; they are no assessment of a workplace, and local rules come first.

use fettlebook_quantity::{Seconds, exact_f64};

use crate::ground::word::word_enum;

/// The reference day of eight hours, in seconds.
const DAY_S: f64 = 28_800.0;
const HOUR_S: f64 = 3_600.0;
/// Daily exposure action value for hand-arm vibration, m/s². Source: Directive 2002/44/EC, art. 3.
pub(crate) const VIBRATION_ACTION_M_PER_S2: f64 = 2.5;
/// Daily exposure limit value for hand-arm vibration, m/s². Source: Directive 2002/44/EC, art. 3.
pub(crate) const VIBRATION_LIMIT_M_PER_S2: f64 = 5.0;
/// Lower action value for noise, dB(A). Source: Directive 2003/10/EC, art. 3.
pub(crate) const NOISE_LOWER_DB: f64 = 80.0;
/// Upper action value for noise, dB(A). Source: Directive 2003/10/EC, art. 3.
pub(crate) const NOISE_UPPER_DB: f64 = 85.0;
/// Limit value for noise at the ear, dB(A). Source: Directive 2003/10/EC, art. 3.
pub(crate) const NOISE_LIMIT_DB: f64 = 87.0;
/// What goes with every exposure shown.
pub(crate) const EXPOSURE_CAUTION: &str = "An estimate from planned machine time: follow the machine's \
     manual and local rules on vibration and noise.";

/// What that caution is about in a few words.
pub(crate) const EXPOSURE_HAZARD: &str = "vibration and noise are estimates";

word_enum! {
    /// Where a day's vibration falls.
    VibrationBand is "a vibration band" {
        /// Below the action value.
        BelowAction = "below-action",
        /// At or above the action value.
        Action = "action",
        /// At or above the limit value.
        Limit = "limit",
    }
}

word_enum! {
    /// Where a day's noise falls.
    NoiseBand is "a noise band" {
        /// Below the lower action value.
        BelowAction = "below-action",
        /// At or above the lower action value.
        LowerAction = "lower-action",
        /// At or above the upper action value.
        UpperAction = "upper-action",
        /// At or above the limit value, hearing protection not counted.
        Limit = "limit",
    }
}

/// Daily vibration exposure A(8) in m/s²: sqrt(Σ aᵢ² Tᵢ / 8 h), each part an acceleration in m/s²
/// and its time.
///
/// `None` where an acceleration or a time is negative or no number. Source: ISO 5349-1.
#[must_use]
pub(crate) fn a8_m_per_s2(parts: &[(f64, Seconds)]) -> Option<f64> {
    let sum = parts.iter().try_fold(0.0, |sum, (a, time)| {
        usable(*a, *time).then(|| sum + a * a * exact_f64(time.s()) / DAY_S)
    })?;
    Some(sum.sqrt())
}

/// Exposure points of one part: 2 a² per hour; 100 is the action value, 400 the limit.
///
/// `None` where the acceleration or the time is negative or no number. Source: HSE, hand-arm
/// vibration exposure points.
#[must_use]
pub(crate) fn points(a_m_per_s2: f64, time: Seconds) -> Option<f64> {
    usable(a_m_per_s2, time).then(|| 2.0 * a_m_per_s2 * a_m_per_s2 * exact_f64(time.s()) / HOUR_S)
}

/// The acceleration to reckon with, m/s²: a measured value as it is, a declared one doubled.
#[must_use]
pub(crate) fn effective(a_m_per_s2: f64, measured: bool) -> f64 {
    if measured {
        a_m_per_s2
    } else {
        2.0 * a_m_per_s2
    }
}

/// The band of a daily vibration exposure, m/s².
#[must_use]
pub(crate) fn vibration_band(a8_m_per_s2: f64) -> VibrationBand {
    if a8_m_per_s2 < VIBRATION_ACTION_M_PER_S2 {
        VibrationBand::BelowAction
    } else if a8_m_per_s2 < VIBRATION_LIMIT_M_PER_S2 {
        VibrationBand::Action
    } else {
        VibrationBand::Limit
    }
}

/// Daily noise exposure in dB(A): L + 10 log₁₀(T / 8 h), `level_db` being the level while it runs.
///
/// `None` without any time, or for a level that is no number. Source: Directive 2003/10/EC,
/// ISO 9612.
#[must_use]
pub(crate) fn lex8_db(level_db: f64, time: Seconds) -> Option<f64> {
    let heard = level_db.is_finite() && time > Seconds::ZERO;
    heard.then(|| level_db + 10.0 * (exact_f64(time.s()) / DAY_S).log10())
}

/// The band of a daily noise exposure, dB(A).
#[must_use]
pub(crate) fn noise_band(lex8_db: f64) -> NoiseBand {
    if lex8_db < NOISE_LOWER_DB {
        NoiseBand::BelowAction
    } else if lex8_db < NOISE_UPPER_DB {
        NoiseBand::LowerAction
    } else if lex8_db < NOISE_LIMIT_DB {
        NoiseBand::UpperAction
    } else {
        NoiseBand::Limit
    }
}

fn usable(a_m_per_s2: f64, time: Seconds) -> bool {
    a_m_per_s2.is_finite() && a_m_per_s2 >= 0.0 && time >= Seconds::ZERO
}

#[cfg(test)]
mod tests {
    use fettlebook_quantity::Seconds;

    use super::{
        NoiseBand, VibrationBand, a8_m_per_s2, effective, lex8_db, noise_band, points,
        vibration_band,
    };

    const EIGHT_HOURS: Seconds = Seconds::from_s(28_800);
    const THREE_HOURS: Seconds = Seconds::from_s(10_800);

    fn close(left: Option<f64>, right: f64, within: f64) -> bool {
        left.is_some_and(|value| (value - right).abs() <= within)
    }

    /// Source: HSE, hand-arm vibration exposure calculator: 5 m/s² for 3 h is 150 points, 3.06 m/s²
    /// (printed rounded, so to 0.005).
    #[test]
    fn three_hours_at_five_are_150_points() {
        assert!(close(points(5.0, THREE_HOURS), 150.0, 1e-9));
        assert!(close(a8_m_per_s2(&[(5.0, THREE_HOURS)]), 3.06, 0.005));
    }

    /// Source: Directive 2002/44/EC with HSE's points: 100 points are 2.5 m/s², 400 are 5 m/s².
    #[test]
    fn points_and_daily_exposure_agree_at_action_and_limit() {
        assert!(close(points(2.5, EIGHT_HOURS), 100.0, 1e-9));
        assert!(close(points(5.0, EIGHT_HOURS), 400.0, 1e-9));
        assert!(close(a8_m_per_s2(&[(2.5, EIGHT_HOURS)]), 2.5, 1e-12));
    }

    /// Source: ISO 5349-1: partial exposures add as squares; 3 and 4 m/s² over 8 h each make 5.
    #[test]
    fn partial_exposures_add_as_squares() {
        assert!(close(
            a8_m_per_s2(&[(3.0, EIGHT_HOURS), (4.0, EIGHT_HOURS)]),
            5.0,
            1e-12
        ));
        assert!(close(a8_m_per_s2(&[]), 0.0, 0.0));
    }

    #[test]
    fn a_declared_vibration_is_doubled_and_a_measured_one_is_not() {
        assert!(close(Some(effective(3.0, false)), 6.0, 0.0));
        assert!(close(Some(effective(3.0, true)), 3.0, 0.0));
    }

    /// Source: Directive 2003/10/EC: eight hours are the reference, twice the time is 3.01 dB more.
    #[test]
    fn noise_over_eight_hours_is_its_level_and_doubling_adds_three() {
        assert!(close(lex8_db(85.0, EIGHT_HOURS), 85.0, 1e-12));
        let double = lex8_db(85.0, Seconds::from_s(57_600)).unwrap();
        assert!(close(Some(double - 85.0), 3.0103, 1e-4));
        assert_eq!(lex8_db(85.0, Seconds::ZERO), None);
    }

    #[test]
    fn bands_begin_at_their_values() {
        assert_eq!(vibration_band(2.49), VibrationBand::BelowAction);
        assert_eq!(vibration_band(2.5), VibrationBand::Action);
        assert_eq!(vibration_band(5.0), VibrationBand::Limit);
        assert_eq!(noise_band(79.9), NoiseBand::BelowAction);
        assert_eq!(noise_band(80.0), NoiseBand::LowerAction);
        assert_eq!(noise_band(85.0), NoiseBand::UpperAction);
        assert_eq!(noise_band(87.0), NoiseBand::Limit);
    }

    #[test]
    fn figures_that_make_no_sense_give_no_exposure() {
        assert_eq!(a8_m_per_s2(&[(-1.0, EIGHT_HOURS)]), None);
        assert_eq!(points(f64::NAN, EIGHT_HOURS), None);
        assert_eq!(points(1.0, Seconds::from_s(-1)), None);
    }
}
