//! One label: its code to the left, its tag large beside it, and below that what the piece is.
//!
//! Invariant: the tag stands whole and as large as fits; what the piece is, is shortened where it is too long.

use fast_qr::ECL;
use svg::node::Node;
use svg::node::element::{Path, Text as Words};

use super::super::code::{QUIET, squares};
use super::clean;
use crate::render::screen::{NO_BREAK, joined};

/// Most of a label's width that the code takes, with its quiet zone.
const CODE_SHARE: f64 = 0.46;
/// Free at the edges of a label, mm: printers and cutters are seldom more exact (common practice, no source).
const EDGE_MM: f64 = 1.0;
/// Of a label's height: the tag at most, and what the piece is.
const TAG_SHARE: f64 = 0.3;
const NAME_SHARE: f64 = 0.115;
/// Smallest and largest letters of what the piece is, mm.
const NAME_LEAST_MM: f64 = 1.9;
const NAME_MOST_MM: f64 = 4.0;
/// How wide a letter is to its height, in the widest usual fonts: capitals and figures, bold; small letters.
const WIDE: f64 = 0.8;
const USUAL: f64 = 0.58;
/// Distance of lines to the height of letters.
const LEADING: f64 = 1.2;

/// What stands on a label.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sticker<'a> {
    pub(crate) tag: &'a str,
    /// Where the piece is on the page at the bench, for the code to open; without it the code holds the tag.
    pub(crate) address: Option<&'a str>,
    /// What the piece is.
    pub(crate) name: &'a str,
}

impl Sticker<'_> {
    /// Its parts, from the label's upper left corner, on a label of this width and height, mm.
    pub(super) fn drawn(&self, (width, height): (f64, f64)) -> Vec<Box<dyn Node>> {
        let mut parts: Vec<Box<dyn Node>> = Vec::new();
        let side = (height - EDGE_MM).min(width * CODE_SHARE);
        if let Some(code) = self.code(side, (height - side) / 2.0) {
            parts.push(Box::new(code));
        }
        let room = width - side - EDGE_MM - 0.5;
        let tag = clean(self.tag);
        let letters = f64::from(u16::try_from(tag.chars().count()).unwrap_or(u16::MAX)).max(1.0);
        let tag_size = (height * TAG_SHARE).min(room / (letters * WIDE));
        let size = (height * NAME_SHARE).clamp(NAME_LEAST_MM, NAME_MOST_MM);
        let top = height * 0.12 + tag_size;
        let below = height - EDGE_MM - top - size * 0.4;
        let lines = shortened(
            &clean(self.name),
            whole(room / (size * USUAL)),
            whole(below / (size * LEADING)),
        );
        let x = side + 0.5;
        let words = |text: &str, y: f64, size: f64| {
            Words::new(text)
                .set("x", rounded(x))
                .set("y", rounded(y))
                .set("font-size", rounded(size))
        };
        parts.push(Box::new(
            words(&tag, top, tag_size).set("font-weight", "bold"),
        ));
        let mut y = top + size * 0.2;
        for line in &lines {
            y += size * LEADING;
            parts.push(Box::new(words(line, y, size)));
        }
        parts
    }

    /// Its code in a square with its quiet zone, its left edge at the label's; nothing for what no code holds.
    fn code(&self, side: f64, top: f64) -> Option<Path> {
        // As much of it as can be restored: a label in a workshop gets soiled. An address has more modules, which
        // stay larger where less can be restored, a quarter of it.
        let code = match self.address {
            Some(address) => squares(address, ECL::Q),
            None => squares(self.tag, ECL::H),
        }?;
        let module = side / (f64::from(code.side) + 2.0 * QUIET);
        let (x, y) = (QUIET * module, top + QUIET * module);
        let moved = format!(
            "translate({} {}) scale({})",
            rounded(x),
            rounded(y),
            (module * 1e5).round() / 1e5
        );
        Some(
            Path::new()
                .set("d", code.way)
                .set("transform", moved)
                .set("shape-rendering", "crispEdges"),
        )
    }
}

/// Text in at most so many lines of so many letters; what does not fit ends in an ellipsis.
fn shortened(text: &str, letters: usize, lines_max: usize) -> Vec<String> {
    let letters = letters.max(2);
    let mut lines: Vec<String> = textwrap::wrap(&joined(text), letters)
        .into_iter()
        .map(|line| line.replace(NO_BREAK, " "))
        .collect();
    if lines.len() > lines_max {
        lines.truncate(lines_max);
        if let Some(last) = lines.last_mut() {
            while textwrap::core::display_width(last) >= letters {
                last.pop();
            }
            last.push('…');
        }
    }
    lines
}

/// As many whole ones as there are; none below nought.
fn whole(count: f64) -> usize {
    (0..64_u16)
        .take_while(|number| f64::from(*number) + 1.0 <= count)
        .count()
}

/// To a hundredth of a millimetre.
fn rounded(mm: f64) -> f64 {
    (mm * 100.0).round() / 100.0
}
