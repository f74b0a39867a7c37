//! Labels read back as pictures: where they stand, what is written on them, what a decoder reads.

use fettlebook_quantity::is_unseen;
use roxmltree::Document;

use super::{LabelSize, Sticker, Stock, file_of, html, pictures};
use crate::paper::tests::read;
use crate::testing::texts;

const LONG: &str = "coarse microfibre pad on a soft interface, hook and loop, 150 mm, \
                    of the batch that came in the wet November";

fn sheet(size: LabelSize, tag: &str, name: &str) -> String {
    let stock = Stock::sheet(size).unwrap_or_else(|| Stock::single(size));
    let address = None;
    pictures(&stock, &[Sticker { tag, address, name }], 0).remove(0)
}

#[test]
fn the_tag_is_whole_and_a_name_too_long_is_shortened_on_every_size() {
    for size in [LabelSize::LARGE, LabelSize::SMALL, LabelSize::SINGLE] {
        let told = texts(&sheet(size, "ABC-12345", LONG));
        assert_eq!(told[0], "ABC-12345");
        let name = told[1..].join(" ");
        let start = name.strip_suffix('…').unwrap().trim_end();
        assert!(
            LONG.starts_with(start) && start.len() > 20,
            "{size:?}: {name}"
        );
        let short = texts(&sheet(size, "P-07", "wool 150"));
        assert_eq!(short, ["P-07", "wool 150"]);
    }
}

#[test]
fn markup_and_marks_that_turn_text_stay_text() {
    let name = "\u{202e}150 <script> &amp; </text><script>alert(1)</script>";
    let picture = sheet(LabelSize::LARGE, "P-07", name);
    let document = Document::parse(&picture).unwrap();
    assert!(
        !document
            .descendants()
            .any(|node| node.has_tag_name("script"))
    );
    let told = texts(&picture).join("");
    assert!(
        told.contains("<script>") && told.contains("&amp;"),
        "{told}"
    );
    assert!(
        told.contains("<U+202E>") && !told.chars().any(is_unseen),
        "{told}"
    );
    let stock = Stock::sheet(LabelSize::LARGE).unwrap();
    let page = html(&stock, &[picture]).unwrap();
    assert!(
        !read(&page)
            .descendants()
            .any(|node| node.has_tag_name("script"))
    );
}

#[test]
fn labels_fill_sheet_after_sheet_from_the_first_free_place() {
    let stock = Stock::sheet(LabelSize::LARGE).unwrap();
    let tags: Vec<String> = (1..=30).map(|number| format!("P-{number:02}")).collect();
    let stickers: Vec<Sticker<'_>> = tags
        .iter()
        .map(|tag| Sticker {
            tag,
            address: None,
            name: "wool 150",
        })
        .collect();
    let counts = |skipped| -> Vec<usize> {
        let sheets = pictures(&stock, &stickers, skipped);
        sheets
            .iter()
            .map(|sheet| sheet.matches("<g ").count())
            .collect()
    };
    assert_eq!(counts(0), [24, 6]);
    assert_eq!(counts(20), [4, 24, 2]);
    assert_eq!(counts(18), [6, 24]);
    assert!(pictures(&stock, &stickers, 20)[0].contains("translate(140 220.5)"));
    let page = html(&stock, &pictures(&stock, &stickers, 0)).unwrap();
    assert_eq!(page.matches("<svg ").count(), 2);
    assert!(page.contains("@page { size: 210.0mm 297.0mm; margin: 0; }"));
}

#[test]
fn a_picture_of_its_own_is_well_formed_and_measures_in_millimetres() {
    let picture = file_of(&sheet(LabelSize::SMALL, "P-07", "wool 150"));
    let document = Document::parse(&picture).unwrap();
    let root = document.root_element();
    assert_eq!(root.attribute("width"), Some("210mm"));
    assert_eq!(root.attribute("viewBox"), Some("0 0 210 297"));
}
