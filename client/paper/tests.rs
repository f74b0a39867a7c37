//! Every sheet read back as XML: well formed, closed to the outside, and not to be broken by any text.

use fettlebook_contract::v1::CheckJobsResponse;
use roxmltree::{Document, ParsingOptions};

use super::{Ground, Size, check, cost, kit, pairing, quote, reorder, wear};
use crate::render::quote::Letterhead;
use crate::render::scenario::{self, cost as costs, screen, supply};

/// A ground for sheets of a size.
pub(super) fn ground(size: Size) -> Ground<'static> {
    let screen = Box::leak(Box::new(screen(80)));
    Ground {
        screen,
        size,
        made: "Wed 25 Nov 2026 18:30".to_owned(),
    }
}

pub(super) fn read(html: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(html, options).unwrap()
}

/// Texts of all elements, without blanks around them; the style is none.
pub(super) fn texts(document: &Document<'_>) -> Vec<String> {
    let texts = document.descendants().filter(|node| {
        let is_style = node
            .parent()
            .is_some_and(|above| above.has_tag_name("style"));
        node.is_text() && !is_style
    });
    texts
        .filter_map(|node| node.text().map(|text| text.trim().to_owned()))
        .filter(|text| !text.is_empty())
        .collect()
}

const ATTACK: &str = "</td><script>alert(1)</script><img src=x onerror=alert(1)> {{ job }} {% raw %} \
                      \"'&amp; ]]> \u{1b}[31m\u{0}\u{202e}\u{fffe}";
/// The same as it stands on paper: its marks that nobody sees by their code points.
const SHOWN: &str = "</td><script>alert(1)</script><img src=x onerror=alert(1)> {{ job }} {% raw %} \
                     \"'&amp; ]]> [31m<U+202E>";

/// A check of which every text is an attack.
fn attacked_check() -> CheckJobsResponse {
    let mut answer = scenario::check();
    answer.assumption = ATTACK.to_owned();
    for check in &mut answer.checks {
        check.job = ATTACK.to_owned();
        check.place = ATTACK.to_owned();
        check.cautions = vec![ATTACK.to_owned()];
        for line in &mut check.lines {
            line.what = ATTACK.to_owned();
            line.step = ATTACK.to_owned();
            line.reason = ATTACK.to_owned();
            line.todos = vec![ATTACK.to_owned()];
            for pick in &mut line.picks {
                pick.tag = ATTACK.to_owned();
            }
        }
    }
    answer
}

/// Each sheet with every text an attack.
fn attacked(size: Size) -> Vec<(&'static str, String)> {
    let ground = ground(size);
    let mut pieces = scenario::kit();
    for piece in &mut pieces {
        piece.tag = ATTACK.to_owned();
        piece.make_name = ATTACK.to_owned();
        piece.place = ATTACK.to_owned();
    }
    let mut list = supply::to_reorder();
    for basket in &mut list.baskets {
        basket.supplier_name = ATTACK.to_owned();
        for line in &mut basket.lines {
            line.make_name = ATTACK.to_owned();
            line.reason = ATTACK.to_owned();
            line.jobs = vec![ATTACK.to_owned()];
        }
    }
    list.assumptions = vec![ATTACK.to_owned()];
    let mut sheet = costs::done();
    sheet.job = ATTACK.to_owned();
    sheet.caveats = vec![ATTACK.to_owned()];
    sheet.lines[0].text = ATTACK.to_owned();
    let mut worn = scenario::glance::pieces();
    for piece in &mut worn {
        piece.tag = ATTACK.to_owned();
        piece.make = ATTACK.to_owned();
        piece.rests_on = ATTACK.to_owned();
    }
    let mut makes = scenario::wear::coarse_foam();
    makes.make_name = ATTACK.to_owned();
    makes.summary = ATTACK.to_owned();
    makes.caveats = vec![ATTACK.to_owned()];
    makes.pads[0].tag = ATTACK.to_owned();
    let mut ahead = scenario::glance::budget();
    ahead.rests_on = ATTACK.to_owned();
    let mut code = pairing::tests::invited();
    code.fingerprint = ATTACK.to_owned();
    vec![
        (
            "pairing",
            pairing::html(&ground, ATTACK, ATTACK, &code).unwrap(),
        ),
        (
            "check",
            check::html(&ground, &attacked_check(), ATTACK).unwrap(),
        ),
        ("kit", kit::html(&ground, &pieces).unwrap()),
        ("reorder", reorder::html(&ground, &list, ATTACK).unwrap()),
        ("cost", cost::html(&ground, &sheet).unwrap()),
        (
            "wear",
            wear::at_a_glance(&ground, &[], &worn, &ahead).unwrap(),
        ),
        (
            "wear of each piece",
            wear::each_piece(&ground, ATTACK, &worn).unwrap(),
        ),
        ("wear ahead", wear::ahead(&ground, &ahead).unwrap()),
        ("wear of pads", wear::of_pads(&ground, &makes).unwrap()),
        (
            "quote",
            quote::html(&ground, &costs::quoted(), Letterhead::default()).unwrap(),
        ),
    ]
}

