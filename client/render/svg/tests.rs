//! The picture read back as XML: well formed, labelled, and not to be broken by any text.

use super::picture;
use crate::render::scenario::wear::{coarse_foam, fine_foam};
use crate::testing::texts;
use fettlebook_contract::v1::{LifeBelief, LifeStep, MakeWear, PadLeft};
use roxmltree::Document;

#[test]
fn a_picture_is_well_formed_and_labelled() {
    let drawn = picture(&coarse_foam(), "Thu 26 Nov 2026");
    let told = texts(&drawn);
    for text in [
        "coarse foam 150",
        "wear, % of the rated life",
        "pads still working, %",
        "rating",
        "seen here",
        "believed of a new pad",
        "pads in service",
        "Thu 26 Nov 2026",
    ] {
        assert!(told.iter().any(|word| word == text), "{text}: {told:?}");
    }
    let document = Document::parse(&drawn).unwrap();
    let root = document.root_element();
    assert_eq!(
        root.tag_name().namespace(),
        Some("http://www.w3.org/2000/svg")
    );
    assert_eq!(root.attribute("viewBox"), Some("0 0 1188 840"));
    let count = |tag| {
        document
            .descendants()
            .filter(|node| node.has_tag_name(tag))
            .count()
    };
    // Seen and believed, each on the field and in the legend; one band.
    assert_eq!((count("polyline"), count("polygon")), (4, 1));
}

#[test]
fn text_of_the_book_cannot_break_out_of_its_place() {
    let mut wear = coarse_foam();
    wear.make_name = "a <b> & \"c\" 'd' ]]> \u{1b}[31m\u{0}\u{fffe}".to_owned();
    wear.summary = "</text><script>alert(1)</script>".to_owned();
    wear.pads[0].tag = "<script>\u{202e}".to_owned();
    let drawn = picture(&wear, "\"><x/>");
    let told = texts(&drawn);
    assert!(
        told.contains(&"a <b> & \"c\" 'd' ]]> [31m".to_owned()),
        "{told:?}"
    );
    assert!(told.contains(&wear.summary), "{told:?}");
    let document = Document::parse(&drawn).unwrap();
    let strange = |tag| document.descendants().any(|node| node.has_tag_name(tag));
    assert!(!strange("script") && !strange("x"));
}

#[test]
fn the_step_curve_falls_level_by_level_and_never_leaves_the_sheet() {
    let drawn = picture(&coarse_foam(), "");
    let document = Document::parse(&drawn).unwrap();
    let solid = document
        .descendants()
        .filter(|node| node.has_tag_name("polyline"))
        .filter(|node| node.attribute("stroke-dasharray").is_none())
        .find_map(|node| node.attribute("points").filter(|points| points.len() > 60))
        .unwrap();
    let points: Vec<(f64, f64)> = solid
        .split(' ')
        .map(|point| point.split_once(',').unwrap())
        .map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()))
        .collect();
    // Six corners, and a further point before each fall.
    assert_eq!(points.len(), 11);
    for pair in points.windows(2) {
        let ((x, y), (next_x, next_y)) = (pair[0], pair[1]);
        assert!(x == next_x || y == next_y, "{points:?}");
        assert!(next_x >= x && next_y >= y, "{points:?}");
    }
    for (x, y) in points {
        assert!((130.0..=1128.0).contains(&x) && (100.0..=690.0).contains(&y));
    }
}

/// The points of the lines that are drawn so, the longest first.
fn longest_line(drawn: &str, is_dashed: bool) -> Vec<(f64, f64)> {
    let document = Document::parse(drawn).unwrap();
    let lines = document
        .descendants()
        .filter(|node| node.has_tag_name("polyline"))
        .filter(|node| node.attribute("stroke-dasharray").is_some() == is_dashed);
    let points = lines.map(|line| {
        let points = line.attribute("points").unwrap().split(' ');
        let points = points.map(|point| point.split_once(',').unwrap());
        let points = points.map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()));
        points.collect::<Vec<(f64, f64)>>()
    });
    points.max_by_key(Vec::len).unwrap()
}

