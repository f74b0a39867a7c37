//! A life in one line: a bar for each time, as high as the share then was.
//!
//! It serves `kit show`. The highest bar stands for all and is never drawn for less; what has more
//! times than the line has room shows the last of each stretch.

use crate::render::lives;
use crate::render::screen::Screen;

const BARS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
const DIGITS: [char; 10] = ['0', '1', '2', '3', '4', '5', '6', '7', '8', '9'];

/// The line of some shares, oldest first, in at most `room` columns.
pub(crate) fn line(screen: &Screen, shares: &[f64], room: usize) -> String {
    let heights: &[char] = if screen.unicode { &BARS } else { &DIGITS };
    let stretch = shares.len().div_ceil(room.max(1)).max(1);
    shares
        .chunks(stretch)
        .filter_map(<[f64]>::last)
        .filter_map(|share| bar(heights, *share))
        .collect()
}

/// What the highest bar is called on a screen.
pub(crate) const fn highest(screen: &Screen) -> &'static str {
    if screen.unicode { "a full bar" } else { "9" }
}

/// The bar of a share: the highest for all of it, the others in even steps below.
fn bar(heights: &[char], share: f64) -> Option<char> {
    let share = lives::share(share);
    let mut below = heights.iter().rev();
    let highest = below.next().copied();
    if share >= 1.0 {
        return highest;
    }
    let steps = u32::try_from(heights.len().saturating_sub(1)).unwrap_or(1);
    let at_least = |index: u32| share * f64::from(steps) >= f64::from(index);
    (0..steps)
        .zip(heights)
        .take_while(|(index, _)| at_least(*index))
        .last()
        .map(|(_, bar)| *bar)
}

#[cfg(test)]
mod tests {
    use super::line;
    use crate::render::scenario::{ascii, screen};

    #[test]
    fn only_all_of_it_is_drawn_as_a_full_bar() {
        let shares = [0.0, 0.1, 0.2, 0.5, 0.7, 0.9, 0.999, 1.0, 1.7];
        assert_eq!(line(&screen(80), &shares, 40), "▁▁▂▄▅▇▇██");
        assert_eq!(line(&ascii(80), &shares, 40), "001468899");
    }

    #[test]
    fn shares_that_are_none_are_drawn_low_and_nothing_as_nothing() {
        assert_eq!(line(&ascii(80), &[-0.4, f64::NAN], 40), "00");
        assert_eq!(line(&ascii(80), &[f64::INFINITY], 40), "9");
        assert_eq!(line(&ascii(80), &[], 40), "");
        assert_eq!(line(&ascii(80), &[0.5], 0), "4");
    }

    #[test]
    fn a_long_life_keeps_to_its_room_and_to_its_end() {
        let shares: Vec<f64> = (0..=1_000)
            .map(|index| f64::from(index) / 1_000.0)
            .collect();
        let text = line(&screen(80), &shares, 30);
        let count = text.chars().count();
        assert!((15..=30).contains(&count), "{count}: {text}");
        assert!(text.starts_with('▁') && text.ends_with('█'), "{text}");
    }
}
