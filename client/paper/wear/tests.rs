//! The wear on paper: what the screens say, with figures for bars, and boxes where somebody looks.

use super::{ahead, at_a_glance, each_piece, of_pads};
use crate::paper::Size;
use crate::paper::tests::{ground, read, texts};
use crate::render::scenario::glance::{budget, pieces};
use crate::render::scenario::wear::{coarse_foam, fine_foam};

fn told(html: &str) -> Vec<String> {
    texts(&read(html))
}

/// Cells of the row that begins with a text, the box left out.
fn row(html: &str, begins: &str) -> Vec<String> {
    let document = read(html);
    let mut rows = document
        .descendants()
        .filter(|node| node.has_tag_name("tr"));
    let cells = rows.find_map(|row| {
        let cells: Vec<String> = row
            .children()
            .filter(|node| node.has_tag_name("td"))
            .map(|cell| cell.text().unwrap_or_default().to_owned())
            .filter(|text| !text.is_empty())
            .collect();
        (cells.first().map(String::as_str) == Some(begins)).then_some(cells)
    });
    cells.unwrap_or_default()
}

#[test]
fn the_whole_kit_stands_on_a_sheet_with_figures_for_bars() {
    let makes = [coarse_foam(), fine_foam()];
    let html = at_a_glance(&ground(Size::A4), &makes, &pieces(), &budget()).unwrap();
    let foam = row(&html, "coarse-foam-150");
    assert_eq!(&foam[1..4], ["6", "5", "108 %"], "{foam:?}");
    let battery = row(&html, "battery-18");
    assert_eq!(
        battery[1..],
        ["BT-01", "250 of 500 charges, 40 of 45 min a charge", "50 %"]
    );
    // A machine has no rated life, and says so.
    assert_eq!(row(&html, "orbital-150")[3], "–");
    assert_eq!(row(&html, "4 weeks, Thu 24 Dec")[3], "24.10 EUR");
    assert!(!html.contains('█') && !html.contains("class=\"box\""));
    let said = told(&html);
    for text in [
        "No price is known of nitrile-gloves: the sums are without it.",
        "orbital-150: no life is rated for a machine: its hours alone are told.",
    ] {
        assert!(said.iter().any(|one| one == text), "{text}: {said:?}");
    }
}

#[test]
fn each_piece_has_a_box_and_the_most_worn_of_a_make_comes_first() {
    let html = each_piece(&ground(Size::A4), "", &pieces()).unwrap();
    assert_eq!(html.matches("class=\"box\"").count(), pieces().len());
    let at = |tag: &str| html.find(&format!(">{tag}<")).unwrap();
    assert!(at("BP-02") < at("BP-01"));
    assert_eq!(row(&html, "P-04")[3], "66 %");
    let of_one = each_piece(&ground(Size::A4), "battery-18", &pieces()[5..]).unwrap();
    assert!(told(&of_one).contains(&"How worn each piece is: battery-18".to_owned()));
    let none = each_piece(&ground(Size::A4), "", &[]).unwrap();
    assert!(none.contains("Nothing of that in the kit has a clock") && !none.contains("<table"));
}

#[test]
fn the_budget_on_paper_is_by_make_and_in_all() {
    let html = ahead(&ground(Size::A4), &budget()).unwrap();
    assert_eq!(
        row(&html, "coarse-foam-150")[1..4],
        ["1.6 (1–3)", "3.9 (2–7)", "6.2 (2–11)"]
    );
    assert_eq!(row(&html, "nitrile-gloves")[4], "no price");
    assert_eq!(row(&html, "12 weeks, Thu 18 Feb")[3], "211.90 EUR");
    let nothing = ahead(&ground(Size::A4), &Default::default()).unwrap();
    assert!(nothing.contains("Nothing of the kit is likely to have to be replaced."));
}

#[test]
fn the_pads_of_a_make_stand_with_what_is_to_be_kept_in_mind() {
    let html = of_pads(&ground(Size::A4), &coarse_foam()).unwrap();
    assert_eq!(
        row(&html, "P-05"),
        ["P-05", "aside", "104 % spent", "1.6", "0.3 to 3.9"]
    );
    let said = told(&html);
    for text in [
        "coarse foam 150 (coarse-foam-150)",
        "Retiring as a precaution shortens the life that is seen; 1 of 6 went so.",
        "as a precaution",
    ] {
        assert!(said.iter().any(|one| one == text), "{text}: {said:?}");
    }
    assert_eq!(
        html.matches("class=\"box\"").count(),
        coarse_foam().pads.len()
    );
    let new = of_pads(&ground(Size::A4), &fine_foam()).unwrap();
    assert!(new.contains("No pad of this make has worn out here yet"));
}
