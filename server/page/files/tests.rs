//! The sheet of style by the figures of a standard: contrast in both themes, and what can be hit with a thumb.

use super::{SCRIPT, STYLE};

/// Contrast between a text and what it stands on.
const TEXT_MIN: f64 = 4.5;
/// Contrast between a line that parts something and what it stands on.
const LINE_MIN: f64 = 3.0;

/// Relative luminance of a colour as `#rrggbb`. Source: WCAG 2.2, "relative luminance".
fn luminance(colour: &str) -> f64 {
    let part = |at: usize| {
        let value = u8::from_str_radix(&colour[at..at + 2], 16).unwrap();
        let share = f64::from(value) / 255.0;
        if share <= 0.040_45 {
            share / 12.92
        } else {
            ((share + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
}

/// Contrast of two colours. Source: WCAG 2.2, "contrast ratio".
fn contrast(one: &str, other: &str) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// The colours of a theme by name.
fn colours(theme: &str) -> Vec<(&str, &str)> {
    let lines = theme
        .lines()
        .take_while(|line| !line.trim().starts_with('}'));
    let named = lines.filter_map(|line| line.trim().strip_prefix("--")?.split_once(": "));
    named
        .map(|(name, colour)| (name, colour.trim_end_matches(';')))
        .collect()
}

/// Source: WCAG 2.2, success criteria 1.4.3 (4.5:1) and 1.4.11 (3:1); black on white has 21:1.
#[test]
fn every_colour_can_be_told_from_its_ground_in_both_themes() {
    assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    let themes: Vec<&str> = STYLE.split(":root {").skip(1).collect();
    assert_eq!(themes.len(), 2);
    for theme in themes {
        let colours = colours(theme);
        let (_, ground) = colours.iter().find(|(name, _)| *name == "ground").unwrap();
        assert_eq!(colours.len(), 8, "{colours:?}");
        for (name, colour) in colours.iter().filter(|(name, _)| *name != "ground") {
            let least = if *name == "line" { LINE_MIN } else { TEXT_MIN };
            let found = contrast(colour, ground);
            assert!(found >= least, "{name} {colour} on {ground}: {found:.2}");
        }
    }
}

/// Source: the page's own promise, 44 px at the usual 16 px to 1 rem; WCAG 2.2, 2.5.5, asks the same.
#[test]
fn whatever_is_tapped_is_at_least_44_px_high() {
    let heights = STYLE.split("min-height: ").skip(1).map(|rest| {
        let rem = rest.split("rem").next().unwrap();
        rem.parse::<f64>().unwrap() * 16.0
    });
    let heights: Vec<f64> = heights.collect();
    assert!(heights.len() >= 4, "{heights:?}");
    assert!(heights.iter().all(|height| *height >= 44.0), "{heights:?}");
}

#[test]
fn what_a_view_loads_is_small_and_nothing_comes_from_elsewhere() {
    assert!(STYLE.len() + SCRIPT.len() < 13_000);
    for text in [STYLE, SCRIPT] {
        for word in ["://", "@import", "url(", "eval", "innerHTML"] {
            assert!(!text.contains(word), "{word}");
        }
    }
}