#[test]
fn no_text_of_the_book_breaks_out_of_its_place_on_any_sheet() {
    for (name, paper) in attacked(Size::A4) {
        let document = read(&paper);
        let strange = |tag| document.descendants().any(|node| node.has_tag_name(tag));
        assert!(!strange("script") && !strange("img"), "{name}: {paper}");
        let told = texts(&document);
        if name != "quote" {
            assert!(
                told.iter().any(|one| one.contains(SHOWN)),
                "{name}: {told:?}"
            );
        }
    }
}

#[test]
fn no_sheet_fetches_anything_or_runs_anything() {
    for (name, paper) in attacked(Size::A5) {
        for node in read(&paper).descendants() {
            let tag = node.tag_name().name();
            assert!(
                !["script", "link", "img", "iframe", "object"].contains(&tag),
                "{name}: {tag}"
            );
            for attribute in node.attributes() {
                let attribute = attribute.name();
                assert!(
                    !["src", "href", "style", "srcset"].contains(&attribute)
                        && !attribute.starts_with("on"),
                    "{name}: {attribute}"
                );
            }
        }
        for fetched in ["url(", "@import", "@font-face"] {
            assert!(!paper.contains(fetched), "{name}: {fetched}");
        }
    }
}

/// Source of the names: CSS Paged Media Level 3, the property `size`.
#[test]
fn every_sheet_is_of_the_size_that_was_asked_for() {
    for (size, written) in [
        (Size::A4, "@page { size: A4;"),
        (Size::A5, "@page { size: A5;"),
        (Size::Letter, "@page { size: letter;"),
    ] {
        for (name, paper) in attacked(size) {
            assert!(paper.contains(written), "{name}: {written}");
        }
    }
}

#[test]
fn every_sheet_is_black_on_white() {
    for (name, paper) in attacked(Size::A4) {
        let (style, rest) = paper.split_once("</style>").unwrap();
        assert!(!rest.contains("=\"#"), "{name}: a colour of its own");
        let colours = style.match_indices('#').map(|(at, _)| &style[at..]);
        for colour in colours.filter(|text| !text.starts_with("#x")) {
            let is_plain = colour.starts_with("#000") || colour.starts_with("#fff");
            assert!(is_plain, "{name}: {}", &colour[..7]);
        }
        assert!(paper.contains("color: #000; background: #fff"), "{name}");
    }
}

#[test]
fn a_stock_take_is_by_place_with_room_for_what_is_left() {
    let paper = kit::html(&ground(Size::A4), &scenario::kit()).unwrap();
    let document = read(&paper);
    let told = texts(&document);
    assert!(told.contains(&"Kit: bench".to_owned()) && told.contains(&"Kit: van-a".to_owned()));
    let rows: Vec<String> = document
        .descendants()
        .filter(|node| node.has_tag_name("tr"))
        .map(|row| {
            let texts = row.descendants().filter_map(|node| node.text());
            texts.map(str::trim).collect::<Vec<_>>().join("|")
        })
        .collect();
    let row = |tag: &str| rows.iter().find(|row| row.contains(tag)).unwrap();
    assert!(row("B-03").ends_with('g'), "{}", row("B-03"));
    assert!(row("T-01").contains("12 clean, 6 soiled") && row("T-01").ends_with("towels"));
    assert!(row("S-01").contains("23 pairs") && row("S-01").ends_with("pairs"));
    assert!(row("P-01").contains("41 %") && !paper.contains('█'));
    assert_eq!(paper.matches("<section class=\"fresh\">").count(), 1);
}

#[test]
fn the_order_list_has_a_box_a_line_and_says_what_is_late() {
    let paper = reorder::html(&ground(Size::A4), &supply::to_reorder(), "").unwrap();
    let told = texts(&read(&paper));
    for text in [
        "To order",
        "Tern Quay Supplies (tern-quay), order at once",
        "3 packs of 2 × 18.90 EUR",
        "83.70 EUR",
        "late: order at once, the last day was Mon 23 Nov 2026",
        "too small: 5.40 EUR more to the least order.",
        "No supplier offers these",
    ] {
        assert!(told.iter().any(|one| one == text), "{text}: {told:?}");
    }
    assert_eq!(paper.matches("class=\"box\"").count(), 4);
    let late = "<td class=\"late\">late: order at once";
    assert_eq!(paper.matches(late).count(), 1, "{paper}");
    let nothing = reorder::html(&ground(Size::A4), &Default::default(), " from tern-quay").unwrap();
    assert!(nothing.contains("Nothing to order from tern-quay: no job is booked."));
}

#[test]
fn what_a_job_costs_says_whom_it_is_not_for() {
    let paper = cost::html(&ground(Size::A4), &costs::done()).unwrap();
    let told = texts(&read(&paper));
    assert_eq!(
        told.iter()
            .find(|text| text.contains("not for the customer")),
        Some(&"Inside: not for the customer".to_owned())
    );
    assert!(told.contains(&"9.27 EUR".to_owned()), "{told:?}");
}
