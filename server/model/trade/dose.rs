//! How much liquid a step takes, and how much a bottle still holds by weight.
//!
//! It serves planning and weigh-ins. A make may state its own dots; these are the defaults. Nothing
//! here is what a person really uses: that is learnt from weighing.

use fettlebook_quantity::{Length, Mass, Volume};

use crate::ground::exact::{ceil_div, half_up, product};

/// Dots weighed at once when a person calibrates a dot.
pub(crate) const DOTS_WEIGHED: i64 = 20;

/// Dots that prime a clean pad: round(4 (d / 125 mm)²), at least one.
///
/// Basis: 4 dots at 125 mm by area; common practice, no source (6–8 dots on a large pad).
#[must_use]
pub(crate) fn prime_dots(face: Length) -> i64 {
    let mm = face.mm().max(0);
    half_up(product([4, mm, mm]), product([125, 125])).max(1)
}

/// Dots for each further section on a primed pad: half the priming, rounded up.
#[must_use]
pub(crate) fn refresh_dots(prime: i64) -> i64 {
    ceil_div(i128::from(prime.max(0)), 2)
}

/// Liquid for one step: (pads × prime + (sections − pads) × refresh) × dot.
///
/// With more pads than sections each pad is still primed. `None` for negative figures or where the
/// volume does not fit.
#[must_use]
pub(crate) fn step_volume(
    sections: i64,
    pads_primed: i64,
    prime: i64,
    refresh: i64,
    dot: Volume,
) -> Option<Volume> {
    if [sections, pads_primed, prime, refresh, dot.ul()]
        .iter()
        .any(|figure| *figure < 0)
    {
        return None;
    }
    let refreshed = sections.saturating_sub(pads_primed).max(0);
    let dots = pads_primed
        .checked_mul(prime)?
        .checked_add(refreshed.checked_mul(refresh)?)?;
    dot.checked_mul(dots)
}

/// What a bottle holds by weight: (gross − tare) / density, to the nearest microlitre.
///
/// `None` where the bottle weighs less than its tare, the density is not above zero, or the volume
/// does not fit.
#[must_use]
pub fn volume_left(gross: Mass, tare: Mass, density_mg_per_ml: i64) -> Option<Volume> {
    let net = gross.checked_sub(tare)?;
    volume_of(net, density_mg_per_ml)
}

/// The volume of one dot from the weight of twenty of them.
///
/// `None` for a mass that is not above zero or a density that is not. Whether the dot is believed
/// is the policy `dot_ul`'s range.
#[must_use]
pub fn dot_volume_from_weighing(dots_mass: Mass, density_mg_per_ml: i64) -> Option<Volume> {
    if dots_mass <= Mass::ZERO {
        return None;
    }
    volume_of(dots_mass, density_mg_per_ml.checked_mul(DOTS_WEIGHED)?)
}

/// Pads a step needs before spares: ⌈sections / (load · more)⌉, where load is how many sections one pad
/// works before it is too warm and loaded, and more, in thousandths, how much further it goes because
/// it is cleaned in between; a load below one counts as one, and cleaning never as harm.
#[must_use]
pub(crate) fn pads_for(sections: i64, load: i64, more_permille: i64) -> i64 {
    ceil_div(
        product([sections.max(0), 1_000]),
        product([load.max(1), more_permille.max(1_000)]),
    )
}

fn volume_of(net: Mass, density_mg_per_ml: i64) -> Option<Volume> {
    if net < Mass::ZERO || density_mg_per_ml <= 0 {
        return None;
    }
    net.checked_mul(1_000)?;
    Some(Volume::from_ul(half_up(
        product([net.mg(), 1_000]),
        i128::from(density_mg_per_ml),
    )))
}

#[cfg(test)]
mod tests {
    use fettlebook_quantity::{Length, Mass, Volume};

    use super::{
        dot_volume_from_weighing, pads_for, prime_dots, refresh_dots, step_volume, volume_left,
    };

    fn primed(face_mm: i64) -> i64 {
        prime_dots(Length::from_mm(face_mm))
    }

