//! What the marks of the picture mean, in a row above its field. A mark that the field does not carry is not
//! explained.

use fettlebook_contract::v1::MakeWear;
use fettlebook_quantity::exact_f64;
use svg::node::element::{Element, Group, Rectangle};

use super::{BAND_OPACITY, IN_SERVICE, LEFT, SEEN, dashed, round, solid, stroke, words};

/// Width of a letter of the legend in the widest usual fonts.
const LETTER_WIDTH: f64 = 9.6;

/// What the marks mean, in a row above the field.
pub(super) fn legend(wear: &MakeWear, y: f64) -> Group {
    let seen = !wear.curve.is_empty();
    let marks = [
        (seen, Mark::Seen, "seen here"),
        (seen, Mark::Band, "95 % band of it"),
        (
            !wear.belief.is_empty(),
            Mark::Believed,
            "believed of a new pad",
        ),
        (!wear.pads.is_empty(), Mark::InService, "pads in service"),
    ];
    let mut group = Group::new();
    let mut x = LEFT;
    for (_, mark, text) in marks.iter().filter(|(shown, ..)| *shown) {
        group = group
            .add(mark.drawn(x, y - 6.0))
            .add(words(text, x + 50.0, y, 17.0, "start"));
        let letters = exact_f64(i64::try_from(text.len()).unwrap_or(0));
        x += 50.0 + letters * LETTER_WIDTH + 34.0;
    }
    group
}

/// A mark of the legend.
#[derive(Clone, Copy)]
enum Mark {
    Seen,
    Band,
    Believed,
    InService,
}

impl Mark {
    /// The mark with its left end at `x` and its middle at `y`.
    fn drawn(self, x: f64, y: f64) -> Element {
        let across = format!("{},{} {},{}", round(x), round(y), round(x + 40.0), round(y));
        match self {
            Self::Seen => solid(&across).into(),
            Self::Band => Rectangle::new()
                .set("x", round(x))
                .set("y", round(y - 9.0))
                .set("width", 40.0)
                .set("height", 18.0)
                .set("fill", SEEN)
                .set("fill-opacity", BAND_OPACITY)
                .into(),
            Self::Believed => dashed(&across).into(),
            Self::InService => {
                let middle = x + 20.0;
                stroke(middle, y - 8.0, middle, y + 8.0, IN_SERVICE, 3.0).into()
            }
        }
    }
}
