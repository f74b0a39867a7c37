//! Labels for pieces: the tag large, what the piece is, and a code that a camera reads.
//!
//! A sheet is one picture (SVG) in millimetres, so that every browser and every program for pictures puts the
//! labels where the sheet has its stickers. The code holds the tag as it is typed, or the address at which a telephone
//! finds the piece.

mod sticker;
mod stock;

use minijinja::{Value, context};
use svg::Document;
use svg::node::element::Group;

use crate::fault::Fault;
use crate::render::tint::clean;
pub(crate) use sticker::Sticker;
pub(crate) use stock::{LabelSize, Stock};

const TEMPLATE: (&str, &str) = ("labels.html", include_str!("labels.html"));

/// The sheets with these labels, each a picture; so many places of the first are left free.
pub(crate) fn pictures(stock: &Stock, stickers: &[Sticker<'_>], skipped: usize) -> Vec<String> {
    let places = stock.places();
    let count = skipped.saturating_add(stickers.len()).div_ceil(places);
    let sheet = |sheet: usize| {
        let first = sheet.saturating_mul(places);
        let here = (first..first.saturating_add(places)).filter_map(|at| {
            let sticker = stickers.get(at.checked_sub(skipped)?)?;
            Some((at.saturating_sub(first), sticker))
        });
        let (width, height) = stock.page_mm();
        let mut picture = Document::new()
            .set("viewBox", (0, 0, width, height))
            .set("width", format!("{width}mm"))
            .set("height", format!("{height}mm"))
            .set("font-family", "Arial, Helvetica, sans-serif")
            .set("fill", "#000");
        for (place, sticker) in here {
            let (x, y) = stock.corner_mm(place);
            let moved = Group::new().set("transform", format!("translate({x} {y})"));
            picture = picture.add(
                sticker
                    .drawn(stock.label_mm())
                    .into_iter()
                    .fold(moved, Group::add),
            );
        }
        picture.to_string()
    };
    (0..count).map(sheet).collect()
}

/// The sheets as one page to print.
///
/// # Errors
/// When it cannot be laid out.
pub(crate) fn html(stock: &Stock, pictures: &[String]) -> Result<String, Fault> {
    let (width, height) = stock.page_mm();
    let sheets = pictures.iter().cloned().map(Value::from_safe_string);
    let told = context! { width, height, sheets => sheets.collect::<Value>() };
    super::laid_out(TEMPLATE, told)
}

/// A picture as a file of its own.
pub(crate) fn file_of(picture: &str) -> String {
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{picture}\n")
}

#[cfg(test)]
mod tests;