    /// Source: common practice, no source: 4 dots at 125 mm, 6–8 on a large pad.
    #[test]
    fn priming_grows_with_the_area_of_the_pad() {
        assert_eq!((primed(125), primed(150), primed(180)), (4, 6, 8));
        assert_eq!((primed(132), primed(133)), (4, 5));
        assert_eq!(
            (primed(80), primed(75), primed(30), primed(0)),
            (2, 1, 1, 1)
        );
    }

    #[test]
    fn a_refresh_is_half_the_priming_rounded_up() {
        assert_eq!(
            (refresh_dots(6), refresh_dots(5), refresh_dots(1)),
            (3, 3, 1)
        );
    }

    /// Source: arithmetic, and the band of 30–90 mL for a medium car's step. 66 sections, 4 pads of
    /// 150 mm: 4 × 6 + 62 × 3 = 210 dots of 250 µL = 52.5 mL.
    #[test]
    fn a_step_primes_each_pad_once_and_refreshes_the_rest() {
        let dot = Volume::from_ul(250);
        assert_eq!(step_volume(66, 4, 6, 3, dot), Some(Volume::from_ul(52_500)));
        assert_eq!(step_volume(1, 2, 6, 3, dot), Some(Volume::from_ul(3_000)));
        assert_eq!(step_volume(0, 0, 6, 3, dot), Some(Volume::ZERO));
    }

    #[test]
    fn a_step_that_makes_no_sense_has_no_volume() {
        let dot = Volume::from_ul(250);
        assert_eq!(step_volume(-1, 0, 6, 3, dot), None);
        assert_eq!(step_volume(i64::MAX, 0, 6, 3, dot), None);
    }

    /// Source: arithmetic: 60.5 g at 1.10 g/mL is 55.0 mL.
    #[test]
    fn a_bottle_on_the_scale_tells_what_is_left() {
        let tare = Mass::from_mg(42_000);
        let left = volume_left(Mass::from_mg(102_500), tare, 1_100);
        assert_eq!(left, Some(Volume::from_ul(55_000)));
        assert_eq!(volume_left(tare, tare, 1_100), Some(Volume::ZERO));
    }

    #[test]
    fn a_bottle_lighter_than_its_tare_is_no_reading() {
        assert_eq!(
            volume_left(Mass::from_mg(10), Mass::from_mg(11), 1_100),
            None
        );
        assert_eq!(volume_left(Mass::from_mg(11), Mass::from_mg(10), 0), None);
    }

    /// Source: *How much is a 'pea-sized amount'?*, Int. Dental J. 63 suppl. 2, 2013: 0.25 g; at
    /// 1.00 g/mL that is the default dot of 250 µL.
    #[test]
    fn twenty_weighed_dots_give_one() {
        let twenty = Mass::from_mg(5_000);
        assert_eq!(
            dot_volume_from_weighing(twenty, 1_000),
            Some(Volume::from_ul(250))
        );
        assert_eq!(dot_volume_from_weighing(Mass::ZERO, 1_000), None);
        assert_eq!(dot_volume_from_weighing(twenty, i64::MAX), None);
    }

    #[test]
    fn a_pad_is_changed_when_it_is_loaded() {
        assert_eq!(
            [66, 54, 0].map(|sections| pads_for(sections, 18, 1_000)),
            [4, 3, 0]
        );
        assert_eq!(pads_for(5, 0, 1_000), 5);
    }

    /// Source: common practice, no source: half as many sections again with a brush between panels, and
    /// two and a half times as many after each section. 67 / 27 is 2.5 and 67 / 45 is 1.5 pads; 81 are
    /// just three loads of 27.
    #[test]
    fn a_pad_that_is_cleaned_in_between_works_more_sections() {
        assert_eq!([1_500, 2_500].map(|more| pads_for(67, 18, more)), [3, 2]);
        assert_eq!([81, 82].map(|count| pads_for(count, 18, 1_500)), [3, 4]);
        assert_eq!(pads_for(67, 18, 0), 4);
    }
}
