//! Exact fractions, for what decimals cannot hold: a third of a load, an eighteenth of a pad.
//!
//! It serves every cost and the basket. A result that does not fit is `None`, never a near one; only
//! [`Fraction::round`] rounds, and says how.

use rust_decimal::Decimal;

/// A fraction in lowest terms, its divisor above zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Fraction {
    over: i128,
    under: i128,
}

impl Fraction {
    pub(crate) const ZERO: Self = Self { over: 0, under: 1 };

    fn new(over: i128, under: i128) -> Option<Self> {
        let divisor = common_divisor(over, under)?;
        Some(Self {
            over: over.checked_div(divisor)?,
            under: under.checked_div(divisor)?,
        })
    }

    pub(crate) fn of(value: Decimal) -> Option<Self> {
        Self::new(value.mantissa(), 10_i128.checked_pow(value.scale())?)
    }

    pub(crate) fn plus(self, other: Self) -> Option<Self> {
        let shared = common_divisor(self.under, other.under)?;
        let (ours, theirs) = (
            other.under.checked_div(shared)?,
            self.under.checked_div(shared)?,
        );
        let over = self
            .over
            .checked_mul(ours)?
            .checked_add(other.over.checked_mul(theirs)?)?;
        Self::new(over, self.under.checked_mul(ours)?)
    }

    pub(crate) fn minus(self, other: Self) -> Option<Self> {
        self.plus(Self {
            over: other.over.checked_neg()?,
            under: other.under,
        })
    }

    pub(crate) fn times(self, other: Self) -> Option<Self> {
        // Crosswise first, so that only a result that is too large is.
        let one = Self::new(self.over, other.under)?;
        let two = Self::new(other.over, self.under)?;
        Self::new(
            one.over.checked_mul(two.over)?,
            one.under.checked_mul(two.under)?,
        )
    }

    /// Division; `None` by anything that is not above zero.
    pub(crate) fn per(self, divisor: Self) -> Option<Self> {
        (divisor.over > 0).then_some(())?;
        self.times(Self {
            over: divisor.under,
            under: divisor.over,
        })
    }

    /// The nearest decimal of so many places, a half away from zero. Zero has no sign.
    pub(crate) fn round(self, places: u32) -> Option<Decimal> {
        let scaled = self.times(Self {
            over: 10_i128.checked_pow(places)?,
            under: 1,
        })?;
        let whole = scaled.over.checked_div(scaled.under)?;
        let rest = scaled.over.checked_rem(scaled.under)?.checked_abs()?;
        let is_half = rest >= scaled.under.checked_sub(rest)?;
        let step = if is_half { scaled.over.signum() } else { 0 };
        Decimal::try_from_i128_with_scale(whole.checked_add(step)?, places).ok()
    }

    /// The decimal it is; `None` where it has no end.
    pub(crate) fn exact(self) -> Option<Decimal> {
        (0..=Decimal::MAX_SCALE).find_map(|places| {
            let power = 10_i128.checked_pow(places)?;
            (power.checked_rem(self.under)? == 0).then_some(())?;
            let whole = self.over.checked_mul(power.checked_div(self.under)?)?;
            Decimal::try_from_i128_with_scale(whole, places).ok()
        })
    }
}

/// Largest divisor of both, above zero, by Euclid; `None` where the second is not above zero.
fn common_divisor(one: i128, other: i128) -> Option<i128> {
    (other > 0).then_some(())?;
    let (mut larger, mut smaller) = (other, one.checked_abs()?);
    while smaller > 0 {
        (larger, smaller) = (smaller, larger.checked_rem(smaller)?);
    }
    Some(larger)
}

#[cfg(test)]
mod tests {
    use super::Fraction;
    use rust_decimal::Decimal;

    fn of(text: &str) -> Fraction {
        Fraction::of(text.parse().unwrap()).unwrap()
    }

    #[test]
    fn thirds_add_up_to_the_whole() {
        let third = of("0.005").per(of("3")).unwrap();
        let sum = third.plus(third).unwrap().plus(third).unwrap();
        assert_eq!(sum, of("0.005"));
        assert_eq!(third.exact(), None);
        assert_eq!(sum.minus(third).unwrap().per(of("2")).unwrap(), third);
        assert_eq!(of("-1.250").exact(), "-1.25".parse().ok());
    }

    #[test]
    fn a_half_goes_away_from_zero() {
        for (value, rounded) in [
            ("0.125", "0.13"),
            ("-0.125", "-0.13"),
            ("0.135", "0.14"),
            ("0.1249", "0.12"),
            ("-0.004", "0.00"),
            ("7", "7.00"),
        ] {
            let ours = of(value).round(2).unwrap();
            assert_eq!(ours.to_string(), rounded, "{value}");
        }
    }

    #[test]
    fn what_does_not_fit_is_told() {
        let most = Fraction::of(Decimal::MAX).unwrap();
        assert_eq!(most.times(most), None);
        assert_eq!(most.round(12), None);
        assert_eq!(most.per(Fraction::ZERO), None);
        assert_eq!(most.exact(), Some(Decimal::MAX));
    }
}
