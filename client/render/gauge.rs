//! Gauges: ten cells and a figure.
//!
//! They serve wear and bottle levels. The figure says what the cells show, so a gauge reads the same
//! without colour and without block characters.

use fettlebook_contract::v1::WearBand;
pub(crate) use fettlebook_quantity::{chance, percent};

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
    use super::{cells, level, wear};
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
    fn a_level_below_zero_is_told() {
        let text = finish(&level(&screen(false), -12_000, 1_000_000), false, true);
        assert_eq!(text, "[..........]  -1 %");
    }
}