#[test]
fn what_is_believed_reaches_from_one_end_of_its_axis_to_the_other() {
    for wear in [coarse_foam(), fine_foam()] {
        let believed = longest_line(&picture(&wear, ""), true);
        assert_eq!(believed.first().unwrap(), &(130.0, believed[0].1));
        assert_eq!(believed.last().unwrap().0, 1128.0, "{}", wear.make);
    }
    // Between two points of what is believed the axis may end too.
    let mut wear = coarse_foam();
    wear.belief
        .retain(|point| point.damage < 1.0 || point.damage > 4.0);
    wear.belief.push(LifeBelief {
        damage: 90.0,
        survival: 0.5,
    });
    assert_eq!(
        longest_line(&picture(&wear, ""), true).last().unwrap().0,
        1128.0
    );
}

#[test]
fn every_pad_in_service_has_its_tag_at_its_mark() {
    let wear = coarse_foam();
    let drawn = picture(&wear, "");
    let document = Document::parse(&drawn).unwrap();
    let upright = document.descendants().filter(|node| {
        let turned = node.attribute("transform").unwrap_or_default();
        node.has_tag_name("text") && turned.starts_with("rotate(-90") && !turned.contains(" 60 ")
    });
    let told: Vec<(String, f64)> = upright
        .map(|node| {
            let x = node.attribute("x").unwrap().parse().unwrap();
            (node.text().unwrap().trim().to_owned(), x)
        })
        .collect();
    let tags: Vec<&str> = told.iter().map(|(tag, _)| tag.as_str()).collect();
    // In the order of their wear.
    assert_eq!(tags, ["P-06", "P-01", "P-02", "P-04", "P-05"]);
    let reach = crate::render::lives::reach(&wear);
    for (pad, (tag, x)) in wear.pads.iter().rev().zip(&told) {
        assert_eq!(&pad.tag, tag);
        let mark = 130.0 + pad.damage / reach * 998.0;
        assert!((x - 5.0 - mark).abs() < 0.2, "{tag}: {x} {mark}");
    }
}

#[test]
fn of_more_pads_than_there_is_room_for_the_most_worn_have_their_tags() {
    let mut wear = coarse_foam();
    let pad = wear.pads[0].clone();
    wear.pads = (1..=90)
        .map(|number| PadLeft {
            tag: format!("P-{number:03}"),
            damage: f64::from(number) / 100.0,
            ..pad.clone()
        })
        .collect();
    let told = texts(&picture(&wear, ""));
    let tags: Vec<&String> = told.iter().filter(|text| text.starts_with("P-")).collect();
    assert_eq!(tags.len(), 66);
    assert!(tags.contains(&&"P-090".to_owned()) && !tags.contains(&&"P-001".to_owned()));
}

#[test]
fn a_make_of_which_none_wore_out_is_drawn_without_a_curve() {
    let told = texts(&picture(&fine_foam(), ""));
    assert!(!told.contains(&"seen here".to_owned()), "{told:?}");
    let told = texts(&picture(&MakeWear::default(), ""));
    assert!(told.contains(&"rating".to_owned()), "{told:?}");
}

#[test]
fn figures_that_are_no_numbers_leave_no_mark_in_the_file() {
    let step = LifeStep {
        damage: f64::NAN,
        survival: f64::NAN,
        standard_error: f64::NAN,
        ..LifeStep::default()
    };
    let mut wear = coarse_foam();
    wear.curve.push(step);
    wear.curve.push(LifeStep {
        damage: 1e300,
        ..step
    });
    let drawn = picture(&wear, "");
    assert!(!drawn.contains("NaN") && !drawn.contains("inf"), "{drawn}");
    Document::parse(&drawn).unwrap();
}
