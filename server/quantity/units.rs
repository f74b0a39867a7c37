//! One integer type for each kind of quantity, with the unit in its constructor's name.
//!
//! They serve every crate that counts something: a `Volume` cannot be added to a `Mass`. They never
//! wrap round; a sum that does not fit is `None` or stays at the limit, whichever the caller asked.

use serde::{Deserialize, Serialize};

macro_rules! quantity {
    ($name:ident, $unit:literal, $what:literal $(, $from:ident, $read:ident)?) => {
        #[doc = concat!($what, ", in whole ", $unit, ". Differences may be negative.")]
        #[derive(
            Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
        )]
        #[serde(transparent)]
        pub struct $name(i64);

        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(0);

            #[doc = concat!("From whole ", $unit, ".")]
            #[must_use]
            pub const fn new(value: i64) -> Self {
                Self(value)
            }

            #[doc = concat!("In whole ", $unit, ".")]
            #[must_use]
            pub const fn get(self) -> i64 {
                self.0
            }

            $(
                #[doc = concat!("From whole ", $unit, ".")]
                #[must_use]
                pub const fn $from(value: i64) -> Self {
                    Self(value)
                }

                #[doc = concat!("In whole ", $unit, ".")]
                #[must_use]
                pub const fn $read(self) -> i64 {
                    self.0
                }
            )?

            /// The sum, or `None` where it does not fit.
            #[must_use]
            pub const fn checked_add(self, other: Self) -> Option<Self> {
                match self.0.checked_add(other.0) {
                    Some(sum) => Some(Self(sum)),
                    None => None,
                }
            }

            /// The difference, or `None` where it does not fit.
            #[must_use]
            pub const fn checked_sub(self, other: Self) -> Option<Self> {
                match self.0.checked_sub(other.0) {
                    Some(difference) => Some(Self(difference)),
                    None => None,
                }
            }

            /// This many times as much, or `None` where it does not fit.
            #[must_use]
            pub const fn checked_mul(self, times: i64) -> Option<Self> {
                match self.0.checked_mul(times) {
                    Some(product) => Some(Self(product)),
                    None => None,
                }
            }

            /// The sum, staying at the largest or smallest value where it does not fit.
            #[must_use]
            pub const fn saturating_add(self, other: Self) -> Self {
                Self(self.0.saturating_add(other.0))
            }

            /// The difference, staying at the largest or smallest value where it does not fit.
            #[must_use]
            pub const fn saturating_sub(self, other: Self) -> Self {
                Self(self.0.saturating_sub(other.0))
            }
        }
    };
}

quantity!(Length, "millimetres", "A length", from_mm, mm);
quantity!(Thickness, "micrometres", "A film thickness", from_um, um);
quantity!(Area, "square millimetres", "An area", from_mm2, mm2);
quantity!(Volume, "microlitres", "A volume of liquid", from_ul, ul);
quantity!(Mass, "milligrams", "A mass", from_mg, mg);
quantity!(Seconds, "seconds", "A span of time", from_s, s);
quantity!(Count, "pieces", "A number of things");

#[cfg(test)]
mod tests {
    use super::{Count, Volume};

    #[test]
    fn a_sum_that_does_not_fit_is_refused_or_held_at_the_limit() {
        let most = Volume::from_ul(i64::MAX);
        assert_eq!(most.checked_add(Volume::from_ul(1)), None);
        assert_eq!(most.checked_mul(2), None);
        assert_eq!(most.saturating_add(Volume::from_ul(1)), most);
        assert_eq!(
            Volume::from_ul(i64::MIN).checked_sub(Volume::from_ul(1)),
            None
        );
    }

    #[test]
    fn a_difference_may_be_negative() {
        let lent = Count::new(2).checked_sub(Count::new(5)).unwrap();
        assert_eq!(lent.get(), -3);
    }
}
