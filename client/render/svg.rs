//! The lives of one make as a picture to print on a sheet of A4 and put on the wall.
//!
//! Every mark differs by shape as well as by colour, text is escaped by the writer, and no text of the book ever
//! stands in an attribute.

use fettlebook_contract::v1::MakeWear;
use svg::Document;
use svg::node::element::{Group, Line, Polygon, Polyline, Rectangle, Text as Words, Title};

use crate::render::lives;
use crate::render::screen::several;
use crate::render::tint::clean;

mod legend;
mod standing;

use legend::legend;
use standing::standing;

/// Four units a millimetre on A4, landscape.
const WIDTH: f64 = 1188.0;
const HEIGHT: f64 = 840.0;
/// Where text and the field begin and end across the sheet.
const LEFT: f64 = 130.0;
const RIGHT: f64 = 1128.0;
/// The horizontal axis, and the line of the footer.
const BASE: f64 = 690.0;
const FOOTER: f64 = 805.0;
/// Baseline of the first line of the title.
const TITLE_TOP: f64 = 80.0;
const TITLE_SIZE: f64 = 36.0;
/// Letters of the title and of the summary on a line of that width, for the widest usual fonts.
const TITLE_LETTERS: usize = 44;
const SUMMARY_SIZE: f64 = 20.0;
const SUMMARY_LETTERS: usize = 92;
/// Lines of the summary that are told; the field keeps the rest of the sheet.
const LINES_MAX: usize = 4;
/// Labels on the horizontal axis.
const MARKS_MAX: u32 = 11;
const WEAR: &str = "wear, % of the rated life";
const WORKING: &str = "pads still working, %";
/// 95 % of a normal distribution lies within so many standard errors.
const STANDARD_ERRORS: f64 = 1.96;

/// Blue, vermilion and bluish green, which people of any colour sight tell apart.
const SEEN: &str = "#0072b2";
const BELIEVED: &str = "#d55e00";
const IN_SERVICE: &str = "#009e73";
const BAND_OPACITY: f64 = 0.16;
const INK: &str = "#222222";
const GREY: &str = "#666666";
const FAINT: &str = "#dddddd";

