//! Figures of every kind for the laws: ordinary, extreme, and none at all.

use crate::maths::life::Life;
use proptest::prelude::{Just, Strategy, any, prop};
use proptest::prop_oneof;

/// Any bit pattern: negative, infinite and no number among them.
pub(crate) fn anything() -> impl Strategy<Value = f64> {
    prop_oneof![
        2 => prop::num::f64::ANY,
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(f64::NEG_INFINITY),
        1 => Just(0.0),
        2 => 0.0..3.0,
    ]
}

/// An age that lives may have, from nothing to the largest number.
pub(crate) fn age() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => 0.0..3.0,
        1 => Just(0.0),
        1 => Just(-0.0),
        1 => Just(1e-300),
        1 => Just(1e300),
        1 => Just(f64::MIN_POSITIVE / 4.0),
        1 => Just(f64::MAX),
        1 => Just(1.0),
        2 => (-300.0..300.0).prop_map(|digits| 10_f64.powf(digits)),
    ]
}

/// Lives that may be; also a thousand alike, and all of one ending.
pub(crate) fn lives() -> impl Strategy<Value = Vec<Life>> {
    let life = (age(), any::<bool>()).prop_map(|(age, failed)| Life::whole(age, failed));
    let alike = (age(), any::<bool>(), 0..1_000_usize)
        .prop_map(|(age, failed, count)| vec![Life::whole(age, failed); count]);
    let one_ending = (prop::collection::vec(age(), 0..30), any::<bool>()).prop_map(
        |(ages, failed)| -> Vec<Life> {
            ages.into_iter()
                .map(|age| Life::whole(age, failed))
                .collect()
        },
    );
    prop_oneof![
        6 => prop::collection::vec(life, 0..40),
        1 => alike,
        1 => one_ending,
    ]
}

/// Ages as a shop has them.
pub(crate) fn ordinary_lives() -> impl Strategy<Value = Vec<Life>> {
    let life = (0.05..2.5, any::<bool>()).prop_map(|(age, failed)| Life::whole(age, failed));
    prop::collection::vec(life, 0..30)
}
