//! The carry chance by another way: the rate integrated in closed form, the severity adaptively.
//!
//! With N the number of pads that last, P(N ≥ n) = Σ_S (−1)^(|S| − n) C(|S| − 1, n − 1) P(all of S
//! last) over the sets S of at least n pads (W. Feller, *An Introduction to Probability Theory and Its
//! Applications* I, 3rd ed., ch. IV.5), and over the gamma belief P(all of S last) = (1 + Σ_S c)^−a
//! with c = ((D + sΔ)^β − D^β) / b. Nothing here is shared with the trapezoid rule under test.

use crate::maths::chance::PadAhead;

/// A gamma belief of the rate with shape a and rate b at shape β, and the spread of the severity.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Setting {
    pub(crate) a: f64,
    pub(crate) b: f64,
    pub(crate) shape: f64,
    pub(crate) log_sd: f64,
}

/// The exact chance, to about 10⁻⁹.
pub(crate) fn carry_chance(setting: Setting, need: usize, pads: &[PadAhead]) -> f64 {
    if setting.log_sd <= 0.0 {
        return at_severity(setting, need, pads, 1.0);
    }
    let density = |z: f64| (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
    let integrand =
        |z: f64| density(z) * at_severity(setting, need, pads, (setting.log_sd * z).exp());
    // Pieces, so that no sharp fall between two nodes is missed.
    (-14..14)
        .map(|half| f64::from(half) / 2.0)
        .map(|low| adaptive_simpson(&integrand, low, low + 0.5, 1e-11))
        .sum()
}

/// The chance at one severity, over the rate alone.
fn at_severity(setting: Setting, need: usize, pads: &[PadAhead], severity: f64) -> f64 {
    let wear: Vec<f64> = pads
        .iter()
        .map(|pad| {
            let reached = pad.age.powf(setting.shape);
            let then = (pad.age + severity * pad.more).powf(setting.shape);
            (then - reached) / setting.b
        })
        .collect();
    let mut sum = 0.0;
    for set in 0..1_u32 << wear.len() {
        let size = set.count_ones() as usize;
        if size >= need {
            let members = (0..wear.len()).filter(|pad| set & (1 << pad) != 0);
            let all: f64 = members.map(|pad| wear[pad]).sum();
            let sign = if (size - need).is_multiple_of(2) {
                1.0
            } else {
                -1.0
            };
            sum += sign * choose(size - 1, need - 1) * (1.0 + all).powf(-setting.a);
        }
    }
    sum
}

fn choose(n: usize, k: usize) -> f64 {
    (0..k).fold(1.0, |all, i| all * (n - i) as f64 / (i + 1) as f64)
}

/// Simpson's rule, halved until two levels agree.
fn adaptive_simpson(f: &impl Fn(f64) -> f64, low: f64, high: f64, within: f64) -> f64 {
    let middle = 0.5 * (low + high);
    let ends = (f(low), f(middle), f(high));
    refined(f, (low, high), ends, within, 30)
}

fn refined(
    f: &impl Fn(f64) -> f64,
    (low, high): (f64, f64),
    (f_low, f_middle, f_high): (f64, f64, f64),
    within: f64,
    levels: u32,
) -> f64 {
    let middle = 0.5 * (low + high);
    let (f_left, f_right) = (f(0.5 * (low + middle)), f(0.5 * (middle + high)));
    let whole = (high - low) / 6.0 * (f_low + 4.0 * f_middle + f_high);
    let left = (middle - low) / 6.0 * (f_low + 4.0 * f_left + f_middle);
    let right = (high - middle) / 6.0 * (f_middle + 4.0 * f_right + f_high);
    let off = left + right - whole;
    if levels == 0 || off.abs() <= 15.0 * within {
        return left + right + off / 15.0;
    }
    let (within, levels) = (0.5 * within, levels - 1);
    refined(f, (low, middle), (f_low, f_left, f_middle), within, levels)
        + refined(
            f,
            (middle, high),
            (f_middle, f_right, f_high),
            within,
            levels,
        )
}
