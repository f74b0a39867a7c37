//! What each line of a kit must reach so that the whole kit does.
//!
//! It serves every level: the kit is the unit, and one missing line stops the job.

use super::SupplyError;
use super::error::share;
use crate::maths::life::count_f64;

/// The target of each of `lines` independent lines: target^(1/n). A kit without lines keeps its own.
///
/// With 20 lines, 99 % for the kit needs 99.95 % a line.
///
/// # Errors
/// Unless 0 < `kit_target` < 1, or when a line's target is too near 1 to be held.
pub(crate) fn line_target(kit_target: f64, lines: usize) -> Result<f64, SupplyError> {
    let target = share(kit_target, "The target of the kit")?;
    let of_line = (target.ln() / count_f64(lines.max(1))).exp();
    share(of_line, "The target of a line")
}

#[cfg(test)]
mod tests {
    use super::line_target;

    /// Source: arithmetic: 0.9995²⁰ = 0.990.
    #[test]
    fn twenty_lines_need_far_more_than_the_kit() {
        let of_line = line_target(0.99, 20).unwrap();
        assert!((of_line - 0.999_497_6).abs() < 1e-7);
        assert!((of_line.powi(20) - 0.99).abs() < 1e-12);
        assert_eq!(line_target(0.5, 0), line_target(0.5, 1));
    }

    #[test]
    fn a_target_that_is_none_is_refused() {
        for target in [0.0, 1.0, 1.2, -0.1, f64::NAN] {
            assert!(line_target(target, 3).is_err());
        }
        assert!(line_target(1.0 - f64::EPSILON, usize::MAX).is_err());
    }
}
