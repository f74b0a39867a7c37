//! Gauges: ten cells and a figure.
//!
//! They serve wear and bottle levels. The figure says what the cells show, so a gauge reads the same
//! without colour and without block characters.

use fettlebook_contract::v1::WearBand;

use crate::render::screen::Screen;
use crate::render::tint;
use crate::word::word;

const CELLS: usize = 10;

/// Cells for a share; below 0 none are filled, above 1 all are.
fn cells(screen: &Screen, share: f64) -> String {
    let filled = filled(share);
    drawn(screen, filled, CELLS.saturating_sub(filled))
}

fn drawn(screen: &Screen, filled: usize, empty: usize) -> String {
    if screen.unicode {
        format!("{}{}", "█".repeat(filled), "░".repeat(empty))
    } else {
        format!("[{}{}]", "#".repeat(filled), ".".repeat(empty))
    }
}

/// How many cells are filled: to the nearest, but never none for something nor all for less than all.
fn filled(share: f64) -> usize {
    (0..=CELLS)
        .rev()
        .find(|count| match *count {
            0 => true,
            1 => share > 0.0,
            CELLS => share >= 1.0,
            // The middle of the cell before it; small whole numbers are exact as f64.
            more => share * 10.0 >= f64::from(u32::try_from(more).unwrap_or(u32::MAX)) - 0.5,
        })
        .unwrap_or(0)
}

/// A share as a whole percentage; what is not quite all is never told as all.
pub(crate) fn percent(share: f64) -> String {
    let rounded = (share * 100.0).round();
    let told = if share < 1.0 {
        rounded.min(99.0)
    } else {
        rounded
    };
    format!("{told:.0} %")
}

/// A probability as a percentage, told beside one that is aimed at. What is not certain is never told
/// as certain, and what falls short of the aim is never told as the same figure.
pub(crate) fn chance(chance: f64, aim: f64) -> String {
    if !chance.is_finite() {
        return "not known".to_owned();
    }
    if chance >= 0.995 {
        return ">99 %".to_owned();
    }
    if chance < 0.005 {
        return "<1 %".to_owned();
    }
    let told = percent(chance);
    if chance < aim && told == percent(aim) {
        return format!("{:.1} %", (chance * 1_000.0).floor() / 10.0);
    }
    told
}

/// Wear: `██████░░░░  61 % tired`.
pub(crate) fn wear(screen: &Screen, damage: f64, band: WearBand) -> String {
    let text = format!("{} {:>5}", cells(screen, damage), percent(damage));
    match band {
        WearBand::Sound => format!("{text} {}", tint::good(&word(band))),
        WearBand::Tired => format!("{text} {}", tint::warn(&word(band))),
        WearBand::Spent => format!("{text} {}", tint::bad(&word(band))),
        WearBand::Unspecified => text,
    }
}

/// Wear in half the cells, for lists: `██░░░  41 %`.
pub(crate) fn bar(screen: &Screen, damage: f64) -> String {
    // Half as many cells, and as few left over: not all for less than all.
    let filled = match filled(damage) {
        CELLS => CELLS / 2,
        count => count.div_ceil(2).min(CELLS / 2 - 1),
    };
    let drawn = drawn(screen, filled, CELLS / 2 - filled);
    format!("{drawn} {:>5}", percent(damage))
}

/// The word of a wear band that is no more sound, in its colour; empty of one that is.
pub(crate) fn band(band: WearBand) -> String {
    match band {
        WearBand::Tired => tint::warn(&word(band)),
        WearBand::Spent => tint::bad(&word(band)),
        WearBand::Sound | WearBand::Unspecified => String::new(),
    }
}

/// A level: `██████░░░░  61 %`. What is nearly gone stands out.
pub(crate) fn level(screen: &Screen, left: i64, full: i64) -> String {
    let share = share(left, full);
    let text = format!("{} {:>5}", cells(screen, share), percent(share));
    if share <= 0.0 {
        tint::bad(&text)
    } else if share < 0.2 {
        tint::warn(&text)
    } else {
        text
    }
}

/// What part of something is left; none of what holds nothing.
#[allow(
    clippy::cast_precision_loss,
    reason = "a share for ten cells; volumes here stay far below 2^53"
)]
pub(crate) fn share(left: i64, full: i64) -> f64 {
    if full <= 0 {
        return 0.0;
    }
    left as f64 / full as f64
}

#[cfg(test)]
mod tests {
    use super::{cells, chance, level, percent, wear};
    use crate::render::Screen;
    use crate::render::tint::finish;
    use fettlebook_contract::v1::WearBand;
    use jiff::tz::TimeZone;

    fn screen(unicode: bool) -> Screen {
        Screen {
            width: 80,
            unicode,
            zone: TimeZone::UTC,
        }
    }

    #[test]
    fn a_gauge_fills_by_tenths_and_shows_neither_end_too_early() {
        let ascii = screen(false);
        assert_eq!(cells(&ascii, 0.0), "[..........]");
        assert_eq!(cells(&ascii, 0.004), "[#.........]");
        assert_eq!(cells(&ascii, 0.61), "[######....]");
        assert_eq!(cells(&ascii, 0.99), "[#########.]");
        assert_eq!(cells(&ascii, 1.0), "[##########]");
        assert_eq!(cells(&ascii, 1.7), "[##########]");
        assert_eq!(cells(&ascii, -0.2), "[..........]");
        assert_eq!(cells(&screen(true), 0.61), "██████░░░░");
    }

    #[test]
    fn wear_above_one_is_told_and_not_clipped() {
        let text = finish(&wear(&screen(false), 1.04, WearBand::Spent), false, true);
        assert_eq!(text, "[##########] 104 % spent");
    }

    #[test]
    fn nearly_all_is_not_told_as_all() {
        assert_eq!(percent(0.996), "99 %");
        assert_eq!(percent(1.0), "100 %");
        assert_eq!(percent(0.005), "1 %");
    }

    #[test]
    fn a_chance_is_never_told_as_certain_nor_as_more_than_it_is() {
        let told = |share| chance(share, 0.95);
        assert_eq!(told(0.93), "93 %");
        assert_eq!(told(1.0), ">99 %");
        assert_eq!(told(0.9951), ">99 %");
        assert_eq!(told(0.995), ">99 %");
        assert_eq!(told(0.9949), "99 %");
        assert_eq!(told(0.004), "<1 %");
        assert_eq!(told(0.005), "1 %");
        assert_eq!(told(0.0), "<1 %");
        assert_eq!(told(0.95), "95 %");
        assert_eq!(told(0.9499), "94.9 %");
        assert_eq!(told(f64::NAN), "not known");
    }

    #[test]
    fn a_level_below_zero_is_told() {
        let text = finish(&level(&screen(false), -12_000, 1_000_000), false, true);
        assert_eq!(text, "[..........]  -1 %");
    }
}
