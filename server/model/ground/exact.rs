//! Integer division that names its rounding.
//!
//! It serves the stroke, dose, area and wear formulas, where a float would round 300 / 75 up to 5.
//! Results are held at the ends of `i64`; a divisor below one is taken as one, since every caller
//! has already refused or clamped it.

/// The product of all factors, held at the ends of `i128`.
pub(crate) fn product<const N: usize>(factors: [i64; N]) -> i128 {
    factors.into_iter().fold(1_i128, |product, factor| {
        product.saturating_mul(i128::from(factor))
    })
}

/// `top` / `bottom`, rounded up.
pub(crate) fn ceil_div(top: i128, bottom: i128) -> i64 {
    let negated = floor(top.saturating_neg(), bottom);
    narrow(negated.saturating_neg())
}

/// `top` / `bottom`, rounded down.
pub(crate) fn floor_div(top: i128, bottom: i128) -> i64 {
    narrow(floor(top, bottom))
}

/// `top` / `bottom`, rounded to the nearest, a half up.
pub(crate) fn half_up(top: i128, bottom: i128) -> i64 {
    let bottom = bottom.max(1);
    narrow(floor(
        top.saturating_mul(2).saturating_add(bottom),
        bottom.saturating_mul(2),
    ))
}

fn floor(top: i128, bottom: i128) -> i128 {
    top.checked_div_euclid(bottom.max(1)).unwrap_or(i128::MAX)
}

fn narrow(value: i128) -> i64 {
    i64::try_from(value).unwrap_or(if value < 0 { i64::MIN } else { i64::MAX })
}

#[cfg(test)]
mod tests {
    use super::{ceil_div, floor_div, half_up, product};

    #[test]
    fn each_division_rounds_the_way_its_name_says() {
        assert_eq!((ceil_div(7, 2), floor_div(7, 2), half_up(7, 2)), (4, 3, 4));
        assert_eq!((ceil_div(8, 2), floor_div(8, 2), half_up(8, 2)), (4, 4, 4));
        assert_eq!(
            (ceil_div(-7, 2), floor_div(-7, 2), half_up(-7, 2)),
            (-3, -4, -3)
        );
        assert_eq!(half_up(1, 3), 0);
    }

    #[test]
    fn what_does_not_fit_stays_at_the_end() {
        assert_eq!(
            floor_div(product([i64::MAX, i64::MAX, i64::MAX]), 1),
            i64::MAX
        );
        assert_eq!(ceil_div(i128::MIN, 1), i64::MIN);
        assert_eq!(half_up(i128::MAX, 0), i64::MAX);
    }
}