/// The picture of a make, with the day on which it was drawn.
pub(crate) fn picture(wear: &MakeWear, day: &str) -> String {
    let name = clean(&wear.make_name);
    let summary = clean(&wear.summary);
    let titles = wrapped(&name, TITLE_LETTERS);
    let summaries = wrapped(&summary, SUMMARY_LETTERS);
    let mut document = Document::new()
        .set("viewBox", (0, 0, 1188, 840))
        .set("width", "297mm")
        .set("height", "210mm")
        .set("font-family", "sans-serif")
        .set("role", "img")
        .add(Title::new(format!("{name}: {summary}")))
        .add(
            Rectangle::new()
                .set("width", WIDTH)
                .set("height", HEIGHT)
                .set("fill", "#ffffff"),
        );
    let mut line = TITLE_TOP;
    for text in &titles {
        let words = words(text, LEFT, line, TITLE_SIZE, "start");
        document = document.add(words.set("font-weight", "bold"));
        line += TITLE_SIZE * 1.2;
    }
    line -= TITLE_SIZE * 0.1;
    for text in &summaries {
        document = document.add(words(text, LEFT, line, SUMMARY_SIZE, "start"));
        line += SUMMARY_SIZE * 1.4;
    }
    let field = Field {
        top: line + 64.0,
        reach: lives::reach(wear),
    };
    document = document
        .add(legend(wear, line + 14.0))
        .add(field.axes())
        .add(field.rating())
        .add(field.curves(wear))
        .add(footer(wear, day));
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

fn wrapped(text: &str, letters: usize) -> Vec<String> {
    let mut lines: Vec<String> = textwrap::wrap(text, letters)
        .into_iter()
        .map(String::from)
        .collect();
    if lines.len() > LINES_MAX {
        lines.truncate(LINES_MAX);
        if let Some(last) = lines.last_mut() {
            last.push_str(" …");
        }
    }
    lines
}

fn words(text: &str, x: f64, y: f64, size: f64, anchor: &str) -> Words {
    Words::new(text)
        .set("x", round(x))
        .set("y", round(y))
        .set("font-size", size)
        .set("text-anchor", anchor)
        .set("fill", INK)
}

fn stroke(x1: f64, y1: f64, x2: f64, y2: f64, colour: &str, width: f64) -> Line {
    Line::new()
        .set("x1", round(x1))
        .set("y1", round(y1))
        .set("x2", round(x2))
        .set("y2", round(y2))
        .set("stroke", colour)
        .set("stroke-width", width)
}

/// To a tenth of a unit, a fortieth of a millimetre.
fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn footer(wear: &MakeWear, day: &str) -> Group {
    let mut counts = several(wear.failure_count, "pad worn out", "pads worn out");
    if wear.precaution_count > 0 {
        counts.push_str(&format!(", {} as a precaution", wear.precaution_count));
    }
    counts.push_str(&format!(
        " · {} left for other reasons · {} in service",
        wear.cut_off_count, wear.in_service_count
    ));
    Group::new()
        .add(words(&counts, LEFT, FOOTER, 16.0, "start").set("fill", GREY))
        .add(words(&clean(day), RIGHT, FOOTER, 16.0, "end").set("fill", GREY))
}

/// The field between the axes.
struct Field {
    top: f64,
    reach: f64,
}

impl Field {
    fn x(&self, damage: f64) -> f64 {
        LEFT + damage.clamp(0.0, self.reach) / self.reach * (RIGHT - LEFT)
    }

    fn y(&self, share: f64) -> f64 {
        BASE - lives::share(share) * (BASE - self.top)
    }

    fn points(&self, corners: impl IntoIterator<Item = (f64, f64)>) -> String {
        corners
            .into_iter()
            .map(|(damage, share)| format!("{},{}", round(self.x(damage)), round(self.y(share))))
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// Both axes with their labels, and light lines across.
    fn axes(&self) -> Group {
        let mut group = Group::new();
        for fifth in 0..=5 {
            let share = f64::from(fifth) / 5.0;
            let y = self.y(share);
            let label = format!("{}", fifth * 20);
            group = group.add(stroke(LEFT, y, RIGHT, y, FAINT, 1.0)).add(words(
                &label,
                LEFT - 12.0,
                y + 6.0,
                17.0,
                "end",
            ));
        }
        for mark in lives::marks(self.reach, MARKS_MAX) {
            let x = self.x(mark);
            let label = format!("{:.0}", mark * 100.0);
            group = group
                .add(stroke(x, BASE, x, BASE + 7.0, INK, 1.5))
                .add(words(&label, x, BASE + 27.0, 17.0, "middle"));
        }
        let middle = f64::midpoint(self.top, BASE);
        let across = f64::midpoint(LEFT, RIGHT);
        let sideways = format!("rotate(-90 60 {})", round(middle));
        group
            .add(stroke(LEFT, BASE, RIGHT, BASE, INK, 1.5))
            .add(stroke(LEFT, self.top, LEFT, BASE, INK, 1.5))
            .add(words(WEAR, across, BASE + 60.0, 19.0, "middle"))
            .add(words(WORKING, 60.0, middle, 19.0, "middle").set("transform", sideways))
    }

    /// The hairline at the rated life.
    fn rating(&self) -> Group {
        let x = self.x(1.0);
        Group::new()
            .add(stroke(x, self.top - 6.0, x, BASE, GREY, 1.0))
            .add(words("rating", x, self.top - 12.0, 16.0, "middle").set("fill", GREY))
    }

    /// The band, what is believed, what was seen, and the pads in service.
    fn curves(&self, wear: &MakeWear) -> Group {
        let mut group = Group::new();
        let corners = lives::seen(wear);
        if !corners.is_empty() {
            group = group.add(
                Polygon::new()
                    .set("points", self.points(band(wear, &corners)))
                    .set("fill", SEEN)
                    .set("fill-opacity", BAND_OPACITY),
            );
        }
        let points = wear.belief.iter();
        let points = points.filter(|point| (0.0..=self.reach).contains(&point.damage));
        let mut believed: Vec<_> = points.map(|point| (point.damage, point.survival)).collect();
        // What is believed goes on between its points, to where the axis ends.
        let end = lives::belief_at(&wear.belief, self.reach);
        believed.extend(end.map(|share| (self.reach, share)));
        if !believed.is_empty() {
            group = group.add(dashed(&self.points(believed)));
        }
        if !corners.is_empty() {
            group = group.add(solid(&self.points(steps(&corners))));
        }
        let pads = wear.pads.iter().filter(|pad| pad.damage.is_finite());
        group.add(standing(pads.map(|pad| (self.x(pad.damage), pad))))
    }
}

/// The line of what was seen.
fn solid(points: &str) -> Polyline {
    line(points, SEEN).set("stroke-width", 4.0)
}

/// The line of what is believed.
fn dashed(points: &str) -> Polyline {
    line(points, BELIEVED)
        .set("stroke-width", 3.0)
        .set("stroke-dasharray", "10 7")
}

fn line(points: &str, colour: &str) -> Polyline {
    Polyline::new()
        .set("points", points)
        .set("fill", "none")
        .set("stroke", colour)
        .set("stroke-linejoin", "round")
}

/// Corners of a step curve as the points of its line: level, then down.
fn steps(corners: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut points = Vec::new();
    let mut before = None;
    for &(damage, share) in corners {
        points.extend(before.map(|level| (damage, level)));
        points.push((damage, share));
        before = Some(share);
    }
    points
}

/// The outline of the band around what was seen: its upper edge there, its lower edge back.
fn band(wear: &MakeWear, corners: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let known = wear.curve.iter().filter(|step| step.damage.is_finite());
    let errors = known.map(|step| step.standard_error);
    let last = errors.clone().next_back().unwrap_or(0.0);
    let errors = std::iter::once(0.0)
        .chain(errors)
        .chain(std::iter::once(last));
    let edge = |side: f64| {
        let shifted = corners.iter().zip(errors.clone()).map(|(corner, error)| {
            let (damage, share) = *corner;
            let wide = if error.is_finite() { error } else { 0.0 };
            (damage, lives::share(share + side * STANDARD_ERRORS * wide))
        });
        steps(&shifted.collect::<Vec<_>>())
    };
    let mut outline = edge(1.0);
    outline.extend(edge(-1.0).into_iter().rev());
    outline
}

#[cfg(test)]
mod tests;
